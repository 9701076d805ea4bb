//! A table that a person keeps or fills in: one value, written as text, CSV, PDF or JSON.
//!
//! - [`form`]: the forms, and a table in each of them;
//! - [`text`]: 80 columns wide; [`csv`]: for spreadsheets; [`json`]: for programs; the page is [`pdf_of_table`];
//! - `fitting`: which columns stand beside each other where all of them are too wide.
//!
//! [`pdf_of_table`]: super::pdf::pdf_of_table

pub mod csv;
mod fitting;
pub mod form;
pub mod json;
pub mod text;

pub use fitting::{Fitted, Paper, ToFit};
pub use form::{TableError, TableForm};

use super::document::Across;
use super::words::fixed;

/// A table.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// What it is.
    pub title: String,
    /// Of what and when.
    pub about: Vec<String>,
    /// What its groups are, as a word; none where there is one group without a name.
    pub groups_are: Option<&'static str>,
    /// What stands across its pages, and why, where it is about no person.
    pub across: Option<Across>,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows by groups.
    pub groups: Vec<Group>,
    /// What is said where there is no row.
    pub nothing: &'static str,
    /// What belongs to it and has no row.
    pub notes: Vec<String>,
    /// Who signs it.
    pub signed_by: Vec<&'static str>,
    /// What it must not be taken for.
    pub caution: &'static str,
}

/// Rows under one heading.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// The heading; empty where there is one group.
    pub name: String,
    /// A cell for each column.
    pub rows: Vec<Vec<Cell>>,
}

/// A column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Its head, the unit in it.
    pub head: &'static str,
    /// What stands in it.
    pub kind: ColumnKind,
}

/// What stands in a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ColumnKind {
    /// Words, as wide as they are.
    Words,
    /// Words that are broken into lines where there is no more room.
    LongWords,
    /// Figures.
    Figures,
    /// A square that is ticked by hand.
    Tick,
    /// A place that is filled in by hand.
    ToFillIn,
}

impl ColumnKind {
    /// Whether its words are broken into lines.
    pub fn is_broken(self) -> bool {
        match self {
            Self::LongWords => true,
            Self::Words | Self::Figures | Self::Tick | Self::ToFillIn => false,
        }
    }

    /// Whether it is ticked or filled in by hand.
    pub fn is_by_hand(self) -> bool {
        match self {
            Self::Tick | Self::ToFillIn => true,
            Self::Words | Self::LongWords | Self::Figures => false,
        }
    }

    /// Whether its cells end at one right edge.
    pub fn ends_at_the_right(self) -> bool {
        match self {
            Self::Figures => true,
            Self::Words | Self::LongWords | Self::Tick | Self::ToFillIn => false,
        }
    }
}

/// A column of a kind.
pub const fn column(head: &'static str, kind: ColumnKind) -> Column {
    Column { head, kind }
}

impl Column {
    /// Its name for programs: `off_by_d`.
    pub fn name(&self) -> String {
        named_for_programs(self.head)
    }
}

/// Words as a name for programs.
pub fn named_for_programs(words: &str) -> String {
    words.to_lowercase().replace([' ', '-'], "_")
}

/// What stands in a cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Nothing: it is not known, or to be filled in.
    Empty,
    /// Words.
    Text(String),
    /// A number.
    Figure {
        /// The number.
        value: f64,
        /// How many places it is written with.
        places: usize,
        /// Whether a plus is written before it.
        signed: bool,
    },
}

impl Cell {
    /// Words.
    #[expect(
        clippy::needless_pass_by_value,
        reason = "what is written may be owned or not, and is handed on to `known` so"
    )]
    pub fn text(text: impl ToString) -> Self {
        Self::Text(text.to_string())
    }

    /// A number of pieces.
    pub fn count(count: usize) -> Self {
        Self::Figure { value: count as f64, places: 0, signed: false }
    }

    /// A power or a difference of powers, to two places with its sign.
    pub fn power(dioptres: f64) -> Self {
        Self::Figure { value: dioptres, places: 2, signed: true }
    }

    /// A figure to two places.
    pub fn figure(value: f64) -> Self {
        Self::Figure { value, places: 2, signed: false }
    }

    /// What there is of something that may not be known.
    pub fn known<T>(value: Option<T>, of: impl FnOnce(T) -> Self) -> Self {
        value.map_or(Self::Empty, of)
    }

    /// As a person reads it.
    pub fn shown(&self) -> String {
        match self {
            Self::Empty => String::new(),
            Self::Text(text) => super::words::isolated(text),
            Self::Figure { value, places, signed } => {
                let digits = fixed(*value, *places);
                if *signed && !digits.starts_with('-') { format!("+{digits}") } else { digits }
            }
        }
    }
}

impl Table {
    /// How many rows it has.
    pub fn rows(&self) -> usize {
        self.groups.iter().map(|group| group.rows.len()).sum()
    }

    /// The columns that are drawn, with how wide each would like to be by a measure of width: those of which nothing is known in
    /// any row are not. `by_hand` says how wide what is filled in by hand is.
    pub fn to_fit(&self, by_hand: impl Fn(ColumnKind) -> f64, width: impl Fn(&str) -> f64) -> Vec<ToFit> {
        let of_column = |(at, column): (usize, &Column)| {
            let cells = self.groups.iter().flat_map(|group| &group.rows).filter_map(|row| row.get(at));
            let shown: Vec<String> = cells.map(Cell::shown).collect();
            if !column.kind.is_by_hand() && shown.iter().all(String::is_empty) {
                return None;
            }
            let widest = shown.iter().map(|cell| width(cell)).fold(width(column.head), f64::max);
            Some(ToFit {
                column: at,
                width: widest.max(by_hand(column.kind)),
                is_broken: column.kind.is_broken(),
                by_hand: column.kind.is_by_hand(),
            })
        };
        self.columns.iter().enumerate().filter_map(of_column).collect()
    }

    /// Whether a line of a row has anything in it: what is known, or a place to fill in.
    pub fn has_something(&self, row: &[Cell], line: &[Fitted]) -> bool {
        line.iter().any(|fitted| {
            self.columns[fitted.column].kind.is_by_hand()
                || row.get(fitted.column).is_some_and(|cell| !cell.shown().is_empty())
        })
    }
}
