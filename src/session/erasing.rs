//! What two people of a room had erased is taken out of the logbook when a program begins with it, or goes over to another exam.

use super::note::Note;
use super::writing::number;
use crate::logbook::{ErasedHere, Logbook};

/// Erases what was agreed to, and says so. That it could not be done is said too, and keeps nobody from an exam.
pub fn erase_what_was_agreed(logbook: &mut Logbook) -> Vec<Note> {
    let ErasedHere { erased, on_a_screen, left_behind } = match logbook.erase_what_was_agreed() {
        Ok(here) => here,
        Err(why) => return vec![Note::NotErased { why: why.to_string() }],
    };
    let erased = erased.iter().map(|(exam, erasure)| Note::Erased { exam: number(*exam), why: erasure.to_string() });
    let on_a_screen = on_a_screen.into_iter().map(|exam| Note::ToBeErased { exam: number(exam) });
    let left_behind = left_behind.map(|why| Note::ErasedLeftBehind { why });
    erased.chain(on_a_screen).chain(left_behind).collect()
}
