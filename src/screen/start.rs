//! How the screen starts, and what its surroundings say about the terminal.

use super::app::App;
use super::decide;
use super::settings::choices::Choices;
use super::settings::{Characters, Colours, PixelProtocol, Settings, ThemeName};
use super::shared::Shared;
use super::ui::Sheet;
use crate::exam::cautions::GENERAL;
use crate::session::Session;
use crate::sharing::news::SendsOn;

/// What a screen starts with.
#[expect(clippy::struct_excessive_bools, reason = "each is another fact of how it starts")]
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
    /// Whether somebody is led through a first exam.
    pub learns: bool,
    /// Whether the cautions offer a box and a frame of one's own, as at the first start.
    pub offers_kit: bool,
    /// Whoever sends on what is kept, where the record is shared with other seats.
    pub sends: Option<Box<dyn SendsOn>>,
    /// What has to be said before anything is done.
    pub said: AtStart,
    /// Whether the terminal may be asked to report keys one by one, with their releases.
    pub reports_keys: bool,
}

/// What has to be said at the start, before the screen covers whatever was written above it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct AtStart {
    /// What nobody may overlook: it stands over the screen until a key is pressed.
    pub notes: Vec<String>,
    /// What is good to know: it stands where messages stand.
    pub hints: Vec<String>,
}

/// The screen as it starts.
pub(super) fn start(options: ScreenStart) -> App {
    let mut app = App::new(options.session, options.settings);
    app.choices = options.choices;
    app.shared = options.sends.map(Shared::new);
    app.tell_the_room();
    app.ui.learns = options.learns.then_some(0);
    let AtStart { notes, hints } = options.said;
    app.ui.sheet = options.cautions.then_some(Sheet::Cautions);
    if !notes.is_empty() {
        // one sheet for both: the key that puts it away is the first of the exam
        let cautions = GENERAL.iter().filter(|_| options.cautions).map(|caution| caution.short.to_owned());
        app.ui.notes = notes.into_iter().chain(cautions).collect();
        app.ui.sheet = Some(Sheet::Notes(0));
    }
    app.ui.offers_kit = options.offers_kit && app.ui.sheet.is_some();
    if !hints.is_empty() {
        app.ui.done(hints.join("; "));
    }
    if let Some(exam) = options.goes_on {
        let before = app.ui.says.take();
        app.ui = decide::ask_to_go_on(&app, &exam);
        if let (Some(before), Some(question)) = (before, &mut app.ui.says) {
            question.text = format!("{}. {}", before.text, question.text);
        }
    }
    app
}

/// What the surroundings say about the terminal: `NO_COLOR` set to anything, the terminal's name, and the locale.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Surroundings {
    /// The locale has characters beyond ASCII: `LC_ALL`, else `LC_CTYPE`, else `LANG` names UTF-8, as POSIX has their order.
    pub utf8: bool,
    /// `NO_COLOR` is set and not empty.
    pub no_color: bool,
    /// `COLORTERM` says that the terminal mixes colours freely.
    pub mixes_colours: bool,
    /// The terminal's name, from `TERM`; empty when that is not set.
    pub term: String,
    /// By which protocol this terminal may draw pictures in pixels, as far as its own variables name it.
    pub may_draw: Option<PixelProtocol>,
}

impl Surroundings {
    /// As this process finds them.
    pub fn here() -> Self {
        let term = std::env::var("TERM").unwrap_or_default();
        let program = std::env::var("TERM_PROGRAM").unwrap_or_default();
        let is_set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
        Self {
            no_color: std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty()),
            mixes_colours: std::env::var("COLORTERM")
                .is_ok_and(|value| matches!(value.as_str(), "truecolor" | "24bit")),
            may_draw: may_draw(&term, &program, is_set),
            term,
            utf8: cfg!(not(unix)) || locale().is_some_and(|locale| names_utf8(&locale)),
        }
    }

    /// Whether the terminal may be asked to report keys one by one: an old one may write the request on the screen.
    pub fn reports_keys(&self) -> bool {
        cfg!(unix) && !self.term.is_empty() && !self.is_old()
    }

    fn is_old(&self) -> bool {
        matches!(self.term.as_str(), "dumb" | "linux" | "vt100" | "vt220")
    }

    /// Whether the terminal has sixteen colours and no more.
    fn has_sixteen_colours(&self) -> bool {
        matches!(self.term.as_str(), "linux" | "ansi") || self.term.ends_with("-16color")
    }

    /// Settings that this terminal can show: no colours where none are wanted or the terminal has none, its own where it has
    /// only sixteen, ASCII where it can do no more.
    pub fn adapt(&self, settings: &mut Settings) {
        if self.has_sixteen_colours() {
            settings.colours = Colours::Sixteen;
        } else if self.mixes_colours && settings.colours == Colours::Many {
            settings.colours = Colours::All;
        }
        if self.no_color || (self.is_old() && !self.has_sixteen_colours()) {
            settings.theme = ThemeName::Plain;
        }
        if settings.characters == Characters::Auto && (self.is_old() || !self.utf8) {
            settings.characters = Characters::Ascii;
        }
        // an old terminal writes what it does not know; what passes one terminal on to another swallows the picture
        let is_swallowed = match settings.pictures {
            Some(PixelProtocol::Kitty | PixelProtocol::Iterm2) => passes_on(&self.term),
            Some(PixelProtocol::Sixel) | None => false,
        };
        if self.is_old() || is_swallowed {
            settings.pictures = None;
        }
    }
}

/// Whether a terminal of this name runs within another.
fn passes_on(term: &str) -> bool {
    term.starts_with("tmux") || term.starts_with("screen")
}

/// By which protocol a terminal may draw, from the variables that it sets for its programs (from memory; a hint and no more).
fn may_draw(term: &str, program: &str, is_set: impl Fn(&str) -> bool) -> Option<PixelProtocol> {
    if passes_on(term) || is_set("TMUX") || is_set("STY") {
        None
    } else if matches!(term, "xterm-kitty" | "xterm-ghostty") || is_set("KITTY_WINDOW_ID") || program == "ghostty" {
        Some(PixelProtocol::Kitty)
    } else if matches!(program, "iTerm.app" | "WezTerm" | "mintty") {
        Some(PixelProtocol::Iterm2)
    } else if term.starts_with("foot") || term.starts_with("mlterm") || term == "contour" {
        Some(PixelProtocol::Sixel)
    } else {
        None
    }
}

/// The locale for characters; the first that is set and not empty counts.
fn locale() -> Option<String> {
    ["LC_ALL", "LC_CTYPE", "LANG"]
        .into_iter()
        .find_map(|name| std::env::var(name).ok().filter(|value| !value.is_empty()))
}

fn names_utf8(locale: &str) -> bool {
    let codeset = locale.rsplit('.').next().unwrap_or_default().to_ascii_lowercase();
    codeset.starts_with("utf-8") || codeset.starts_with("utf8")
}
