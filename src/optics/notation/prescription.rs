//! Prescriptions: a sphere, and mostly a cylinder with its axis.

use super::cursor::Cursor;
use super::eighths::{shown_hundredths, write_power};
use super::error::NotationError;
use super::lens::{LensToken, write_lens};
use super::style::Style;
use crate::optics::power::{SpheroCylinder, fold_axis};
use crate::optics::quantity::Axis;

/// Reads a prescription: `-4.25/-0.75x180`, `-4.25 -0.75 x 180`, `−4.25 / −0.75 × 180`, `plano/-1.00x90`, `-4.25`.
///
/// The form is kept as it is written, with a minus or a plus cylinder; [`SpheroCylinder::power`] makes them one. Axis 0 becomes 180; so
/// does the axis of a cylinder of 0.
///
/// # Errors
/// When the text is anything else: a cylinder without an axis, an axis without a cylinder, an axis that is not a whole
/// number of degrees from 0 to 180, a sphere or a cylinder beyond ±40 D.
pub fn parse_prescription(text: &str) -> Result<SpheroCylinder, NotationError> {
    let mut cursor = Cursor::new(text, "nothing here: write a prescription like -4.25/-0.75x180 or plano")?;
    let sphere = cursor.sphere()?;
    let with_unit = cursor.take_sphere_unit();
    let spaced = cursor.skip_spaces();
    if cursor.at_end() {
        return Ok(SpheroCylinder { sphere, cylinder: 0.0, axis: 180.0 });
    }
    if with_unit {
        return Err(cursor.unexpected("DS says that there is no cylinder, so nothing may follow it"));
    }
    if cursor.rest().starts_with(['x', 'X', '\u{d7}']) {
        return Err(cursor.unexpected("an axis without a cylinder: a cylinder alone is written plano/-0.75x180"));
    }
    if !cursor.take_any(&['/']) && !spaced {
        return Err(cursor.unexpected("expected / and the cylinder here"));
    }
    cursor.skip_spaces();
    let start = cursor.at();
    let cylinder = cursor.power("expected the power of the cylinder here, like -0.75")?;
    let axis = cursor.axis(start..cursor.at())?;
    cursor.finish("nothing may follow the axis")?;
    let axis = if cylinder == 0.0 { Axis::HORIZONTAL } else { axis };
    Ok(SpheroCylinder { sphere, cylinder, axis: f64::from(axis.degrees()) })
}

/// Writes a prescription in the cylinder form it has: `-4.25/-0.75x180`, `plano/-1.00x90`, `-4.25`, `plano`.
///
/// Powers are written as by [`write_power`], the axis to the whole degree; a cylinder that would be written as 0 is left
/// out.
pub fn write_prescription(prescription: SpheroCylinder, style: Style) -> String {
    let sphere = write_power(prescription.sphere, style);
    if shown_hundredths(prescription.cylinder) == 0.0 {
        return sphere;
    }
    let axis = Axis::nearest(fold_axis(prescription.axis));
    let cylinder = write_lens(&LensToken::Cylinder { power: prescription.cylinder, axis }, style);
    format!("{sphere}/{cylinder}")
}
