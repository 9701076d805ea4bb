//! Stock-takes: kept while they go on, so that they can be ended on another day, and ended in one entry.

use jiff::Timestamp;

use super::error::LogbookError;
use super::names::{BoxKey, NamedBox};
use super::noting::{NewChanges, Noted};
use super::row::{self, Stored};
use super::store::Logbook;
use crate::kit::stock_take::Ending;
use crate::kit::{DeclaredBox, StockTake};

const WHAT: &str = "the stock-take";

/// A stock-take in progress as it was last kept.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptStockTake {
    /// What was said so far.
    pub take: StockTake,
    /// When it was last kept.
    pub at: Timestamp,
}

impl Logbook {
    /// The stock-take of a box that is in progress.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn stock_take(&self, key: &BoxKey) -> Result<Option<KeptStockTake>, LogbookError> {
        let Some((text, at)) = self.engine.stock_take(key)? else { return Ok(None) };
        let at = row::time(self.path(), WHAT, &at)?;
        let take = Stored { format: row::FORMAT, text }.decode(self.path(), WHAT)?;
        Ok(Some(KeptStockTake { take, at }))
    }

    /// Keeps a stock-take in place of what was kept of it before.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn keep_stock_take(&mut self, in_box: &NamedBox, take: &StockTake, at: Timestamp) -> Result<(), LogbookError> {
        let stored = Stored::encode(take, WHAT)?;
        self.engine.keep_stock_take(in_box, Some(&stored.text), &at.to_string())
    }

    /// Gives a stock-take up: nothing is noted of it.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn give_up_stock_take(&mut self, in_box: &NamedBox, at: Timestamp) -> Result<(), LogbookError> {
        self.engine.keep_stock_take(in_box, None, &at.to_string())
    }

    /// Ends a stock-take: what it came to is noted in one entry, in one transaction with the end of it.
    ///
    /// # Errors
    /// As [`Logbook::note_in_box`]; nothing is noted then, and the stock-take goes on.
    pub fn end_stock_take(
        &mut self,
        in_box: &NamedBox,
        declared: &DeclaredBox,
        ending: &Ending,
        by: Option<&str>,
        at: Timestamp,
    ) -> Result<Noted, LogbookError> {
        let (changes, count) = (ending.changes.clone(), Some(ending.count.clone()));
        let note = ending.note.as_deref();
        self.note_in_box(in_box, declared, &NewChanges { changes, note, by, at, count }, &[])
    }
}
