//! Prescriptions: a sphere, and mostly a cylinder with its axis.

use super::cursor::{Cursor, SphereUnit};
use super::eighths::{shown_hundredths, write_power};
use super::error::NotationError;
use super::lens::{LensToken, write_lens};
use super::style::Style;
use crate::optics::power::{SpheroCylinder, fold_axis};
use crate::optics::quantity::Axis;

/// Reads a prescription: `-4.25/-0.75x180`, `-4.25 -0.75 x 180`, `-4.25-0.75x180`, `−4.25 / −0.75 × 180°`,
/// `-4.25DS/-0.75DCx180`, `-4.25 -.75 @ 180`, `plano/-1.00x90`, `-4.25`.
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
    let unit = cursor.take_sphere_unit();
    let spaced = cursor.skip_spaces();
    if cursor.at_end() {
        return Ok(SpheroCylinder { sphere, cylinder: 0.0, axis: 180.0 });
    }
    if unit == Some(SphereUnit::SphereAlone) {
        return Err(cursor.unexpected("SPH says that there is no cylinder, so nothing may follow it"));
    }
    if cursor.is_at_axis() {
        return Err(cursor.unexpected("an axis without a cylinder: a cylinder alone is written plano/-0.75x180"));
    }
    let has_sign = cursor.rest().starts_with(['+', '-', '\u{2212}']);
    if !cursor.take_any(&['/']) && !spaced && !has_sign {
        return Err(cursor.unexpected("expected / and the cylinder here"));
    }
    cursor.skip_spaces();
    let start = cursor.at();
    let cylinder = cursor.power("expected the power of the cylinder here, like -0.75")?;
    let place = start..cursor.at();
    cursor.take_cylinder_unit();
    let axis = cursor.axis(place)?;
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
