//! What the hand needs in an exam, beside what stands in the cells.

use crate::kit::{Lens, Mark};

/// One lens that the hand needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Needed {
    /// The lens.
    pub lens: Lens,
    /// How many pieces.
    pub pieces: u8,
    /// What for.
    pub why: &'static str,
}

/// The lens that takes off the working distance in retinoscopy, in dioptres: for 67 cm, common practice, no source.
const WORKING_LENS_D: f64 = 1.5;

/// What the hand needs in an exam: lenses to hold, cross cylinders, something to cover an eye, to fog and to do retinoscopy with.
///
/// Which these are is common practice, no source.
pub fn for_the_hand() -> Vec<Needed> {
    let sphere = |power: f64| Lens::Sphere(Mark::nearest(power));
    let cross = |power: f64| Lens::CrossCylinder(Mark::nearest(power));
    let of = |lens: Lens, pieces: u8, why: &'static str| Needed { lens, pieces, why };
    let occluder = Lens::known_by_name().find(Lens::occludes);
    let hold = "to hold in front when the sphere is asked about";
    let mut list: Vec<Needed> = [0.25, -0.25, 0.5, -0.5].map(|power| of(sphere(power), 1, hold)).into();
    let crossed = "to ask about the cylinder";
    list.extend([0.25, 0.5].map(|power| of(cross(power), 1, crossed)));
    list.extend(occluder.map(|lens| of(lens, 1, "to cover the other eye")));
    list.push(of(sphere(1.0), 2, "to fog, one before each eye"));
    list.push(of(sphere(WORKING_LENS_D), 2, "as working lens of retinoscopy at 67 cm, one before each eye"));
    list
}
