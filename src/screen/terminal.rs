//! The real terminal: taken over, given back whatever happens, and the loop between.

use std::io::{self, IsTerminal, Write};
use std::panic;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, Receiver, Sender};
use std::thread;

use crossterm::event::{
    self, DisableBracketedPaste, DisableMouseCapture, EnableBracketedPaste, EnableMouseCapture, Event, KeyEventKind,
    MouseButton, MouseEventKind,
};
use crossterm::terminal::{EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode};
use crossterm::{cursor, execute};
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;
use thiserror::Error;

use super::keys::Chord;
use super::start::{ScreenStart, start};
use super::theme::Glyphs;
use super::ui::Input;
use super::view::{self, pen::Hits};

/// Why the screen ended otherwise than by its own key.
#[derive(Debug, Error)]
pub enum RunError {
    /// There is no terminal.
    #[error("the screen needs a terminal, and this is not one")]
    NoTerminal,
    /// The terminal failed.
    #[error("the terminal failed: {0}")]
    Terminal(#[from] io::Error),
    /// Nothing more comes from the terminal.
    #[error("the terminal is gone")]
    Gone,
}

/// What wakes the loop.
enum Woken {
    Terminal(Event),
    Broken(io::Error),
    Signal(i32),
}

/// The terminal while the screen has it; dropping it gives it back.
struct Taken;

impl Taken {
    fn take() -> io::Result<Self> {
        enable_raw_mode()?;
        TAKEN.store(true, Ordering::SeqCst);
        let taken = Self;
        execute!(io::stdout(), EnterAlternateScreen, EnableMouseCapture, EnableBracketedPaste, cursor::Hide)?;
        Ok(taken)
    }
}

impl Drop for Taken {
    fn drop(&mut self) {
        give_back();
    }
}

/// Whether the terminal is ours: it must not be given back twice, which would move the cursor over what was said since.
static TAKEN: AtomicBool = AtomicBool::new(false);

/// Leaves the terminal as it was found. Failing does not stop it: there is nothing more to be done about it.
fn give_back() {
    if !TAKEN.swap(false, Ordering::SeqCst) {
        return;
    }
    let mut out = io::stdout();
    let _ = execute!(out, DisableBracketedPaste, DisableMouseCapture, LeaveAlternateScreen, cursor::Show);
    let _ = disable_raw_mode();
    let _ = out.flush();
}

/// Runs the screen in this terminal until the person leaves.
///
/// SIGTERM, SIGHUP, SIGINT and SIGQUIT end it as they would any program, after the terminal is given back and the logbook is closed.
///
/// # Errors
/// [`RunError`] when there is no terminal or it fails; the terminal is given back before.
pub fn run(options: ScreenStart) -> Result<(), RunError> {
    if !io::stdout().is_terminal() || !io::stdin().is_terminal() {
        return Err(RunError::NoTerminal);
    }
    let (sender, receiver) = mpsc::channel();
    listen_for_signals(sender.clone())?;
    let before = panic::take_hook();
    panic::set_hook(Box::new(move |info| {
        give_back();
        before(info);
    }));
    let taken = Taken::take()?;
    thread::spawn(move || read_terminal(&sender));
    let ended = drive(options, &receiver);
    drop(taken);
    drop(panic::take_hook());
    match ended? {
        Some(signal) => end_by(signal),
        None => Ok(()),
    }
}

/// Draws, waits, decides: nothing is done while nothing comes. Gives the signal that ended it, if one did.
fn drive(options: ScreenStart, woken: &Receiver<Woken>) -> Result<Option<i32>, RunError> {
    let glyphs = Glyphs::chosen(options.settings.characters);
    let mut app = start(options);
    let mut terminal = Terminal::new(CrosstermBackend::new(io::stdout()))?;
    let mut hits = Hits::default();
    loop {
        let mut seen = true;
        terminal.draw(|frame| {
            seen = view::fits(frame.area());
            hits = view::draw(&app, glyphs, frame.buffer_mut());
        })?;
        loop {
            match woken.recv().map_err(|_| RunError::Gone)? {
                Woken::Signal(signal) => return Ok(Some(signal)),
                Woken::Broken(error) => return Err(error.into()),
                Woken::Terminal(Event::Resize(..)) => break,
                Woken::Terminal(event) => {
                    if let Some(input) = input_of(event, &hits) {
                        let leaves = if seen { app.handle(&input) } else { app.handle_unseen(&input) };
                        if leaves {
                            return Ok(None);
                        }
                        break;
                    }
                }
            }
        }
    }
}

fn input_of(event: Event, hits: &Hits) -> Option<Input> {
    match event {
        Event::Key(key) if key.kind != KeyEventKind::Release => Some(Input::Key(Chord::of_event(key))),
        Event::Paste(text) => Some(Input::Paste(text)),
        Event::Mouse(mouse) => {
            let target = hits.at(mouse.column, mouse.row)?;
            match mouse.kind {
                MouseEventKind::Down(MouseButton::Left) => Some(Input::Click(target)),
                MouseEventKind::ScrollUp => Some(Input::Wheel(target, 1)),
                MouseEventKind::ScrollDown => Some(Input::Wheel(target, -1)),
                _ => None,
            }
        }
        _ => None,
    }
}

fn read_terminal(sender: &Sender<Woken>) {
    loop {
        let woken = match event::read() {
            Ok(event) => Woken::Terminal(event),
            Err(error) => Woken::Broken(error),
        };
        let broken = matches!(woken, Woken::Broken(_));
        if sender.send(woken).is_err() || broken {
            return;
        }
    }
}

#[cfg(unix)]
fn listen_for_signals(sender: Sender<Woken>) -> io::Result<()> {
    use signal_hook::consts::{SIGHUP, SIGINT, SIGQUIT, SIGTERM};
    let mut signals = signal_hook::iterator::Signals::new([SIGTERM, SIGHUP, SIGINT, SIGQUIT])?;
    thread::spawn(move || {
        for signal in &mut signals {
            if sender.send(Woken::Signal(signal)).is_err() {
                return;
            }
        }
    });
    Ok(())
}

#[cfg(not(unix))]
fn listen_for_signals(_sender: Sender<Woken>) -> io::Result<()> {
    Ok(())
}

/// Ends as the signal would have ended the program, so that whoever sent it sees that it did.
#[cfg(unix)]
fn end_by(signal: i32) -> Result<(), RunError> {
    Ok(signal_hook::low_level::emulate_default_handler(signal)?)
}

#[cfg(not(unix))]
fn end_by(_signal: i32) -> Result<(), RunError> {
    Ok(())
}
