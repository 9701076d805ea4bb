//! What pictures leave in the terminal: those that it keeps under a number of ours, until they are taken away by it.
//!
//! A picture that stays behind shows what no longer stands before the eye. So every number that was sent is remembered here, and
//! is taken away on every way out, a fault of the program among them: without a lock, since nobody may wait then.

use std::io::{self, Write};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use crossterm::execute;
use crossterm::terminal::{Clear, ClearType, EndSynchronizedUpdate};

/// The numbers under which the terminal keeps pictures of ours now, one a bit.
static KEPT: AtomicU64 = AtomicU64::new(0);
/// Whether any picture was drawn in pixels since the terminal was taken.
static DRAWN: AtomicBool = AtomicBool::new(false);

/// The first of our numbers: other programs that draw in the same terminal hardly begin there.
const FIRST: u32 = 0x0044_5000;

/// The number of a picture that the terminal keeps.
#[derive(Debug, PartialEq, Eq)]
pub struct Number(u32);

impl Number {
    /// The next free number after another, or none while all 64 are in use. It counts as kept from now on.
    pub fn next(after: u32) -> Option<Self> {
        let of = |step| (after + 1 + step) % u64::BITS;
        let is_free = |bit: &u32| KEPT.load(Ordering::SeqCst) & (1 << bit) == 0;
        let bit = (0..u64::BITS).map(of).find(is_free)?;
        KEPT.fetch_or(1 << bit, Ordering::SeqCst);
        Some(Self(bit))
    }

    /// Which of 64 it is.
    pub fn nth(&self) -> u32 {
        self.0
    }

    /// As the terminal has it.
    pub fn id(&self) -> u32 {
        FIRST + self.0
    }

    /// Has the terminal take the picture away, and forget it.
    ///
    /// # Errors
    /// When nothing can be written.
    #[expect(clippy::needless_pass_by_value, reason = "a number that was taken away is nobody's any more")]
    pub fn take_away(self, out: &mut impl Write) -> io::Result<()> {
        KEPT.fetch_and(!(1 << self.0), Ordering::SeqCst);
        write_deletion(self.id(), out)
    }
}

/// Notes that pictures are drawn.
pub fn note_drawn() {
    DRAWN.store(true, Ordering::SeqCst);
}

/// Takes away whatever is left of pictures, before the terminal is given back.
///
/// # Errors
/// When nothing can be written.
pub fn take_away(out: &mut impl Write) -> io::Result<()> {
    if !DRAWN.swap(false, Ordering::SeqCst) {
        return Ok(());
    }
    // they stay ours: whoever goes on after a while takes them away once more, which does no harm
    let kept = KEPT.load(Ordering::SeqCst);
    for bit in (0..u64::BITS).filter(|bit| kept & (1 << bit) != 0) {
        write_deletion(FIRST + bit, out)?;
    }
    // a fault may have come in the middle of a frame
    execute!(out, Clear(ClearType::All), EndSynchronizedUpdate)
}

/// Deletes a picture and its data, without an answer (the terminal graphics protocol of kitty, public description, from memory).
fn write_deletion(id: u32, out: &mut impl Write) -> io::Result<()> {
    write!(out, "\u{1b}_Ga=d,d=I,i={id},q=2\u{1b}\\")
}
