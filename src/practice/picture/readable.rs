//! How large the blur of a picture is: so that the line which the eye answers can just be read in it.
//!
//! Blur on a screen does not act on whoever looks at it as the eye's own does. So the ellipse keeps its shape, and its size is
//! set by a ring of the line that the eye reads: its gap is left just so much lighter than the same place without a gap.

use libm::pow;

use super::patch::{Patch, even_disc};
use super::targets::Optotype;
use crate::optics::Power;
use crate::practice::sight::{Aperture, Condition, Look, PracticeEye};

/// A gap can just be read when it is so much lighter than the stroke: two of ten levels. Ours, no source.
pub const JUST_READ: f64 = 0.2;

/// Directions of the gap of which the mean counts, the opposite ones being seen alike: with the oblique ones the axis makes no
/// difference (Hoshikawa, *Sci Rep* 2021;11:6958: no effect of axis).
const GAPS_DEG: [f64; 4] = [0.0, 45.0, 90.0, 135.0];

/// Points at which a patch is looked through.
const POINTS: u32 = 800;

/// Halvings of the size: to less than a hundredth of a gap.
const HALVINGS: usize = 11;

/// A patch larger than so many gaps leaves nothing of a ring to read.
const NOTHING_LEFT_GAPS: f64 = 16.0;

/// What an eye makes of a point in one look, without chance.
pub fn patch_of_look(eye: &PracticeEye, look: &Look, condition: Condition) -> Patch {
    let spent_d = eye.spends_d(eye.missing(look).m, condition);
    patch_with(eye, eye.left(look, spent_d), look.aperture, condition)
}

/// What an eye makes of a point with what is left before it when it has accommodated.
pub fn patch_with(eye: &PracticeEye, left: Power, aperture: Aperture, condition: Condition) -> Patch {
    let mar = |left: Power| pow(10.0, eye.log_mar_with(left, aperture, condition));
    let (best_minutes, line_minutes) = (mar(Power::ZERO), mar(left));
    let disc = even_disc(POINTS);
    let own = Patch::disc(1.0);
    let sharp = own.enlarged(largest(&disc, best_minutes, best_minutes, |radius| own.enlarged(radius)));
    let of_blur = match aperture {
        Aperture::Pupil | Aperture::Pinhole => Patch::of_pupil(left, 1.0),
        Aperture::Slit { along_deg } => Patch::of_slit(left, along_deg, 1.0),
    };
    let reach = of_blur.reach_minutes(0.0).max(of_blur.reach_minutes(90.0));
    // nothing is missing, or nothing of it is seen
    if reach <= f64::EPSILON || line_minutes <= best_minutes {
        return sharp;
    }
    let times = largest(&disc, line_minutes, line_minutes / reach, |times| sharp.with(of_blur.enlarged(times)));
    sharp.with(of_blur.enlarged(times))
}

/// How much lighter than its stroke the gap of a ring is seen, from 0 to 1, in the mean of eight directions.
pub fn gap_seen(patch: &Patch, gap_minutes: f64) -> f64 {
    gap_seen_at(&even_disc(POINTS), patch, gap_minutes)
}

fn gap_seen_at(disc: &[[f64; 2]], patch: &Patch, gap_minutes: f64) -> f64 {
    let in_gaps = patch.enlarged(1.0 / gap_minutes);
    let mut lighter = 0.0;
    for gap_deg in GAPS_DEG {
        let ring = Optotype::Ring { gap_deg }.shape();
        let (sin, cos) = libm::sincos(gap_deg.to_radians());
        for [right, up] in in_gaps.spread(disc) {
            // the opposite side of the ring looks as this one would without a gap
            let ink = |side: f64| ring([side * 2.0 * cos + right, side * 2.0 * sin + up]) < 0.0;
            lighter += f64::from(u8::from(ink(-1.0))) - f64::from(u8::from(ink(1.0)));
        }
    }
    lighter / (GAPS_DEG.len() * disc.len()) as f64
}

/// The largest size through which a gap can just be read, found by halving from nothing to far too much.
fn largest(disc: &[[f64; 2]], gap_minutes: f64, unit: f64, patch: impl Fn(f64) -> Patch) -> f64 {
    let (mut read, mut unread) = (0.0, NOTHING_LEFT_GAPS * unit);
    for _ in 0..HALVINGS {
        let size = f64::midpoint(read, unread);
        if gap_seen_at(disc, &patch(size), gap_minutes) >= JUST_READ {
            read = size;
        } else {
            unread = size;
        }
    }
    read
}
