//! What is right, how it is written, and how it is read when somebody types it.

use thiserror::Error;

use crate::optics::notation::{
    LensToken, NotationError, Style, parse_figure, parse_lens, parse_power, parse_prescription, write_lens,
    write_power, write_prescription,
};
use crate::optics::power::fold_axis;
use crate::optics::{Acuity, AcuityNotation, Base, Eye, Power, Prism, SpheroCylinder, bounds};

/// A word that is one of a few.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Choice {
    /// As it is written.
    pub word: &'static str,
    /// As it may be typed too.
    pub also: &'static [&'static str],
}

/// An answer: the right one, one that was typed, or one that a slip would give.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// A power in whichever cylinder form.
    Power(Power),
    /// A power in one cylinder form alone.
    Form(SpheroCylinder),
    /// A sphere, or the power in one meridian, with its sign.
    Dioptres(f64),
    /// So many dioptres without a sign: a step, an addition.
    Size(f64),
    /// An axis or a meridian in degrees.
    Axis(f64),
    /// A prism before an eye.
    Prism(Prism, Eye),
    /// An acuity as logMAR, in the notation that is asked for.
    Acuity(f64, AcuityNotation),
    /// Lenses from cell 1 outward.
    Lenses(Vec<LensToken>),
    /// One of a few words.
    Word(&'static str, &'static [Choice]),
}

/// Something typed that is no answer.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum Unreadable {
    /// It does not parse.
    #[error(transparent)]
    Notation(#[from] NotationError),
    /// It is a lens, but not a prism.
    #[error("{0} is not a prism: write it like 1.5BU, or 1.5b225")]
    NotAPrism(String),
    /// It is not one of the words.
    #[error("{typed} is none of the answers: type {}", listed(choices))]
    NotAChoice {
        /// What was typed.
        typed: String,
        /// What may be.
        choices: &'static [Choice],
    },
    /// It is an acuity, but not in the notation that is asked for.
    #[error("write it {}", said(*.0))]
    OtherNotation(AcuityNotation),
    /// No letter.
    #[error("that is no line of a chart: write it {}", said(*.0))]
    NoLine(AcuityNotation),
}

/// The words with commas between them.
pub fn listed(choices: &[Choice]) -> String {
    let words: Vec<&str> = choices.iter().map(|choice| choice.word).collect();
    match words.split_last() {
        Some((last, [])) => (*last).to_owned(),
        Some((last, before)) => format!("{} or {last}", before.join(", ")),
        None => String::new(),
    }
}

/// A notation as a question asks for it.
pub fn said(notation: AcuityNotation) -> &'static str {
    match notation {
        AcuityNotation::SixMetres => "over six metres, like 6/12",
        AcuityNotation::ThreeMetres => "over three metres, like 3/6",
        AcuityNotation::TwentyFeet => "over twenty feet, like 20/40",
        AcuityNotation::Decimal => "as a decimal, like 0.5",
        AcuityNotation::LogMar => "as logMAR, like 0.3",
        AcuityNotation::Letters => "as a score of letters, like 70",
    }
}

impl Answer {
    /// As it is written.
    pub fn write(&self) -> String {
        match self {
            Self::Power(power) => write_prescription(power.minus_form(), Style::Ascii),
            Self::Form(form) => write_prescription(*form, Style::Ascii),
            Self::Dioptres(dioptres) => write_power(*dioptres, Style::Ascii),
            Self::Size(dioptres) => format!("{dioptres:.2}"),
            Self::Axis(degrees) => fold_axis(*degrees).to_string(),
            Self::Prism(prism, eye) => {
                let base = Base::at(prism.base_deg().round() as u16, *eye);
                // amounts that are asked for are tenths
                let amount = (prism.amount() * 10.0).round() / 10.0;
                write_lens(&LensToken::Prism { amount, base }, Style::Ascii)
            }
            Self::Acuity(log_mar, notation) => Acuity::of_log_mar(*log_mar).write(*notation, Style::Ascii),
            Self::Lenses(lenses) => {
                lenses.iter().map(|lens| write_lens(lens, Style::Ascii)).collect::<Vec<_>>().join(" ")
            }
            Self::Word(word, _) => (*word).to_owned(),
        }
    }

    /// What else is right, as it is written: the other cylinder form, other words.
    pub fn also(&self) -> Vec<String> {
        match self {
            Self::Power(power) => {
                let (minus, plus) = (power.minus_form(), power.plus_form());
                if minus.cylinder == 0.0 { Vec::new() } else { vec![write_prescription(plus, Style::Ascii)] }
            }
            Self::Word(word, choices) => {
                let mine = choices.iter().filter(|choice| choice.word == *word);
                mine.flat_map(|choice| choice.also).map(|&also| also.to_owned()).collect()
            }
            Self::Form(_)
            | Self::Dioptres(_)
            | Self::Size(_)
            | Self::Axis(_)
            | Self::Prism(..)
            | Self::Acuity(..)
            | Self::Lenses(_) => Vec::new(),
        }
    }

    /// As a person is told it: a power in both cylinder forms, a word without those that may be typed in its place.
    pub fn told(&self) -> String {
        match self {
            Self::Word(word, _) => (*word).to_owned(),
            Self::Power(_)
            | Self::Form(_)
            | Self::Dioptres(_)
            | Self::Size(_)
            | Self::Axis(_)
            | Self::Prism(..)
            | Self::Acuity(..)
            | Self::Lenses(_) => [vec![self.write()], self.also()].concat().join(", or "),
        }
    }

    /// Reads what was typed in place of this one.
    ///
    /// # Errors
    /// [`Unreadable`], when it is no answer to such a question; it says what would be one.
    pub fn read(&self, typed: &str) -> Result<Self, Unreadable> {
        Ok(match self {
            Self::Power(_) => Self::Power(parse_prescription(typed)?.power()),
            Self::Form(_) => Self::Form(parse_prescription(typed)?),
            Self::Dioptres(_) => Self::Dioptres(parse_power(typed)?),
            Self::Size(_) => Self::Size(parse_figure(typed, &bounds::ADDITION)?),
            Self::Axis(_) => Self::Axis(parse_figure(typed, &bounds::AXIS)?),
            Self::Prism(_, eye) => match parse_lens(typed)? {
                LensToken::Prism { amount, base } => Self::Prism(Prism::polar(amount, base.degrees(*eye)), *eye),
                LensToken::Sphere(_) | LensToken::Cylinder { .. } | LensToken::Accessory(_) | LensToken::Empty => {
                    return Err(Unreadable::NotAPrism(typed.trim().to_owned()));
                }
            },
            Self::Acuity(_, notation) => Self::Acuity(read_acuity(typed, *notation)?, *notation),
            Self::Lenses(_) => Self::Lenses(read_lenses(typed)?),
            Self::Word(_, choices) => {
                let typed = typed.trim();
                let is = |word: &str| word.eq_ignore_ascii_case(typed);
                let of = choices.iter().find(|choice| is(choice.word) || choice.also.iter().any(|also| is(also)));
                let none = || Unreadable::NotAChoice { typed: typed.to_owned(), choices };
                Self::Word(of.ok_or_else(none)?.word, choices)
            }
        })
    }

    /// Whether another answer is the same within a limit in the unit of the answer.
    pub fn accepts(&self, other: &Self, within: f64) -> bool {
        let near = |one: f64, other: f64| (one - other).abs() <= within + 1e-9;
        match (self, other) {
            (Self::Power(one), Self::Power(other)) => one.miss(*other) <= within + 1e-9,
            (Self::Form(one), Self::Form(other)) => {
                let same_axis = one.cylinder == 0.0 || angle_between(one.axis, other.axis) < 1e-9;
                near(one.sphere, other.sphere) && near(one.cylinder, other.cylinder) && same_axis
            }
            (Self::Dioptres(one), Self::Dioptres(other))
            | (Self::Size(one), Self::Size(other))
            | (Self::Acuity(one, _), Self::Acuity(other, _)) => near(*one, *other),
            (Self::Axis(one), Self::Axis(other)) => angle_between(*one, *other) <= within,
            (Self::Prism(one, _), Self::Prism(other, _)) => (*one - *other).amount() <= within + 1e-9,
            (Self::Lenses(one), Self::Lenses(other)) => one == other,
            (Self::Word(one, _), Self::Word(other, _)) => one == other,
            _ => false,
        }
    }

    /// Whether another answer is the same power, where only the form it is written in makes it wrong.
    pub fn is_in_another_form(&self, other: &Self, within: f64) -> bool {
        match (self, other) {
            (Self::Form(one), Self::Form(other)) => one.power().miss(other.power()) <= within + 1e-9,
            _ => false,
        }
    }

    /// Whether another answer has the same lenses.
    pub fn is_in_another_order(&self, other: &Self) -> bool {
        let (Self::Lenses(one), Self::Lenses(other)) = (self, other) else { return false };
        let mut left = other.clone();
        let mut takes = |lens| left.iter().position(|there| there == lens).map(|at| left.remove(at)).is_some();
        one.len() == other.len() && one.iter().all(&mut takes)
    }

    /// The same with the other sign; `None` where there is none.
    pub fn with_other_sign(&self) -> Option<Self> {
        Some(match self {
            Self::Power(power) => Self::Power(-*power),
            Self::Form(form) => {
                Self::Form(SpheroCylinder { sphere: -form.sphere, cylinder: -form.cylinder, axis: form.axis })
            }
            Self::Dioptres(dioptres) => Self::Dioptres(-dioptres),
            Self::Prism(prism, eye) => Self::Prism(-*prism, *eye),
            Self::Size(_) | Self::Axis(_) | Self::Acuity(..) | Self::Lenses(_) | Self::Word(..) => return None,
        })
    }

    /// The same with its axis across; `None` where there is none.
    pub fn with_axis_across(&self) -> Option<Self> {
        Some(match self {
            Self::Power(power) => Self::Power(power.turned(90.0)),
            Self::Form(form) => Self::Form(SpheroCylinder { axis: fold_axis(form.axis + 90.0), ..*form }),
            Self::Axis(degrees) => Self::Axis(fold_axis(degrees + 90.0)),
            Self::Dioptres(_)
            | Self::Size(_)
            | Self::Prism(..)
            | Self::Acuity(..)
            | Self::Lenses(_)
            | Self::Word(..) => return None,
        })
    }
}

/// The angle between two meridians, 0 to 90 degrees.
fn angle_between(one: f64, other: f64) -> f64 {
    let turn = (one - other).rem_euclid(180.0);
    turn.min(180.0 - turn)
}

/// An acuity in this notation alone: the line of the question typed again is no answer.
fn read_acuity(typed: &str, notation: AcuityNotation) -> Result<f64, Unreadable> {
    let acuity = Acuity::read(typed, notation, None)?;
    let has = |mark: &str| typed.to_ascii_lowercase().contains(mark);
    let over = typed.split_once('/').map(|(distance, _)| distance.trim().to_owned());
    let is_asked = match notation {
        AcuityNotation::SixMetres => over.is_none_or(|over| over == "6") && !has("log") && !has("let") && !has("dec"),
        AcuityNotation::ThreeMetres => over.is_none_or(|over| over == "3") && !has("log") && !has("let") && !has("dec"),
        AcuityNotation::TwentyFeet => over.is_none_or(|over| over == "20") && !has("log") && !has("let") && !has("dec"),
        AcuityNotation::Decimal => over.is_none() && !has("log") && !has("let"),
        AcuityNotation::LogMar => over.is_none() && !has("let") && !has("dec"),
        AcuityNotation::Letters => over.is_none() && !has("log") && !has("dec"),
    };
    if !is_asked {
        return Err(Unreadable::OtherNotation(notation));
    }
    acuity.log_mar().ok_or(Unreadable::NoLine(notation))
}

/// Lenses with spaces between them; a cylinder may have spaces about its `x`.
fn read_lenses(typed: &str) -> Result<Vec<LensToken>, Unreadable> {
    let mut lenses: Vec<String> = Vec::new();
    let mut joins = false;
    for part in typed.split([' ', ';', '\t']).filter(|part| !part.is_empty()) {
        let is_axis = part.starts_with(['x', 'X', '\u{d7}', '@']);
        match lenses.last_mut().filter(|_| joins || is_axis) {
            Some(last) => last.push_str(part),
            None => lenses.push(part.to_owned()),
        }
        joins = part.ends_with(['x', 'X', '\u{d7}', '@']);
    }
    if lenses.is_empty() {
        lenses.push(String::new());
    }
    Ok(lenses.iter().map(|lens| parse_lens(lens)).collect::<Result<_, _>>()?)
}
