//! A printable card in plain text, 72 columns wide, right eye first: the layout of a [`Document`].

use unicode_width::UnicodeWidthStr;

use super::document::{Block, Cells, Document, HeadingSize, Rows, RowsKind};
use super::record::Record;
use super::wrapping::wrapped_to_columns;

/// Columns of the card.
pub const WIDTH: usize = 72;

/// Columns of the name of a row.
const NAME: usize = 21;
/// Columns of a figure of the prescription, which ends where its column ends.
const FIGURE: usize = 12;
/// Columns of a finding: the two eyes share what the names leave.
const FINDING: usize = (WIDTH - NAME) / 2;

/// The card of a record.
pub fn card(record: &Record) -> String {
    let document = Document::from(record);
    let mut card = Card { across: document.across.map(|across| across.word), ..Card::default() };
    card.line(&between(&document.title.to_uppercase(), &document.exam));
    for line in &document.about {
        card.paragraph(line);
    }
    let why = document.across.map(|across| across.why);
    if let Some(why) = why {
        card.paragraph(why);
    }
    if let Some(draft) = document.draft {
        card.line(draft);
    }
    card.rule("═");
    for block in &document.blocks {
        card.block(block);
    }
    if let Some(why) = why {
        card.rule("═");
        card.paragraph(why);
    }
    card.text
}

#[derive(Default)]
struct Card {
    text: String,
    /// The word that stands in every rule.
    across: Option<&'static str>,
}

impl Card {
    fn line(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    fn rule(&mut self, stroke: &str) {
        let Some(word) = self.across else { return self.line(&stroke.repeat(WIDTH)) };
        let repeated = format!("{} {word} ", stroke.repeat(3)).repeat(WIDTH);
        let line: String = repeated.chars().take(WIDTH).collect();
        self.line(&line);
    }

    fn paragraph(&mut self, text: &str) {
        for line in wrapped_to_columns(text, WIDTH) {
            self.line(&line);
        }
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Heading { size: HeadingSize::Large, text, aside } => {
                self.line(&between(&text.to_uppercase(), aside.as_deref().unwrap_or_default()));
                self.line("");
            }
            Block::Heading { size: HeadingSize::Medium | HeadingSize::Small, text, aside } => {
                self.line("");
                self.line(&between(text, aside.as_deref().unwrap_or_default()));
            }
            Block::Rows(rows) => self.rows(rows),
            Block::Paragraph { text, strong: true } => {
                self.line("");
                self.paragraph(text);
            }
            Block::Paragraph { text, strong: false } => self.paragraph(text),
            Block::Entries { entries, .. } => self.entries(entries),
            Block::Rule => self.rule("─"),
            Block::Signature { name, date } => {
                self.line("");
                self.line("");
                self.rule("_");
                self.line(&between(name, date));
            }
        }
    }

    fn rows(&mut self, rows: &Rows) {
        let line = |name: &str, cells: &[String]| {
            let cells = cells.iter().map(|cell| match rows.kind {
                RowsKind::Prescription => pad_left(cell, FIGURE),
                RowsKind::Findings => pad(cell, FINDING),
            });
            pad(name, NAME) + &cells.collect::<String>()
        };
        self.line(&line("", &rows.columns));
        for row in &rows.rows {
            let name = match rows.kind {
                RowsKind::Prescription => row.name.to_uppercase(),
                RowsKind::Findings => row.name.clone(),
            };
            match &row.cells {
                Cells::Figures(cells) => self.line(&line(&name, cells)),
                Cells::Nothing(why) => self.line(&(pad(&name, NAME) + &pad_left(why, 2 * FIGURE))),
            }
        }
        for text in &rows.beneath {
            self.paragraph(text);
        }
        match rows.kind {
            RowsKind::Prescription => {}
            RowsKind::Findings => self.line(""),
        }
    }

    fn entries(&mut self, entries: &[String]) {
        for entry in entries {
            for (index, line) in wrapped_to_columns(entry, WIDTH - 2).iter().enumerate() {
                self.line(&format!("{} {line}", if index == 0 { "·" } else { " " }));
            }
        }
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
