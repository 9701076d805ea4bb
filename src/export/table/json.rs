//! A table for programs: each row an object by the names of its columns, those of the CSV.

use serde::Serialize;
use serde_json::{Map, Value, json};

use super::{Cell, Table, named_for_programs};

/// A table as it is serialised.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TableJson {
    #[serde(skip_serializing_if = "Option::is_none")]
    across: Option<&'static str>,
    title: String,
    about: Vec<String>,
    rows: Vec<Map<String, Value>>,
    notes: Vec<String>,
    caution: &'static str,
}

impl From<&Table> for TableJson {
    fn from(table: &Table) -> Self {
        let mut rows = Vec::new();
        for group in &table.groups {
            for row in &group.rows {
                let named = table.groups_are.map(|are| (named_for_programs(are), Value::from(group.name.clone())));
                let cells = table.columns.iter().zip(row).map(|(column, cell)| (column.name(), value(cell)));
                rows.push(named.into_iter().chain(cells).collect());
            }
        }
        let Table { title, about, notes, caution, across, .. } = table;
        let across = across.map(|across| across.why);
        Self { across, title: title.clone(), about: about.clone(), rows, notes: notes.clone(), caution }
    }
}

fn value(cell: &Cell) -> Value {
    match cell {
        Cell::Empty => Value::Null,
        Cell::Text(text) if text.is_empty() => Value::Null,
        Cell::Text(text) => json!(text),
        Cell::Figure { value, places: 0, .. } => json!(value.round() as i64),
        Cell::Figure { value, .. } => json!(value),
    }
}
