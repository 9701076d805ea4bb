//! The prescription that is written down: the nearest power on a grid of quarter dioptres.

use super::power::{Power, SpheroCylinder};
use super::quantity::Axis;

/// The step between written powers, in dioptres.
pub const STEP_D: f64 = 0.25;

/// The power on the quarter-dioptre grid, axis on a multiple of `axis_step_deg`, with the least miss; minus-cylinder form.
///
/// On a tie the more plus sphere wins. `axis_step_deg` is 1 or 5 in practice; 0 counts as 1.
pub fn nearest_quarter(found: Power, axis_step_deg: u8) -> SpheroCylinder {
    let step = i32::from(axis_step_deg.max(1));
    let exact = found.minus_form();
    let axis_floor = (exact.axis / f64::from(step)).floor() as i32;
    let cylinder_floor = (exact.cylinder / STEP_D).floor() as i32;
    let mut best = (f64::INFINITY, SpheroCylinder::default());
    // Only the neighbours matter: the miss grows on both sides of the nearest axis, cylinder and spherical equivalent.
    for cylinder_steps in (cylinder_floor - 1)..=(cylinder_floor + 2).min(0) {
        let cylinder = f64::from(cylinder_steps) * STEP_D;
        for axis_steps in axis_floor..=axis_floor + 1 {
            let axis = Axis::folded(axis_steps * step);
            let axis = if cylinder_steps == 0 { Axis::HORIZONTAL } else { axis };
            let sphere_floor = ((found.m - cylinder / 2.0) / STEP_D).floor() as i32;
            for sphere_steps in sphere_floor..=sphere_floor + 1 {
                let sphere = f64::from(sphere_steps) * STEP_D;
                let written = SpheroCylinder { sphere, cylinder, axis: f64::from(axis.degrees()) };
                let miss = written.power().miss(found);
                let nearer = miss < best.0 - 1e-9;
                let tied_with_more_plus = miss < best.0 + 1e-9 && sphere > best.1.sphere;
                if nearer || tied_with_more_plus {
                    best = (miss, written);
                }
            }
        }
    }
    best.1
}
