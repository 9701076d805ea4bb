//! The practice eye that sits at the frame.

use crate::exam::Practised;
use crate::practice::Examinee;
use crate::practice::seat::Seat;

/// Who sits there, and how that person answers from now on.
#[derive(Debug, Clone)]
pub struct Seated {
    /// Who it is, and what is hidden.
    pub seat: Seat,
    /// The person, who answers.
    pub examinee: Examinee,
}

impl Seated {
    /// Who sits in an exam of a practice eye; `None` where nobody can be drawn or named by what it began with any more.
    pub fn of(practised: &Practised) -> Option<Self> {
        let seat = Seat::again(&practised.sitter).ok()?;
        Some(Self { examinee: seat.examinee(practised.asked.len() as u64), seat })
    }
}
