//! Visual acuity in the notations examiners use.
//!
//! The minimum angle of resolution (MAR, minutes of arc) is 1/decimal acuity and logMAR = log10 MAR, so that
//! 6/6 = 20/20 = 1.0 = 0.00 and 6/12 = 20/40 = 0.5 = 0.30 (Holladay's table). One letter of a five-letter line counts
//! 0.02 logMAR; a score of letters is 85 − 50 logMAR, so that 85 letters are 20/20 and 70 letters 20/40 (ETDRS, after Gregori).
//!
//! | thing | read |
//! | --- | --- |
//! | fraction | any test distance over any line: `6/12` `20/40` `3/60` `5/10` `4/8` `1/60` `10/200` |
//! | decimal | `0.5` where decimals are the examiner's notation, else `0.5 decimal` |
//! | logMAR | `0.3logMAR`, `-0.1logMAR` |
//! | score of letters | `85 letters` |
//! | letters missed or gained | `6/12-2` `20/40+1` |
//! | below letters | `none` (no letter of the chart), `CF` `HM` `PL` (`LP`) `NPL` (`NLP`) |
//! | bare number | in the examiner's [`AcuityNotation`]; what could be two things is refused with both |

mod chart;
mod charts;
mod notation;
mod reader;
mod value;
mod written;

pub use chart::ChartPlace;
pub use charts::{LAST_LINE_LOG_MAR, LINES_6_M, TOP_LETTER_LOG_MAR};
pub use notation::AcuityNotation;
pub use value::{Acuity, LETTER_LOG_MAR};
