//! How far eyes that look at something near turn in at the plane of the glasses.

use super::quantity::Millimetres;

/// How far the centre about which an eye turns lies behind the cornea: 27 mm behind a lens at 12 mm (common practice, no
/// source).
pub const CENTRE_OF_TURNING_BEHIND_CORNEA: Millimetres = Millimetres(15.0);

/// How far from the middle of the nose an eye looks through the glasses at something near, straight before the nose.
///
/// `far` is the pupillary distance of the eye for far, `near_metres` the distance from the glasses to what is looked at, `vertex`
/// that from the cornea to the glasses. The line from the centre about which the eye turns to that point meets the glasses at
/// p w / (w + s), w the near distance and s the way from the lens to that centre (geometry; no lens bends it where it is
/// centred).
pub fn near_centre(far: Millimetres, near_metres: f64, vertex: Millimetres) -> Millimetres {
    let behind = vertex.metres() + CENTRE_OF_TURNING_BEHIND_CORNEA.metres();
    Millimetres(far.0 * near_metres / (near_metres + behind))
}
