//! The lines that charts print.

use super::notation::AcuityNotation;
use super::value::{Acuity, LETTER_LOG_MAR};

/// A line of a chart whose lines differ by 0.1 logMAR, as such charts label it in each notation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct StandardLine {
    /// Lower figure of the fraction at six metres.
    pub six_metres: f64,
    /// Lower figure of the fraction at twenty feet.
    pub twenty_feet: f64,
    /// Decimal acuity.
    pub decimal: f64,
    /// Tenths of logMAR.
    pub tenths: i8,
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

/// The last letter that is read of a chart for 6 m, one of the top line of 6/60, in logMAR.
pub const TOP_LETTER_LOG_MAR: f64 = 1.0 + 4.0 * LETTER_LOG_MAR;
/// The smallest line of such a chart, 6/3, in logMAR.
pub const LAST_LINE_LOG_MAR: f64 = -0.30;

/// The lines of the usual chart by the lower figure of the 6 m fraction: common practice, no source. One made for 3 m prints
/// half of each.
pub const LINES_6_M: [f64; 8] = [60.0, 36.0, 24.0, 18.0, 12.0, 9.0, 6.0, 5.0];

/// The lines of the usual chart in feet by the lower figure of the 20 ft fraction: common practice, no source.
const LINES_20_FT: [f64; 9] = [200.0, 100.0, 70.0, 50.0, 40.0, 30.0, 25.0, 20.0, 15.0];

/// Lines of a decimal chart, from the steps of ISO 8596 (from memory): every one from 0.4 on, and the coarse ones that most
/// charts have.
const LINES_DECIMAL: [f64; 9] = [0.1, 0.2, 0.32, 0.4, 0.5, 0.63, 0.8, 1.0, 1.25];

/// Lines of a chart in steps of 0.1 logMAR, by their tenths: every one from 0.5 on, and of the coarse ones a few.
const LINES_TENTHS: [i8; 9] = [10, 7, 5, 4, 3, 2, 1, 0, -1];

impl AcuityNotation {
    /// The lines that charts of this notation print, coarsest first, as many as there are keys to answer with: what stands
    /// between them is typed. Those of the letter score are the lines of a logMAR chart, five letters apart.
    pub fn chart_lines(self) -> Vec<Acuity> {
        match self {
            Self::SixMetres | Self::ThreeMetres => LINES_6_M.map(Acuity::of_6_m).into(),
            Self::TwentyFeet => LINES_20_FT.map(|figure| Acuity::Line { mar: figure / 20.0, letters: 0 }).into(),
            Self::Decimal => LINES_DECIMAL.map(|decimal| Acuity::Line { mar: 1.0 / decimal, letters: 0 }).into(),
            Self::LogMar | Self::Letters => {
                LINES_TENTHS.map(|tenths| Acuity::of_log_mar(f64::from(tenths) / 10.0)).into()
            }
        }
    }
}

/// The standard line that a logMAR is in all but rounding.
pub(super) fn standard_line(log_mar: f64) -> Option<&'static StandardLine> {
    STANDARD_LINES.iter().find(|line| (f64::from(line.tenths) / 10.0 - log_mar).abs() < SAME_LINE_LOG_MAR)
}

impl Acuity {
    /// Every line of a chart in steps of 0.1 logMAR, 6/3 first and 6/60 last.
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
}
