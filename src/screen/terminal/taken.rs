//! The terminal while the screen has it, and giving it back on every way out.

use std::io::{self, Write};
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Duration;

use crossterm::event::{
    DisableBracketedPaste, DisableMouseCapture, EnableBracketedPaste, EnableMouseCapture, KeyboardEnhancementFlags,
    PopKeyboardEnhancementFlags, PushKeyboardEnhancementFlags,
};
use crossterm::terminal::{EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode};
use crossterm::{cursor, execute};

use super::left::KEPT;

/// How long the terminal may take to stop reporting the mouse.
const LATE_REPORTS: Duration = Duration::from_millis(30);

/// Whether the terminal is ours: it must not be given back twice, which would move the cursor over what was said since.
static TAKEN: AtomicBool = AtomicBool::new(false);
/// Whether it was asked to report keys without ambiguity.
static REPORTS_KEYS: AtomicBool = AtomicBool::new(false);

/// The terminal while the screen has it; dropping it gives it back.
pub struct Taken;

impl Taken {
    /// Takes the terminal over. With `reports_keys`, it is asked to report keys, their repeats and their releases one by one.
    pub fn take(reports_keys: bool) -> io::Result<Self> {
        REPORTS_KEYS.store(reports_keys, Ordering::SeqCst);
        // given back even where taking it fails half way
        let taken = Self;
        enter()?;
        Ok(taken)
    }
}

impl Drop for Taken {
    fn drop(&mut self) {
        give_back();
    }
}

/// Takes it over again after somebody else may have had it.
#[cfg(unix)]
pub fn take_again() -> io::Result<()> {
    // what we remember of its modes may not hold any more
    if TAKEN.swap(false, Ordering::SeqCst) {
        if REPORTS_KEYS.load(Ordering::SeqCst) {
            execute!(io::stdout(), PopKeyboardEnhancementFlags)?;
        }
        disable_raw_mode()?;
    }
    enter()
}

fn enter() -> io::Result<()> {
    enable_raw_mode()?;
    TAKEN.store(true, Ordering::SeqCst);
    let mut out = io::stdout();
    execute!(out, EnterAlternateScreen, EnableMouseCapture, EnableBracketedPaste, cursor::Hide)?;
    if REPORTS_KEYS.load(Ordering::SeqCst) {
        let flags = KeyboardEnhancementFlags::DISAMBIGUATE_ESCAPE_CODES | KeyboardEnhancementFlags::REPORT_EVENT_TYPES;
        execute!(out, PushKeyboardEnhancementFlags(flags))?;
    }
    Ok(())
}

/// Leaves the terminal as it was found. Failing does not stop it: there is nothing more to be done about it.
pub fn give_back() {
    if !TAKEN.swap(false, Ordering::SeqCst) {
        return;
    }
    let mut out = io::stdout();
    let _ = KEPT.take_all_away(&mut out);
    if REPORTS_KEYS.load(Ordering::SeqCst) {
        let _ = execute!(out, PopKeyboardEnhancementFlags);
    }
    let _ = execute!(out, DisableBracketedPaste, DisableMouseCapture, LeaveAlternateScreen, cursor::Show);
    let _ = out.flush();
    // what the mouse did until then is not typed at whoever comes next
    thread::sleep(LATE_REPORTS);
    #[cfg(unix)]
    let _ = rustix::termios::tcflush(io::stdin(), rustix::termios::QueueSelector::IFlush);
    let _ = disable_raw_mode();
}

/// Gives back what can be given back without writing to a terminal that takes nothing.
#[cfg(unix)]
pub fn give_back_unwritten() {
    TAKEN.store(false, Ordering::SeqCst);
    let _ = disable_raw_mode();
}
