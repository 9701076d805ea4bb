//! Small frames and boxes, told in a line.

use dioptray::frame::{CellSpec, DeclaredFrame};
use dioptray::kit::{DeclaredBox, Lens, LensForm, LensLine, Mark, Stock};
use dioptray::optics::{Millimetres, Power, SpheroCylinder};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

use crate::plain::box_of;

pub fn cell(gap: f64, turns: bool, ring: Option<&str>) -> CellSpec {
    CellSpec { name: String::new(), gap: Millimetres(gap), turns, ring: ring.map(str::to_owned) }
}

pub fn frame(cells: Vec<CellSpec>) -> DeclaredFrame {
    DeclaredFrame { name: "test".into(), vertex: Millimetres(12.0), pd: None, axis_marks_deg: 5, cells }
}

pub fn four_cells() -> DeclaredFrame {
    frame(vec![cell(0.0, false, None), cell(3.5, false, None), cell(3.5, true, None), cell(3.5, true, None)])
}

pub fn stock(spheres: &[(f64, u8)], cylinders: &[(f64, u8)], form: LensForm) -> Stock {
    let line = |lens: Lens, declared: u8| LensLine { lens, declared, missing: 0 };
    let spheres = spheres.iter().map(|&(power, n)| line(Lens::Sphere(Mark::nearest(power)), n));
    let cylinders = cylinders.iter().map(|&(power, n)| line(Lens::Cylinder(Mark::nearest(power)), n));
    Stock::of(&DeclaredBox { form, ..box_of("test", spheres.chain(cylinders).collect()) })
}

pub fn power(sphere: f64, cylinder: f64, axis: f64) -> Power {
    SpheroCylinder { sphere, cylinder, axis }.power()
}

pub fn quarter(rng: &mut ChaCha8Rng, most: i32) -> f64 {
    f64::from(rng.random_range(-most..=most)) * 0.25
}

pub fn random_powers(rng: &mut ChaCha8Rng, how_many: usize, most: i32) -> Vec<(f64, u8)> {
    let mut powers: Vec<(f64, u8)> = Vec::new();
    while powers.len() < how_many {
        let power = quarter(rng, most);
        if power != 0.0 && powers.iter().all(|p| p.0 != power) {
            powers.push((power, rng.random_range(1..=2)));
        }
    }
    powers
}
