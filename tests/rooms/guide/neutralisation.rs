//! Hand neutralisation: every power from -20 to +20 is found within what is said, in as few trials as halving takes.

use dioptray::exam::{Answer, Exam, Opening, ProcedureName};
use dioptray::frame::FittedFrame;
use dioptray::guide::Question;
use dioptray::kit::Stock;
use dioptray::kit::shipped::full_box;
use dioptray::optics::{Eye, Eyes, Power};

use super::set::{Walk, outreach};
use crate::plain::four_cells;
use crate::steady::{glasses_answer, rx};

fn full() -> Exam {
    Exam::open(Opening::of(FittedFrame::new(four_cells(), Stock::of(&full_box().unwrap()))))
}

/// Leads the neutralisation of glasses to its end; the trials of each search, by how wide the interval was after each.
fn neutralised(exam: Exam, glasses: Eyes<Power>, eye: Option<Eye>) -> Walk {
    let mut walk = Walk::new(exam);
    walk.begin(ProcedureName::Neutralisation, eye);
    while walk.guide().running().is_some() {
        let answer = glasses_answer(glasses, &walk.present());
        walk.answer(answer);
        assert!(walk.asked.len() < 100, "it ends");
    }
    walk
}

fn trials(walk: &Walk) -> Vec<(f64, Answer)> {
    let of = |question: &Question| match question {
        Question::LineMoves { held_d, .. } => Some(*held_d),
        _ => None,
    };
    walk.asked.iter().filter_map(|(asked, answer)| Some((of(&asked.question)?, *answer))).collect()
}

/// How wide the interval is after so many trials from ±20.
fn left_after(trials: &[(f64, Answer)], count: usize) -> f64 {
    let (mut least, mut most) = (-20.0_f64, 20.0_f64);
    for &(held, answer) in &trials[..count.min(trials.len())] {
        match answer {
            Answer::With { .. } => most = most.min(-held),
            Answer::Against { .. } => least = least.max(-held),
            _ => return 0.25,
        }
    }
    most - least
}

#[test]
fn six_trials_leave_three_quarters_and_eight_a_quarter_for_every_lens_to_twenty() {
    for tenths in -199..=199 {
        let power = f64::from(tenths) / 10.0;
        let walk = neutralised(full(), Eyes::both(rx(power, 0.0, 180.0)), Some(Eye::Right));
        let trials = trials(&walk);
        assert!(left_after(&trials, 6) <= 0.75 + 1e-9, "{power:+.2}: {trials:?}");
        assert!(left_after(&trials, 8) <= 0.25 + 1e-9, "{power:+.2}: {trials:?}");
        let old = walk.state().person.old_glasses[Eye::Right].unwrap();
        let within = walk.state().person.old_glasses_within[Eye::Right].unwrap();
        assert!(within <= 0.125 + 1e-9 && old.cylinder == 0.0, "{power:+.2}: {old:?} to within {within}");
        assert!((old.sphere - power).abs() <= within + 0.06, "{power:+.2}: {old:?} to within {within}");
    }
}

#[test]
fn every_trial_is_made_of_free_lenses_at_most_two() {
    let walk = neutralised(outreach(), Eyes::both(rx(-6.3, -1.4, 30.0)), None);
    let free: Vec<f64> = outreach().state().fitted.stock.pieces().iter().map(|piece| piece.marked_power().0).collect();
    for (held, _) in trials(&walk) {
        let one = |power: f64| power == 0.0 || free.iter().any(|mark| (mark - power).abs() < 1e-9);
        assert!(one(held) || free.iter().any(|mark| one(held - mark)), "{held:+.2}");
    }
}

#[test]
fn cylinder_and_axis_are_found_in_two_meridians() {
    for axis in [1.0, 20.0, 45.0, 90.0, 135.0, 170.0, 180.0] {
        for (sphere, cylinder) in [(-3.1, -1.6), (2.4, -4.3), (0.3, -0.8), (-8.2, -2.2)] {
            let glasses = Eyes::new(rx(sphere, cylinder, axis), rx(sphere + 0.5, 0.0, 180.0));
            let walk = neutralised(full(), glasses, None);
            let person = &walk.state().person;
            for eye in Eye::BOTH {
                let off = person.old_glasses[eye].unwrap().power() - glasses[eye];
                for meridian in [axis, axis + 90.0] {
                    let within = person.old_glasses_within[eye].unwrap() + 0.06;
                    assert!(off.along(meridian).abs() <= within, "{glasses:?} {eye}: {off:?}\n{}", walk.story());
                }
            }
        }
    }
}

#[test]
fn a_lens_stronger_than_the_free_ones_is_not_written() {
    let walk = neutralised(full(), Eyes::both(rx(23.0, 0.0, 180.0)), Some(Eye::Left));
    assert_eq!(walk.state().person.old_glasses[Eye::Left], None);
    let walk = neutralised(outreach(), Eyes::both(rx(-18.5, 0.0, 180.0)), Some(Eye::Left));
    assert_eq!(walk.state().person.old_glasses[Eye::Left], None);
}

#[test]
fn the_reading_part_gives_the_addition() {
    for addition in [0.75, 1.5, 2.25, 3.0] {
        let mut walk = Walk::new(full());
        let far = rx(-1.25, 0.0, 180.0);
        walk.begin(ProcedureName::Neutralisation, Some(Eye::Right));
        while walk.guide().running().is_some() {
            let asked = walk.present();
            let words = asked.instruction.to_string();
            let lens = if words.contains("reading part") { far + rx(addition, 0.0, 180.0) } else { far };
            let answer = if words.contains("Is there a reading part") {
                Answer::Yes
            } else {
                glasses_answer(Eyes::both(lens), &asked)
            };
            walk.answer(answer);
        }
        let found = walk.state().person.old_addition.unwrap();
        assert!((found - addition).abs() <= 0.25, "{addition} {found}\n{}", walk.story());
    }
}

#[test]
fn whatever_is_answered_it_ends_and_nothing_is_written_that_was_passed_over() {
    for answer in [Answer::With { dull: false }, Answer::Against { dull: false }, Answer::Neither] {
        let mut walk = Walk::new(full());
        walk.begin(ProcedureName::Neutralisation, None);
        while walk.guide().running().is_some() {
            let asked = walk.present().question;
            walk.answer(match asked {
                Question::YesOrNo => Answer::Yes,
                Question::ObliqueMeridian => Answer::Degrees(30),
                _ => answer,
            });
            assert!(walk.asked.len() < 200, "it ends");
        }
    }
    let mut walk = Walk::new(full());
    walk.begin(ProcedureName::Neutralisation, None);
    while walk.guide().running().is_some() {
        walk.take(dioptray::guide::skip);
    }
    assert_eq!(walk.state().person.old_glasses, Eyes::both(None));
}
