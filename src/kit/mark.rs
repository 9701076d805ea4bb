//! The power marked on a lens, and how it is written.

use std::fmt;

use thiserror::Error;

use crate::optics::bounds::{OutOfRange, Range, SignRule};
use crate::optics::notation::{Cursor, Sign as Written, eighth_of_mark};

/// The power that is marked on a lens, in thousandths of a dioptre (of a prism dioptre for a prism).
///
/// Marks show two places but are cut to eighths: 0.12, 0.37, 0.62 and 0.87 stand for 0.125, 0.375, 0.625 and 0.875. A mark
/// is either an eighth or a whole number of hundredths, so that its written form always reads back as itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Mark(i32);

impl Mark {
    /// The mark nearest to a finite power in dioptres, with the two-place marks of eighths taken for eighths.
    pub fn nearest(dioptres: f64) -> Self {
        let thousandths = (dioptres * 1000.0).round() as i32;
        if thousandths % 125 == 0 {
            return Self(thousandths);
        }
        let two_places = (dioptres * 100.0).round() / 100.0;
        Self((eighth_of_mark(two_places) * 1000.0).round() as i32)
    }

    /// A mark by its thousandths of a dioptre, made of whole marks by adding and subtracting.
    pub(super) fn of_thousandths(thousandths: i32) -> Self {
        Self::nearest(f64::from(thousandths) / 1000.0)
    }

    /// The true power in thousandths of a dioptre.
    pub(super) fn thousandths(self) -> i32 {
        self.0
    }

    /// The true power in dioptres (prism dioptres for a prism).
    pub fn dioptres(self) -> f64 {
        f64::from(self.0) / 1000.0
    }

    /// The mark without its sign, as a prism or a cross cylinder carries it.
    pub fn unsigned(self) -> String {
        // eighths are cut, not rounded, to two places: 0.125 is marked 0.12
        let hundredths = self.0.abs() / 10;
        format!("{}.{:02}", hundredths / 100, hundredths % 100)
    }

    /// Whether this is the mark of no power.
    pub fn is_plano(self) -> bool {
        self.0 == 0
    }

    /// The same power with the other sign.
    #[must_use]
    pub fn negated(self) -> Self {
        Self(-self.0)
    }
}

impl fmt::Display for Mark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.is_plano() {
            return f.pad("plano");
        }
        let sign = if self.0 < 0 { '-' } else { '+' };
        f.pad(&format!("{sign}{}", self.unsigned()))
    }
}

/// A measured power that is far from the mark: of the other sign, or off by more than half a dioptre or a tenth of the mark,
/// whichever is more. Common practice, no source.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// What is marked.
    pub mark: Mark,
    /// What was measured, in the unit of the mark.
    pub measured: f64,
}

/// What a measured power may be off its mark before it is asked about, in dioptres or prism dioptres.
const OFF_BEFORE_ASKED: f64 = 0.5;
/// The same as a part of the mark, where that is more.
const PART_OFF_BEFORE_ASKED: f64 = 0.1;

impl Doubt {
    /// The doubt about a measured power, if there is any.
    pub fn of(mark: Mark, measured: f64) -> Option<Self> {
        let marked = mark.dioptres();
        let other_sign = marked * measured < 0.0;
        let may_be_off = OFF_BEFORE_ASKED.max(marked.abs() * PART_OFF_BEFORE_ASKED);
        let far = (measured - marked).abs() > may_be_off + 1e-9;
        (other_sign || far).then_some(Self { mark, measured })
    }

    /// Whether plus was measured where minus is marked, or the other way round.
    pub fn is_of_the_sign(&self) -> bool {
        self.mark.dioptres() * self.measured < 0.0
    }
}

impl fmt::Display for Doubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { mark, measured } = self;
        let off = measured - mark.dioptres();
        let what = if self.is_of_the_sign() { "of the other sign" } else { "far from its mark" };
        write!(f, "marked {mark}, measured {measured:+.2}, {off:+.2} off: {what}")
    }
}

/// The sign before a power as it was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sign {
    /// None.
    Unsigned,
    /// `+`
    Plus,
    /// `-` or `−`
    Minus,
    /// `±`: one of each.
    Both,
}

/// A power that cannot be read.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum PowerTextError {
    /// It is not a number.
    #[error("is not a power, which is written like +0.25, -4.00 or plano")]
    NotAPower,
    /// It has more places than any mark.
    #[error("is finer than marks are: two places, or an eighth like 0.125")]
    TooFine,
    /// It is beyond what a lens of its kind can have.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

/// Reads a power as written: its sign and its amount, by the row of its kind. `plano`, `pl` and zero mean no power.
///
/// # Errors
/// When it is not a decimal number, finer than marks are, or the row does not permit it.
pub fn read_power(text: &str, row: &Range) -> Result<(Sign, Mark), PowerTextError> {
    if matches!(text, "plano" | "pl") {
        return Ok((Sign::Unsigned, Mark::default()));
    }
    let not_a_power = |_| PowerTextError::NotAPower;
    let (is_both, figure) = text.strip_prefix('±').map_or((false, text), |figure| (true, figure));
    let mut cursor = Cursor::new(figure, "").map_err(not_a_power)?;
    let number = cursor.number("").map_err(not_a_power)?;
    cursor.finish("").map_err(not_a_power)?;
    let sign = match (is_both, number.sign) {
        (true, None) => Sign::Both,
        (true, Some(_)) => return Err(PowerTextError::NotAPower),
        (false, None) => Sign::Unsigned,
        (false, Some(Written::Plus)) => Sign::Plus,
        (false, Some(Written::Minus)) => Sign::Minus,
    };
    let amount = number.value.abs();
    // a sign that the kind cannot have is refused as such, by whoever knows the kind
    row.check(if row.sign == SignRule::Needed { number.value } else { amount })?;
    let mark = Mark::nearest(amount);
    // 0.12 is read as the eighth 0.125; anything else must be the mark itself
    if (mark.dioptres() - amount).abs() > 1e-9 && (amount * 100.0 - (amount * 100.0).round()).abs() > 1e-6 {
        return Err(PowerTextError::TooFine);
    }
    Ok((sign, mark))
}
