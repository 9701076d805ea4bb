//! Visual acuity in the notations examiners use.
//!
//! The minimum angle of resolution (MAR, minutes of arc) is 1/decimal acuity and logMAR = log10 MAR, so that
//! 6/6 = 20/20 = 1.0 = 0.00 and 6/12 = 20/40 = 0.5 = 0.30 (Holladay's table). One letter of a five-letter line counts
//! 0.02 logMAR.

use std::str::FromStr;

use libm::{log10, pow};
use serde::{Deserialize, Serialize};

use super::bounds;
use super::listed::listed;
use super::notation::{Cursor, NotationError, Style};

/// What one letter is worth, in logMAR: a fifth of a 0.1 line.
pub const LETTER_LOG_MAR: f64 = 0.02;

/// What a person read: a line of the chart, with letters missed or gained, or nothing at all.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Acuity {
    /// A line, whole or nearly.
    Line {
        /// Minimum angle of resolution of the line in minutes of arc: 1 for 6/6, 2 for 6/12.
        mar: f64,
        /// Letters missed (negative) or read in the next line (positive).
        letters: i8,
    },
    /// No letter of the chart.
    #[serde(alias = "noletter")]
    NoLetter,
}

listed! {
    /// How acuity is written.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
    #[serde(rename_all = "snake_case")]
    pub enum AcuityNotation {
        /// The fraction at six metres: `6/12`.
        #[default]
        SixMetres,
        /// The fraction at twenty feet: `20/40`.
        TwentyFeet,
        /// The decimal: `0.5`.
        Decimal,
        /// The logarithm of the minimum angle of resolution: `0.30logMAR`.
        LogMar,
    }
}

/// A line of a chart whose lines differ by 0.1 logMAR, as such charts label it in each notation.
#[derive(Debug, Clone, Copy, PartialEq)]
struct StandardLine {
    /// Lower figure of the fraction at six metres.
    six_metres: f64,
    /// Lower figure of the fraction at twenty feet.
    twenty_feet: f64,
    /// Decimal acuity.
    decimal: f64,
    /// Tenths of logMAR.
    tenths: i8,
}

const fn line(six_metres: f64, twenty_feet: f64, decimal: f64, tenths: i8) -> StandardLine {
    StandardLine { six_metres, twenty_feet, decimal, tenths }
}

/// 6/3 to 6/60 in steps of 0.1 logMAR, in the rounded figures that charts print (from memory; the property that every one
/// lies within 0.01 of its logMAR is a test).
const STANDARD_LINES: [StandardLine; 14] = [
    line(3.0, 10.0, 2.0, -3),
    line(3.8, 12.5, 1.6, -2),
    line(4.8, 16.0, 1.25, -1),
    line(6.0, 20.0, 1.0, 0),
    line(7.5, 25.0, 0.8, 1),
    line(9.5, 32.0, 0.63, 2),
    line(12.0, 40.0, 0.5, 3),
    line(15.0, 50.0, 0.4, 4),
    line(19.0, 63.0, 0.32, 5),
    line(24.0, 80.0, 0.25, 6),
    line(30.0, 100.0, 0.2, 7),
    line(38.0, 125.0, 0.16, 8),
    line(48.0, 160.0, 0.125, 9),
    line(60.0, 200.0, 0.1, 10),
];

/// Two names of one line differ by less than this in logMAR; two lines of any chart differ by more.
const SAME_LINE_LOG_MAR: f64 = 0.006;

const WANTED: &str = "nothing here: write an acuity like 6/12, 20/40, 0.5, 0.3logMAR, or none for no letter";

impl Acuity {
    /// A line of the 6 m chart by the lower figure of its fraction: 12 for 6/12.
    pub fn of_6_m(denominator: f64) -> Self {
        Self::Line { mar: denominator / 6.0, letters: 0 }
    }

    /// A line by its logMAR: 0.3 for a minimum angle of resolution of 10^0.3 minutes of arc.
    pub fn of_log_mar(log_mar: f64) -> Self {
        Self::Line { mar: pow(10.0, log_mar), letters: 0 }
    }

    /// The lines from which an examiner chooses, 6/3 first and 6/60 last, in steps of 0.1 logMAR.
    pub fn standard_lines() -> impl DoubleEndedIterator<Item = Self> {
        STANDARD_LINES.iter().map(|line| Self::of_6_m(line.six_metres))
    }

    /// The standard line nearest to what was read, letters counted; `None` when no letter was read.
    pub fn nearest_standard_line(self) -> Option<Self> {
        let log_mar = self.log_mar()?;
        let away = |line: &StandardLine| (f64::from(line.tenths) / 10.0 - log_mar).abs();
        let nearest = STANDARD_LINES.iter().min_by(|a, b| away(a).total_cmp(&away(b)))?;
        Some(Self::of_6_m(nearest.six_metres))
    }

    /// logMAR, letters counted; `None` when no letter was read. Smaller is better.
    pub fn log_mar(self) -> Option<f64> {
        match self {
            Self::Line { mar, letters } => Some(log10(mar) - f64::from(letters) * LETTER_LOG_MAR),
            Self::NoLetter => None,
        }
    }

    /// The lower figure of the 6 m fraction with the letters counted in; `None` when no letter was read.
    pub fn denominator_6_m(self) -> Option<f64> {
        self.log_mar().map(|log_mar| 6.0 * pow(10.0, log_mar))
    }

    /// Writes the acuity: `6/12`, `20/40-2`, `0.5+1`, `0.30logMAR`, `no letter`.
    ///
    /// A line that is a standard one in all but rounding is written with the figures that charts print: a logMAR of 0.2
    /// is 6/9.5 and 20/32.
    pub fn write(self, notation: AcuityNotation, style: Style) -> String {
        let Self::Line { mar, letters } = self else {
            return "no letter".to_owned();
        };
        let log_mar = log10(mar);
        let printed =
            STANDARD_LINES.iter().find(|line| (f64::from(line.tenths) / 10.0 - log_mar).abs() < SAME_LINE_LOG_MAR);
        let line = match notation {
            AcuityNotation::SixMetres => format!("6/{}", figure(printed.map_or(6.0 * mar, |line| line.six_metres))),
            AcuityNotation::TwentyFeet => format!("20/{}", figure(printed.map_or(20.0 * mar, |line| line.twenty_feet))),
            AcuityNotation::Decimal => decimal(printed.map_or(1.0 / mar, |line| line.decimal)),
            AcuityNotation::LogMar => {
                let hundredths = (log_mar * 100.0).round() + 0.0;
                let sign = if hundredths < 0.0 { style.minus().to_string() } else { String::new() };
                format!("{sign}{:.2}logMAR", hundredths.abs() / 100.0)
            }
        };
        let letters = match letters {
            0 => String::new(),
            1.. => format!("+{letters}"),
            _ => format!("{}{}", style.minus(), letters.unsigned_abs()),
        };
        line + &letters
    }
}

/// The lower figure of a fraction: at most two places, no needless zeros.
fn figure(value: f64) -> String {
    ((value * 100.0).round() / 100.0).to_string()
}

/// A decimal acuity: at least one place, and as many as keep it within half a letter.
fn decimal(value: f64) -> String {
    let places = match value {
        0.2.. => 100.0,
        0.02.. => 1000.0,
        _ => 10_000.0,
    };
    let rounded = (value * places).round() / places;
    if rounded.fract() == 0.0 { format!("{rounded:.1}") } else { rounded.to_string() }
}

impl FromStr for Acuity {
    type Err = NotationError;

    /// Reads `6/12`, `20/40`, `0.5`, `0.3logMAR` (which may be negative), each with `-2` or `+1` after it for letters
    /// missed or gained; `none` or `no letter` when no letter was read.
    ///
    /// # Errors
    /// When the text is anything else, or the acuity lies beyond [`bounds::LOG_MAR`].
    fn from_str(text: &str) -> Result<Self, NotationError> {
        if ["none", "no letter"].iter().any(|word| word.eq_ignore_ascii_case(text.trim())) {
            return Ok(Self::NoLetter);
        }
        let mut cursor = Cursor::new(text, WANTED)?;
        let start = cursor.at();
        let first = cursor.number("expected an acuity here, like 6/12, 20/40, 0.5 or 0.3logMAR")?;
        let after_number = cursor.clone();
        cursor.skip_spaces();
        let mar = if cursor.take_word(&["logmar"]) {
            pow(10.0, first.value)
        } else if first.sign.is_some() {
            return Err(cursor.error("only logMAR has a sign: write it like -0.1logMAR", first.place));
        } else if cursor.take_any(&['/']) {
            if first.value != 6.0 && first.value != 20.0 {
                return Err(cursor.error("a fraction begins with 6 (metres) or 20 (feet)", first.place));
            }
            cursor.skip_spaces();
            let second = cursor.number("expected the lower figure of the fraction here")?;
            if second.sign.is_some() {
                return Err(cursor.error("the lower figure of a fraction has no sign", second.place));
            }
            second.value / first.value
        } else {
            cursor = after_number;
            1.0 / first.value
        };
        let place = start..cursor.at();
        if !bounds::LOG_MAR.contains(log10(mar)) {
            return Err(cursor.error("no chart has this line: acuities go from 6/1.9 to 6/600", place));
        }
        cursor.skip_spaces();
        let letters = if cursor.at_end() {
            0
        } else if cursor.rest().starts_with(['+', '-', '\u{2212}']) {
            letters(&mut cursor)?
        } else {
            return Err(cursor.unexpected("expected nothing more, or letters missed or gained like -2 or +1"));
        };
        cursor.finish("nothing may follow the letters")?;
        Ok(Self::Line { mar, letters })
    }
}

fn letters(cursor: &mut Cursor<'_>) -> Result<i8, NotationError> {
    let number = cursor.number("expected letters missed or gained here, like -2 or +1")?;
    if !number.whole {
        return Err(cursor.error("letters are counted whole", number.place));
    }
    match bounds::LETTERS.check(number.value.abs()) {
        Ok(_) => Ok(number.value as i8),
        Err(refusal) => Err(cursor.error(refusal.to_string(), number.place)),
    }
}
