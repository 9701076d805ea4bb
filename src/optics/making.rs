//! By how much made glasses may differ from what was ordered: the power of a lens, its cylinder and its axis. Where its centre
//! may stand is in [`centres`](super::centres).
//!
//! ANSI Z80.1-2015, quick reference.

/// The limits up to a power in dioptres, and what holds beyond the last of them.
struct Limits<const N: usize> {
    up_to: [(f64, f64); N],
    beyond: fn(f64) -> f64,
}

impl<const N: usize> Limits<N> {
    fn of(&self, dioptres: f64) -> f64 {
        let within = self.up_to.iter().find(|(most, _)| dioptres <= *most);
        within.map_or_else(|| (self.beyond)(dioptres), |(_, limit)| *limit)
    }
}

const POWER: Limits<1> = Limits { up_to: [(6.50, 0.13)], beyond: |dioptres| 0.02 * dioptres };
const CYLINDER: Limits<2> = Limits { up_to: [(2.00, 0.13), (4.50, 0.15)], beyond: |dioptres| 0.04 * dioptres };
const AXIS: Limits<4> = Limits { up_to: [(0.25, 14.0), (0.50, 7.0), (0.75, 5.0), (1.50, 3.0)], beyond: |_| 2.0 };

/// The limit of the sphere in dioptres, by the power of the stronger meridian (so that it is one for both cylinder forms; the
/// quick reference has it by the sphere).
pub fn sphere_limit(strongest_d: f64) -> f64 {
    POWER.of(strongest_d.abs())
}

/// The limit of a cylinder in dioptres.
pub fn cylinder_limit(cylinder_d: f64) -> f64 {
    CYLINDER.of(cylinder_d.abs())
}

/// The limit of the axis of a cylinder in degrees.
pub fn axis_limit(cylinder_d: f64) -> f64 {
    AXIS.of(cylinder_d.abs())
}
