//! How the screen starts, and what its surroundings say about the terminal.

use super::app::App;
use super::decide;
use super::settings::choices::Choices;
use super::settings::{Characters, Settings, ThemeName};
use super::ui::Sheet;
use crate::session::Session;

/// What a screen starts with.
pub struct ScreenStart {
    /// The open exam, new or as it stood, and where it is kept.
    pub session: Session,
    /// What the person has chosen.
    pub settings: Settings,
    /// What was chosen on the screen, where that is kept.
    pub choices: Option<Choices>,
    /// The exam in a few words when it was begun earlier and not closed: the screen asks whether to go on with it.
    pub goes_on: Option<String>,
    /// Whether to show the cautions until a key is pressed.
    pub cautions: bool,
}

/// The screen as it starts.
pub(super) fn start(options: ScreenStart) -> App {
    let mut app = App::new(options.session, options.settings);
    app.choices = options.choices;
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
    /// The terminal's name, from `TERM`; empty when that is not set.
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
