//! A cursor over a text: takes words and plain decimal numbers, and refuses with the place.

use std::ops::Range;

use super::eighths::eighth_of_mark;
use super::error::NotationError;
use crate::optics::bounds::{self, Range as Row, SignRule};
use crate::optics::quantity::Axis;

/// The sign before a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sign {
    /// `+`
    Plus,
    /// `-` or `−`
    Minus,
}

/// What says that a sphere has ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum SphereUnit {
    /// `D` or `DS`: a cylinder may follow.
    Dioptres,
    /// `SPH`: there is no cylinder.
    SphereAlone,
}

/// What stands before an axis.
const BEFORE_AXIS: [char; 4] = ['x', 'X', '\u{d7}', '@'];

/// A plain decimal number as it stands in the text.
#[derive(Debug, Clone)]
pub(crate) struct Number {
    /// Its value, sign included.
    pub value: f64,
    /// The sign, when one is written.
    pub sign: Option<Sign>,
    /// Whether it is written without a decimal point.
    pub whole: bool,
    /// Where it stands.
    pub place: Range<usize>,
}

/// A text and how far it has been read.
#[derive(Debug, Clone)]
pub(crate) struct Cursor<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Cursor<'a> {
    /// A cursor at the first character that is not white space.
    ///
    /// # Errors
    /// When there is none; `wanted` says what should be there.
    pub fn new(text: &'a str, wanted: &str) -> Result<Self, NotationError> {
        let mut cursor = Self { text, at: 0 };
        cursor.skip_spaces();
        if cursor.at_end() { Err(cursor.error(wanted, cursor.at..cursor.at)) } else { Ok(cursor) }
    }

    /// A refusal that points at a place of this text.
    pub fn error(&self, problem: impl Into<String>, place: Range<usize>) -> NotationError {
        NotationError::new(problem, self.text, place)
    }

    /// A refusal that points at the next word.
    pub fn error_here(&self, problem: impl Into<String>) -> NotationError {
        let word = self.rest().find(char::is_whitespace).unwrap_or(self.rest().len());
        self.error(problem, self.at..self.at + word)
    }

    /// What is not read yet.
    pub fn rest(&self) -> &'a str {
        &self.text[self.at..]
    }

    /// How far the text is read, in bytes.
    pub fn at(&self) -> usize {
        self.at
    }

    /// Whether everything is read.
    pub fn at_end(&self) -> bool {
        self.rest().is_empty()
    }

    /// Passes over white space; whether there was any.
    pub fn skip_spaces(&mut self) -> bool {
        let rest = self.rest().trim_start();
        let skipped = rest.len() < self.rest().len();
        self.at = self.text.len() - rest.len();
        skipped
    }

    /// Takes the next character when it is one of these.
    pub fn take_any(&mut self, characters: &[char]) -> bool {
        match self.rest().chars().next() {
            Some(next) if characters.contains(&next) => {
                self.at += next.len_utf8();
                true
            }
            _ => false,
        }
    }

    /// Takes the next run of letters when it is one of these words, in capitals or not.
    pub fn take_word(&mut self, words: &[&str]) -> bool {
        let length = self.rest().find(|c: char| !c.is_alphabetic()).unwrap_or(self.rest().len());
        let found = words.iter().any(|word| word.eq_ignore_ascii_case(&self.rest()[..length]));
        if found {
            self.at += length;
        }
        found
    }

    /// Takes what comes next when it is one of these texts, in capitals or not; the first that fits.
    pub fn take_text(&mut self, texts: &[&str]) {
        let found = texts
            .iter()
            .find(|text| self.rest().get(..text.len()).is_some_and(|next| next.to_lowercase() == text.to_lowercase()));
        self.at += found.map_or(0, |text| text.len());
    }

    /// Takes a plain decimal number: a sign or none, digits, and after a point or a comma more digits; one of both is enough. No exponent, no
    /// hexadecimal.
    ///
    /// # Errors
    /// When there is no such number; `wanted` says what should be there.
    pub fn number(&mut self, wanted: &str) -> Result<Number, NotationError> {
        let start = self.at;
        let sign = if self.take_any(&['+']) {
            Some(Sign::Plus)
        } else if self.take_any(&['-', '\u{2212}']) {
            Some(Sign::Minus)
        } else {
            None
        };
        let digits_start = self.at;
        let begins_with_point =
            self.rest().starts_with(['.', ',']) && self.rest()[1..].starts_with(|c: char| c.is_ascii_digit());
        if self.digits() == 0 && !begins_with_point {
            let problem = match self.rest().chars().next() {
                Some('\u{2010}'..='\u{2015}') => "this dash is not a minus sign: write `-` or `−`",
                Some('.' | ',') => "a decimal point needs digits: write 0.75",
                Some(c) if sign.is_some() && c.is_whitespace() => "the sign stands directly before its number",
                _ => wanted,
            };
            return Err(self.error_here(problem));
        }
        let has_decimals = self.take_any(&['.', ',']);
        if has_decimals && self.digits() == 0 {
            return Err(self.error("a digit is missing after the decimal point", self.at..self.at));
        }
        let place = start..self.at;
        // digits with at most one point between them always parse, but there may be more of them than any number has
        let size = self.text[digits_start..self.at].replace(',', ".").parse::<f64>();
        let Some(size) = size.ok().filter(|size| size.is_finite()) else {
            return Err(self.error(wanted, place));
        };
        let value = if sign == Some(Sign::Minus) && size != 0.0 { -size } else { size };
        Ok(Number { value, sign, whole: !has_decimals, place })
    }

    fn digits(&mut self) -> usize {
        let count = self.rest().bytes().take_while(u8::is_ascii_digit).count();
        self.at += count;
        count
    }

    /// Takes a figure by its row of the table of ranges; marks of eighths are taken for eighths where a power is marked.
    ///
    /// # Errors
    /// When there is none, its sign is missing or should not be there, or the row does not permit it.
    pub fn figure(&mut self, row: &Row, wanted: &str) -> Result<f64, NotationError> {
        let number = self.number(wanted)?;
        let size = number.value.abs();
        let written = &self.text[number.place.clone()];
        match (row.sign, number.sign) {
            (SignRule::Needed, None) if size != 0.0 => {
                let problem = format!("a power needs its sign: write +{written} or -{written}");
                return Err(self.error(problem, number.place));
            }
            (SignRule::Unsigned, Some(Sign::Plus)) => {
                let problem = format!("{} is written without a sign: {size}", row.name);
                return Err(self.error(problem, number.place));
            }
            (SignRule::Needed | SignRule::Allowed, _) | (SignRule::Unsigned, None | Some(Sign::Minus)) => {}
        }
        match row.check(number.value) {
            Ok(value) => Ok(if row.marked { eighth_of_mark(value) } else { value }),
            Err(refusal) => Err(self.error(refusal.to_string(), number.place)),
        }
    }

    /// Takes a power in dioptres with its sign (0 needs none); marks of eighths are taken for eighths.
    ///
    /// # Errors
    /// When there is none, it has no sign, or it lies beyond [`bounds::POWER`].
    pub fn power(&mut self, wanted: &str) -> Result<f64, NotationError> {
        self.figure(&bounds::POWER, wanted)
    }

    /// Takes a word or a sign for no power: `plano`, `pl`, `∞`; whether it is there.
    pub fn take_plano(&mut self) -> bool {
        self.take_word(&["plano", "pl"]) || self.take_any(&['\u{221e}'])
    }

    /// Takes a sphere: `plano`, `pl`, `∞`, or a power with its sign.
    ///
    /// # Errors
    /// As [`Cursor::power`].
    pub fn sphere(&mut self) -> Result<f64, NotationError> {
        if self.take_plano() {
            return Ok(0.0);
        }
        self.power("expected a power here, like -4.25 or plano")
    }

    /// Takes the unit of a sphere: `D`, `DS`, or `SPH`, which says that there is no cylinder.
    pub fn take_sphere_unit(&mut self) -> Option<SphereUnit> {
        let mut ahead = self.clone();
        ahead.skip_spaces();
        let unit = if ahead.take_word(&["d", "ds"]) {
            SphereUnit::Dioptres
        } else if ahead.take_word(&["sph"]) {
            SphereUnit::SphereAlone
        } else {
            return None;
        };
        *self = ahead;
        Some(unit)
    }

    /// Takes the unit of a cylinder, `DC`, where it is written.
    pub fn take_cylinder_unit(&mut self) {
        let mut ahead = self.clone();
        ahead.skip_spaces();
        let at = ahead.at();
        ahead.take_text(&["dc"]);
        if ahead.at() > at {
            *self = ahead;
        }
    }

    /// Whether an axis is next.
    pub fn is_at_axis(&self) -> bool {
        self.rest().starts_with(BEFORE_AXIS)
    }

    /// Takes what follows a cylinder: `x`, `×` or `@` and an axis in whole degrees from 0 to 180, with or without `°`.
    ///
    /// `cylinder` is where the cylinder stands that the axis belongs to.
    ///
    /// # Errors
    /// When there is none, or it is not a whole number of degrees up to 180.
    pub fn axis(&mut self, cylinder: Range<usize>) -> Result<Axis, NotationError> {
        self.skip_spaces();
        if self.at_end() {
            return Err(self.error("this cylinder has no axis: write it like -0.75x180", cylinder));
        }
        if !self.take_any(&BEFORE_AXIS) {
            return Err(self.unexpected("expected x and the axis of the cylinder here"));
        }
        self.skip_spaces();
        let axis = self.figure(&bounds::AXIS, "expected the axis here, in whole degrees from 1 to 180")?;
        self.take_any(&['\u{b0}']);
        Ok(Axis::nearest(axis))
    }

    /// Makes sure that nothing but white space is left.
    ///
    /// # Errors
    /// When something is; `problem` says so.
    pub fn finish(mut self, problem: &str) -> Result<(), NotationError> {
        self.skip_spaces();
        if self.at_end() { Ok(()) } else { Err(self.unexpected(problem)) }
    }

    /// A refusal of what comes next, with a better reason than `usual` where the mistake is a usual one.
    pub fn unexpected(&self, usual: &str) -> NotationError {
        let mut ahead = self.rest().chars();
        let behind_digit = self.text[..self.at].ends_with(|c: char| c.is_ascii_digit());
        let problem = match (ahead.next(), ahead.next()) {
            (Some('e' | 'E'), Some(next)) if behind_digit && (next.is_ascii_digit() || "+-".contains(next)) => {
                "numbers are written out, without exponents"
            }
            _ => usual,
        };
        let place = self.at..self.at + self.rest().trim_end().len();
        self.error(problem, place)
    }
}
