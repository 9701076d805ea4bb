//! What an eye takes in all with a lens that stays on under the frame: sums by hand, and a matrix library.

use dioptray::optics::notation::{Style, parse_worn, write_worn};
use dioptray::optics::vergence::{at_vertex, costs_a_millimetre};
use dioptray::optics::{CylinderForm, Dioptres, Millimetres, Power, SpheroCylinder, WornKind, WornLens};
use nalgebra::{Matrix2, Matrix4, Vector2};
use proptest::prelude::*;

use super::{assert_form, rx, sphere};

fn contact(sphere: f64, cylinder: f64, axis: f64) -> WornLens {
    WornLens { kind: WornKind::ContactLens, power: rx(sphere, cylinder, axis), vertex: Millimetres(0.0) }
}

fn glasses(sphere: f64, at_mm: f64) -> WornLens {
    WornLens { kind: WornKind::Glasses, power: rx(sphere, 0.0, 180.0), vertex: Millimetres(at_mm) }
}

/// Calculated by hand, F / (1 − d F) to the worn lens and F / (1 + d F) back (CLSA EyeWitness, Spring 2011, p. 27, has the
/// formula and +5.00 at 12 mm).
#[test]
fn sums_by_hand() {
    let at_12 = |worn: WornLens, over: Power| worn.total(over, Millimetres(12.0)).unwrap_or_default();
    let cases = [
        // -1 / 1.012 = -0.988142; -3.988142; / (1 - 0.047858)
        (at_12(contact(-3.0, 0.0, 180.0), sphere(-1.0)), rx(-4.188_599, 0.0, 180.0)),
        // 2 / 0.976 = 2.049180; 12.049180; / 1.144590
        (at_12(contact(10.0, 0.0, 180.0), sphere(2.0)), rx(10.527_070, 0.0, 180.0)),
        // along 180: -1 / 1.012 - 4 = -4.988142, / (1 - 0.059858); along 90: -3 / 1.036 - 4 = -6.895753, / (1 - 0.082749)
        (at_12(contact(-4.0, 0.0, 180.0), rx(-1.0, -2.0, 180.0).power()), rx(-5.305_731, -2.212_116, 180.0)),
        // a contact lens alone is what it is at the frame: -8 / (1 - 0.096)
        (at_12(contact(-8.0, 0.0, 180.0), Power::ZERO), rx(-8.849_558, 0.0, 180.0)),
        // 4 mm from frame to glasses: -2 / 1.008 = -1.984127; -9.984127; / (1 - 0.039937)
        (glasses(-8.0, 10.0).total(sphere(-2.0), Millimetres(14.0)).unwrap_or_default(), rx(-10.399_444, 0.0, 180.0)),
    ];
    for (found, by_hand) in cases {
        assert_form(found.minus_form(), by_hand, 1e-5, 1e-6);
    }
}

/// A plain sum of marks would be wrong by a third of a dioptre in the second case above, the other way in the first.
#[test]
fn it_is_no_plain_sum() {
    let total = contact(10.0, 0.0, 180.0).total(sphere(2.0), Millimetres(12.0)).unwrap_or_default();
    assert!((12.0 - total.m) > 1.4, "{total:?}");
    let plano = contact(0.0, 0.0, 180.0).total(sphere(-6.25), Millimetres(12.0)).unwrap_or_default();
    assert!(plano.miss(sphere(-6.25)) < 1e-12, "a lens without power changes nothing");
}

#[test]
fn what_would_stand_in_front_of_the_frame_or_in_a_focus_has_no_total() {
    assert_eq!(glasses(-3.0, 13.0).total(sphere(-1.0), Millimetres(12.0)), None);
    assert!(glasses(-3.0, 12.0).total(sphere(-1.0), Millimetres(12.0)).is_some());
    // +100 D over 10 mm comes to a focus in the worn lens
    assert_eq!(contact(-3.0, 0.0, 180.0).total(sphere(100.0), Millimetres(10.0)), None);
}

fn matrix(lens: SpheroCylinder) -> Matrix2<f64> {
    let across = (lens.axis + 90.0).to_radians();
    let direction = Vector2::new(across.cos(), across.sin());
    Matrix2::identity() * lens.sphere + direction * direction.transpose() * lens.cylinder
}

/// The refraction of a thin lens as a 4×4 ray transfer matrix.
fn refraction(power: &Matrix2<f64>) -> Matrix4<f64> {
    let mut transfer = Matrix4::identity();
    transfer.fixed_view_mut::<2, 2>(2, 0).copy_from(&-power);
    transfer
}

/// A way of so many metres.
fn way(metres: f64) -> Matrix4<f64> {
    let mut transfer = Matrix4::identity();
    transfer.fixed_view_mut::<2, 2>(0, 2).copy_from(&(Matrix2::identity() * metres));
    transfer
}

proptest! {
    /// The total, alone at the frame, makes at the cornea the wavefront that frame and worn lens make together, by ray transfer
    /// matrices: back vertex power −C A⁻¹ (Harris, *Optom Vis Sci* 1988).
    #[test]
    fn total_does_at_the_cornea_what_frame_and_worn_lens_do(
        over in (-12.0..12.0, -4.0..4.0, 0.01..180.0),
        worn in (-15.0..15.0, -3.0..3.0, 0.01..180.0),
        at in 0.0..12.0_f64,
        gap in 0.0..6.0_f64,
    ) {
        let over = rx(over.0, over.1, over.2);
        let power = rx(worn.0, worn.1, worn.2);
        let frame_mm = at + gap;
        let lens = WornLens { kind: WornKind::Glasses, power, vertex: Millimetres(at) };
        let total = lens.total(over.power(), Millimetres(frame_mm));
        prop_assume!(total.is_some());
        let total = total.unwrap_or_default();
        let behind = |system: Matrix4<f64>| {
            let a = system.fixed_view::<2, 2>(0, 0).into_owned();
            let c = system.fixed_view::<2, 2>(2, 0).into_owned();
            a.try_inverse().map(|inverse| -c * inverse)
        };
        let together = behind(
            way(at / 1000.0) * refraction(&matrix(power)) * way(gap / 1000.0) * refraction(&matrix(over)),
        );
        let alone = behind(way(frame_mm / 1000.0) * refraction(&matrix(total.minus_form())));
        let (Some(together), Some(alone)) = (together, alone) else { return Ok(()) };
        prop_assert!((together - alone).abs().max() < 1e-7 * (1.0 + together.abs().max()), "{together} {alone}");
    }

    /// What is declared is read back as it is written, in either cylinder form.
    #[test]
    fn what_stays_on_reads_as_it_is_written(quarters in -60..60_i32, cylinder in -8..=0_i32, axis in 1..=180_u8, at in prop::option::of(0..=20_u8)) {
        let power = rx(f64::from(quarters) * 0.25, f64::from(cylinder) * 0.25, f64::from(axis));
        let (kind, vertex) = at.map_or((WornKind::ContactLens, 0.0), |mm| (WornKind::Glasses, f64::from(mm)));
        let worn = WornLens { kind, power, vertex: Millimetres(vertex) };
        for form in [CylinderForm::Minus, CylinderForm::Plus] {
            let written = write_worn(&worn, form, Style::Ascii);
            let read = parse_worn(&written);
            prop_assert!(
                read.as_ref().is_ok_and(|read| read.kind == kind
                    && read.vertex == worn.vertex
                    && read.power.power().miss(power.power()) < 1e-9),
                "{written}: {read:?}"
            );
        }
    }
}

#[test]
fn what_cannot_be_declared_is_refused_with_the_place() {
    let cases = [
        ("-3.00", "say what stays on", 0),
        ("contactless -3", "say what stays on", 0),
        ("contact", "nothing here", 7),
        ("contact 3", "needs its sign", 8),
        ("contact -3 at 2", "leave its distance out", 10),
        ("glasses -3", "how far from the cornea", 10),
        ("glasses -3 at 50", "outside 0 to 40", 14),
    ];
    for (text, problem, at) in cases {
        let read = parse_worn(text);
        let refused = read.as_ref().err().map(|error| (error.problem().contains(problem), error.place().start));
        assert_eq!(refused, Some((true, at)), "{text}: {read:?}");
    }
}

/// One millimetre: 0.06 D at 8 D, 0.10 at 10, 0.40 at 20 (calculated: F² / 1000); and what moving a lens by one really asks for.
#[test]
fn what_a_millimetre_costs() {
    for (power, cost) in [(8.0, 0.06), (-8.0, 0.06), (10.0, 0.10), (-20.0, 0.40), (5.0, 0.025)] {
        let costs = costs_a_millimetre(Dioptres(power)).0;
        assert!((costs - cost).abs() < 0.005, "{power}: {costs}");
        let moved = at_vertex(sphere(power), Millimetres(12.5), Millimetres(11.5)).m - power;
        assert!((costs - moved.abs()).abs() < 0.02 * costs + 1e-9, "{power}: {costs}, {moved}");
    }
}
