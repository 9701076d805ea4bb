//! What items are drawn with: whole numbers, quarters, one of a few; and which results can be asked for at all.

use crate::optics::power::fold_axis;
use crate::optics::{Axis, Power, SpheroCylinder};
use crate::practice::draws::Draws;

/// A result further than this part of a step from the nearest one is not asked for: it would come near to half-way.
const FROM_STEP: f64 = 0.28;

/// Of this part of a step an answer may be off and still be right: the unrounded result too, but not the next step.
const WITHIN_STEP: f64 = 0.32;

/// As a miss of the powers: sphere and cylinder each off by `FROM_STEP` miss by 0.11 D at most, and a whole quarter off in the
/// cylinder alone by 0.177 D.
pub const WITHIN_QUARTER_POWER_D: f64 = 0.12;

/// Of this many degrees an axis that is asked for as a figure may be off.
pub const WITHIN_AXIS_DEG: f64 = 0.5;

/// A power as a miss, where the answer is in hundredths and whole degrees: the limit within which a stack reaches a power.
pub const WITHIN_POWER_D: f64 = 0.06;

/// The step of a prescription, in dioptres.
pub const QUARTER_D: f64 = 0.25;

/// A whole number from the least to the most, both among them.
pub fn whole(draws: &mut Draws, least: i32, most: i32) -> i32 {
    // `between` is below its most
    draws.between(f64::from(least), f64::from(most) + 1.0).floor() as i32
}

/// A number of quarters from the least to the most, in dioptres.
pub fn quarters(draws: &mut Draws, least: f64, most: f64) -> f64 {
    steps_of(draws, QUARTER_D, least, most)
}

/// A number of such steps from the least to the most.
pub fn steps_of(draws: &mut Draws, step: f64, least: f64, most: f64) -> f64 {
    f64::from(whole(draws, (least / step).round() as i32, (most / step).round() as i32)) * step
}

/// One of these.
pub fn one_of<T: Copy>(draws: &mut Draws, of: &[T]) -> T {
    of[place(draws, of.len())]
}

/// A place among so many.
pub fn place(draws: &mut Draws, count: usize) -> usize {
    draws.between(0.0, count as f64).floor() as usize
}

/// Plus or minus one.
pub fn sign(draws: &mut Draws) -> f64 {
    one_of(draws, &[1.0, -1.0])
}

/// An axis in fives, 5 to 180.
pub fn axis_in_fives(draws: &mut Draws) -> f64 {
    f64::from(whole(draws, 1, 36) * 5)
}

/// The nearest step, unless the result lies too far from it.
pub fn on_step(exact: f64, step: f64) -> Option<f64> {
    let nearest = (exact / step).round() * step + 0.0;
    ((exact - nearest).abs() <= FROM_STEP * step + 1e-9).then_some(nearest)
}

/// How far an answer on such a step may be off.
pub fn within(step: f64) -> f64 {
    WITHIN_STEP * step
}

/// A power whose sphere and cylinder lie on steps in the form it is written in, its axis on whole degrees.
pub fn power_on_step(exact: SpheroCylinder, step: f64) -> Option<SpheroCylinder> {
    let axis = if exact.cylinder == 0.0 { 180.0 } else { fold_axis(on_step(exact.axis, 1.0)?) };
    Some(SpheroCylinder { sphere: on_step(exact.sphere, step)?, cylinder: on_step(exact.cylinder, step)?, axis })
}

/// A sphere of these dioptres.
pub fn sphere(dioptres: f64) -> Power {
    Power { m: dioptres, ..Power::ZERO }
}

/// A power as it is written.
pub fn written(sphere: f64, cylinder: f64, axis: f64) -> SpheroCylinder {
    SpheroCylinder { sphere, cylinder, axis }
}

/// The axis as it is set, of an angle that is whole degrees.
pub fn dial(degrees: f64) -> Axis {
    Axis::nearest(degrees)
}
