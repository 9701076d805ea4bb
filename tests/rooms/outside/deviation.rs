//! A neutralised deviation, shared between the eyes and by Sheard's rule.
#![expect(clippy::unwrap_used, reason = "a test may stop")]

use dioptray::exam::Deviation;
use dioptray::optics::{Base, Eye, Eyes, Prism, PrismDioptres};
use proptest::prelude::*;

fn of(eye: Eye, amount: f64, base: Base) -> Prism {
    Prism::polar(amount, base.degrees(eye))
}

fn deviation(right: Option<Prism>, left: Option<Prism>) -> Deviation {
    Deviation { before: Eyes::new(right, left), reserve: None }
}

fn near(found: Prism, expected: Prism) -> bool {
    (found.x - expected.x).abs() < 1e-9 && (found.y - expected.y).abs() < 1e-9
}

/// Bases in and out stay what they are before the other eye, up becomes down: what is common to every text on splitting prism
/// (common practice, no source).
#[test]
fn halves_have_the_base_that_is_right_for_each_eye() {
    let cases = [
        (Eye::Right, Base::In, Base::In),
        (Eye::Right, Base::Out, Base::Out),
        (Eye::Right, Base::Up, Base::Down),
        (Eye::Right, Base::Down, Base::Up),
        (Eye::Left, Base::In, Base::In),
        (Eye::Left, Base::Out, Base::Out),
        (Eye::Left, Base::Up, Base::Down),
        (Eye::Left, Base::Down, Base::Up),
    ];
    for (eye, base, before_other) in cases {
        let prism = Some(of(eye, 6.0, base));
        let measured = match eye {
            Eye::Right => deviation(prism, None),
            Eye::Left => deviation(None, prism),
        };
        let halves = measured.neutralised().unwrap().shared();
        assert!(near(halves[eye], of(eye, 3.0, base)), "{eye} {base:?}: {halves:?}");
        assert!(near(halves[eye.other()], of(eye.other(), 3.0, before_other)), "{eye} {base:?}: {halves:?}");
        let all = measured.neutralised().unwrap().all_before(eye.other());
        assert!(near(all[eye.other()], of(eye.other(), 6.0, before_other)) && near(all[eye], Prism::NONE), "{all:?}");
    }
}

/// Bases in before both eyes add up, a base up is taken off by a base up before the other.
#[test]
fn what_stands_before_both_eyes_is_taken_together() {
    let inward = deviation(Some(of(Eye::Right, 4.0, Base::In)), Some(of(Eye::Left, 2.0, Base::In)));
    assert!(near(inward.neutralised().unwrap().before(Eye::Right), of(Eye::Right, 6.0, Base::In)));
    assert!(near(inward.neutralised().unwrap().before(Eye::Left), of(Eye::Left, 6.0, Base::In)));
    let upward = deviation(Some(of(Eye::Right, 3.0, Base::Up)), Some(of(Eye::Left, 3.0, Base::Up)));
    assert!(near(upward.neutralised().unwrap().before(Eye::Right), Prism::NONE));
    assert!(deviation(None, None).neutralised().is_none(), "what nobody measured is not none");
}

/// Public teaching pages: exo 9, reserve 12: 2 in; eso 3, reserve 8: none; phoria 6, reserve 3: 3. Shared, so half before each.
#[test]
fn sheards_rule_of_a_neutralised_deviation() {
    let cases =
        [(9.0, Base::In, 12.0, 2.0), (3.0, Base::Out, 8.0, 0.0), (6.0, Base::Out, 3.0, 3.0), (6.0, Base::In, 3.0, 3.0)];
    for eye in Eye::BOTH {
        for (amount, base, reserve, wanted) in cases {
            let prism = Some(of(eye, amount, base));
            let measured = match eye {
                Eye::Right => deviation(prism, None),
                Eye::Left => deviation(None, prism),
            };
            let found = measured.neutralised().unwrap().by_sheard(PrismDioptres(reserve));
            for of_eye in Eye::BOTH {
                let expected = of(of_eye, wanted / 2.0, base);
                assert!(near(found[of_eye], expected), "{eye} {amount} {base:?} {reserve}: {found:?}");
            }
        }
    }
}

proptest! {
    /// The mirror image of a deviation, the eyes exchanged, is shared as the mirror image.
    #[test]
    fn mirrored_eyes_share_mirrored_prism(x in -20.0..20.0_f64, y in -20.0..20.0_f64, lx in -20.0..20.0_f64, ly in -20.0..20.0_f64) {
        let mirrored = |prism: Prism| Prism { x: -prism.x, y: prism.y };
        let (right, left) = (Prism { x, y }, Prism { x: lx, y: ly });
        let one = deviation(Some(right), Some(left)).neutralised().unwrap().shared();
        let other = deviation(Some(mirrored(left)), Some(mirrored(right))).neutralised().unwrap().shared();
        prop_assert!(near(one.right, mirrored(other.left)) && near(one.left, mirrored(other.right)));
    }

    /// The halves do together what was measured.
    #[test]
    fn halves_are_the_whole(x in -20.0..20.0_f64, y in -20.0..20.0_f64) {
        let whole = deviation(Some(Prism { x, y }), None).neutralised().unwrap();
        let halves = whole.shared();
        let again = deviation(Some(halves.right), Some(halves.left)).neutralised().unwrap();
        let together = again.before(Eye::Right);
        prop_assert!((together.x - x).abs() < 1e-9 && (together.y - y).abs() < 1e-9);
    }
}
