//! What a key asks beside steps of the exam.

use crate::export::RecordForm;
use crate::session::ToNote;

/// What a key asks beside a step of the exam.
#[derive(Debug, Clone, PartialEq)]
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
    /// Show a box: the one of the exam, or another by what it is known.
    ShowBox(Option<String>),
    /// Note what happened to the box that is shown, all of it or nothing.
    ChangeBox {
        /// What happened.
        to_note: ToNote,
        /// What is said when it is noted.
        said: String,
    },
    /// Take back what was noted last of the box that is shown.
    TakeBackOfBox,
    /// Begin another exam.
    Begin {
        /// Its label; none when empty.
        label: String,
    },
}
