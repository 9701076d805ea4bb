//! The screen: keys in, decisions, panels out. It stands on top of everything and nothing knows it.
//!
//! - [`keymap`], [`chord`], [`strokes`]: the key table `keys.yaml`, key names, and keys as text;
//! - [`settings`], [`theme`]: what a person chooses, colours by meaning;
//! - [`app`]: the whole state, and the one way round: decide, keep, apply, draw;
//! - [`ui`]: the part of the state that is not the exam; [`shelf`], [`proposals`]: the lists; [`leading`]: what the guide
//!   asks now;
//! - [`page`], [`field`]: the details of the exam and earlier exams; [`request`]: what a key asks beside steps of the exam;
//! - [`decide`]: what an input means; it changes nothing;
//! - [`view`]: the panels;
//! - `terminal`: the real terminal; [`print()`]: one frame as text, without a terminal.

pub mod app;
pub mod chord;
pub mod decide;
pub mod field;
pub mod keymap;
pub mod leading;
pub mod page;
mod print;
pub mod proposals;
pub mod request;
pub mod settings;
pub mod shelf;
pub mod strokes;
mod terminal;
pub mod theme;
pub mod ui;
pub mod view;
pub mod words;

pub use app::App;
pub use print::{PrintError, Size, print};
pub use settings::{Settings, SettingsError};
pub use terminal::{RunError, run};

use crate::session::Session;
use settings::{Characters, ThemeName};
use ui::Sheet;

/// What a screen starts with.
pub struct Options {
    /// The open exam, new or as it stood, and where it is kept.
    pub session: Session,
    /// What the person has chosen.
    pub settings: Settings,
    /// The exam in a few words when it was begun earlier and not closed: the screen asks whether to go on with it.
    pub goes_on: Option<String>,
    /// Whether to show the cautions until a key is pressed.
    pub cautions: bool,
}

/// The screen as it starts.
fn start(options: Options) -> App {
    let mut app = App::new(options.session, options.settings);
    app.ui.sheet = options.cautions.then_some(Sheet::Cautions);
    if let Some(exam) = options.goes_on {
        app.ui = decide::ask_to_go_on(&app, &exam);
    }
    app
}

/// What the surroundings say about the terminal: `NO_COLOR` set to anything, and the terminal's name.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Surroundings {
    /// `NO_COLOR` is set and not empty.
    pub no_color: bool,
    /// `TERM`.
    pub term: String,
}

impl Surroundings {
    /// As this process finds them.
    pub fn here() -> Self {
        Self {
            no_color: std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty()),
            term: std::env::var("TERM").unwrap_or_default(),
        }
    }

    /// Settings that this terminal can show: no colour where none is wanted, ASCII where it can do no more.
    pub fn adapt(&self, settings: &mut Settings) {
        if self.no_color || self.term == "dumb" {
            settings.theme = ThemeName::Plain;
        }
        if settings.characters == Characters::Auto && matches!(self.term.as_str(), "dumb" | "linux" | "vt100" | "vt220")
        {
            settings.characters = Characters::Ascii;
        }
    }
}
