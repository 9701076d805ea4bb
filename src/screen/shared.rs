//! Whoever sends on what is kept, where the record is shared with other seats, and what the screen has told and said of it.

use crate::sharing::news::SendsOn;

/// Whoever sends on, and what was told last.
pub struct Shared {
    pub(super) sends: Box<dyn SendsOn>,
    /// The exam, and its revision, at which the last was told.
    pub(super) told: Option<(Option<u64>, u64)>,
    /// What the room last refused, so that it is said once.
    pub(super) refused: Option<String>,
    /// The seat of which it was said that it goes on with the exam.
    pub(super) said_taken: Option<String>,
    /// Lenses of which it was said that they are counted twice.
    pub(super) said_twice: Vec<(String, String)>,
    /// Lenses of which it was said that they were counted at a seat that is not heard.
    pub(super) said_taken_over: Vec<(String, String)>,
}

impl Shared {
    /// With nothing told yet.
    pub fn new(sends: Box<dyn SendsOn>) -> Self {
        let (said_twice, said_taken_over) = (Vec::new(), Vec::new());
        Self { sends, told: None, refused: None, said_taken: None, said_twice, said_taken_over }
    }

    /// Whoever sends on.
    pub fn sends(&self) -> &dyn SendsOn {
        self.sends.as_ref()
    }
}
