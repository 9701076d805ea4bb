//! A case as its file declares it.

use crate::practice::examinee::Examinee;
use crate::practice::people::{Person, Stream, stream};

/// One named case.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// Its name.
    pub name: String,
    /// What it teaches, in plain words.
    pub note: Option<String>,
    /// The person.
    pub person: Person,
}

impl Case {
    /// The person, answering by the chance of a seed.
    pub fn examinee(&self, seed: u64) -> Examinee {
        Examinee::new(self.person.clone(), stream(seed, 0, Stream::Answers))
    }
}
