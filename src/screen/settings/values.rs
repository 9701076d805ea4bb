//! What can be set, and what holds when nothing is.

use std::collections::BTreeMap;

use super::super::keys::KeyTable;
use crate::exam::Strategy;
use crate::exam::screening_pass::usual_limit;
use crate::optics::{Acuity, AcuityNotation, CylinderForm, Dioptres, Millimetres};

/// How many colours the terminal has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Colours {
    /// At least 256.
    #[default]
    Many,
    /// Every mixture of red, green and blue, in 256 steps each.
    All,
    /// Sixteen of its own.
    Sixteen,
}

/// Which colours are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ThemeName {
    /// Dim amber and red, which spare eyes that are used to the dark.
    #[default]
    Dark,
    /// Dark ink on white.
    Daylight,
    /// The terminal's own two colours.
    Plain,
}

impl ThemeName {
    /// The next of them, in turn.
    #[must_use]
    pub fn next(self) -> Self {
        match self {
            Self::Dark => Self::Daylight,
            Self::Daylight => Self::Plain,
            Self::Plain => Self::Dark,
        }
    }
}

/// Which characters are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Characters {
    /// ASCII where the terminal's name says that it can do no more.
    #[default]
    Auto,
    /// Blocks, lines and dots.
    Unicode,
    /// ASCII alone.
    Ascii,
}

/// By which protocol of its own a terminal draws pictures in pixels. It is named by hand: no terminal is asked, since its
/// answer would come among the keys.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PixelProtocol {
    /// Pictures that are sent once under a number and shown by characters that stand for their parts.
    Kitty,
    /// Bands of six rows of pixels.
    Sixel,
    /// A PNG file within a sequence.
    Iterm2,
}

impl PixelProtocol {
    /// As it is written in the settings.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Kitty => "kitty",
            Self::Sixel => "sixel",
            Self::Iterm2 => "iterm2",
        }
    }
}

/// What the person who uses the program has chosen.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Sign of the written cylinder where the box does not decide it.
    pub form: CylinderForm,
    /// How acuities are written.
    pub acuity: AcuityNotation,
    /// Who examines, for the records; nobody when not said.
    pub examiner: Option<String>,
    /// Chart distance in metres.
    pub chart_m: f64,
    /// Vertex distance for which glasses are planned; the frame's own when not said.
    pub planned_vertex: Option<Millimetres>,
    /// How far a lens may be off its mark; unknown when not said.
    pub mark_tolerance: Option<Dioptres>,
    /// Whether the examiner's earlier exams are learnt from.
    pub uses_earlier_exams: bool,
    /// In which way the guide refracts.
    pub strategy: Strategy,
    /// The line that each eye has to read in a screening pass.
    pub screening_line: Acuity,
    /// After how many minutes drops are ready, by what they are called; the local protocol decides.
    pub drops: BTreeMap<String, u32>,
    /// Colours.
    pub theme: ThemeName,
    /// How many of them the terminal has.
    pub colours: Colours,
    /// Whether the screen may use more than ASCII.
    pub characters: Characters,
    /// By which protocol the terminal draws practice pictures in pixels; half blocks and characters stand for them when it is
    /// not named.
    pub pictures: Option<PixelProtocol>,
    /// The keys, with the person's own bindings in place.
    pub keys: KeyTable,
}

impl Settings {
    /// The chart distance when none is set, in metres.
    pub const CHART_M: f64 = 6.0;

    /// The settings of somebody who has set nothing.
    ///
    /// # Errors
    /// When the embedded key table is at fault, which a test rules out.
    pub fn shipped() -> Result<Self, serde_yaml::Error> {
        Ok(Self {
            form: CylinderForm::default(),
            acuity: AcuityNotation::default(),
            examiner: None,
            chart_m: Self::CHART_M,
            planned_vertex: None,
            mark_tolerance: None,
            uses_earlier_exams: true,
            strategy: Strategy::Belief,
            screening_line: usual_limit(),
            drops: usual_drops(),
            theme: ThemeName::default(),
            colours: Colours::default(),
            characters: Characters::default(),
            pictures: None,
            keys: KeyTable::shipped()?,
        })
    }
}

/// After how many minutes drops are ready when nothing is set: a mix 60 after its first drop, tropicamide 30 to 45, of which the
/// longer is taken (an Indian hospital's table, Open Journal of Ophthalmology 2020, html.scirp.org 7-2020140). No other
/// drop has a time before somebody gives it one.
fn usual_drops() -> BTreeMap<String, u32> {
    [("mix", 60), ("tropicamide", 45)].map(|(what, minutes)| (what.to_owned(), minutes)).into()
}
