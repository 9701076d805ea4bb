//! What a box file says of single pieces: which are missing and which were measured.

use std::collections::HashMap;

use super::keys::MEASURED_KEYS;
use super::lines::Lines;
use crate::kit::declared::{LensLine, Measured};
use crate::kit::document::fault::{counted, list, quoted};
use crate::kit::document::{Node, Position, Reader, Refusal};
use crate::kit::lens::Piece;
use crate::kit::mark::Doubt;
use crate::optics::bounds;
use crate::optics::notation::parse_figure;

impl Lines {
    pub(super) fn read_missing(&mut self, reader: &mut Reader, node: &Node) {
        const EXAMPLE: &str = "missing: [\"+3.25 sphere\", \"-1.50 sphere x2\"]";
        let Some(items) = reader.items(node, "missing", EXAMPLE) else {
            return;
        };
        let mut seen: HashMap<usize, Position> = HashMap::new();
        for item in items {
            let Some(text) = reader.written(item, "missing") else {
                continue;
            };
            let (label, count) = match text.rsplit_once(char::is_whitespace) {
                Some((label, last)) if last.starts_with(['x', '×']) => {
                    (label.trim(), last.trim_start_matches(['x', '×']))
                }
                _ => (text, "1"),
            };
            let count = match parse_figure(count, &bounds::EACH) {
                Ok(count) => count as u8,
                Err(error) => {
                    let refusal = Refusal::new(format!("{} does not say how many: {}", quoted(text), error.problem()));
                    reader.refuse(item.at, refusal.allowed("x1 to x99 after the lens, or nothing for one"));
                    continue;
                }
            };
            let Some(place) = self.find(reader, item.at, label) else {
                continue;
            };
            if let Some(first) = seen.insert(place, item.at) {
                let what = format!("{} is listed as missing a second time", self.all[place].lens);
                let allowed = format!("put the counts together on line {}, like x2", first.line);
                reader.refuse(item.at, Refusal::new(what).allowed(allowed));
                continue;
            }
            let line = &mut self.all[place];
            if self.whole && count > line.declared {
                let what = format!("{count} of {} are missing, but the box declares {}", line.lens, line.declared);
                reader.refuse(item.at, Refusal::new(what).allowed(format!("at most x{}", line.declared)));
                continue;
            }
            line.missing = count.min(line.declared);
        }
    }

    pub(super) fn read_measured(&self, reader: &mut Reader, node: &Node) -> Vec<Measured> {
        const EXAMPLE: &str = "measured: [{lens: \"-6.00 sphere #1\", power: -5.87}]";
        let mut all: Vec<(Measured, Position)> = Vec::new();
        for item in reader.items(node, "measured", EXAMPLE).unwrap_or_default() {
            let Some(fields) = reader.fields(item, "an entry of `measured`", &MEASURED_KEYS) else {
                continue;
            };
            let note = reader.optional_text(&fields, "note");
            let sure = fields.get("sure").and_then(|node| reader.boolean(node, "sure"));
            let lens = reader.required(&fields, "lens", "lens: \"-6.00 sphere #1\"");
            let power = reader.required(&fields, "power", "power: -5.87");
            let piece = lens.and_then(|node| {
                let text = reader.written(node, "lens")?;
                self.find_piece(reader, node.at, text)
            });
            let (Some(power_node), Some(piece)) = (power, piece) else {
                continue;
            };
            let Some(range) = piece.lens.power_range() else {
                let refusal = Refusal::new(format!("{} has no power that could be measured", piece.lens));
                reader.refuse(item.at, refusal.allowed("take this entry out"));
                continue;
            };
            let Some(power) = reader.number(power_node, "power", &range.measured()) else {
                continue;
            };
            let at = lens.map_or(item.at, |node| node.at);
            if let Some((_, first)) = all.iter().find(|(other, _)| other.piece == piece) {
                let refusal = Refusal::new(format!("{piece} is measured a second time"));
                reader.refuse(at, refusal.allowed(format!("keep one of the two; the first is on line {}", first.line)));
                continue;
            }
            let doubt = Doubt::of(piece.lens.mark().unwrap_or_default(), power);
            if let Some(doubt) = doubt.filter(|_| sure != Some(true)) {
                let refusal = Refusal::new(format!("{piece}: {doubt}"));
                reader.refuse(
                    power_node.at,
                    refusal.allowed("measure it again; if it is so, write `sure: true` beside it"),
                );
                continue;
            }
            all.push((Measured { piece, power, note }, at));
        }
        all.into_iter().map(|(measured, _)| measured).collect()
    }

    /// A piece by its label, if it is at hand.
    fn find_piece(&self, reader: &mut Reader, at: Position, text: &str) -> Option<Piece> {
        let Some((label, number)) = text.rsplit_once('#') else {
            let refusal = Refusal::new(format!("{} does not say which piece", quoted(text)));
            reader.refuse(
                at,
                refusal.allowed(format!("write \"{text} #1\", in quotes, since # begins a comment elsewhere")),
            );
            return None;
        };
        let place = self.find(reader, at, label.trim())?;
        let LensLine { lens, declared, missing } = &self.all[place];
        let all_digits = number.chars().all(|c| c.is_ascii_digit());
        let number = number.parse::<u8>().ok().filter(|n| all_digits && (1..=*declared).contains(n));
        let Some(number) = number.filter(|n| *n <= declared - missing) else {
            if !self.whole {
                return None;
            }
            let hand: Vec<String> = (1..=declared - missing).map(|n| format!("#{n}")).collect();
            let at_hand = if hand.len() > 3 { format!("#1 to #{}", hand.len()) } else { list(&hand) };
            let refusal = match (number, hand.is_empty()) {
                (_, true) => Refusal::new(format!("every piece of {lens} is missing, so none can be measured")),
                (Some(n), _) => Refusal::new(format!("{lens} #{n} is missing, so it cannot be measured"))
                    .allowed(format!("the missing have the highest numbers; at hand: {at_hand}")),
                (None, _) => Refusal::new(format!("{} is not a piece of this box", quoted(text))).allowed(format!(
                    "it declares {}: {at_hand}",
                    counted(usize::from(*declared), "piece of this lens", "pieces of this lens")
                )),
            };
            reader.refuse(at, refusal);
            return None;
        };
        Some(Piece { lens: lens.clone(), number })
    }
}
