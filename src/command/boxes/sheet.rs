//! Sheets in CSV that people fill in: columns by their names, faults by line, all of them at once.

use std::collections::HashMap;
use std::path::Path;

use anyhow::anyhow;

use crate::export::formula::text_kept;
use crate::kit::document::Faults;
pub use crate::kit::document::SheetFaults;
use crate::kit::document::fault::{list, most_like, quoted};
use crate::kit::document::load::{name_of, read_text};

/// The largest sheet that is read, in bytes.
const LARGEST_SHEET: u64 = 10_000_000;

/// A sheet, its cells by the names of their columns.
#[derive(Debug)]
pub struct Sheet {
    file: String,
    columns: HashMap<String, usize>,
    /// The rows that have something in them.
    pub rows: Vec<SheetRow>,
}

/// A row of a sheet.
#[derive(Debug)]
pub struct SheetRow {
    /// Its line in the file, from 1.
    pub line: u64,
    cells: Vec<String>,
}

/// What the columns of a sheet may be called.
pub struct Columns<'a> {
    /// Those that must be there.
    pub needed: &'a [&'a str],
    /// Those that may be.
    pub optional: &'a [&'a str],
}

impl Sheet {
    /// Reads a sheet; commas between the cells, or semicolons where the head has them.
    ///
    /// # Errors
    /// When the file cannot be read, is no table, or its head lacks a column or has one that is not known.
    pub fn read(path: &Path, columns: &Columns<'_>) -> anyhow::Result<Self> {
        let text = read_text(path, LARGEST_SHEET).map_err(Faults::from)?;
        Self::parse(&name_of(path), &text, columns, &mut |name| Some(name.to_owned()))
    }

    /// The same for a sheet that somebody else made: a column may be called otherwise, as `named` says (what it is, then what
    /// it is called there), and those that are not known are passed over. They are named beside the sheet.
    ///
    /// # Errors
    /// As [`Sheet::read`].
    pub fn read_mapped(
        path: &Path,
        columns: &Columns<'_>,
        named: &[(String, String)],
    ) -> anyhow::Result<(Self, Vec<String>)> {
        if let Some((what, _)) = named.iter().find(|(what, _)| !columns.every().any(|known| known == what)) {
            anyhow::bail!("--column: there is no column {}: they are {}", quoted(what), columns.named());
        }
        let text = read_text(path, LARGEST_SHEET).map_err(Faults::from)?;
        let mut others = Vec::new();
        let sheet = Self::parse(&name_of(path), &text, columns, &mut |name| {
            let called = named.iter().find(|(_, called)| called == name);
            match called {
                Some((what, _)) => Some(what.clone()),
                None if columns.every().any(|known| known == name) => Some(name.to_owned()),
                None => {
                    others.push(quoted(name));
                    None
                }
            }
        })?;
        Ok((sheet, others))
    }

    fn parse(
        file: &str,
        text: &str,
        columns: &Columns<'_>,
        other: &mut dyn FnMut(&str) -> Option<String>,
    ) -> anyhow::Result<Self> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let head = text.lines().next().unwrap_or_default();
        let between = if head.contains(';') && !head.contains(',') { b';' } else { b',' };
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(between)
            .flexible(true)
            .has_headers(false)
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let mut faults = SheetFaults::of_sheet(file);
        let mut sheet = Self { file: file.to_owned(), columns: HashMap::new(), rows: Vec::new() };
        for record in reader.records() {
            let record = match record {
                Ok(record) => record,
                Err(error) => {
                    let line = error.position().map_or(1, csv::Position::line);
                    faults.add(line, "this line cannot be read as CSV: look for a quotation mark that is not closed");
                    break;
                }
            };
            let line = record.position().map_or(1, csv::Position::line);
            if sheet.columns.is_empty() {
                sheet.read_head(&record, line, columns, other, &mut faults);
            } else if record.len() > sheet.columns.len()
                && record.iter().skip(sheet.columns.len()).any(|cell| !cell.is_empty())
            {
                let what = format!("this line has {} cells, and the head has {}", record.len(), sheet.columns.len());
                faults.add(line, format!("{what}: put a text with a comma in quotation marks"));
            } else if record.iter().any(|cell| !cell.is_empty()) {
                sheet.rows.push(SheetRow { line, cells: record.iter().map(str::to_owned).collect() });
            }
        }
        if sheet.columns.is_empty() && faults.is_empty() {
            faults.add(1, format!("this sheet is empty: its first line names the columns: {}", columns.named()));
        }
        faults.found()?;
        Ok(sheet)
    }

    fn read_head(
        &mut self,
        record: &csv::StringRecord,
        line: u64,
        columns: &Columns<'_>,
        other: &mut dyn FnMut(&str) -> Option<String>,
        faults: &mut SheetFaults,
    ) {
        for (at, name) in record.iter().enumerate() {
            let Some(name) = other(&name.to_lowercase()) else {
                // it counts as a column of the line all the same
                self.columns.insert(format!("\u{0}{at}"), at);
                continue;
            };
            if columns.every().any(|known| known == name) {
                if self.columns.insert(name.clone(), at).is_some() {
                    faults.add(line, format!("two columns are called {}", quoted(&name)));
                }
            } else {
                let meant = most_like(&name, columns.every())
                    .map(|meant| format!("; did you mean `{meant}`?"))
                    .unwrap_or_default();
                let known = columns.named();
                faults.add(line, format!("there is no column {}: they are {known}{meant}", quoted(&name)));
                self.columns.insert(format!("\u{0}{at}"), at);
            }
        }
        for lacking in columns.needed.iter().filter(|name| !self.columns.contains_key(**name)) {
            faults.add(line, format!("the column `{lacking}` is not there: the first line is {}", columns.named()));
        }
    }

    /// Its file, as it is named.
    pub fn name(&self) -> &str {
        &self.file
    }

    /// A cell by the name of its column; nothing where it is empty or there is no such column. The apostrophe by which our own
    /// CSV keeps a text is taken off.
    pub fn cell<'a>(&self, row: &'a SheetRow, column: &str) -> Option<&'a str> {
        let at = *self.columns.get(column)?;
        row.cells.get(at).map(|cell| text_kept(cell)).filter(|cell| !cell.is_empty())
    }

    /// A whole number from 0 to 99 in a cell; an empty one is none.
    ///
    /// # Errors
    /// When something else is there.
    pub fn count(&self, row: &SheetRow, column: &str) -> anyhow::Result<Option<u8>> {
        let Some(cell) = self.cell(row, column) else { return Ok(None) };
        let count = cell.parse::<u8>().ok().filter(|count| *count <= 99);
        count.map(Some).ok_or_else(|| anyhow!("`{column}` {}: write how many, from 0 to 99", quoted(cell)))
    }
}

impl Columns<'_> {
    fn every(&self) -> impl Iterator<Item = &str> {
        self.needed.iter().chain(self.optional).copied()
    }

    fn named(&self) -> String {
        let every: Vec<String> = self.needed.iter().chain(self.optional).map(|name| format!("`{name}`")).collect();
        list(&every)
    }
}
