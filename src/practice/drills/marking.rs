//! Marking: right, or wrong with the kind of slip.

use super::answer::{Answer, Unreadable};
use super::item::{Item, Slip};

/// What an answer is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// It is right.
    Right,
    /// It is wrong, in this way.
    Wrong(Slip),
}

impl Mark {
    /// The slip, where it is wrong.
    pub fn slip(self) -> Option<Slip> {
        match self {
            Self::Right => None,
            Self::Wrong(slip) => Some(slip),
        }
    }
}

/// Marks what was typed, in any notation that is read elsewhere.
///
/// # Errors
/// [`Unreadable`], when it cannot be an answer to this; nothing is marked then.
pub fn mark(item: &Item, typed: &str) -> Result<Mark, Unreadable> {
    let given = item.answer.read(typed)?;
    if item.answer.accepts(&given, item.within) {
        return Ok(Mark::Right);
    }
    Ok(Mark::Wrong(slip_of(item, &given)))
}

/// Which slip comes out as this: those that the item knows, then those that any answer can have.
fn slip_of(item: &Item, given: &Answer) -> Slip {
    if let Some((slip, _)) = item.slips.iter().find(|(_, wrong)| wrong.accepts(given, item.within)) {
        return *slip;
    }
    let is = |wrong: Option<Answer>| wrong.is_some_and(|wrong| wrong.accepts(given, item.within));
    if item.answer.is_in_another_form(given, item.within) {
        Slip::Form
    } else if item.answer.is_in_another_order(given) {
        Slip::Order
    } else if is(item.answer.with_axis_across()) {
        Slip::Axis
    } else if is(item.answer.with_other_sign()) {
        Slip::Sign
    } else {
        Slip::Arithmetic
    }
}
