//! One lens of a stack, as it is typed.

use super::cursor::Cursor;
use super::eighths::{write_amount, write_power};
use super::error::NotationError;
use super::style::Style;
use crate::optics::bounds;
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
        /// On the dial, from 1 to 180.
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

const AFTER_PLANO: &str = "nothing may follow plano: it has no axis and no base";

/// Reads one lens: a sphere, a cylinder with its axis, a prism with its base, the name of an accessory, or `.` for an
/// empty cell.
///
/// # Errors
/// When the text is anything else, a power lies beyond ±40 D or a prism beyond 40 Δ, or an axis or a base is not a whole
/// number of degrees on the dial.
pub fn parse_lens(text: &str) -> Result<LensToken, NotationError> {
    let mut cursor = Cursor::new(text, WANTED)?;
    if text.trim() == "." {
        return Ok(LensToken::Empty);
    }
    if cursor.rest().starts_with(|c: char| c.is_alphabetic() || c == '\u{d7}' || c == '\u{221e}') {
        return named(&mut cursor);
    }
    let start = cursor.at();
    if cursor.clone().number("expected a lens here, like -4.25, -0.75x180, 3BU or occluder")?.sign.is_none()
        && let Some(prism) = prism(&mut cursor)?
    {
        return Ok(prism);
    }
    let power = cursor.power("expected a power here, like -4.25")?;
    let place = start..cursor.at();
    let unit = cursor.take_sphere_unit();
    cursor.skip_spaces();
    if unit.is_none() && cursor.is_at_axis() {
        let axis = cursor.axis(place.clone())?;
        cursor.finish("nothing may follow the axis")?;
        if power == 0.0 {
            return Err(NotationError::new("a cylinder has a power: leave the cell empty with .", text, place));
        }
        return Ok(LensToken::Cylinder { power, axis });
    }
    if cursor.rest().starts_with('/') || cursor.rest().starts_with(['+', '-', '\u{2212}']) {
        return Err(cursor.unexpected("a sphere and a cylinder are two lenses: write them apart, each for its cell"));
    }
    cursor.finish("nothing may follow the power of a sphere")?;
    Ok(LensToken::Sphere(power))
}

/// `plano`, or the name of an accessory; not a number in words, nor an axis or a base without its power.
fn named(cursor: &mut Cursor<'_>) -> Result<LensToken, NotationError> {
    let name = cursor.rest().trim_end();
    let place = cursor.at()..cursor.at() + name.len();
    let digits_behind = |letter: char| {
        name.strip_prefix([letter, letter.to_ascii_uppercase()])
            .is_some_and(|rest| rest.trim_start().starts_with(|c: char| c.is_ascii_digit()))
    };
    if matches!(name.to_ascii_lowercase().as_str(), "nan" | "inf" | "infinity") {
        return Err(cursor.error("this is not the power of a lens", place));
    }
    if digits_behind('x') || name.starts_with('\u{d7}') {
        return Err(cursor.error("an axis without a cylinder: write it like -0.75x180", place));
    }
    if digits_behind('b') || ["bu", "bd", "bi", "bo"].iter().any(|base| base.eq_ignore_ascii_case(name)) {
        return Err(cursor.error("a base without a prism: write it like 3BU", place));
    }
    let mut ahead = cursor.clone();
    if ahead.sphere().is_ok() {
        ahead.finish(AFTER_PLANO)?;
        return Ok(LensToken::Sphere(0.0));
    }
    if name.to_ascii_lowercase().starts_with("plano") {
        return Err(cursor.error(AFTER_PLANO, place.start + "plano".len()..place.end));
    }
    let odd = name.char_indices().find(|(_, c)| !(c.is_alphanumeric() || matches!(c, ' ' | '-' | '\'')));
    if let Some((at, odd)) = odd {
        let at = place.start + at;
        return Err(cursor.error("the name of a lens has letters, figures and spaces only", at..at + odd.len_utf8()));
    }
    Ok(LensToken::Accessory(name.to_owned()))
}

/// A prism, when the number at the cursor is followed by a base.
fn prism(cursor: &mut Cursor<'_>) -> Result<Option<LensToken>, NotationError> {
    let mut ahead = cursor.clone();
    let before_amount = ahead.clone();
    let amount = ahead.number("expected a prism here, like 3BU")?;
    ahead.skip_spaces();
    let base_start = ahead.at();
    let words = [("bu", Base::Up), ("bd", Base::Down), ("bi", Base::In), ("bo", Base::Out)];
    let named = words.iter().find(|(word, _)| ahead.take_word(&[word]));
    let base = if let Some((_, base)) = named {
        *base
    } else if ahead.take_word(&["b"]) {
        ahead.skip_spaces();
        let degrees =
            ahead.figure(&bounds::BASE, "expected BU, BD, BI, BO, or b and the base in degrees from 0 to 359")?;
        Base::Degrees(degrees as u16)
    } else if ahead.rest().starts_with(['b', 'B']) {
        let problem = "expected BU, BD, BI, BO, or b and the base in degrees from 0 to 359";
        return Err(ahead.error(problem, base_start..base_start + ahead.rest().trim_end().len()));
    } else {
        return Ok(None);
    };
    ahead.clone().finish("nothing may follow the base of a prism")?;
    if amount.value == 0.0 {
        return Err(ahead.error("a prism has an amount: leave the cell empty with .", amount.place));
    }
    let amount = { before_amount }.figure(&bounds::PRISM, "expected a prism here, like 3BU")?;
    Ok(Some(LensToken::Prism { amount, base }))
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
