//! Sentences that carry values, so that whoever shows them writes every power, acuity and axis in one form.

use std::fmt::{self, Write as _};

use super::procedures::ProcedureName;
use crate::optics::near_print::m_units;
use crate::optics::notation::{Style, write_power, write_prescription, write_signed};
use crate::optics::{Acuity, AcuityNotation, Axis, CylinderForm, Eye, Power};

/// A piece of a sentence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Part {
    /// Words.
    Text(&'static str),
    /// An eye: `right`.
    Eye(Eye),
    /// A power, in the cylinder form of whoever reads it.
    Power(Power),
    /// The power of a sphere in dioptres, with its sign.
    Sphere(f64),
    /// An amount of dioptres, without a sign.
    Dioptres(f64),
    /// An amount of dioptres with its sign, as the parts of a power vector are said: `0.00` where there is none.
    Signed(f64),
    /// The power of a cross cylinder in dioptres, with both signs.
    CrossCylinder(f64),
    /// An axis or a meridian.
    Axis(Axis),
    /// The axis of the cylinder of a power, given in minus form and written in the form of whoever reads it.
    CylinderAxis(Axis),
    /// Words that differ by the cylinder form of whoever reads them.
    ByForm {
        /// For whoever writes minus cylinders.
        minus: &'static str,
        /// For whoever writes plus cylinders.
        plus: &'static str,
    },
    /// An acuity, in the notation of whoever reads it.
    Acuity(Acuity),
    /// A figure as it is: metres, degrees, hours, counts.
    Figure(f64),
    /// A figure to one place: millimetres, prism dioptres.
    Tenths(f64),
    /// A size of print in points, as near charts have it: `N6 (0.75 M)`.
    Print(f64),
    /// A procedure by the name that people read.
    Procedure(ProcedureName),
    /// What to go on with, and the eye that it is about.
    GoOn(ProcedureName, Option<Eye>),
}

macro_rules! part_from {
    ($($type:ty => $part:ident),+) => {
        $(impl From<$type> for Part {
            fn from(value: $type) -> Self {
                Self::$part(value)
            }
        })+
    };
}
part_from!(&'static str => Text, Eye => Eye, Power => Power, Axis => Axis, Acuity => Acuity, ProcedureName => Procedure);

/// A sentence. Words alone take no memory of their own.
#[derive(Debug, Clone, PartialEq)]
pub enum Sentence {
    /// Words alone; none when empty.
    Words(&'static str),
    /// Words and values.
    Parts(Vec<Part>),
}

/// A sentence of words and values: `sentence!["Hold ", Part::Sphere(0.25), " before the ", eye, " eye."]`.
macro_rules! sentence {
    ($($part:expr),+ $(,)?) => {
        $crate::exam::Sentence::Parts(vec![$($crate::exam::Part::from($part)),+])
    };
}
pub(crate) use sentence;

impl From<&'static str> for Sentence {
    fn from(words: &'static str) -> Self {
        Self::Words(words)
    }
}

impl Sentence {
    /// No sentence.
    pub const NONE: Self = Self::Words("");

    /// Whether it says nothing.
    pub fn is_empty(&self) -> bool {
        match self {
            Self::Words(words) => words.is_empty(),
            Self::Parts(parts) => parts.is_empty(),
        }
    }

    /// Its pieces in order.
    pub fn parts(&self) -> impl Iterator<Item = Part> + '_ {
        let (words, parts): (Option<&'static str>, &[Part]) = match self {
            Self::Words(words) => (Some(words), &[]),
            Self::Parts(parts) => (None, parts),
        };
        words.map(Part::Text).into_iter().chain(parts.iter().copied())
    }

    /// The sentence with another after it.
    #[must_use]
    pub fn then(&self, other: &Self) -> Self {
        Self::Parts(self.parts().chain(other.parts()).collect())
    }

    /// Writes it, powers and acuities as whoever reads it wishes.
    pub fn write(&self, style: Style, form: CylinderForm, notation: AcuityNotation) -> String {
        let mut text = String::new();
        for part in self.parts() {
            // writing to a string cannot fail
            let _written = match part {
                Part::Text(words) => text.write_str(words),
                Part::Eye(eye) => write!(text, "{eye}"),
                Part::Power(power) if !power.is_finite() => text.write_str("no power"),
                Part::Power(power) => text.write_str(&write_prescription(form.of(power), style)),
                Part::Sphere(dioptres) => text.write_str(&write_power(dioptres, style)),
                Part::Dioptres(dioptres) => write!(text, "{:.2} D", dioptres.abs()),
                Part::Signed(dioptres) => text.write_str(&write_signed(dioptres, style)),
                Part::CrossCylinder(dioptres) => write!(text, "±{:.2}", dioptres.abs()),
                Part::Axis(axis) => write!(text, "{axis}"),
                Part::CylinderAxis(minus_axis) => match form {
                    CylinderForm::Minus => write!(text, "{minus_axis}"),
                    CylinderForm::Plus => write!(text, "{}", minus_axis.perpendicular()),
                },
                Part::ByForm { minus, plus } => text.write_str(match form {
                    CylinderForm::Minus => minus,
                    CylinderForm::Plus => plus,
                }),
                Part::Acuity(read) => text.write_str(&read.write(notation, style)),
                Part::Figure(figure) => write!(text, "{figure}"),
                Part::Tenths(figure) => write!(text, "{figure:.1}"),
                Part::Print(points) => write!(text, "N{points} ({:.2} M)", m_units(points)),
                Part::Procedure(procedure) | Part::GoOn(procedure, None) => write!(text, "{procedure}"),
                // the eye first, so that it is never cut off
                Part::GoOn(procedure, Some(eye)) => write!(text, "{eye}: {procedure}"),
            };
        }
        text
    }
}

/// As a record keeps it: minus cylinders, 6 m fractions. A screen writes it as the examiner chose.
impl fmt::Display for Sentence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.write(Style::Typographic, CylinderForm::Minus, AcuityNotation::SixMetres))
    }
}
