//! One figure by itself, read by its row of the table of ranges: as it stands on a typed line, after a key of a file or in
//! an argument.

use super::cursor::Cursor;
use super::error::NotationError;
use crate::optics::bounds::{self, Range};

/// Reads a figure with a decimal point or comma, by its row of [`bounds`]; its unit may follow it: `12`, `12,5 mm`.
///
/// A power other than 0 needs its sign (`plano`, `pl` and `∞` are 0), what is never minus or says a place may have one, anything else has none; 0.12 marked on a lens is the eighth
/// 0.125.
///
/// # Errors
/// When the text is anything else, or the row does not permit the figure.
pub fn parse_figure(text: &str, row: &Range) -> Result<f64, NotationError> {
    let wanted = format!("expected a number here: {} is from {row}", row.name);
    let mut cursor = Cursor::new(text, &wanted)?;
    if row.may_be_plano() && cursor.take_plano() {
        cursor.finish("nothing may follow plano")?;
        return row.check(0.0).map_err(|refusal| NotationError::new(refusal.to_string(), text, 0..text.len()));
    }
    let value = cursor.figure(row, &wanted)?;
    cursor.skip_spaces();
    cursor.take_text(row.unit.typed());
    let may_follow = if row.unit.typed().is_empty() { "nothing" } else { "only its unit" };
    cursor.finish(&format!("{may_follow} may follow the number: {} is from {row}", row.name))?;
    Ok(value)
}

/// Reads a power in dioptres: `-4.25`, `−4,25`, `+1`, `-.50`, `-4.25DS`, `-4.25 D`, `plano`, `pl`, `∞`, `0`.
///
/// # Errors
/// When the text is anything else, has no sign (0 needs none), or lies beyond [`bounds::POWER`].
pub fn parse_power(text: &str) -> Result<f64, NotationError> {
    parse_figure(text, &bounds::POWER)
}
