//! Vergence stepped along the line of sight through separated sphero-cylinders.

use super::power::Power;
use super::quantity::{Dioptres, Millimetres};

/// Moves a vergence on by a distance in the direction of the light (towards the eye): V (I − d V)⁻¹.
///
/// A power of +5.00 D becomes +5.32 D 12 mm further on. A distance that ends exactly in a focus gives infinities.
pub fn towards_eye(vergence: Power, distance: Millimetres) -> Power {
    step(vergence, distance.metres())
}

/// Moves a vergence back by a distance against the direction of the light (away from the eye): V (I + d V)⁻¹.
pub fn away_from_eye(vergence: Power, distance: Millimetres) -> Power {
    step(vergence, -distance.metres())
}

/// What is left of the distance to a focus, as a part of the focal length, that only rounding can leave.
const IN_FOCUS: f64 = 1e-12;

fn step(v: Power, d: f64) -> Power {
    if d == 0.0 {
        return v;
    }
    // V (I − d V)⁻¹ of a symmetric 2×2 matrix by its invariants: determinant and trace make one division enough.
    let determinant = v.m * v.m - v.j0 * v.j0 - v.j45 * v.j45;
    let left = 1.0 - 2.0 * d * v.m + d * d * determinant;
    // a focus in one meridian alone leaves a rounding error where nothing is left
    let scale = if left.abs() < IN_FOCUS { f64::INFINITY } else { 1.0 / left };
    Power { m: (v.m - d * determinant) * scale, j0: v.j0 * scale, j45: v.j45 * scale }
}

/// The power that a lens stepped to another vertex distance must have to do the same for the eye.
///
/// `from` and `to` are distances from the cornea. From 12 mm to 0 mm gives the power at the cornea.
pub fn at_vertex(power: Power, from: Millimetres, to: Millimetres) -> Power {
    step(power, from.metres() - to.metres())
}

/// By how much a power is changed for each millimetre that it stands elsewhere, without a sign: the derivative of
/// F / (1 − d F) by d is F² where d is 0, so a thousandth of F².
pub fn costs_a_millimetre(power: Dioptres) -> Dioptres {
    Dioptres(power.0 * power.0 * Millimetres(1.0).metres())
}

/// One cell on the way of the light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// The cell, 1 nearest the eye.
    pub cell: usize,
    /// The vergence that comes to it.
    pub before: Power,
    /// The vergence behind its lens.
    pub behind: Power,
}

/// The way of the light through powers listed from cell 1 outward, step by step from the outermost in: what [`net`] comes
/// to by the same steps. An empty cell adds nothing and is a step all the same.
pub fn steps(from_rear: &[Power], gaps: &[Millimetres]) -> Vec<Step> {
    let mut behind = Power::ZERO;
    let inward = from_rear.iter().enumerate().rev();
    inward
        .map(|(index, &lens)| {
            let before = gaps.get(index).map_or(behind, |&gap| towards_eye(behind, gap));
            behind = before + lens;
            Step { cell: index + 1, before, behind }
        })
        .collect()
}

/// Back vertex power at cell 1 of powers listed from cell 1 outward.
///
/// `gaps[i]` is the distance between cell `i + 1` and cell `i + 2`. Light meets the outermost lens first. Missing gaps
/// count as zero.
pub fn net(from_rear: &[Power], gaps: &[Millimetres]) -> Power {
    let mut vergence = Power::ZERO;
    for (index, &lens) in from_rear.iter().enumerate().rev() {
        if let Some(&gap) = gaps.get(index) {
            vergence = towards_eye(vergence, gap);
        }
        vergence += lens;
    }
    vergence
}
