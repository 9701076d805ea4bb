//! Seats: the same person again from the text that is kept, people as hard as their level says, and nothing to be read.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use dioptray::exam::Sitter;
use dioptray::practice::drills::Level;
use dioptray::practice::graded::graded;
use dioptray::practice::seat::{Seat, SeatError, Who};
use dioptray::practice::{Care, Law};
use proptest::prelude::*;

fn drawn(level: Level, seed: u64) -> Who {
    Who::Drawn { level, care: Care::Typical, law: Law::Written, seed }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn what_is_kept_of_a_seat_gives_the_same_person_again(seed: u64, number in 1_u16..40, level in 0_usize..3) {
        let seat = Seat::numbered(drawn(Level::ALL[level], seed), number, 40).unwrap();
        let again = Seat::again(&seat.sitter()).unwrap();
        prop_assert_eq!(&again, &seat);
        let kept = serde_json::to_string(&seat.sitter()).unwrap();
        // no power is written there: those have a sign and a point
        prop_assert!(!kept.contains('.') && !kept.contains('+') && !kept.contains('-'));
    }

    #[test]
    fn the_easiest_have_spheres_alone_and_the_hardest_do_not(seed: u64, number in 1_u64..40) {
        let cylinders = |level| {
            let person = graded(level, seed, number, Care::Typical, Law::Written);
            person.needs().iter().map(|(_, need)| 2.0 * need.j0.hypot(need.j45)).collect::<Vec<_>>()
        };
        prop_assert!(cylinders(Level::One).iter().all(|&cylinder| cylinder < 0.375));
        let person = graded(Level::Three, seed, number, Care::Typical, Law::Written);
        let needs = person.needs();
        let unequal = (needs.right.m - needs.left.m).abs() > 1.0;
        prop_assert!(unequal || cylinders(Level::Three).iter().any(|&cylinder| cylinder >= 1.0));
    }
}

#[test]
fn of_the_hardest_about_one_in_four_has_an_eye_that_sees_poorly() {
    let poor = (0..400).filter(|&seed| {
        let person = graded(Level::Three, seed, 1, Care::Typical, Law::Written);
        person.eyes.iter().any(|(_, eye)| eye.best_log_mar > 0.5)
    });
    assert!((60..=140).contains(&poor.count()));
}

#[test]
fn a_named_case_comes_again_and_a_text_of_nobody_is_refused() {
    let who = Who::Case { name: "kits/eyes/oblique.yaml".into(), seed: 5 };
    let seat = Seat::of(who).unwrap();
    assert_eq!(Seat::again(&seat.sitter()).unwrap(), seat);
    for who in ["", "nobody", "level 4 typical written 1", "level 1 typical", "case", "case zz kits/eyes/oblique.yaml"]
    {
        let sitter = Sitter { who: who.to_owned(), number: 1, of: 1 };
        assert!(matches!(Seat::again(&sitter), Err(SeatError::Unknown(_))), "{who}");
    }
    let gone = Who::Case { name: "kits/eyes/nobody-of-this-name.yaml".into(), seed: 5 };
    assert!(matches!(Seat::of(gone), Err(SeatError::Case(_))));
}

#[test]
fn nothing_is_learnt_of_the_examiner_from_a_practice_eye() {
    use dioptray::exam::{Accepted, Event, Exam, Opening};
    use dioptray::frame::FittedFrame;
    use dioptray::frame::shipped::demo_frame;
    use dioptray::kit::Stock;
    use dioptray::kit::shipped::demo_box;
    use dioptray::logbook::Found;
    use dioptray::optics::{Dioptres, Eye, Power};

    let fitted = FittedFrame::new(demo_frame().unwrap(), Stock::of(&demo_box().unwrap()));
    let found = |sitter: Option<Sitter>| {
        let mut exam = Exam::open(Opening { fitted: fitted.clone(), sitter });
        let power = |dioptres| Some(Power::sphere(Dioptres(dioptres)));
        exam.apply(&[
            Event::Accepted(Accepted::Retinoscopy(Eye::Right, power(-1.5))),
            Event::Accepted(Accepted::Refraction(Eye::Right, power(-2.0))),
        ])
        .unwrap();
        Found::of(exam.state())
    };
    let seat = Seat::of(drawn(Level::Two, 5)).unwrap();
    assert_eq!(found(None).retinoscopy.len(), 1);
    let of_practice = found(Some(seat.sitter()));
    assert!(of_practice.retinoscopy.is_empty() && of_practice.repeats.is_none());
    assert_eq!(of_practice.practice, Some(true));
}
