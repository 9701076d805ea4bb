//! What a key asks beside steps of the exam.

use crate::export::RecordForm;

/// What a key asks beside a step of the exam.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Request {
    /// Show the list of exams, of those with every word in label, number or date; of all where none is named.
    List {
        /// The words.
        search: String,
    },
    /// Show one exam.
    Read(u64),
    /// Add to a closed exam.
    Amend {
        /// Its number.
        exam: u64,
        /// What to add.
        text: String,
    },
    /// Write the record of an exam into a file.
    Export {
        /// Its number.
        exam: u64,
        /// The form, which gives the file its ending too.
        form: RecordForm,
    },
    /// Begin another exam.
    Begin {
        /// Its label; none when empty.
        label: String,
    },
}
