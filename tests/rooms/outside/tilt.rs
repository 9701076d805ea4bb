//! Tilted lenses: published examples, and rays traced through a thin lens by Snell's law.

use dioptray::optics::tilt::{LENS_INDEX, TiltedAbout, tilted};
use dioptray::optics::{Power, SpheroCylinder};
use nalgebra::{Matrix2, Matrix3, Vector2, Vector3};

use super::{assert_form, cylinder, rx, sphere};

/// courses.durhamtech.edu, lens_tilt; a public thread (19909): a plus lens gets a plus cylinder, a minus lens a minus one, both along
/// the line about which it is tilted.
#[test]
fn published_tilts() {
    let plus = tilted(sphere(15.0), TiltedAbout::Horizontal, 10.0);
    assert_form(plus.plus_form(), rx(15.15, 0.47, 180.0), 0.005, 1e-9);
    let minus = tilted(sphere(-10.0), TiltedAbout::Horizontal, 10.0);
    assert_form(minus.minus_form(), rx(-10.10, -0.31, 180.0), 0.005, 1e-9);
    // about the vertical the same, the axis across
    let turned = tilted(sphere(-10.0), TiltedAbout::Vertical, 10.0);
    assert_form(turned.minus_form(), rx(-10.10, -0.31, 90.0), 0.005, 1e-9);
}

#[test]
fn without_a_tilt_nothing_changes() {
    for about in [TiltedAbout::Horizontal, TiltedAbout::Vertical] {
        assert!(tilted(rx(-4.0, -2.0, 33.0).power(), about, 0.0).miss(rx(-4.0, -2.0, 33.0).power()) < 1e-12);
    }
}

/// Snell's law with vectors: a ray in a direction, refracted at a surface with this normal along the light.
fn refracted(ray: Vector3<f64>, normal: Vector3<f64>, from_index: f64, to_index: f64) -> Vector3<f64> {
    let (ray, normal) = (ray.normalize(), normal.normalize());
    let ratio = from_index / to_index;
    let cos = ray.dot(&normal);
    let cos_behind = (1.0 - ratio * ratio * (1.0 - cos * cos)).sqrt();
    ray * ratio + normal * (cos_behind - ratio * cos)
}

/// The power of a tilted thin lens, its front curved and its back flat, from what it does to rays beside the line of sight.
fn traced(lens: SpheroCylinder, about: TiltedAbout, degrees: f64) -> Matrix2<f64> {
    let across = (lens.axis + 90.0).to_radians();
    let direction = Vector2::new(across.cos(), across.sin());
    let curvature =
        (Matrix2::identity() * lens.sphere + direction * direction.transpose() * lens.cylinder) / (LENS_INDEX - 1.0);
    let (sin, cos) = degrees.to_radians().sin_cos();
    let turned = match about {
        TiltedAbout::Horizontal => Matrix3::new(1.0, 0.0, 0.0, 0.0, cos, -sin, 0.0, sin, cos),
        TiltedAbout::Vertical => Matrix3::new(cos, 0.0, sin, 0.0, 1.0, 0.0, -sin, 0.0, cos),
    };
    let behind = |at: Vector2<f64>| {
        // where the ray meets the plane of the lens, in the lens's own directions
        let to_lens = turned.transpose();
        let (start, ray) = (to_lens * Vector3::new(at.x, at.y, 0.0), to_lens * Vector3::z());
        let met = start - ray * (start.z / ray.z);
        let slope = curvature * Vector2::new(met.x, met.y);
        let inside = refracted(ray, Vector3::new(-slope.x, -slope.y, 1.0), 1.0, LENS_INDEX);
        let out = turned * refracted(inside, Vector3::z(), LENS_INDEX, 1.0);
        Vector2::new(out.x, out.y) / out.z
    };
    let beside = 1e-6;
    let (x, y) = (behind(Vector2::new(beside, 0.0)) / -beside, behind(Vector2::new(0.0, beside)) / -beside);
    Matrix2::from_columns(&[x, y])
}

/// Martin's k is an approximation, good to 0.02 % at 10° and to 0.3 % at 20°.
#[test]
fn rays_through_a_tilted_lens_agree() {
    let lenses =
        [rx(15.0, 0.0, 180.0), rx(-10.0, 0.0, 180.0), rx(-4.0, -3.0, 30.0), rx(2.0, 4.0, 160.0), rx(0.0, -5.0, 45.0)];
    for (degrees, part) in [(5.0, 0.0002), (10.0, 0.0003), (20.0, 0.003)] {
        for about in [TiltedAbout::Horizontal, TiltedAbout::Vertical] {
            for lens in lenses {
                let Power { m, j0, j45 } = tilted(lens.power(), about, degrees);
                let found = Matrix2::new(m + j0, j45, j45, m - j0);
                let by_rays = traced(lens, about, degrees);
                let strongest = lens.sphere.abs().max((lens.sphere + lens.cylinder).abs());
                let off = (found - by_rays).abs().max();
                assert!(off < part * strongest * 1.2, "{lens:?} {about:?} {degrees}: {found} is not {by_rays}, {off}");
            }
        }
    }
}

/// Left as it is, a cylinder across the tilt would keep its power: foreshortening makes it stronger.
#[test]
fn a_cylinder_acts_more_strongly_across_the_line_of_the_tilt() {
    let along = tilted(cylinder(-4.0, 180.0), TiltedAbout::Horizontal, 20.0).along(90.0);
    let across = tilted(cylinder(-4.0, 90.0), TiltedAbout::Horizontal, 20.0).along(180.0);
    assert!(along < across && across < -4.0, "{along} {across}");
}
