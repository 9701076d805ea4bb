//! The real terminal: taken over, given back whatever happens, and the loop between.

pub mod decoder;
pub mod left;
pub mod pixels;
pub mod sixel;
mod taken;
mod wakers;

use std::io::{self, IsTerminal};
use std::panic;
use std::time::{Duration, Instant};

use crossbeam_channel::{TryRecvError, after, never, select_biased};
use crossterm::event::{Event, MouseButton, MouseEventKind};
use crossterm::execute;
use crossterm::terminal::{BeginSynchronizedUpdate, EndSynchronizedUpdate};
use ratatui::backend::CrosstermBackend;
use ratatui::layout::Rect;
use ratatui::{Terminal, TerminalOptions, Viewport};
use thiserror::Error;

use super::app::App;
use super::decide::After;
use super::keys::Chord;
use super::sight::SWEEP_EVERY;
use super::start::{ScreenStart, Surroundings, start};
use super::theme::Glyphs;
use super::ui::Input;
use super::view::{self, pen::Hits};
use left::KEPT;
use pixels::{CharacterPixels, Pixels};
#[cfg(unix)]
use taken::take_again;
use taken::{Taken, give_back};
use wakers::{Call, Wakers};

/// The most columns or rows that are drawn, whatever the terminal says it has.
const MOST_DRAWN: u16 = 1000;
/// The longest that a person waits for a frame while more and more is typed.
const FRAME_WITHIN: Duration = Duration::from_millis(200);

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

/// How the loop ended.
enum Ended {
    /// The person left.
    Left,
    /// A signal ended it.
    By(i32),
}

/// Whether there is a terminal for the screen.
///
/// # Errors
/// [`RunError::NoTerminal`] when there is none.
pub fn is_there() -> Result<(), RunError> {
    if io::stdout().is_terminal() && io::stdin().is_terminal() { Ok(()) } else { Err(RunError::NoTerminal) }
}

/// Runs the screen in this terminal until the person leaves.
///
/// SIGTERM, SIGHUP, SIGINT and SIGQUIT end it as they would any program, after the terminal is given back and the logbook is
/// closed; a second one while the terminal takes nothing ends it at once. SIGTSTP gives the terminal back until SIGCONT.
///
/// # Errors
/// [`RunError`] when there is no terminal or it fails; the terminal is given back before.
pub fn run(options: ScreenStart) -> Result<(), RunError> {
    is_there()?;
    let wakers = Wakers::listen()?;
    let before = panic::take_hook();
    panic::set_hook(Box::new(move |info| {
        give_back();
        before(info);
    }));
    let taken = Taken::take(options.reports_keys)?;
    let keys = options.settings.keys.clone();
    options.session.when_the_disk_fails(wakers.caller_of_the_disk());
    wakers.read(move |key| keys.uses(Chord::of_event(key)));
    let ended = Screen::new(options).and_then(|mut screen| {
        screen.app.compute_beside(wakers.caller_of_what_is_computed());
        screen.drive(&wakers)
    });
    drop(taken);
    drop(panic::take_hook());
    match ended? {
        Ended::By(signal) => end_by(signal),
        Ended::Left => Ok(()),
    }
}

/// The screen on its terminal.
struct Screen {
    app: App,
    glyphs: &'static Glyphs,
    terminal: Terminal<CrosstermBackend<io::Stdout>>,
    area: Rect,
    hits: Hits,
    /// Whether the exam could be seen in the last frame.
    seen: bool,
    /// Whether something happened since the last frame.
    stale: bool,
    /// Pictures in pixels, where the settings name a protocol.
    pixels: Option<Pixels>,
}

impl Screen {
    fn new(options: ScreenStart) -> Result<Self, RunError> {
        let glyphs = Glyphs::chosen(options.settings.characters);
        let (columns, rows) = crossterm::terminal::size()?;
        let area = bounded(columns, rows);
        let viewport = Viewport::Fixed(area);
        let terminal = Terminal::with_options(CrosstermBackend::new(io::stdout()), TerminalOptions { viewport })?;
        let pixels = options.settings.pictures.map(|protocol| Pixels::new(protocol, CharacterPixels::here(), &KEPT));
        let mut app = start(options);
        app.in_pixels = pixels.is_some();
        app.may_draw = Surroundings::here().may_draw;
        Ok(Self { app, glyphs, terminal, area, hits: Hits::default(), seen: true, stale: true, pixels })
    }

    /// Draws, waits, decides: nothing is done while nothing comes.
    fn drive(&mut self, wakers: &Wakers) -> Result<Ended, RunError> {
        loop {
            self.draw()?;
            let drawn = Instant::now();
            let sweep = if self.app.sweeps_by_itself() { after(SWEEP_EVERY) } else { never() };
            select_biased! {
                recv(wakers.calls) -> call => {
                    if let Some(ended) = self.heed(&call.map_err(|_| RunError::Gone)?)? {
                        return Ok(ended);
                    }
                }
                recv(wakers.events) -> event => {
                    if let Some(ended) = self.take(event.map_err(|_| RunError::Gone)??, wakers)? {
                        return Ok(ended);
                    }
                }
                recv(sweep) -> _ => {
                    self.app.ui.sight.goes_on(drawn.elapsed());
                    self.stale = true;
                }
            }
            // one frame for all that waits
            while drawn.elapsed() < FRAME_WITHIN && wakers.calls.is_empty() {
                let event = match wakers.events.try_recv() {
                    Ok(event) => event?,
                    Err(TryRecvError::Empty) => break,
                    Err(TryRecvError::Disconnected) => return Err(RunError::Gone),
                };
                if let Some(ended) = self.take(event, wakers)? {
                    return Ok(ended);
                }
            }
        }
    }

    fn draw(&mut self) -> io::Result<()> {
        if !std::mem::replace(&mut self.stale, false) {
            return Ok(());
        }
        if self.pixels.is_none() {
            return self.draw_frame();
        }
        KEPT.note_drawn();
        // seen as one, whatever it takes
        execute!(io::stdout(), BeginSynchronizedUpdate)?;
        self.draw_frame()?;
        if self.pixels.as_ref().is_some_and(Pixels::has_left_cells) {
            self.terminal.resize(self.area)?;
            if let Some(pixels) = &mut self.pixels {
                pixels.begin_again(pixels.character());
            }
            self.draw_frame()?;
        }
        if let Some(pixels) = &mut self.pixels {
            pixels.settle(&mut io::stdout())?;
        }
        execute!(io::stdout(), EndSynchronizedUpdate)
    }

    fn draw_frame(&mut self) -> io::Result<()> {
        let Self { app, glyphs, terminal, hits, seen, pixels, .. } = self;
        terminal.draw(|frame| {
            *seen = view::fits(frame.area());
            *hits = view::draw(app, glyphs, frame.buffer_mut());
            if let Some(pixels) = pixels {
                pixels.draw(&hits.pictures, &app.pictures, frame.buffer_mut());
            }
            if let Some(cursor) = hits.cursor {
                frame.set_cursor_position(cursor);
            }
        })?;
        Ok(())
    }

    fn heed(&mut self, call: &Call) -> Result<Option<Ended>, RunError> {
        match call {
            Call::Gone => Err(RunError::Gone),
            Call::DiskFails => {
                self.app.say_once_that_the_disk_fails();
                self.stale = true;
                Ok(None)
            }
            Call::Computed => {
                self.app.say_what_the_room_says();
                self.stale = true;
                Ok(None)
            }
            #[cfg(unix)]
            Call::Signal(signal_hook::consts::SIGTSTP) => self.step_aside(),
            #[cfg(unix)]
            Call::Signal(signal_hook::consts::SIGCONT) => {
                take_again()?;
                self.draw_all()
            }
            #[cfg(unix)]
            Call::Signal(signal_hook::consts::SIGWINCH) => self.draw_all(),
            Call::Signal(signal) => Ok(Some(Ended::By(*signal))),
        }
    }

    fn take(&mut self, event: Event, wakers: &Wakers) -> Result<Option<Ended>, RunError> {
        if let Event::Resize(columns, rows) = event {
            self.resized(columns, rows)?;
            return Ok(None);
        }
        // what lies under the mouse is what was drawn last
        if matches!(event, Event::Mouse(_)) {
            self.draw()?;
        }
        let Some(input) = input_of(event, &self.hits) else { return Ok(None) };
        let was_asked = self.app.ui.asks.is_some();
        let after = if self.seen { self.app.handle(&input) } else { self.app.handle_unseen(&input) };
        if was_asked {
            // what came while the question stood was not said yet
            self.app.say_what_the_room_says();
        }
        self.stale = true;
        match after {
            After::GoesOn => Ok(None),
            After::NotKept => {
                // what was typed on the strength of it is not typed at something else
                let mut keys = 0;
                for event in wakers.events.try_iter().flatten() {
                    match event {
                        Event::Resize(columns, rows) => self.resized(columns, rows)?,
                        Event::Key(_) | Event::Paste(_) => keys += 1,
                        Event::Mouse(_) | Event::FocusGained | Event::FocusLost => {}
                    }
                }
                self.app.ui.dropped(keys);
                Ok(None)
            }
            After::Leaves => Ok(Some(Ended::Left)),
            After::StepsAside => self.step_aside(),
            After::DrawsAll => self.draw_all(),
        }
    }

    /// The terminal says that it has this size; the signal that comes with it may have said so before.
    fn resized(&mut self, columns: u16, rows: u16) -> io::Result<()> {
        if self.area == bounded(columns, rows) { Ok(()) } else { self.resize(columns, rows) }
    }

    /// Clears the terminal, which has this size now. It is not asked where its cursor is.
    fn resize(&mut self, columns: u16, rows: u16) -> io::Result<()> {
        let area = bounded(columns, rows);
        self.terminal.resize(area)?;
        if let Some(pixels) = &mut self.pixels {
            pixels.begin_again(CharacterPixels::here());
        }
        self.area = area;
        // what is typed before the next frame is not typed at what it no longer shows
        (self.seen, self.stale) = (self.seen && view::fits(area), true);
        Ok(())
    }

    /// Draws every cell again, whatever the terminal shows.
    fn draw_all(&mut self) -> Result<Option<Ended>, RunError> {
        let (columns, rows) = crossterm::terminal::size()?;
        self.resize(columns, rows)?;
        Ok(None)
    }

    /// Gives the terminal back and stops, as other programs do on their suspend key, until somebody lets it go on.
    #[cfg(unix)]
    fn step_aside(&mut self) -> Result<Option<Ended>, RunError> {
        give_back();
        signal_hook::low_level::emulate_default_handler(signal_hook::consts::SIGTSTP)?;
        take_again()?;
        self.draw_all()
    }

    #[cfg(not(unix))]
    fn step_aside(&mut self) -> Result<Option<Ended>, RunError> {
        Ok(None)
    }
}

fn bounded(columns: u16, rows: u16) -> Rect {
    Rect::new(0, 0, columns.min(MOST_DRAWN), rows.min(MOST_DRAWN))
}

fn input_of(event: Event, hits: &Hits) -> Option<Input> {
    match event {
        Event::Key(key) => Some(Input::Key(Chord::of_event(key))),
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

/// Ends as the signal would have ended the program, so that whoever sent it sees that it did.
#[cfg(unix)]
fn end_by(signal: i32) -> Result<(), RunError> {
    Ok(signal_hook::low_level::emulate_default_handler(signal)?)
}

#[cfg(not(unix))]
fn end_by(_signal: i32) -> Result<(), RunError> {
    Ok(())
}
