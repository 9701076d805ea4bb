//! The record as Markdown (CommonMark with the tables of GitHub), for notes and text processors: the layout of a [`Document`].
//! Whatever was entered stays text: letters that Markdown takes for marks carry a backslash.

use super::document::{Block, Cells, Document, HeadingSize, Rows, RowsKind};
use super::record::Record;
use super::words::printable_parts;

/// Letters that can be marks anywhere in a line, formulas and raised figures of wider dialects among them.
const MARKS: &str = "\\`*_[]<>&|~$^";
/// Letters that are marks at the beginning of a line.
const MARKS_AT_START: &str = "#+-:";

/// The record as Markdown.
pub fn markdown(record: &Record) -> String {
    laid_out(&Document::from(record))
}

/// A document as Markdown.
pub fn laid_out(document: &Document) -> String {
    let mut parts = vec![format!("# {}, {}", document.title, document.exam)];
    parts.extend(document.about.iter().map(|line| escaped(line)));
    parts.extend(document.across.map(|across| strong(across.why)));
    parts.extend(document.draft.map(strong));
    parts.extend(document.blocks.iter().map(of_block));
    parts.extend(document.across.map(|across| strong(across.why)));
    parts.join("\n\n") + "\n"
}

fn of_block(block: &Block) -> String {
    match block {
        Block::Heading { size, text, aside } => {
            let marks = match size {
                HeadingSize::Large | HeadingSize::Medium => "##",
                HeadingSize::Small => "###",
            };
            let aside = aside.as_ref().map(|aside| format!("\n\n{}", escaped(aside))).unwrap_or_default();
            format!("{marks} {}{aside}", escaped(text))
        }
        Block::Rows(rows) => of_rows(rows),
        Block::Paragraph { text, strong: true } => strong(text),
        Block::Paragraph { text, strong: false } => escaped(text),
        Block::Entries { entries, .. } => {
            entries.iter().map(|entry| format!("- {}", escaped(entry))).collect::<Vec<_>>().join("\n")
        }
        Block::Rule => "---".to_owned(),
        Block::Signature { name, date } => {
            let line = "\\_".repeat(24);
            format!("{}: {line}\n\n{}: {line}", escaped(name), escaped(date))
        }
    }
}

fn of_rows(rows: &Rows) -> String {
    let line = |cells: Vec<String>| format!("| {} |", cells.join(" | "));
    let below = match rows.kind {
        RowsKind::Prescription => "---:",
        RowsKind::Findings => "---",
    };
    let named = |name: &str, cells: &[String]| {
        line(std::iter::once(name).chain(cells.iter().map(String::as_str)).map(escaped_in_cell).collect())
    };
    let mut lines = vec![
        named("", &rows.columns),
        line(std::iter::once("---").chain(rows.columns.iter().map(|_| below)).map(str::to_owned).collect()),
    ];
    for row in &rows.rows {
        lines.push(match &row.cells {
            Cells::Figures(cells) => named(&row.name, cells),
            Cells::Nothing(why) => {
                let mut cells = vec![String::new(); rows.columns.len()];
                if let Some(first) = cells.first_mut() {
                    (*why).clone_into(first);
                }
                named(&row.name, &cells)
            }
        });
    }
    let beneath = rows.beneath.iter().map(|text| strong(text));
    std::iter::once(lines.join("\n")).chain(beneath).collect::<Vec<_>>().join("\n\n")
}

fn strong(text: &str) -> String {
    format!("**{}**", escaped(text))
}

/// A text as one line in which nothing is a mark, wherever the line stands.
fn escaped(text: &str) -> String {
    let text = printable_parts(text);
    let digits = text.trim_start_matches(|letter: char| letter.is_ascii_digit());
    let at = text.len() - digits.len();
    let (before, rest) = match digits.get(1..) {
        // a number with a point or a bracket, and nothing or a space after that, begins a numbered list
        Some(behind) if at > 0 && digits.starts_with(['.', ')']) && (behind.is_empty() || behind.starts_with(' ')) => {
            (&text[..at], digits)
        }
        _ if text.starts_with(|first| MARKS_AT_START.contains(first)) => ("", text.as_str()),
        _ => return escaped_in_cell(&text),
    };
    format!("{before}\\{}", escaped_in_cell(rest))
}

/// A text as it stands in a table, where no line begins.
fn escaped_in_cell(text: &str) -> String {
    let mut line = String::with_capacity(text.len());
    for letter in printable_parts(text).chars() {
        if MARKS.contains(letter) {
            line.push('\\');
        }
        line.push(letter);
    }
    line
}
