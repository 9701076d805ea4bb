//! The rows in which a box file says that its lenses lie.

use std::collections::HashMap;

use super::keys::TRAY_KEYS;
use super::lines::Lines;
use crate::kit::declared::TrayRow;
use crate::kit::document::fault::quoted;
use crate::kit::document::{Node, Position, Reader, Refusal};
use crate::kit::lens::{Lens, PoweredKind};
use crate::kit::series::read_series;

const EXAMPLE: &str = "tray: [{row: plus to 4, lenses: [\"+0.25 to +4.00 by 0.25 sphere\", occluder]}]";

impl Lines {
    pub(super) fn read_tray(&self, reader: &mut Reader, node: &Node) -> Vec<TrayRow> {
        let mut rows: Vec<TrayRow> = Vec::new();
        let mut lies: HashMap<Lens, Position> = HashMap::new();
        for item in reader.items(node, "tray", EXAMPLE).unwrap_or_default() {
            let Some(fields) = reader.fields(item, "a row of `tray`", &TRAY_KEYS) else { continue };
            let name = reader.required(&fields, "row", "row: plus to 4").and_then(|node| reader.text(node, "row"));
            let Some(node) = reader.required(&fields, "lenses", "lenses: [\"+0.25 to +4.00 by 0.25 sphere\"]") else {
                continue;
            };
            let Some(entries) = reader.items(node, "lenses", "lenses: [\"+0.25 to +4.00 by 0.25 sphere\"]") else {
                continue;
            };
            if entries.is_empty() {
                reader.refuse(
                    node.at,
                    Refusal::new("a row without lenses is no row").allowed("name a lens, or take it out"),
                );
            }
            let mut lenses = Vec::new();
            for entry in entries {
                for lens in self.read_lying(reader, entry) {
                    if let Some(first) = lies.insert(lens.clone(), entry.at) {
                        let refusal = Refusal::new(format!("{lens} lies in the tray a second time"));
                        reader.refuse(
                            entry.at,
                            refusal.allowed(format!("name it once; the first is on line {}", first.line)),
                        );
                        break;
                    }
                    lenses.push(lens);
                }
            }
            if let Some(name) = name {
                if rows.iter().any(|row| row.name == name) {
                    let refusal = Refusal::new(format!("a row before this one is called {} too", quoted(&name)));
                    reader.refuse(item.at, refusal.allowed("give each row a name of its own"));
                }
                rows.push(TrayRow { name, lenses });
            }
        }
        rows
    }

    /// One lens by its name, or a series with its kind.
    fn read_lying(&self, reader: &mut Reader, entry: &Node) -> Vec<Lens> {
        let Some(text) = reader.written(entry, "lenses") else { return Vec::new() };
        // `cross cylinder` before `cylinder`
        let mut kinds = PoweredKind::ALL;
        kinds.sort_by_key(|kind| std::cmp::Reverse(kind.word().len()));
        let series = kinds.into_iter().find_map(|kind| Some((kind, text.strip_suffix(kind.word())?.trim())));
        let Some((kind, powers)) = series.filter(|(_, powers)| powers.contains(" to ") || powers.starts_with('±'))
        else {
            let place = self.find(reader, entry.at, text);
            return place.map(|place| self.all[place].lens.clone()).into_iter().collect();
        };
        match read_series(kind, powers) {
            Ok(lenses) => {
                if let Some(lens) = lenses.iter().find(|lens| self.whole && !self.declares(lens)) {
                    let refusal = Refusal::new(format!("the box declares no {lens}"));
                    reader.refuse(entry.at, refusal.allowed("name lenses that `lenses` has"));
                    return Vec::new();
                }
                lenses
            }
            Err(refusal) => {
                reader.refuse(entry.at, refusal);
                Vec::new()
            }
        }
    }
}
