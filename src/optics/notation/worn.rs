//! A lens that stays on under the frame, as it is typed and written: `contact -3.00`, `glasses -3.00/-1.00x90 at 10`.

use super::error::NotationError;
use super::figure::parse_figure;
use super::prescription::{parse_prescription, write_prescription};
use super::style::Style;
use crate::optics::bounds;
use crate::optics::cylinder_form::CylinderForm;
use crate::optics::quantity::Millimetres;
use crate::optics::worn::{WornKind, WornLens};

/// Between the power of glasses and their distance from the eye.
const AT: &str = " at ";

/// The words that say what it is, the longest first.
const KINDS: [(&str, WornKind); 3] =
    [("contact lens", WornKind::ContactLens), ("contact", WornKind::ContactLens), ("glasses", WornKind::Glasses)];

/// Reads a lens that stays on: `contact -3.00`, `contact lens -3.00/-0.75x180`, `glasses -3.00/-1.00x90 at 10`, the distance
/// in mm from the cornea.
///
/// # Errors
/// When it does not say what it is, when power or distance cannot be read, and when glasses have no distance or a contact lens
/// has one.
pub fn parse_worn(text: &str) -> Result<WornLens, NotationError> {
    let lower = text.to_ascii_lowercase();
    let said = KINDS
        .into_iter()
        .find(|(word, _)| lower.strip_prefix(word).is_some_and(|rest| rest.is_empty() || rest.starts_with(' ')));
    let Some((word, kind)) = said else {
        let wanted = "say what stays on: contact -3.00, or glasses -3.00/-1.00x90 at 10";
        return Err(NotationError::new(wanted, text, 0..text.len()));
    };
    // lower case changes no length in ASCII
    let (power, at) = match lower[word.len()..].find(AT) {
        Some(at) => (word.len()..word.len() + at, Some(word.len() + at + AT.len())),
        None => (word.len()..text.len(), None),
    };
    let inside = |error: NotationError, start: usize| {
        let place = error.place();
        NotationError::new(error.problem(), text, start + place.start..start + place.end)
    };
    let read = parse_prescription(&text[power.clone()]).map_err(|error| inside(error, power.start))?;
    let vertex = match (kind, at) {
        (WornKind::ContactLens, None) => 0.0,
        (WornKind::ContactLens, Some(at)) => {
            let wanted = "a contact lens stands at the cornea: leave its distance out";
            return Err(NotationError::new(wanted, text, at - AT.len()..text.len()));
        }
        (WornKind::Glasses, Some(at)) => {
            parse_figure(&text[at..], &bounds::VERTEX_MM).map_err(|error| inside(error, at))?
        }
        (WornKind::Glasses, None) => {
            let wanted = "say how far from the cornea the glasses stand, in mm, like at 10";
            return Err(NotationError::new(wanted, text, text.len()..text.len()));
        }
    };
    Ok(WornLens { kind, power: read, vertex: Millimetres(vertex) })
}

/// Writes a lens that stays on: `contact lens -3.00`, `glasses -3.00/-1.00x90 at 10 mm`.
pub fn write_worn(worn: &WornLens, form: CylinderForm, style: Style) -> String {
    let power = write_prescription(form.write(worn.power), style);
    match worn.kind {
        WornKind::ContactLens => format!("{} {power}", worn.kind.shown()),
        WornKind::Glasses => format!("{} {power} at {} mm", worn.kind.shown(), worn.vertex.0),
    }
}
