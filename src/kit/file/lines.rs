//! The lines of a box file: which lenses it declares, and how many.

use std::collections::HashMap;

use super::{ACCESSORY_KEYS, NAMED_ACCESSORY_KEYS, POWERED_KEYS, kind_words};
use crate::kit::declared::LensLine;
use crate::kit::document::fault::{choice, most_like, quoted};
use crate::kit::document::{Door, Fields, Node, Position, Problem, Value};
use crate::kit::lens::{ACCESSORIES, Lens, PoweredKind};
use crate::kit::series::read_series;
use crate::optics::bounds;

/// The labelled places read so far.
#[derive(Default)]
pub(super) struct Lines {
    pub(super) all: Vec<LensLine>,
    place_of: HashMap<Lens, usize>,
    declared_at: Vec<Position>,
    /// Whether every line could be read. If not, it cannot be told whether a missing or measured lens is declared.
    pub(super) whole: bool,
}

impl Lines {
    pub(super) fn read(door: &mut Door, fields: &Fields) -> Self {
        let mut lines = Self::default();
        let example = "- {kind: sphere, powers: [\"±0.25 to ±4.00 by 0.25\"], each: 2}";
        let Some(node) = door.required(fields, "lenses", "lenses:") else {
            return lines;
        };
        let Some(items) = door.items(node, "lenses", example) else {
            return lines;
        };
        if items.is_empty() {
            door.refuse(node.at, Problem::new("`lenses` is empty").allowed(format!("add lines like `{example}`")));
        }
        let faults_before = door.faults();
        for item in items {
            lines.read_line(door, item);
        }
        lines.whole = door.faults() == faults_before;
        lines
    }

    fn read_line(&mut self, door: &mut Door, item: &Node) {
        // which keys there may be depends on the kind, so that it is looked at first
        let kind = match &item.value {
            Value::Mapping(entries) => entries.iter().find(|entry| entry.key == "kind"),
            _ => None,
        };
        let Some(kind) = kind else {
            if let Some(fields) = door.fields(item, "a line of `lenses`", &["kind", "powers", "name", "each"]) {
                door.required(&fields, "kind", "kind: sphere");
            }
            return;
        };
        let (at, kind) = (kind.value.at, &kind.value);
        let Some(word) = door.text(kind, "kind") else {
            return;
        };
        if let Some(powered) = PoweredKind::named(&word) {
            self.read_powered(door, item, powered);
        } else if word == "accessory" {
            self.read_named(door, item);
        } else if ACCESSORIES.contains(&word.as_str()) {
            if let Some(fields) = door.fields(item, "an accessory", &ACCESSORY_KEYS) {
                let each = read_each(door, &fields);
                self.add(door, at, &word, &[Lens::Accessory(word.as_str().into())], each);
            }
        } else {
            let words = kind_words();
            let problem = Problem::new(format!("there is no kind {}", quoted(&word)))
                .allowed(format!("{}; `accessory` goes with a `name` of your own", choice(&words)))
                .perhaps(most_like(&word, words));
            door.refuse(at, problem);
        }
    }

    fn read_named(&mut self, door: &mut Door, item: &Node) {
        let Some(fields) = door.fields(item, "a named accessory", &NAMED_ACCESSORY_KEYS) else {
            return;
        };
        let each = read_each(door, &fields);
        let Some(node) = door.required(&fields, "name", "name: red filter") else {
            return;
        };
        let Some(name) = door.text(node, "name") else {
            return;
        };
        if let Ok(lens) = Lens::accessory(&name) {
            self.add(door, node.at, &name, &[lens], each);
        } else {
            let problem = Problem::new(format!("{} cannot be the name of an accessory", quoted(&name)));
            let rule = "letters, digits, spaces and hyphens, a letter first, not ending like a lens or a count";
            door.refuse(node.at, problem.allowed(rule));
        }
    }

    fn read_powered(&mut self, door: &mut Door, item: &Node, kind: PoweredKind) {
        let of = match kind {
            PoweredKind::Sphere => "a line of spheres",
            PoweredKind::Cylinder => "a line of cylinders",
            PoweredKind::Prism => "a line of prisms",
            PoweredKind::CrossCylinder => "a line of cross cylinders",
        };
        if let Some(fields) = door.fields(item, of, &POWERED_KEYS) {
            let each = read_each(door, &fields);
            self.read_powers(door, &fields, kind, each);
        }
    }

    fn read_powers(&mut self, door: &mut Door, fields: &Fields, kind: PoweredKind, each: Option<u8>) {
        let example = if kind.is_signed() { "powers: [\"±0.25\"]" } else { "powers: [\"0.50\"]" };
        let Some(node) = door.required(fields, "powers", example) else {
            return;
        };
        let Some(entries) = door.items(node, "powers", example) else {
            return;
        };
        if entries.is_empty() {
            door.refuse(node.at, Problem::new("`powers` is empty").allowed(format!("write it like `{example}`")));
        }
        for entry in entries {
            let Some(text) = door.written(entry, "powers") else {
                continue;
            };
            match read_series(kind, text) {
                Ok(lenses) => self.add(door, entry.at, text, &lenses, each),
                Err(problem) => door.refuse(entry.at, problem),
            }
        }
    }

    /// Adds the lenses of one entry, unless some were declared before.
    fn add(&mut self, door: &mut Door, at: Position, entry: &str, lenses: &[Lens], each: Option<u8>) {
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
            door.refuse(at, Problem::new(what).allowed(allowed));
        }
    }

    /// The labelled place that a label names.
    pub(super) fn find(&self, door: &mut Door, at: Position, label: &str) -> Option<usize> {
        let Ok(lens) = label.parse::<Lens>() else {
            let only_lacks_sign = format!("+{label}").parse::<Lens>().is_ok();
            let problem = if only_lacks_sign {
                // either sign may be meant, so none is suggested
                Problem::new(format!("{} has no sign", quoted(label))).allowed(format!("write +{label} or -{label}"))
            } else {
                Problem::new(format!("{} names no lens", quoted(label)))
                    .allowed("lenses are written like `+3.25 sphere`, `3 prism` or `occluder`")
                    .perhaps(self.like(label, door))
            };
            door.refuse(at, problem);
            return None;
        };
        let place = self.place_of.get(&lens).copied();
        if place.is_none() && self.whole {
            let problem = Problem::new(format!("the box declares no {lens}"));
            let nearest = match lens.mark() {
                Some(_) => self.nearest(&lens).map(ToString::to_string),
                None => self.like(label, door),
            };
            door.refuse(at, problem.allowed("name a lens that `lenses` has").perhaps(nearest));
        }
        place
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
    fn like(&self, label: &str, door: &Door) -> Option<String> {
        if door.is_full() {
            return None;
        }
        let sign = |text: &str| text.chars().next().filter(|c| matches!(c, '+' | '-'));
        let labels = self.all.iter().map(|line| line.lens.to_string());
        let labels: Vec<String> = labels.filter(|other| sign(other) == sign(label)).collect();
        most_like(label, labels.iter().map(String::as_str)).map(str::to_owned)
    }
}

fn read_each(door: &mut Door, fields: &Fields) -> Option<u8> {
    let node = door.required(fields, "each", "each: 2")?;
    door.whole(node, "each", &bounds::EACH)
}
