//! A table on A4 pages: the head of its columns again on each page, squares to tick, lines to write and to sign on.

use super::face::Face::{self, Bold, Plain};
use super::face::FaceError;
use super::layout::{Layout, MARGIN, PAGE_WIDTH};
use crate::export::table::{Cell, ColumnKind, Fitted, Paper, Table};
use crate::export::words::isolated;
use crate::export::wrapping::wrapped;

/// Size of what stands in cells, in points.
const SIZE: f32 = 8.5;
/// From line to line.
const LINE: f32 = 12.0;
/// What a row that is filled in by hand has more.
const TO_WRITE_IN: f32 = 4.0;
/// The paper, in points.
const PAPER: Paper = Paper { width: (PAGE_WIDTH - 2.0 * MARGIN) as f64, gap: 9.0, indent: 14.0, least: 70.0 };

/// A table as the bytes of a PDF file.
///
/// # Errors
/// When a face cannot be used, which those that come with the program always can.
pub fn pdf_of_table(table: &Table) -> Result<Vec<u8>, FaceError> {
    let mut page = Layout::new(&table.title)?;
    page.write_across(table.across.map(|across| across.word));
    page.space(16.0);
    page.paragraph(Bold, 15.0, MARGIN, &isolated(&table.title));
    if let Some(across) = table.across {
        page.space(2.0);
        page.paragraph(Bold, 9.5, MARGIN, across.why);
    }
    page.space(4.0);
    page.paragraph(Plain, 9.5, MARGIN, &isolated(&table.about.join("  ·  ")));
    page.space(7.0);
    page.rule(1.0);
    if table.rows() == 0 {
        page.space(8.0);
        page.paragraph(Plain, 9.5, MARGIN, table.nothing);
    } else {
        rows(&mut page, table);
    }
    page.space(8.0);
    for note in &table.notes {
        page.space(1.5);
        page.bulleted(8.5, &isolated(note));
    }
    for who in &table.signed_by {
        page.keep_together(44.0);
        page.space(30.0);
        page.rule(0.5);
        page.space(11.0);
        page.text(Plain, 9.0, MARGIN, who);
        page.text_right(Plain, 9.0, PAGE_WIDTH - MARGIN, "date");
    }
    page.space(10.0);
    page.paragraph(Plain, 7.5, MARGIN, table.caution);
    page.finish()
}

fn rows(page: &mut Layout, table: &Table) {
    let by_hand = |kind: ColumnKind| match kind {
        ColumnKind::Tick => 9.0,
        ColumnKind::ToFillIn => 44.0,
        ColumnKind::Words | ColumnKind::LongWords | ColumnKind::Figures => 0.0,
    };
    // heads are bold and so the wider
    let lines = PAPER.fit(&table.to_fit(by_hand, |part| f64::from(page.width(Bold, SIZE, part))));
    head(page, table, &lines);
    for group in &table.groups {
        if !group.name.is_empty() {
            if page.keep_together(5.0 * LINE) {
                head(page, table, &lines);
            }
            page.space(4.0);
            page.paragraph(Bold, 9.5, MARGIN, &isolated(&group.name));
        }
        for row in &group.rows {
            let lines_of_row: Vec<&Vec<Fitted>> = lines.iter().filter(|line| table.has_something(row, line)).collect();
            let cells: Vec<Vec<Vec<String>>> = lines_of_row.iter().map(|line| broken(page, line, row)).collect();
            let deep = cells.iter().map(|line| line.iter().map(Vec::len).max().unwrap_or(0)).sum::<usize>();
            let high = LINE * deep as f32 + TO_WRITE_IN * lines_of_row.len() as f32;
            if page.keep_together(high) {
                head(page, table, &lines);
            }
            for (line, cells) in lines_of_row.iter().zip(&cells) {
                draw(page, table, line, row, cells);
            }
        }
    }
}

fn head(page: &mut Layout, table: &Table, lines: &[Vec<Fitted>]) {
    page.space(3.0);
    for line in lines {
        page.space(LINE);
        for fitted in line {
            let column = &table.columns[fitted.column];
            place(page, Bold, fitted, column.kind, column.head);
        }
    }
    page.space(4.0);
    page.rule(0.4);
}

/// The cells of a line, each broken into lines.
fn broken(page: &Layout, line: &[Fitted], row: &[Cell]) -> Vec<Vec<String>> {
    let of = |fitted: &Fitted| {
        let shown = row.get(fitted.column).map(Cell::shown).unwrap_or_default();
        wrapped(&shown, fitted.width + 0.01, |part| f64::from(page.width(Plain, SIZE, part)))
    };
    line.iter().map(of).collect()
}

fn draw(page: &mut Layout, table: &Table, line: &[Fitted], row: &[Cell], cells: &[Vec<String>]) {
    if line.iter().any(|fitted| table.columns[fitted.column].kind.is_by_hand()) {
        page.space(TO_WRITE_IN);
    }
    let deep = cells.iter().map(Vec::len).max().unwrap_or(0);
    for depth in 0..deep {
        page.space(LINE);
        for (fitted, cell) in line.iter().zip(cells) {
            let kind = table.columns[fitted.column].kind;
            let is_empty = row.get(fitted.column).is_none_or(|cell| *cell == Cell::Empty);
            let left = MARGIN + fitted.left as f32;
            match kind {
                ColumnKind::Tick if is_empty && depth == 0 => page.square_to_tick(left, 7.5),
                ColumnKind::ToFillIn if is_empty && depth == 0 => page.line_to_write_on(left, fitted.width as f32),
                ColumnKind::Tick
                | ColumnKind::ToFillIn
                | ColumnKind::Words
                | ColumnKind::LongWords
                | ColumnKind::Figures => {
                    if let Some(part) = cell.get(depth) {
                        place(page, Plain, fitted, kind, part);
                    }
                }
            }
        }
    }
}

fn place(page: &mut Layout, face: Face, fitted: &Fitted, kind: ColumnKind, text: &str) {
    let left = MARGIN + fitted.left as f32;
    if kind.ends_at_the_right() {
        page.text_right(face, SIZE, left + fitted.width as f32, text);
    } else {
        page.text(face, SIZE, left, text);
    }
}
