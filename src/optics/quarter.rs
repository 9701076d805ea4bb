//! The prescription that is written down: the nearest power on a grid of quarter dioptres.

use super::power::{Power, SpheroCylinder, fold_axis};

/// The step between written powers, in dioptres.
pub const STEP_D: f64 = 0.25;

/// Two misses, powers or cylinders that differ by less are the same but for rounding.
const SAME_D: f64 = 1e-9;

/// The power on the quarter-dioptre grid, axis on a multiple of `axis_step_deg`, with the least miss; minus-cylinder form.
///
/// On a tie the cylinder nearest to the one found wins, so that a sphere stays a sphere and no cylinder is written that nobody
/// found; then the weaker cylinder, then the more plus sphere. `axis_step_deg` divides 180: 1 or 5 in practice; 0 counts as 1. A power that is not
/// finite has no nearest and comes back as it is.
pub fn nearest_quarter(found: Power, axis_step_deg: u8) -> SpheroCylinder {
    let exact = found.minus_form();
    if !found.is_finite() {
        return exact;
    }
    let step = f64::from(axis_step_deg.max(1));
    let axis_floor = (exact.axis / step).floor() * step;
    let cylinder_floor = (exact.cylinder / STEP_D).floor();
    let mut best: Option<(f64, SpheroCylinder)> = None;
    // Only the neighbours matter: the miss grows on both sides of the nearest axis, cylinder and spherical equivalent. An
    // axis that is off by half a step wants a little less cylinder than there is, hence one neighbour more on each side.
    for cylinder_steps in (-1..=2).map(|neighbour| cylinder_floor + f64::from(neighbour)).filter(|steps| *steps <= 0.0)
    {
        let cylinder = cylinder_steps * STEP_D + 0.0;
        for axis in [axis_floor, axis_floor + step] {
            let axis = if cylinder == 0.0 { 180.0 } else { fold_axis(axis) };
            let sphere_floor = ((found.m - cylinder / 2.0) / STEP_D).floor();
            for sphere in [sphere_floor * STEP_D + 0.0, (sphere_floor + 1.0) * STEP_D + 0.0] {
                let written = SpheroCylinder { sphere, cylinder, axis };
                let miss = written.power().miss(found);
                let wins = best.is_none_or(|(least, so_far)| {
                    let nearer = [
                        (miss, least),
                        ((cylinder - exact.cylinder).abs(), (so_far.cylinder - exact.cylinder).abs()),
                        (-cylinder, -so_far.cylinder),
                        (-sphere, -so_far.sphere),
                    ];
                    nearer
                        .into_iter()
                        .find(|(here, there)| (here - there).abs() > SAME_D)
                        .is_some_and(|(here, there)| here < there)
                });
                if wins {
                    best = Some((miss, written));
                }
            }
        }
    }
    best.map_or(exact, |(_, written)| written)
}
