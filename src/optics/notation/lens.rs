//! One lens of a stack, as it is typed.

use super::Style;
use super::error::NotationError;
use super::power::{write_amount, write_power};
use super::prescription::{sphere, take_sphere_unit};
use super::reader::Reader;
use crate::optics::bounds;
use crate::optics::notation::eighth_of_mark;
use crate::optics::prism::Base;
use crate::optics::quantity::Axis;

/// One lens, or an empty cell.
#[derive(Debug, Clone, PartialEq)]
pub enum LensToken {
    /// A sphere of this power in dioptres; 0 is a plano lens.
    Sphere(f64),
    /// A plano-cylinder.
    Cylinder {
        /// Its power in dioptres, never 0.
        power: f64,
        /// Its axis.
        axis: Axis,
    },
    /// A prism.
    Prism {
        /// Its amount in prism dioptres, above 0.
        amount: f64,
        /// The direction of its base.
        base: Base,
    },
    /// An occluder, a pinhole, or another piece by its name; whether there is such a piece is for the box to say.
    Accessory(String),
    /// Nothing in this cell.
    Empty,
}

const WANTED: &str = "nothing here: write a lens like -4.25, -0.75x180, 3BU or occluder, or . for an empty cell";

const BEHIND_PLANO: &str = "nothing may stand behind plano: it has no axis and no base";

/// Reads one lens: a sphere, a cylinder with its axis, a prism with its base, the name of an accessory, or `.` for an
/// empty cell.
///
/// # Errors
/// When the text is anything else, a power lies beyond ±40 D or a prism beyond 40 Δ, or an axis or a base is not a whole
/// number of degrees on the dial.
pub fn parse_lens(text: &str) -> Result<LensToken, NotationError> {
    let mut reader = Reader::new(text, WANTED)?;
    if text.trim() == "." {
        return Ok(LensToken::Empty);
    }
    if reader.rest().starts_with(|c: char| c.is_alphabetic() || c == '\u{d7}') {
        return named(&mut reader);
    }
    let start = reader.at();
    if reader.clone().number("expected a lens here, like -4.25, -0.75x180, 3BU or occluder")?.sign.is_none()
        && let Some(prism) = prism(&mut reader)?
    {
        return Ok(prism);
    }
    let power = reader.power("expected a power here, like -4.25")?;
    let place = start..reader.at();
    let with_unit = take_sphere_unit(&mut reader);
    reader.skip_spaces();
    if !with_unit && reader.rest().starts_with(['x', 'X', '\u{d7}']) {
        let axis = reader.axis(place.clone())?;
        reader.finish("nothing may stand behind the axis")?;
        if power == 0.0 {
            return Err(NotationError::new("a cylinder has a power: leave the cell empty with .", text, place));
        }
        return Ok(LensToken::Cylinder { power, axis });
    }
    if reader.rest().starts_with('/') || reader.rest().starts_with(['+', '-', '\u{2212}']) {
        return Err(reader.unexpected("a sphere and a cylinder are two lenses: write them apart, each for its cell"));
    }
    reader.finish("nothing may stand behind the power of a sphere")?;
    Ok(LensToken::Sphere(power))
}

/// `plano`, or the name of an accessory; not a number in words, nor an axis or a base without its power.
fn named(reader: &mut Reader<'_>) -> Result<LensToken, NotationError> {
    let name = reader.rest().trim_end();
    let place = reader.at()..reader.at() + name.len();
    let digits_behind = |letter: char| {
        name.strip_prefix([letter, letter.to_ascii_uppercase()])
            .is_some_and(|rest| rest.trim_start().starts_with(|c: char| c.is_ascii_digit()))
    };
    if matches!(name.to_ascii_lowercase().as_str(), "nan" | "inf" | "infinity") {
        return Err(reader.error("this is no power of a lens", place));
    }
    if digits_behind('x') || name.starts_with('\u{d7}') {
        return Err(reader.error("an axis without a cylinder: write it like -0.75x180", place));
    }
    if digits_behind('b') || ["bu", "bd", "bi", "bo"].iter().any(|base| base.eq_ignore_ascii_case(name)) {
        return Err(reader.error("a base without a prism: write it like 3BU", place));
    }
    let mut ahead = reader.clone();
    if sphere(&mut ahead).is_ok() {
        ahead.finish(BEHIND_PLANO)?;
        return Ok(LensToken::Sphere(0.0));
    }
    if name.to_ascii_lowercase().starts_with("plano") {
        return Err(reader.error(BEHIND_PLANO, place.start + "plano".len()..place.end));
    }
    let odd = name.char_indices().find(|(_, c)| !(c.is_alphanumeric() || matches!(c, ' ' | '-' | '\'')));
    if let Some((at, odd)) = odd {
        let at = place.start + at;
        return Err(reader.error("the name of a lens has letters, figures and spaces only", at..at + odd.len_utf8()));
    }
    Ok(LensToken::Accessory(name.to_owned()))
}

/// A prism, when the number at the reader is followed by a base.
fn prism(reader: &mut Reader<'_>) -> Result<Option<LensToken>, NotationError> {
    let mut ahead = reader.clone();
    let amount = ahead.number("expected a prism here, like 3BU")?;
    ahead.skip_spaces();
    let base_start = ahead.at();
    let words = [("bu", Base::Up), ("bd", Base::Down), ("bi", Base::In), ("bo", Base::Out)];
    let named = words.iter().find(|(word, _)| ahead.take_word(&[word]));
    let base = if let Some((_, base)) = named {
        *base
    } else if ahead.take_word(&["b"]) {
        ahead.skip_spaces();
        let degrees = ahead.number("expected BU, BD, BI, BO, or b and the base in degrees from 0 to 359")?;
        if degrees.sign.is_some() || !degrees.whole {
            return Err(ahead.error("a base is a whole number of degrees from 0 to 359", degrees.place));
        }
        match bounds::BASE.check(degrees.value) {
            Ok(value) => Base::Degrees(value as u16),
            Err(refusal) => return Err(ahead.error(refusal.to_string(), degrees.place)),
        }
    } else if ahead.rest().starts_with(['b', 'B']) {
        let problem = "expected BU, BD, BI, BO, or b and the base in degrees from 0 to 359";
        return Err(ahead.error(problem, base_start..base_start + ahead.rest().trim_end().len()));
    } else {
        return Ok(None);
    };
    ahead.clone().finish("nothing may stand behind the base of a prism")?;
    if amount.value == 0.0 {
        return Err(ahead.error("a prism has an amount: leave the cell empty with .", amount.place));
    }
    match bounds::PRISM.check(amount.value) {
        Ok(value) => Ok(Some(LensToken::Prism { amount: eighth_of_mark(value), base })),
        Err(refusal) => Err(ahead.error(refusal.to_string(), amount.place)),
    }
}

/// Writes a lens: `-4.25`, `plano`, `-0.75x180`, `3BU`, `3b225`, `occluder`, `.`
pub fn write_lens(lens: &LensToken, style: Style) -> String {
    match lens {
        LensToken::Sphere(power) => write_power(*power, style),
        LensToken::Cylinder { power, axis } => format!("{}{}{axis}", write_power(*power, style), style.times()),
        LensToken::Prism { amount, base } => {
            let base = match base {
                Base::Up => "BU".to_owned(),
                Base::Down => "BD".to_owned(),
                Base::In => "BI".to_owned(),
                Base::Out => "BO".to_owned(),
                Base::Degrees(degrees) => format!("b{degrees}"),
            };
            format!("{}{base}", write_amount(*amount))
        }
        LensToken::Accessory(name) => name.clone(),
        LensToken::Empty => ".".to_owned(),
    }
}
