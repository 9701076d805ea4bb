//! Over a contact lens the present glasses are no first guess: they tell of the whole power of the eye.

use dioptray::exam::{Detail, ProcedureName};
use dioptray::guide::Question;
use dioptray::optics::{Eye, Millimetres, SpheroCylinder, WornKind, WornLens};

use super::set::{Walk, outreach};

const MINUS_SIX: SpheroCylinder = SpheroCylinder { sphere: -6.0, cylinder: 0.0, axis: 180.0 };

fn with_glasses() -> Walk {
    let mut walk = Walk::new(outreach());
    walk.detail(Detail::AgeYears(30));
    for eye in Eye::BOTH {
        walk.detail(Detail::OldGlasses(eye, MINUS_SIX));
    }
    walk
}

#[test]
fn present_glasses_are_offered_as_a_start_before_the_bare_eye_alone() {
    let worn = WornLens { kind: WornKind::ContactLens, power: MINUS_SIX, vertex: Millimetres(0.0) };
    let mut walk = with_glasses();
    walk.detail(Detail::StaysOn(Eye::Right, Some(worn)));
    let offers_glasses = |walk: &Walk| matches!(walk.present().question, Question::StartFrom { old_glasses: true, .. });
    walk.begin(ProcedureName::FirstLens, Some(Eye::Right));
    assert!(!offers_glasses(&walk), "{:?}", walk.present().question);
    walk.begin(ProcedureName::FirstLens, Some(Eye::Left));
    assert!(offers_glasses(&walk), "{:?}", walk.present().question);
}

/// By likelihood: over a contact lens the eye is begun with as if nobody knew its glasses, and the bare eye near them.
#[test]
fn likelihood_does_not_believe_the_glasses_over_a_contact_lens() {
    let shows = |glasses: bool, worn: bool| {
        let mut walk = Walk::new(outreach());
        walk.detail(Detail::AgeYears(30));
        if glasses {
            walk.detail(Detail::OldGlasses(Eye::Right, MINUS_SIX));
        }
        if worn {
            let worn = WornLens { kind: WornKind::ContactLens, power: MINUS_SIX, vertex: Millimetres(0.0) };
            walk.detail(Detail::StaysOn(Eye::Right, Some(worn)));
        }
        walk.begin(ProcedureName::Likelihood, Some(Eye::Right));
        walk.present().shown.to[Eye::Right].m
    };
    let (bare, over, unknown) = (shows(true, false), shows(true, true), shows(false, false));
    assert!(over == unknown && bare < over - 1.0, "{bare} bare, {over} over the lens, {unknown} of nobody's glasses");
}
