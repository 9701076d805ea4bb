//! Vertex distance, separated lenses, thick lenses.

use approx::assert_relative_eq;
use dioptray::optics::accommodation::{at_cornea, needed};
use dioptray::optics::vergence::{at_vertex, net, towards_eye};
use dioptray::optics::{Millimetres, Power};

use super::{assert_form, cylinder, rx, sphere};

const CORNEA: Millimetres = Millimetres(0.0);

fn moved(power: Power, from: f64, to: f64) -> Power {
    at_vertex(power, Millimetres(from), Millimetres(to))
}

#[test]
fn published_changes_of_vertex_distance() {
    // CLSA EyeWitness, Spring 2011, p. 27
    assert_relative_eq!(moved(sphere(5.0), 12.0, 0.0).m, 5.32, epsilon = 0.005);
    // odquestions.com, demo 10: +5.00 moved 20 mm away acts as +5.56; the lens needed there is +4.55
    assert_relative_eq!(towards_eye(sphere(5.0), Millimetres(20.0)).m, 5.56, epsilon = 0.005);
    assert_relative_eq!(moved(sphere(5.0), 0.0, 20.0).m, 4.55, epsilon = 0.005);
}

/// Calculated from F/(1 − dF). A published chart's −8.25 and +10.75 are wrong by 0.6 D.
#[test]
fn strong_spheres_at_the_cornea() {
    for (spectacle, cornea, wrong) in [(-10.0, -8.93, -8.25), (10.0, 11.36, 10.75)] {
        let found = at_vertex(sphere(spectacle), Millimetres(12.0), CORNEA).m;
        assert_relative_eq!(found, cornea, epsilon = 0.005);
        assert!((found - wrong).abs() > 0.5);
    }
}

/// Calculated, meridian by meridian.
#[test]
fn a_sphero_cylinder_at_the_cornea() {
    let found = moved(rx(-9.0, -2.0, 180.0).power(), 12.0, 0.0);
    // −8.12/−1.60 from meridians that were rounded before they were subtracted
    assert_form(found.minus_form(), rx(-8.12, -1.60, 180.0), 0.01, 1e-9);
    for axis in [1.0, 37.0, 90.0, 179.0] {
        let given = rx(-9.0, -2.0, axis);
        let found = moved(given.power(), 12.0, 0.0);
        for (meridian, power) in [(axis, -9.0), (axis + 90.0, -11.0)] {
            assert_relative_eq!(found.along(meridian), power / (1.0 - 0.012 * power), epsilon = 1e-12);
        }
    }
}

/// Calculated from the step-along; the reason why the strongest sphere goes to the rear.
#[test]
fn two_cells_in_both_orders() {
    let cases = [(10.0, 2.0, 12.03), (2.0, 10.0, 12.81), (-10.0, -2.0, -11.97), (-2.0, -10.0, -11.30)];
    for (rear, front, expected) in cases {
        let found = net(&[sphere(rear), sphere(front)], &[Millimetres(7.5)]);
        assert_relative_eq!(found.m, expected, epsilon = 0.005);
    }
}

/// Ray tracing with optiland 0.6.3, raytracing 1.4.7 and rayoptics 0.9.8 (PyPI), light from the left, lenses 4 mm apart.
#[test]
fn ray_traced_stacks() {
    let gap = [Millimetres(4.0)];
    // the lens that the light meets first is the outermost
    assert_relative_eq!(net(&[sphere(0.5), sphere(-10.0)], &gap).m, -9.115_385, epsilon = 5e-7);
    assert_relative_eq!(net(&[sphere(-10.0), sphere(0.5)], &gap).m, -9.498_998, epsilon = 5e-7);
    // crossed cylinders by real skew rays
    let crossed = net(&[cylinder(-2.0, 65.0), cylinder(-3.0, 20.0)], &gap);
    assert_form(crossed.minus_form(), rx(-0.6942, -3.5760, 37.003), 5e-5, 5e-4);
}

/// A thick lens is two surfaces the reduced distance t/n apart.
#[test]
fn thick_lenses() {
    // board-review formula notes, 2026: +12.00 and −5.00, 7 mm, n 1.6: front vertex +7.11; back vertex +7.66 calculated
    let reduced = [Millimetres(7.0 / 1.6)];
    assert_relative_eq!(net(&[sphere(12.0), sphere(-5.0)], &reduced).m, 7.11, epsilon = 0.005);
    assert_relative_eq!(net(&[sphere(-5.0), sphere(12.0)], &reduced).m, 7.66, epsilon = 0.005);
    // ray tracing as above: n 1.523, radii 65.375 and 174.333 mm, 6 mm thick
    let surface = |change_of_index: f64, radius_mm: f64| sphere(change_of_index / (radius_mm / 1000.0));
    let (front, back) = (surface(0.523, 65.375), surface(-0.523, 174.333));
    // the second radius is printed to a thousandth, which is worth 6e-6 D
    assert_relative_eq!(net(&[back, front], &[Millimetres(6.0 / 1.523)]).m, 5.260_339, epsilon = 1e-5);
}

/// Duane's Ophthalmology, ch. 51A: a chart at 6 m is −0.17 D, at 3 m −0.33 D.
#[test]
fn vergence_from_a_chart() {
    for (metres, vergence) in [(6.0, -0.17), (3.0, -0.33)] {
        // light from a point 1 mm behind the chart, followed to the eye
        let near_the_chart = sphere(-1000.0);
        let found = towards_eye(near_the_chart, Millimetres(metres * 1000.0 - 1.0));
        assert_relative_eq!(found.m, vergence, epsilon = 0.005);
    }
}

/// Calculated from V/(1 − dV), meridian by meridian: glasses of −5.00 at 12 mm ask for less than an eye without, those of +5.00 for
/// more; one who takes 1/d for all is wrong by up to half a dioptre.
#[test]
fn accommodation_behind_glasses() {
    let vertex = Millimetres(12.0);
    let by_hand = |power: f64, metres: f64| {
        let at_the_cornea = |v: f64| v / (1.0 - 0.012 * v);
        at_the_cornea(power) - at_the_cornea(power - 1.0 / metres)
    };
    for (power, metres, asked) in [(0.0, 0.33, 2.92), (-5.0, 0.33, 2.61), (5.0, 0.33, 3.30), (-10.0, 0.25, 3.06)] {
        let found = needed(sphere(power), vertex, metres);
        assert_relative_eq!(found.m, by_hand(power, metres), epsilon = 1e-12);
        assert_relative_eq!(found.m, asked, epsilon = 0.005);
    }
    // an eye without glasses looks from its cornea
    assert_relative_eq!(needed(sphere(0.0), vertex, 0.4).m, 1.0 / 0.412, epsilon = 1e-12);
    // at the cornea itself, a contact lens, it is 1/d whatever the power
    assert_relative_eq!(needed(sphere(-8.0), Millimetres(0.0), 0.4).m, 2.5, epsilon = 1e-12);
    // from far away the lens acts as it does at the cornea
    assert!(at_cornea(sphere(-10.0), vertex, f64::INFINITY).miss(moved(sphere(-10.0), 12.0, 0.0)) < 1e-12);
    let oblique = needed(rx(-5.0, -2.0, 30.0).power(), vertex, 0.33);
    assert_relative_eq!(oblique.along(30.0), by_hand(-5.0, 0.33), epsilon = 1e-12);
    assert_relative_eq!(oblique.along(120.0), by_hand(-7.0, 0.33), epsilon = 1e-12);
}

/// Calculated, F² d, to a hundredth as it is printed: what one millimetre of vertex distance is worth.
#[test]
fn one_millimetre_of_vertex_distance() {
    for (power, worth) in [(8.0, 0.06), (10.0, 0.10), (12.0, 0.15), (16.0, 0.25), (20.0, 0.40)] {
        for sign in [1.0, -1.0] {
            let change = (moved(sphere(sign * power), 13.0, 12.0).m - sign * power).abs();
            let by_rule = power * power / 1000.0;
            assert_relative_eq!(by_rule, worth, epsilon = 0.0061);
            assert_relative_eq!(change, by_rule, max_relative = 0.021);
        }
    }
}
