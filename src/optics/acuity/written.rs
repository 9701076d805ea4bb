//! Writing acuities.

use libm::log10;

use super::charts::standard_line;
use super::notation::AcuityNotation;
use super::value::Acuity;
use crate::optics::bounds;
use crate::optics::notation::Style;

impl Acuity {
    /// Writes the true acuity: `6/12`, `20/40-2`, `0.5+1`, `0.30logMAR`, `70 letters`, `no letter`, `CF`.
    ///
    /// A line that is a standard one in all but rounding is written with the figures that charts print: a logMAR of 0.2
    /// is 6/9.5 and 20/32. A score counts its letters; what lies beyond 0 to 100 letters has none and is written as logMAR.
    pub fn write(self, notation: AcuityNotation, style: Style) -> String {
        let (figure, unit, letters) = self.parts(notation, style);
        format!("{figure}{unit}{letters}")
    }

    /// The same without the name of the notation, where there is little room and one notation for all: `0.30-2`, `70`.
    pub fn write_short(self, notation: AcuityNotation, style: Style) -> String {
        let (figure, _, letters) = self.parts(notation, style);
        figure + &letters
    }

    /// The figure, the name of its notation, and the letters missed or gained.
    fn parts(self, notation: AcuityNotation, style: Style) -> (String, &'static str, String) {
        let Some((mar, letters)) = self.line() else {
            return (self.abbreviated().unwrap_or_default().to_owned(), "", String::new());
        };
        let log_mar = log10(mar);
        let printed = standard_line(log_mar);
        let letters = match letters {
            0 => String::new(),
            1.. => format!("+{letters}"),
            _ => format!("{}{}", style.minus(), letters.unsigned_abs()),
        };
        let (figure, unit) = match notation {
            AcuityNotation::SixMetres => {
                (format!("6/{}", figure(printed.map_or(6.0 * mar, |line| line.six_metres))), "")
            }
            AcuityNotation::ThreeMetres => {
                (format!("3/{}", figure(printed.map_or(3.0 * mar, |line| line.six_metres / 2.0))), "")
            }
            AcuityNotation::TwentyFeet => {
                (format!("20/{}", figure(printed.map_or(20.0 * mar, |line| line.twenty_feet))), "")
            }
            AcuityNotation::Decimal => (decimal(printed.map_or(1.0 / mar, |line| line.decimal)), ""),
            AcuityNotation::LogMar => (in_log_mar(log_mar, style), LOG_MAR),
            AcuityNotation::Letters => {
                let score = self.letter_score().map(f64::round).filter(|score| bounds::LETTER_SCORE.contains(*score));
                match score {
                    Some(score) => return ((score + 0.0).to_string(), " letters", String::new()),
                    // the figure alone would be taken for a score
                    None => (in_log_mar(log_mar, style) + LOG_MAR, ""),
                }
            }
        };
        (figure, unit, letters)
    }
}

const LOG_MAR: &str = "logMAR";

fn in_log_mar(log_mar: f64, style: Style) -> String {
    let hundredths = (log_mar * 100.0).round() + 0.0;
    let sign = if hundredths < 0.0 { style.minus().to_string() } else { String::new() };
    format!("{sign}{:.2}", hundredths.abs() / 100.0)
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
