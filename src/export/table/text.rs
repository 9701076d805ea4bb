//! A table as text, 80 columns wide.

use unicode_width::UnicodeWidthStr;

use super::{Cell, Column, ColumnKind, Fitted, Paper, Table};
use crate::export::wrapping::wrapped_to_columns;

/// How wide it is.
const COLUMNS: usize = 80;
/// Between two columns stand two blanks; further lines of a row begin four in; words have ten columns at the least.
const PAPER: Paper = Paper { width: 80.0, gap: 2.0, indent: 4.0, least: 10.0 };
/// How wide a place to be filled in is.
const TO_FILL_IN: usize = 8;
/// The most blanks and lines that a name is signed on.
const SIGNATURE: usize = 36;

/// A table as text.
pub fn text(table: &Table) -> String {
    let mut lines: Vec<String> = Vec::new();
    let paragraph = |lines: &mut Vec<String>, first: &str, text: &str| {
        let most = COLUMNS - first.width();
        for (at, line) in wrapped_to_columns(text, most).into_iter().enumerate() {
            let before = if at == 0 { first.to_owned() } else { " ".repeat(first.width()) };
            lines.push(format!("{before}{line}"));
        }
    };
    if let Some(across) = table.across {
        paragraph(&mut lines, "", across.why);
    }
    paragraph(&mut lines, "", &table.title);
    paragraph(&mut lines, "", &table.about.join(", "));
    lines.push("-".repeat(COLUMNS));
    if table.rows() == 0 {
        paragraph(&mut lines, "", table.nothing);
    } else {
        rows(table, &mut lines);
    }
    if !table.notes.is_empty() {
        lines.push(String::new());
        table.notes.iter().for_each(|note| paragraph(&mut lines, "- ", note));
    }
    for who in &table.signed_by {
        let line = "_".repeat(SIGNATURE);
        lines.extend([String::new(), format!("{who} {line}  date {}", "_".repeat(12))]);
    }
    lines.push(String::new());
    paragraph(&mut lines, "", table.caution);
    lines.iter().flat_map(|line| [line.trim_end(), "\n"]).collect()
}

fn rows(table: &Table, lines: &mut Vec<String>) {
    let by_hand = |kind: ColumnKind| match kind {
        ColumnKind::Tick => 3.0,
        ColumnKind::ToFillIn => TO_FILL_IN as f64,
        ColumnKind::Words | ColumnKind::LongWords | ColumnKind::Figures => 0.0,
    };
    let fitted = PAPER.fit(&table.to_fit(by_hand, |part| part.width() as f64));
    let head = |column: &Column| column.head.to_owned();
    lines.extend(fitted.iter().flat_map(|line| laid(table, line, |at| head(&table.columns[at]))));
    for group in &table.groups {
        lines.push(String::new());
        if !group.name.is_empty() {
            lines.extend(wrapped_to_columns(&crate::export::words::isolated(&group.name), COLUMNS));
        }
        for row in &group.rows {
            let shown = |at: usize| by_hand_or(&table.columns[at], row.get(at).unwrap_or(&Cell::Empty));
            let with_something = fitted.iter().filter(|line| table.has_something(row, line));
            lines.extend(with_something.flat_map(|line| laid(table, line, shown)));
        }
    }
}

/// What stands in a cell, or the place where it is filled in.
fn by_hand_or(column: &Column, cell: &Cell) -> String {
    if *cell != Cell::Empty {
        return cell.shown();
    }
    match column.kind {
        ColumnKind::Tick => "[ ]".to_owned(),
        ColumnKind::ToFillIn => "_".repeat(TO_FILL_IN),
        ColumnKind::Words | ColumnKind::LongWords | ColumnKind::Figures => cell.shown(),
    }
}

/// The lines that some columns of a row take.
fn laid(table: &Table, line: &[Fitted], shown: impl Fn(usize) -> String) -> Vec<String> {
    let cells: Vec<Vec<String>> =
        line.iter().map(|fitted| wrapped_to_columns(&shown(fitted.column), fitted.width as usize)).collect();
    let deep = cells.iter().map(Vec::len).max().unwrap_or(0);
    let of_depth = |depth: usize| {
        let mut text = String::new();
        for (fitted, cell) in line.iter().zip(&cells) {
            let part = cell.get(depth).map_or("", String::as_str);
            let (left, width) = (fitted.left as usize, fitted.width as usize);
            let free = width.saturating_sub(part.width());
            let before = if table.columns[fitted.column].kind.ends_at_the_right() { free } else { 0 };
            let blanks = (left + before).saturating_sub(text.width());
            text.push_str(&" ".repeat(blanks));
            text.push_str(part);
        }
        text
    };
    (0..deep).map(of_depth).collect()
}
