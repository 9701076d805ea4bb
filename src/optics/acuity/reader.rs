//! The one reader of acuities.

use std::ops::Range;
use std::str::FromStr;

use libm::{log10, pow};

use super::chart::{ChartPlace, TestDistance};
use super::notation::AcuityNotation;
use super::value::Acuity;
use crate::optics::bounds;
use crate::optics::notation::{Cursor, NotationError, Number, Style};

const WANTED: &str = "nothing here: write an acuity like 6/12, 20/40, 0.3logMAR, 70 letters, CF, or none for no letter";

/// Words for what is seen where no letter is read.
const WORDS: [(&[&str], Acuity); 5] = [
    (&["none", "no letter"], Acuity::NoLetter),
    (&["CF", "counting fingers"], Acuity::CountingFingers),
    (&["HM", "hand movements"], Acuity::HandMovements),
    (&["PL", "LP", "light perception"], Acuity::LightPerception),
    (&["NPL", "NLP", "no light perception"], Acuity::NoLightPerception),
];

/// A bare figure up to this may be a decimal acuity or a logMAR: below the line of a fraction it is asked which.
const MAY_BE_ANOTHER: f64 = 2.0;

/// What stands before the letters missed or gained.
struct Written {
    mar: f64,
    /// The test distance of a fraction, and where it stands.
    distance: Option<(f64, Range<usize>)>,
    /// Whether the letters are counted in already.
    is_score: bool,
}

impl Acuity {
    /// Reads an acuity as the page of [this module](crate::optics::acuity) says, a bare number in the examiner's notation.
    ///
    /// On a chart that stands at another distance than its figures say, what is read is taken as the chart prints it; a
    /// fraction over the distance at which it stands is taken as true; one over any other is refused.
    ///
    /// # Errors
    /// When the text is anything else or could be two things, or the acuity lies beyond [`bounds::LOG_MAR`].
    pub fn read(text: &str, notation: AcuityNotation, chart: Option<ChartPlace>) -> Result<Self, NotationError> {
        read(text, Some(notation), chart)
    }
}

impl FromStr for Acuity {
    type Err = NotationError;

    /// Reads an acuity that says its notation; a bare number is refused.
    ///
    /// # Errors
    /// As [`Acuity::read`].
    fn from_str(text: &str) -> Result<Self, NotationError> {
        read(text, None, None)
    }
}

fn read(text: &str, notation: Option<AcuityNotation>, chart: Option<ChartPlace>) -> Result<Acuity, NotationError> {
    let is = |word: &&str| word.eq_ignore_ascii_case(text.trim());
    if let Some((_, seen)) = WORDS.iter().find(|(words, _)| words.iter().any(is)) {
        return Ok(*seen);
    }
    let mut cursor = Cursor::new(text, WANTED)?;
    let start = cursor.at();
    let line = line(&mut cursor, notation)?;
    let place = start..cursor.at();
    cursor.skip_spaces();
    let letters = if cursor.at_end() {
        0
    } else if cursor.rest().starts_with(['+', '-', '\u{2212}']) {
        if line.is_score {
            return Err(cursor.unexpected("a score of letters has them all: nothing may follow it"));
        }
        letters(&mut cursor)?
    } else {
        return Err(cursor.unexpected("expected nothing more, or letters missed or gained like -2 or +1"));
    };
    let beyond = cursor.error(
        "no chart has this line: acuities go from 6/1.9 to 6/1900; where no letter is read write CF, HM, PL or NPL",
        place,
    );
    let as_said = Acuity::Line { mar: line.mar, letters };
    let acuity = match chart.filter(|chart| !chart.is_as_made()) {
        None => as_said,
        Some(chart) => match line.distance {
            None => as_said.read_on(chart),
            Some((distance, place)) => match chart.said(distance) {
                TestDistance::AsPrinted => as_said.read_on(chart),
                TestDistance::AsItStands => as_said,
                TestDistance::Another => {
                    let ChartPlace { made_for_m, stands_at_m } = chart;
                    let problem = format!(
                        "the chart is made for {made_for_m} m and stands at {stands_at_m} m: write the line as it prints it, \
                         or over {stands_at_m}"
                    );
                    return Err(cursor.error(problem, place));
                }
            },
        },
    };
    cursor.finish("nothing may follow the letters")?;
    let within = acuity.line().is_some_and(|(mar, _)| bounds::LOG_MAR.contains(log10(mar)));
    if within { Ok(acuity) } else { Err(beyond) }
}

/// A line in any notation, without letters missed or gained.
fn line(cursor: &mut Cursor<'_>, notation: Option<AcuityNotation>) -> Result<Written, NotationError> {
    let first = cursor.number("expected an acuity here, like 6/12, 20/40, 0.3logMAR, 70 letters or CF")?;
    let after_number = cursor.clone();
    cursor.skip_spaces();
    let of = |mar: f64| Written { mar, distance: None, is_score: false };
    if cursor.take_word(&["logmar"]) {
        return Ok(of(pow(10.0, first.value)));
    }
    if cursor.take_word(&["letters", "letter"]) {
        return score(cursor, &first);
    }
    if cursor.take_word(&["decimal", "dec"]) {
        unsigned(cursor, &first)?;
        return Ok(of(1.0 / first.value));
    }
    if cursor.take_any(&['/']) {
        unsigned(cursor, &first)?;
        cursor.skip_spaces();
        let second = cursor.number("expected the lower figure of the fraction here")?;
        if second.sign.is_some() {
            return Err(cursor.error("the lower figure of a fraction has no sign", second.place));
        }
        let distance = Some((first.value, first.place));
        return Ok(Written { mar: second.value / first.value, distance, is_score: false });
    }
    *cursor = after_number;
    bare(cursor, &first, notation)
}

/// A number without a word that says what it is.
fn bare(cursor: &Cursor<'_>, number: &Number, notation: Option<AcuityNotation>) -> Result<Written, NotationError> {
    let value = number.value;
    let refused = |problem: String| Err(cursor.error(problem, number.place.clone()));
    let of = |mar: f64| Ok(Written { mar, distance: None, is_score: false });
    if number.sign.is_some() && notation != Some(AcuityNotation::LogMar) {
        let size = value.abs();
        let signed = if value < 0.0 { format!("-{size}") } else { format!("+{size}") };
        return refused(format!(
            "only a logMAR has a sign: write {signed}logMAR; letters follow their line, like 6/12-2"
        ));
    }
    match notation {
        Some(AcuityNotation::LogMar) if bounds::LOG_MAR.contains(value) => of(pow(10.0, value)),
        Some(AcuityNotation::LogMar) => {
            refused(format!("{value} is no logMAR: write it like 6/12, 20/40, 0.5 decimal or 70 letters"))
        }
        None => refused(format!(
            "{value} alone could be several things: write it like 6/12, 20/40, 0.5 decimal, 0.3logMAR or 70 letters"
        )),
        Some(AcuityNotation::SixMetres) if value > MAY_BE_ANOTHER => of(value / 6.0),
        Some(AcuityNotation::ThreeMetres) if value > MAY_BE_ANOTHER => of(value / 3.0),
        Some(AcuityNotation::TwentyFeet) if value > MAY_BE_ANOTHER => of(value / 20.0),
        Some(fraction @ (AcuityNotation::SixMetres | AcuityNotation::ThreeMetres | AcuityNotation::TwentyFeet)) => {
            refused(two_things(value, fraction))
        }
        Some(AcuityNotation::Decimal) if (0.0..=MOST_DECIMAL).contains(&value) => of(1.0 / value),
        Some(AcuityNotation::Decimal) => {
            refused(format!("{value} is no decimal acuity: write it like 6/12, 20/40, 0.3logMAR or 70 letters"))
        }
        Some(AcuityNotation::Letters) if number.whole => score(cursor, number),
        Some(AcuityNotation::Letters) => refused(two_things(value, AcuityNotation::SixMetres)),
    }
}

/// Above this no decimal acuity is meant: 6/1.9 is 3.2.
const MOST_DECIMAL: f64 = 3.2;

/// The question which of two things a bare figure is, with both written out.
fn two_things(value: f64, notation: AcuityNotation) -> String {
    let written = |mar: f64| Acuity::Line { mar, letters: 0 }.write(notation, Style::Ascii);
    if value <= 0.0 {
        return format!("{value} could be a line or a logMAR: write {value}logMAR, or the line in full");
    }
    let (decimal, log_mar) = (written(1.0 / value), written(pow(10.0, value)));
    format!(
        "{value} could be the decimal ({decimal}) or the logMAR ({log_mar}): write {value} decimal or {value}logMAR"
    )
}

fn score(cursor: &Cursor<'_>, number: &Number) -> Result<Written, NotationError> {
    unsigned(cursor, number)?;
    match bounds::LETTER_SCORE.check(number.value) {
        Ok(score) => {
            let mar = Acuity::of_letter_score(score).line().map_or(1.0, |(mar, _)| mar);
            Ok(Written { mar, distance: None, is_score: true })
        }
        Err(refusal) => Err(cursor.error(refusal.to_string(), number.place.clone())),
    }
}

fn unsigned(cursor: &Cursor<'_>, number: &Number) -> Result<(), NotationError> {
    match number.sign {
        None => Ok(()),
        Some(_) => Err(cursor.error("only logMAR has a sign: write it like -0.1logMAR", number.place.clone())),
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
