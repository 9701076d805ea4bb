//! One item of a drill: what is asked, what is given, what is right, and which slips would give what.

use super::answer::Answer;
use super::table::Skill;
use crate::optics::notation::{LensToken, Style, write_lens, write_power, write_prescription};
use crate::optics::{Power, SpheroCylinder};

/// What comes nearer than so many times the limit of an answer may be rounded into it as it is written.
const NEAR: f64 = 1.5;

/// Something that is given, as a program reads it.
#[derive(Debug, Clone, PartialEq)]
pub enum Given {
    /// A figure in the unit that its name says.
    Figure(f64),
    /// A power, a lens or a word as it is written.
    Text(String),
    /// Several of them.
    List(Vec<String>),
}

impl From<f64> for Given {
    fn from(figure: f64) -> Self {
        Self::Figure(figure)
    }
}

impl From<String> for Given {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<&str> for Given {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<Vec<String>> for Given {
    fn from(list: Vec<String>) -> Self {
        Self::List(list)
    }
}

/// What kind of slip an answer shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Slip {
    /// Plus for minus.
    Sign,
    /// It is right for the other eye.
    Eye,
    /// The axis is across, mirrored, or turned the wrong way.
    Axis,
    /// Gap or vertex distance was left out, or gone over the wrong way.
    Vertex,
    /// The same power, but not in the form that was asked for.
    Form,
    /// The right lenses in the wrong order.
    Order,
    /// None of these.
    Arithmetic,
}

impl Slip {
    /// What is said of it.
    pub fn said(self) -> &'static str {
        match self {
            Self::Sign => "the sign is wrong",
            Self::Eye => "that is the other eye",
            Self::Axis => "the axis is wrong: across, mirrored, or turned the wrong way",
            Self::Vertex => "that is where the distance was left out, or gone over the wrong way",
            Self::Form => "the power is right, but not in the form that was asked for",
            Self::Order => "the lenses are right, but not their order",
            Self::Arithmetic => "that is not it",
        }
    }

    /// Whether it would do harm to somebody: such a skill is drilled again soon.
    pub fn harms(self) -> bool {
        match self {
            Self::Sign | Self::Eye | Self::Axis | Self::Vertex => true,
            Self::Form | Self::Order | Self::Arithmetic => false,
        }
    }
}

/// One question with everything that is known of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// The drill and the level.
    pub skill: Skill,
    /// What is asked, as a teacher would say it.
    pub ask: String,
    /// What the question gives, by name.
    pub given: Vec<(&'static str, Given)>,
    /// What is right.
    pub answer: Answer,
    /// How far an answer may be off: dioptres (of miss, where a power is asked for), degrees, prism dioptres or logMAR, as the
    /// answer is; 0 for words and lenses.
    pub within: f64,
    /// How it is worked out, step by step.
    pub working: Vec<String>,
    /// What known slips give.
    pub slips: Vec<(Slip, Answer)>,
}

impl Item {
    /// An item of which no slip is known yet.
    pub fn new(skill: Skill, ask: String, answer: Answer, within: f64) -> Self {
        Self { skill, ask, given: Vec::new(), answer, within, working: Vec::new(), slips: Vec::new() }
    }

    /// With something that is given.
    #[must_use]
    pub fn given(mut self, name: &'static str, given: impl Into<Given>) -> Self {
        self.given.push((name, given.into()));
        self
    }

    /// With a line of the working.
    #[must_use]
    pub fn step(mut self, line: impl Into<String>) -> Self {
        self.working.push(line.into());
        self
    }

    /// With what a slip gives.
    #[must_use]
    pub fn slip(mut self, slip: Slip, gives: Answer) -> Self {
        self.slips.push((slip, gives));
        self
    }

    /// Without the slips that, with these figures, change nothing or so little that rounding hides it.
    #[must_use]
    pub fn without_slips_that_are_right(mut self) -> Self {
        let (answer, near) = (&self.answer, NEAR * self.within);
        self.slips.retain(|(_, wrong)| !answer.accepts(wrong, near));
        self
    }

    /// Whether no known slip gives what is right, or would be rounded to it.
    pub fn tells_slips_apart(&self) -> bool {
        self.slips.iter().all(|(_, wrong)| !self.answer.accepts(wrong, NEAR * self.within))
    }
}

/// A power of a lens as it is written.
pub fn d(dioptres: f64) -> String {
    write_power(dioptres, Style::Ascii)
}

/// A prescription in the form it has.
pub fn rx(written: SpheroCylinder) -> String {
    write_prescription(written, Style::Ascii)
}

/// A power with a minus cylinder.
pub fn minus(power: Power) -> String {
    rx(power.minus_form())
}

/// A lens as it is written.
pub fn lens(lens: &LensToken) -> String {
    write_lens(lens, Style::Ascii)
}

/// A figure without a sign and without needless zeros.
pub fn n(figure: f64) -> String {
    ((figure * 10_000.0).round() / 10_000.0 + 0.0).to_string()
}
