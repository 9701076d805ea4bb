//! The light in the pupil while a streak sweeps over it, as the examiner sees it: directions are those of the dial, unmirrored.
//!
//! With W = R + I/d − N missing at the retinoscope, d metres away, a point x of the pupil is lit when n·W x is what the streak
//! stands at, n being its normal. So the band lies across W n: it tilts off the principal meridians, moves with the streak
//! where nᵀWn is above 0 and against it below, the slower the larger W n is, and where W n is 0 the whole pupil fills at once.

use libm::{hypot, sincos};

use super::raster::{Field, Grid};
use crate::optics::Power;
use crate::practice::sight::{Look, PracticeEye};

/// A streak on the face of the person.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Streak {
    /// The direction in which it lies, in degrees on the dial: it sweeps across that.
    pub lies_deg: f64,
    /// How far it has swept from the middle of the pupil, in millimetres on the face: to the right, or upwards where it lies
    /// level (towards the direction 90 degrees before the one in which it lies).
    pub swept_mm: f64,
    /// Its width on the face in millimetres.
    pub width_mm: f64,
}

/// A narrow and a wide streak on the face, in millimetres: ours, no source.
pub const STREAK_WIDTHS_MM: [f64; 2] = [2.0, 5.0];

/// The pupil in a dim room, in millimetres across: ours, no source.
pub const PUPIL_MM: f64 = 6.0;

/// How far to each side a sweep by itself goes, in millimetres.
pub const SWEEP_MM: f64 = 6.0;

/// The picture is so wide, in pupils.
const SIDE_PUPILS: f64 = 1.7;

/// The reflex is half as bright where so much moves it, in dioptres: it is dull beyond that, and hardly anything beyond three times
/// as much.
const HALF_AS_BRIGHT_D: f64 = 2.0;

/// The edge of the band is as soft as this share of its width.
const SOFT_EDGE: f64 = 0.3;

/// How bright the rim of the pupil is, and the streak on the face, which begins so many pupils' radii from the middle.
const RIM_LEVEL: f64 = 0.2;
const FACE_LEVEL: f64 = 0.35;
const FACE_FROM_RADII: f64 = 1.25;

/// What an eye at rest lacks to be sharp at the retinoscope, so many metres away, with a power before it: W.
pub fn missing_at_retinoscope(eye: &PracticeEye, before: Power, metres: f64) -> Power {
    eye.missing(&Look::at_print(before, metres))
}

/// W n for a streak, in dioptres on the dial: to the right and upwards. The band lies across it.
pub fn moved_by(missing: Power, lies_deg: f64) -> [f64; 2] {
    let [right, up] = normal(lies_deg);
    [(missing.m + missing.j0) * right + missing.j45 * up, missing.j45 * right + (missing.m - missing.j0) * up]
}

/// Where a streak that sweeps by itself has got to, in millimetres, after so many sweeps there and back.
pub fn swept_by_itself_mm(sweeps: f64) -> f64 {
    let share = sweeps.rem_euclid(1.0);
    SWEEP_MM * (1.0 - 4.0 * (share - 0.5).abs())
}

/// How bright the reflex is, from 0 to 1, where so many dioptres act across the streak.
pub fn brightness(along_d: f64) -> f64 {
    let halves = along_d / HALF_AS_BRIGHT_D;
    1.0 / (1.0 + halves * halves)
}

/// The pupil with its rim and the streak on the face beside it; W is what is missing at the retinoscope, so many metres away.
///
/// The streak stands at its place on the face over the distance: so the reflex of an eye with no error keeps pace with it
/// through no lens at all, as it does in a parallel beam. Ours, no source.
pub fn reflex(columns: usize, rows: usize, missing: Power, streak: Streak, metres: f64) -> Grid {
    let field = Field::around(columns, rows, SIDE_PUPILS * PUPIL_MM);
    let pixel_mm = 1.0 / field.pixels_per_unit;
    let radius_mm = PUPIL_MM / 2.0;
    let across = normal(streak.lies_deg);
    let moved = moved_by(missing, streak.lies_deg);
    let bright = brightness(moved[0] * across[0] + moved[1] * across[1]);
    let (stands_at, half) = (streak.swept_mm / metres, streak.width_mm / 2.0 / metres);
    // no edge is sharper than a pixel
    let pupil_edge = (SOFT_EDGE * half).max(hypot(moved[0], moved[1]) * pixel_mm / 2.0);
    let face_edge_mm = pixel_mm / 2.0;
    Grid::from_levels(columns, rows, |column, row| {
        let place = field.place(column, row);
        let from_middle_mm = hypot(place[0], place[1]);
        let within = share_within(from_middle_mm, radius_mm, pixel_mm / 2.0);
        let lit = bright * share_within((dot(moved, place) - stands_at).abs(), half, pupil_edge);
        let rim = RIM_LEVEL * share_within((from_middle_mm - radius_mm).abs(), pixel_mm / 2.0, pixel_mm / 2.0);
        let face = share_within((dot(across, place) - streak.swept_mm).abs(), streak.width_mm / 2.0, face_edge_mm);
        let on_face = if from_middle_mm > FACE_FROM_RADII * radius_mm { FACE_LEVEL * face } else { 0.0 };
        (within * lit).max(rim).max(on_face)
    })
}

/// The direction in which a streak sweeps: to the right or upwards, where it is told to lie at 1 to 180 degrees.
fn normal(lies_deg: f64) -> [f64; 2] {
    let (sin, cos) = sincos((lies_deg - 90.0).to_radians());
    [cos, sin]
}

fn dot(one: [f64; 2], other: [f64; 2]) -> f64 {
    one[0] * other[0] + one[1] * other[1]
}

/// 1 within a bound, 0 beyond it, and between them over so much on both sides of it.
fn share_within(value: f64, bound: f64, soft: f64) -> f64 {
    (0.5 + (bound - value) / (2.0 * soft)).clamp(0.0, 1.0)
}
