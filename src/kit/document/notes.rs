//! The faults of one file, noted while it is read on.

use super::fault::{Fault, Faults, Position, Refusal, counted};

/// The most faults that are listed; what is beyond them is counted.
pub(super) const MOST_FAULTS: usize = 100;

/// The faults that were noted so far.
#[derive(Debug)]
pub struct Notes<'f> {
    file: &'f str,
    faults: Vec<Fault>,
    more: usize,
}

impl<'f> Notes<'f> {
    /// No faults yet, of a file named as in its messages.
    pub fn new(file: &'f str) -> Self {
        Self { file, faults: Vec::new(), more: 0 }
    }

    /// Notes a fault.
    pub fn refuse(&mut self, at: Position, refusal: Refusal) {
        if self.faults.len() < MOST_FAULTS {
            self.faults.push(Fault { file: self.file.to_owned(), at, refusal });
        } else {
            self.more += 1;
        }
    }

    /// How many faults were noted so far.
    pub fn count(&self) -> usize {
        self.faults.len() + self.more
    }

    /// Whether further faults are only counted, so that looking for what was meant is of no use.
    pub fn is_full(&self) -> bool {
        self.faults.len() == MOST_FAULTS
    }

    /// What was read, if nothing was wrong.
    ///
    /// # Errors
    /// All faults noted.
    pub fn finish<T>(mut self, value: Option<T>) -> Result<T, Faults> {
        if self.more > 0 {
            let at = self.faults.iter().map(|fault| fault.at).max().unwrap_or(Position::START);
            let what = counted(self.more, "more fault is", "more faults are");
            let refusal = Refusal::new(format!("{what} in this file")).allowed("mend these first");
            self.faults.push(Fault { file: self.file.to_owned(), at, refusal });
        }
        match (Faults::found(self.faults), value) {
            (Some(faults), _) => Err(faults),
            (None, Some(value)) => Ok(value),
            (None, None) => {
                let refusal = Refusal::new("nothing can be read from this file");
                Err(Fault { file: self.file.to_owned(), at: Position::START, refusal }.into())
            }
        }
    }
}
