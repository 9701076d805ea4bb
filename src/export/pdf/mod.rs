//! The record on A4 pages, for printing: one page for a usual exam, further pages when the notes are long. The layout of a
//! [`Document`].
//!
//! The glyphs that are used are embedded, and the same record always gives the same bytes. The faces have Latin, Greek and
//! Cyrillic; other letters are drawn as an empty box, and the page says which.

mod face;
mod layout;
mod questions;
mod table;

use layout::{Layout, MARGIN, PAGE_WIDTH};

use super::document::{Block, Cells, Document, HeadingSize, Rows, RowsKind};
use super::error::ExportError;
use super::record::Record;
use face::Face::{Bold, Plain};
pub use face::FaceError;
pub use questions::pdf_of_questions;
pub use table::pdf_of_table;

/// Right edges of the columns of the prescription, in points from the left edge of the page.
const FIGURE_COLUMNS: [f32; 4] = [238.0, 338.0, 418.0, 538.0];
/// Left edges of the columns of findings, one for each eye.
const FINDING_COLUMNS: [f32; 2] = [200.0, 376.0];
/// Size of the small print in points.
const SMALL: f32 = 7.5;

/// The record as the bytes of a PDF file.
///
/// # Errors
/// When a face cannot be used, which those that come with the program always can.
pub fn pdf(record: &Record) -> Result<Vec<u8>, ExportError> {
    let of_record = |source| ExportError::Face { exam: record.exam_name(), source };
    pages(record).and_then(Layout::finish).map_err(of_record)
}

/// Which letters of a record its page cannot draw, in words; `None` where it draws all of them.
pub fn lacking(record: &Record) -> Option<String> {
    pages(record).ok()?.lacking()
}

fn pages(record: &Record) -> Result<Layout, FaceError> {
    let document = Document::from(record);
    let mut page = Layout::new(&format!("{}, {}", document.title, document.exam))?;
    page.write_across(document.across.map(|across| across.word));
    title(&mut page, &document);
    for block in &document.blocks {
        draw(&mut page, block);
    }
    Ok(page)
}

fn title(page: &mut Layout, document: &Document) {
    page.space(20.0);
    page.text(Bold, 19.0, MARGIN, document.title);
    page.text_right(Bold, 13.0, PAGE_WIDTH - MARGIN, &document.exam);
    page.space(8.0);
    page.paragraph(Plain, 10.0, MARGIN, &document.about.join("  ·  "));
    if let Some(across) = document.across {
        page.space(2.0);
        page.paragraph(Bold, 10.0, MARGIN, across.why);
    }
    if let Some(draft) = document.draft {
        page.space(2.0);
        page.paragraph(Bold, 10.0, MARGIN, draft);
    }
    page.space(8.0);
    page.rule(1.2);
}

fn draw(page: &mut Layout, block: &Block) {
    match block {
        Block::Heading { size, text, aside } => heading(page, *size, text, aside.as_deref()),
        Block::Rows(rows) => match rows.kind {
            RowsKind::Prescription => prescription(page, rows),
            RowsKind::Findings => findings(page, rows),
        },
        Block::Paragraph { text, strong } => {
            let (face, size) = if *strong { (Bold, 10.0) } else { (Plain, 9.5) };
            page.space(8.0);
            page.paragraph(face, size, MARGIN, text);
        }
        Block::Entries { entries, small: false } => {
            page.space(2.0);
            for entry in entries {
                page.space(2.0);
                page.bulleted(9.5, entry);
            }
        }
        Block::Entries { entries, small: true } => {
            for entry in entries {
                page.paragraph(Plain, SMALL, MARGIN, entry);
                page.space(1.5);
            }
        }
        Block::Rule => {
            page.space(8.0);
            page.rule(0.5);
            page.space(10.0);
        }
        Block::Signature { name, date } => {
            page.space(18.0);
            page.rule(0.5);
            page.space(11.0);
            page.text(Plain, 9.0, MARGIN, name);
            page.text_right(Plain, 9.0, PAGE_WIDTH - MARGIN, date);
            page.space(10.0);
        }
    }
}

fn heading(page: &mut Layout, size: HeadingSize, text: &str, aside: Option<&str>) {
    let points = match size {
        HeadingSize::Large => {
            page.space(12.0);
            11.0
        }
        HeadingSize::Medium => {
            page.space(10.0);
            10.0
        }
        // small letters say it themselves: a line more would not leave a usual exam on one page
        HeadingSize::Small => return,
    };
    page.text(Bold, points, MARGIN, text);
    if let Some(aside) = aside {
        page.text_right(Plain, 9.0, PAGE_WIDTH - MARGIN, aside);
    }
}

fn prescription(page: &mut Layout, rows: &Rows) {
    page.space(20.0);
    for (head, right) in rows.columns.iter().zip(FIGURE_COLUMNS) {
        page.text_right(Plain, 9.0, right, head);
    }
    for row in &rows.rows {
        page.space(24.0);
        page.text(Bold, 13.0, MARGIN, &row.name.to_uppercase());
        match &row.cells {
            Cells::Nothing(why) => page.text_right(Plain, 12.0, FIGURE_COLUMNS[1], why),
            Cells::Figures(cells) => {
                for (cell, right) in cells.iter().zip(FIGURE_COLUMNS) {
                    page.text_right(Bold, 17.0, right, cell);
                }
            }
        }
    }
    beneath(page, rows);
}

fn findings(page: &mut Layout, rows: &Rows) {
    for (head, left) in rows.columns.iter().zip(FINDING_COLUMNS) {
        page.text(Bold, 10.0, left, head);
    }
    for row in &rows.rows {
        page.space(12.0);
        page.text(Plain, 10.0, MARGIN, &row.name);
        match &row.cells {
            Cells::Nothing(why) => page.text(Plain, 10.0, FINDING_COLUMNS[0], why),
            Cells::Figures(cells) => {
                for (cell, left) in cells.iter().zip(FINDING_COLUMNS) {
                    page.text(Plain, 10.0, left, cell);
                }
            }
        }
    }
    beneath(page, rows);
}

fn beneath(page: &mut Layout, rows: &Rows) {
    for text in &rows.beneath {
        page.space(8.0);
        page.paragraph(Bold, 10.0, MARGIN, text);
    }
}
