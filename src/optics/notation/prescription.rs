//! Prescriptions: a sphere, and mostly a cylinder with its axis.

use super::error::NotationError;
use super::power::{shown_hundredths, write_power};
use super::reader::Reader;
use super::{Style, write_lens};
use crate::optics::notation::LensToken;
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
    let mut reader = Reader::new(text, "nothing here: write a prescription like -4.25/-0.75x180 or plano")?;
    let sphere = sphere(&mut reader)?;
    let with_unit = take_sphere_unit(&mut reader);
    let spaced = reader.skip_spaces();
    if reader.at_end() {
        return Ok(SpheroCylinder { sphere, cylinder: 0.0, axis: 180.0 });
    }
    if with_unit {
        return Err(reader.unexpected("DS says that there is no cylinder, so nothing may stand behind it"));
    }
    if reader.rest().starts_with(['x', 'X', '\u{d7}']) {
        return Err(reader.unexpected("an axis without a cylinder: a cylinder alone is written plano/-0.75x180"));
    }
    if !reader.take_any(&['/']) && !spaced {
        return Err(reader.unexpected("expected / and the cylinder here"));
    }
    reader.skip_spaces();
    let start = reader.at();
    let cylinder = reader.power("expected the power of the cylinder here, like -0.75")?;
    let axis = reader.axis(start..reader.at())?;
    reader.finish("nothing may stand behind the axis")?;
    let axis = if cylinder == 0.0 { Axis::HORIZONTAL } else { axis };
    Ok(SpheroCylinder { sphere, cylinder, axis: f64::from(axis.degrees()) })
}

/// Takes a sphere: `plano`, `pl`, or a power with its sign.
pub(super) fn sphere(reader: &mut Reader<'_>) -> Result<f64, NotationError> {
    if reader.take_word(&["plano", "pl"]) {
        return Ok(0.0);
    }
    reader.power("expected a power here, like -4.25 or plano")
}

/// Takes `DS`, the unit that says sphere alone; whether it is there.
pub(super) fn take_sphere_unit(reader: &mut Reader<'_>) -> bool {
    let mut ahead = reader.clone();
    ahead.skip_spaces();
    let there = ahead.take_word(&["ds"]);
    if there {
        *reader = ahead;
    }
    there
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
