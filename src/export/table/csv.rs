//! A table for spreadsheets (RFC 4180), as the records of exams are: a byte-order mark, plain numbers, texts that stay texts.
//!
//! The group of a row is its first column. What is filled in by hand is empty. The last two columns have the notes and the
//! caution, in the first row alone.

use super::{Cell, Column, Table, named_for_programs};
use crate::export::csv::BYTE_ORDER_MARK;
use crate::export::formula::kept_as_text;
use crate::export::words::fixed;

/// The column of the notes.
pub const NOTES: &str = "notes";
/// The column of the caution.
pub const NOTICE: &str = "notice";

/// A table as CSV.
///
/// # Errors
/// When the writer fails, which it does for no table whose rows have a cell for each column.
pub fn csv(table: &Table) -> Result<String, ::csv::Error> {
    let mut writer = ::csv::WriterBuilder::new().terminator(::csv::Terminator::CRLF).from_writer(Vec::new());
    let head = table.groups_are.map(named_for_programs).into_iter().chain(table.columns.iter().map(Column::name));
    writer.write_record(head.chain([NOTES.to_owned(), NOTICE.to_owned()]))?;
    let across = table.across.map(|across| format!("{} ", across.why)).unwrap_or_default();
    let notes = format!("{across}{}: {}. {}", table.title, table.about.join(", "), table.notes.join(" "));
    let mut beside = Some([kept_as_text(notes.trim_end()), kept_as_text(table.caution)]);
    let nothing = [(String::new(), vec![Cell::Empty; table.columns.len()])];
    let rows = table.groups.iter().flat_map(|group| group.rows.iter().map(|row| (group.name.clone(), row.clone())));
    let rows: Vec<(String, Vec<Cell>)> = if table.rows() == 0 { nothing.into() } else { rows.collect() };
    for (group, row) in rows {
        let group = table.groups_are.map(|_| kept_as_text(&group));
        let cells = group.into_iter().chain(row.iter().map(written));
        writer.write_record(cells.chain(beside.take().unwrap_or_default()))?;
    }
    let bytes = writer.into_inner().map_err(::csv::IntoInnerError::into_error)?;
    // fields are strings and the separators ASCII, so these bytes are UTF-8
    Ok(format!("{BYTE_ORDER_MARK}{}", String::from_utf8_lossy(&bytes)))
}

fn written(cell: &Cell) -> String {
    match cell {
        Cell::Empty => String::new(),
        Cell::Text(text) => kept_as_text(text),
        Cell::Figure { value, places, .. } => fixed(*value, *places),
    }
}
