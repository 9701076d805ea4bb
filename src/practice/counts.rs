//! How common which prescription is: people drawn by the counts of a public survey.

use std::sync::LazyLock;

use super::draws::Draws;
pub use crate::optics::refraction_counts::{AxisClass, Counted};
use crate::optics::{Dioptres, Power, refraction_counts};

/// The rows, each with how many eyes there are up to and with it.
static ROWS: LazyLock<Vec<(u32, Counted)>> = LazyLock::new(|| {
    let mut so_far = 0;
    let with_sum = |row: &Counted| {
        so_far += row.eyes;
        (so_far, *row)
    };
    refraction_counts::counted().iter().map(with_sum).collect()
});

/// Every row of the table.
pub fn counted() -> impl Iterator<Item = Counted> {
    ROWS.iter().map(|(_, row)| *row)
}

/// How many eyes were counted.
pub fn eyes_counted() -> u32 {
    ROWS.last().map_or(0, |(so_far, _)| *so_far)
}

/// The need of one right eye: a row by its weight, sphere and cylinder anywhere within their quarter, the axis anywhere within
/// its class.
pub fn need(draws: &mut Draws) -> Power {
    let nth = draws.share() * f64::from(eyes_counted());
    let at = ROWS.partition_point(|(so_far, _)| f64::from(*so_far) <= nth);
    let Some((_, row)) = ROWS.get(at) else { return Power::ZERO };
    let sphere = row.sphere + draws.between(-0.125, 0.125);
    let most = (row.cylinder + 0.125).min(0.0);
    let cylinder = draws.between(row.cylinder - 0.125, most);
    let turn = draws.share();
    // half a degree over: 151 to 180 and 1 to 30 are what rounds to them
    let axis = match row.axis_class {
        AxisClass::With => 150.5 + 60.0 * turn,
        AxisClass::Against => 60.5 + 60.0 * turn,
        AxisClass::Oblique if turn < 0.5 => 30.5 + 60.0 * turn,
        AxisClass::Oblique => 90.5 + 60.0 * turn,
        AxisClass::None => 180.0 * turn,
    };
    Power::sphere(Dioptres(sphere)) + Power::cylinder(Dioptres(cylinder), axis)
}
