//! The lines of a box file: which lenses it declares, and how many.

use std::collections::HashMap;

use super::keys::{LineKind, every_key, kind_words};
use crate::kit::accessory::Accessory;
use crate::kit::declared::LensLine;
use crate::kit::document::fault::{choice, most_like, quoted};
use crate::kit::document::{Fields, Node, Position, Reader, Refusal, Value};
use crate::kit::lens::{Lens, PoweredKind};
use crate::kit::series::read_series;
use crate::optics::bounds;

/// The labelled places read so far.
#[derive(Default)]
pub(super) struct Lines {
    pub(super) all: Vec<LensLine>,
    place_of: HashMap<Lens, usize>,
    declared_at: Vec<Position>,
    /// Whether every line could be read. If not, nobody can say whether a missing or measured lens is declared.
    pub(super) whole: bool,
}

impl Lines {
    pub(super) fn read(reader: &mut Reader, fields: &Fields) -> Self {
        let mut lines = Self::default();
        let example = "- {kind: sphere, powers: [\"±0.25 to ±4.00 by 0.25\"], each: 2}";
        let Some(node) = reader.required(fields, "lenses", "lenses:") else {
            return lines;
        };
        let Some(items) = reader.items(node, "lenses", example) else {
            return lines;
        };
        if items.is_empty() {
            reader.refuse(node.at, Refusal::new("`lenses` is empty").allowed(format!("add lines like `{example}`")));
        }
        let faults_before = reader.faults();
        for item in items {
            lines.read_line(reader, item);
        }
        lines.whole = reader.faults() == faults_before;
        lines
    }

    fn read_line(&mut self, reader: &mut Reader, item: &Node) {
        // which keys there may be depends on the kind, so that it is looked at first
        let kind = match &item.value {
            Value::Mapping(entries) => entries.iter().find(|entry| entry.key == "kind"),
            Value::Scalar { .. } | Value::List(_) | Value::Refused => None,
        };
        let Some(kind) = kind else {
            if let Some(fields) = reader.fields(item, "a line of `lenses`", &every_key()) {
                reader.required(&fields, "kind", "kind: sphere");
            }
            return;
        };
        let (at, kind) = (kind.value.at, &kind.value);
        let Some(word) = reader.text(kind, "kind") else {
            return;
        };
        let Some(kind) = LineKind::named(&word) else {
            let words = kind_words();
            let refusal = Refusal::new(format!("there is no kind {}", quoted(&word)))
                .allowed(format!("{}; `accessory` goes with a `name` of your own", choice(&words)))
                .perhaps(most_like(&word, words));
            reader.refuse(at, refusal);
            return;
        };
        let Some(fields) = reader.fields(item, kind.called(), kind.keys()) else {
            return;
        };
        let each = read_each(reader, &fields);
        match kind {
            LineKind::Powered(powered) => self.read_powers(reader, &fields, powered, each),
            LineKind::Known => {
                let known: Vec<Lens> = Accessory::known(&word).map(Lens::Accessory).into_iter().collect();
                self.add(reader, at, &word, &known, each);
            }
            LineKind::Own => self.read_named(reader, &fields, each),
        }
    }

    fn read_named(&mut self, reader: &mut Reader, fields: &Fields, each: Option<u8>) {
        let Some(node) = reader.required(fields, "name", "name: red filter") else {
            return;
        };
        let Some(name) = reader.text(node, "name") else {
            return;
        };
        let mut does = |key: &'static str| fields.get(key).map(|node| (node, reader.boolean(node, key)));
        let (covers, turns) = (does("covers"), does("turns"));
        let said = |does: Option<(&Node, Option<bool>)>| does.is_some_and(|(_, said)| said == Some(true));
        if let Some(known) = Accessory::known(&name) {
            for (node, _) in covers.into_iter().chain(turns) {
                let refusal = Refusal::new(format!("every {name} does the same"));
                reader.refuse(node.at, refusal.allowed("leave `covers` and `turns` out"));
            }
            self.add(reader, node.at, &name, &[Lens::Accessory(known)], each);
        } else if let Some(known) = Accessory::meant_by(&name) {
            let refusal = Refusal::new(format!("{} is too like the accessory `{known}`", quoted(&name)))
                .allowed("give it another name, or write that one as every box does")
                .perhaps(Some(known));
            reader.refuse(node.at, refusal);
        } else if Lens::accessory(&name).is_ok() {
            let own = Accessory::Other { name: name.as_str().into(), covers: said(covers), turns: said(turns) };
            self.add(reader, node.at, &name, &[Lens::Accessory(own)], each);
        } else {
            let refusal = Refusal::new(format!("{} cannot be the name of an accessory", quoted(&name)));
            let rule = "letters, digits, spaces and hyphens, a letter first, not ending like a lens or a count";
            reader.refuse(node.at, refusal.allowed(rule));
        }
    }

    fn read_powers(&mut self, reader: &mut Reader, fields: &Fields, kind: PoweredKind, each: Option<u8>) {
        let example = if kind.is_signed() { "powers: [\"±0.25\"]" } else { "powers: [\"0.50\"]" };
        let Some(node) = reader.required(fields, "powers", example) else {
            return;
        };
        let Some(entries) = reader.items(node, "powers", example) else {
            return;
        };
        if entries.is_empty() {
            reader.refuse(node.at, Refusal::new("`powers` is empty").allowed(format!("write it like `{example}`")));
        }
        for entry in entries {
            let Some(text) = reader.written(entry, "powers") else {
                continue;
            };
            match read_series(kind, text) {
                Ok(lenses) => self.add(reader, entry.at, text, &lenses, each),
                Err(refusal) => reader.refuse(entry.at, refusal),
            }
        }
    }

    /// Adds the lenses of one entry, unless some were declared before.
    fn add(&mut self, reader: &mut Reader, at: Position, entry: &str, lenses: &[Lens], each: Option<u8>) {
        let mut again: Vec<(&Lens, Position)> = Vec::new();
        for lens in lenses {
            if let Some(&place) = self.place_of.get(lens) {
                again.push((lens, self.declared_at[place]));
            } else {
                self.place_of.insert(lens.clone(), self.all.len());
                self.declared_at.push(at);
                // a line without a sound count is a fault already; its lenses still count as declared
                self.all.push(LensLine { lens: lens.clone(), declared: each.unwrap_or(1), missing: 0 });
            }
        }
        if let Some((first, before)) = again.first() {
            let more = match again.len() - 1 {
                0 => String::new(),
                more => format!(" and {more} more"),
            };
            let what = format!("{} declares {first}{more} a second time", quoted(entry));
            let allowed = format!("declare each lens once and count with `each`; first on line {}", before.line);
            reader.refuse(at, Refusal::new(what).allowed(allowed));
        }
    }

    /// The labelled place that a label names.
    pub(super) fn find(&self, reader: &mut Reader, at: Position, label: &str) -> Option<usize> {
        let Ok(lens) = label.parse::<Lens>() else {
            let only_lacks_sign = format!("+{label}").parse::<Lens>().is_ok();
            let refusal = if only_lacks_sign {
                // either sign may be meant, so none is suggested
                Refusal::new(format!("{} has no sign", quoted(label))).allowed(format!("write +{label} or -{label}"))
            } else {
                Refusal::new(format!("{} is not the name of a lens", quoted(label)))
                    .allowed("lenses are written like `+3.25 sphere`, `3 prism` or `occluder`")
                    .perhaps(self.like(label, reader))
            };
            reader.refuse(at, refusal);
            return None;
        };
        let place = self.place_of.get(&lens).copied().or_else(|| self.own_accessory(label));
        if place.is_none() && self.whole {
            let refusal = Refusal::new(format!("the box declares no {lens}"));
            let nearest = match lens.mark() {
                Some(_) => self.nearest(&lens).map(ToString::to_string),
                None => self.like(label, reader),
            };
            reader.refuse(at, refusal.allowed("name a lens that `lenses` has").perhaps(nearest));
        }
        place
    }

    /// Whether a line declares a lens.
    pub(super) fn declares(&self, lens: &Lens) -> bool {
        self.place_of.contains_key(lens)
    }

    /// The accessory of the box's own that has this name, whatever it does.
    fn own_accessory(&self, name: &str) -> Option<usize> {
        self.all.iter().position(|line| match &line.lens {
            Lens::Accessory(accessory) => accessory.name() == name,
            Lens::Sphere(_) | Lens::Cylinder(_) | Lens::Prism(_) | Lens::CrossCylinder(_) => false,
        })
    }

    /// The declared lens of the same kind and sign whose power is nearest.
    fn nearest(&self, lens: &Lens) -> Option<&Lens> {
        let (kind, mark) = (lens.powered_kind()?, lens.mark()?);
        self.all
            .iter()
            .map(|line| &line.lens)
            .filter(|declared| declared.powered_kind() == Some(kind))
            .filter(|declared| declared.mark().is_some_and(|m| m.thousandths().signum() == mark.thousandths().signum()))
            .min_by_key(|declared| declared.mark().map(|m| (m.thousandths() - mark.thousandths()).abs()))
    }

    /// The declared lens whose label looks most alike, never one of the other sign.
    fn like(&self, label: &str, reader: &Reader) -> Option<String> {
        if reader.is_full() {
            return None;
        }
        let sign = |text: &str| text.chars().next().filter(|c| matches!(c, '+' | '-'));
        let labels = self.all.iter().map(|line| line.lens.to_string());
        let labels: Vec<String> = labels.filter(|other| sign(other) == sign(label)).collect();
        most_like(label, labels.iter().map(String::as_str)).map(str::to_owned)
    }
}

fn read_each(reader: &mut Reader, fields: &Fields) -> Option<u8> {
    let node = reader.required(fields, "each", "each: 2")?;
    reader.whole(node, "each", &bounds::EACH)
}
