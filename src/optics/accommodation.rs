//! What an eye behind glasses must accommodate for near: not 1/d, since the vergence is stepped to the cornea.

use super::power::Power;
use super::quantity::{Dioptres, Millimetres};
use super::vergence::at_vertex;

/// Light that comes from a distance in metres before the lens, as it reaches the cornea through the lens; the lens stands
/// `vertex` from it. Far away is an infinite distance.
pub fn at_cornea(lens: Power, vertex: Millimetres, distance_m: f64) -> Power {
    at_vertex(lens - Power::sphere(Dioptres(1.0 / distance_m)), vertex, Millimetres(0.0))
}

/// The accommodation that print at a distance in metres before the glasses asks for: the vergence at the cornea from far
/// away less that from the print. Through minus lenses it is less than 1/d, through plus lenses more; a cylinder leaves a
/// little astigmatism for near, which is its cylinder.
pub fn needed(lens: Power, vertex: Millimetres, distance_m: f64) -> Power {
    at_cornea(lens, vertex, f64::INFINITY) - at_cornea(lens, vertex, distance_m)
}
