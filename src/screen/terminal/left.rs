//! What pictures leave in the terminal: those that it keeps under a number of ours, until they are taken away by it.
//!
//! A picture that stays behind shows what no longer stands before the eye. So every number that was sent is remembered here, and
//! is taken away on every way out, a fault of the program among them: without a lock, since nobody may wait then.

use std::io::{self, Write};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use crossterm::execute;
use crossterm::terminal::{Clear, ClearType, EndSynchronizedUpdate};

/// The first of our numbers: other programs that draw in the same terminal hardly begin there.
const FIRST: u32 = 0x0044_5000;

/// What this program's terminal keeps.
pub static KEPT: Kept = Kept::nothing();

/// What a terminal keeps of our pictures.
#[derive(Debug)]
pub struct Kept {
    /// The numbers of pictures, one a bit.
    numbers: AtomicU64,
    /// Whether any frame was drawn that may have pictures in pixels since the terminal was taken.
    drawn: AtomicBool,
}

/// The number of a picture that a terminal keeps: one of 64.
#[derive(Debug, PartialEq, Eq)]
pub struct Number(u32);

impl Number {
    /// As the terminal has it.
    pub fn id(&self) -> u32 {
        FIRST + self.0
    }
}

impl Kept {
    /// Nothing yet.
    pub const fn nothing() -> Self {
        Self { numbers: AtomicU64::new(0), drawn: AtomicBool::new(false) }
    }

    /// A number that no kept picture has, none while all are in use. It counts as kept from now on: so a picture never takes
    /// the place of one that is shown still.
    pub fn next(&self) -> Option<Number> {
        let kept = self.numbers.load(Ordering::SeqCst);
        let free = (0..u64::BITS).find(|bit| kept & (1 << bit) == 0)?;
        self.numbers.fetch_or(1 << free, Ordering::SeqCst);
        Some(Number(free))
    }

    /// Has the terminal take a picture away, and forget it.
    ///
    /// # Errors
    /// When nothing can be written.
    #[expect(clippy::needless_pass_by_value, reason = "a number that was taken away is nobody's any more")]
    pub fn take_away(&self, number: Number, out: &mut impl Write) -> io::Result<()> {
        self.numbers.fetch_and(!(1 << number.0), Ordering::SeqCst);
        write_deletion(&number, out)
    }

    /// Notes that a frame is drawn that may have pictures.
    pub fn note_drawn(&self) {
        self.drawn.store(true, Ordering::SeqCst);
    }

    /// Takes away whatever is left of pictures, before the terminal is given back.
    ///
    /// # Errors
    /// When nothing can be written.
    pub fn take_all_away(&self, out: &mut impl Write) -> io::Result<()> {
        if !self.drawn.swap(false, Ordering::SeqCst) {
            return Ok(());
        }
        // they stay ours: whoever goes on after a while takes them away once more, which does no harm
        let kept = self.numbers.load(Ordering::SeqCst);
        for bit in (0..u64::BITS).filter(|bit| kept & (1 << bit) != 0) {
            write_deletion(&Number(bit), out)?;
        }
        // a fault may have come in the middle of a frame
        execute!(out, Clear(ClearType::All), EndSynchronizedUpdate)
    }
}

/// Deletes a picture and its data, without an answer (the terminal graphics protocol of kitty, public description, from memory).
fn write_deletion(number: &Number, out: &mut impl Write) -> io::Result<()> {
    write!(out, "\u{1b}_Ga=d,d=I,i={},q=2\u{1b}\\", number.id())
}
