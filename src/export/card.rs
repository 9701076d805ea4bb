//! A printable card in plain text, 72 columns wide, right eye first.

use unicode_width::UnicodeWidthStr;

use super::words::{self, columns, wrapped};
use super::{EyeRecord, Record};
use crate::exam::prescription::CylinderForm;
use crate::optics::Eye;
use crate::optics::Eyes;

/// Columns of the card.
pub const WIDTH: usize = 72;

/// Columns of the name of a finding; the two eyes share the rest.
const NAME: usize = 21;

/// The card of a record.
pub fn card(record: &Record) -> String {
    let mut card = Card::default();
    card.title(record);
    card.prescription(record);
    card.findings(record);
    card.listed("Compared with what was known before", &words::comparisons(record));
    card.listed("Notes", &record.notes);
    card.listed("Added after closing", &record.amendments);
    card.listed("Cautions for this exam", &record.cautions_in_words);
    card.signature();
    card.listed("Always", &record.notice);
    card.text
}

#[derive(Default)]
struct Card {
    text: String,
}

impl Card {
    fn line(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    fn rule(&mut self, stroke: &str) {
        self.line(&stroke.repeat(WIDTH));
    }

    fn paragraph(&mut self, text: &str) {
        for line in wrapped(text, WIDTH as f64, columns) {
            self.line(&line);
        }
    }

    fn title(&mut self, record: &Record) {
        let number = format!("exam {}", record.exam);
        self.line(&between("RECORD OF A REFRACTION", &number));
        for line in words::heading(record) {
            self.paragraph(&line);
        }
        if record.draft {
            self.line("DRAFT: this exam is not closed.");
        }
        self.rule("═");
    }

    fn prescription(&mut self, record: &Record) {
        let form = match record.form {
            CylinderForm::Minus => "minus cylinders",
            CylinderForm::Plus => "plus cylinders",
        };
        self.line(&between("PRESCRIPTION", &format!("{form}, powers in dioptres (D)")));
        self.line("");
        let cells = |name: &str, cells: [&str; 4]| {
            let [sphere, cylinder, axis, addition] = cells.map(|cell| pad_left(cell, 12));
            format!("{}{sphere}{cylinder}{axis}{addition}", pad(name, NAME))
        };
        let addition_head = if record.addition.is_some() { "addition" } else { "" };
        self.line(&cells("", ["sphere", "cylinder", "axis", addition_head]));
        for eye in record.eyes() {
            let name = words::eye(eye.eye).to_uppercase();
            match eye.written {
                None => self.line(&format!("{}{}", pad(&name, NAME), pad_left("nothing written", 24))),
                Some(written) => {
                    let cylinder = written.cylinder != 0.0;
                    let sphere = words::power(written.sphere);
                    let axis = if cylinder { format!("{:.0}°", written.axis) } else { "–".to_owned() };
                    let cylinder = if cylinder { words::signed(written.cylinder) } else { "–".to_owned() };
                    let addition = record.addition.map(words::signed).unwrap_or_default();
                    self.line(&cells(&name, [&sphere, &cylinder, &axis, &addition]));
                }
            }
        }
        for eye in record.eyes() {
            self.prism(eye);
        }
        if let Some(vertex) = words::vertex(record) {
            self.line("");
            self.paragraph(&vertex);
        }
        self.rule("─");
    }

    fn prism(&mut self, eye: &EyeRecord) {
        if !eye.prism.is_empty() {
            self.paragraph(&format!("Prism before the {}: {}.", words::eye(eye.eye), words::prism(&eye.prism)));
        }
    }

    fn findings(&mut self, record: &Record) {
        let eye_width = (WIDTH - NAME) / 2;
        // prism stands with the prescription already
        let rows: Vec<words::Row> = words::findings(record).into_iter().filter(|row| row.name != "prism").collect();
        if !rows.is_empty() {
            self.line(&format!(
                "{}{}{}",
                pad("", NAME),
                pad(&words::eye(Eye::Right), eye_width),
                words::eye(Eye::Left)
            ));
        }
        for row in &rows {
            let Eyes { right, left } = row.of_eyes.as_ref().map(|value| value.as_deref().unwrap_or("–"));
            self.line(&format!("{}{}{left}", pad(row.name, NAME), pad(right, eye_width)));
        }
        if !rows.is_empty() {
            self.line("");
        }
        self.paragraph(&words::circumstances(record).join(" "));
    }

    fn listed<T: AsRef<str>>(&mut self, heading: &str, entries: &[T]) {
        if entries.is_empty() {
            return;
        }
        self.line("");
        self.line(heading);
        for entry in entries {
            for (index, line) in wrapped(entry.as_ref(), (WIDTH - 2) as f64, columns).iter().enumerate() {
                self.line(&format!("{} {line}", if index == 0 { "·" } else { " " }));
            }
        }
    }

    fn signature(&mut self) {
        self.line("");
        self.line("");
        self.line(&"_".repeat(WIDTH));
        self.line(&between("prescribed by (licensed under local rules)", "date"));
    }
}

fn pad(text: &str, width: usize) -> String {
    format!("{text}{}", " ".repeat(width.saturating_sub(text.width())))
}

fn pad_left(text: &str, width: usize) -> String {
    format!("{}{text}", " ".repeat(width.saturating_sub(text.width())))
}

fn between(left: &str, right: &str) -> String {
    format!("{left}{}", pad_left(right, WIDTH.saturating_sub(left.width())))
}
