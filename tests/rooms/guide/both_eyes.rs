//! Balance and near: what both eyes together may change, and what they may not.

use dioptray::exam::{Accepted, Answer, Complaint, Detail, Event, ProcedureName};
use dioptray::frame::Move;
use dioptray::guide::{Question, Show};
use dioptray::optics::{Acuity, Eye, Eyes, Power, SpheroCylinder};

use super::set::{Walk, outreach};
use crate::steady::{Person, rx};

/// Somebody who wears these glasses in the frame, each eye having read a line.
fn before(right: f64, left: f64, lines: [Acuity; 2]) -> Walk {
    let mut walk = Walk::new(outreach());
    walk.detail(Detail::AgeYears(52));
    for (eye, power) in [(Eye::Right, right), (Eye::Left, left)] {
        walk.detail(Detail::OldGlasses(eye, SpheroCylinder { sphere: power, cylinder: 0.0, axis: 180.0 }));
        walk.begin(ProcedureName::FirstLens, Some(eye));
        walk.answer(Answer::Second);
        walk.begin(ProcedureName::OverMinusCheck, Some(eye));
        walk.answer(Answer::Read(lines[eye as usize]));
        // an eye that reads 6/18 or worse is not asked through the fog
        if walk.guide().running().is_some() {
            walk.answer(Answer::Read(Acuity::of_6_m(24.0)));
        }
    }
    walk
}

fn moves(walk: &Walk, from: usize) -> Vec<Move> {
    let steps = walk.exam.standing_steps();
    let all = steps[from..].iter().flatten();
    all.filter_map(|event| if let Event::Moved(step) = event { Some(step.clone()) } else { None }).collect()
}

const BOTH_6_6: fn() -> [Acuity; 2] = || [Acuity::of_6_m(6.0), Acuity::of_6_m(6.0)];

#[test]
fn whatever_is_answered_no_eye_ends_with_less_plus_or_more_than_a_quarter_more() {
    let answers = [Answer::First, Answer::Second, Answer::Same];
    let compared = [Answer::Clearer, Answer::Same, Answer::Worse];
    for code in 0..81 {
        let mut walk = before(-2.75, -4.25, BOTH_6_6());
        let alone = walk.guide().found();
        let (steps, mut rest) = (walk.exam.standing_steps().len(), code);
        walk.begin(ProcedureName::Balance, None);
        while walk.guide().running().is_some() {
            let digit = rest % 3;
            rest /= 3;
            let answer = if walk.present().question == Question::ClearerEye { answers[digit] } else { compared[digit] };
            assert_eq!(walk.present().show, Show::Compare, "held, not built");
            walk.answer(answer);
            let now = walk.guide().found();
            for eye in Eye::BOTH {
                let moved = now[eye].m - alone[eye].m;
                assert!((-1e-9..=0.25 + 1e-9).contains(&moved), "{code}: {eye} {moved}");
            }
        }
        let built = moves(&walk, steps);
        let cells = built.iter().filter(|step| matches!(step, Move::Put { .. } | Move::Take { .. })).count();
        let moved = walk.guide().found() != alone;
        assert!(moved || cells == 0, "{code}: the correction stays as it was: {built:?}");
    }
}

#[test]
fn what_was_added_is_taken_back_when_it_is_left_or_passed_over() {
    for leaves in [true, false] {
        let mut walk = before(1.0, 1.25, BOTH_6_6());
        let alone = walk.guide().found();
        walk.begin(ProcedureName::Balance, None);
        walk.answers(&[Answer::Second, Answer::Second]);
        if leaves {
            walk.take(dioptray::guide::leave);
        } else {
            while walk.guide().running().is_some() {
                walk.take(dioptray::guide::skip);
            }
        }
        walk.begin(ProcedureName::Writing, None);
        for eye in Eye::BOTH {
            assert!(walk.state().fitted.in_front_of(eye).net_with_hand.miss(alone[eye]) < 0.01, "{leaves} {eye}");
        }
    }
}

#[test]
fn eyes_a_line_apart_and_an_eye_that_reads_no_letter_are_not_balanced() {
    let lines = [
        [Acuity::of_6_m(6.0), Acuity::of_log_mar(0.1)],
        [Acuity::NoLetter, Acuity::of_6_m(6.0)],
        [Acuity::NoLetter, Acuity::NoLetter],
    ];
    for lines in lines {
        let mut walk = before(-2.0, -1.0, lines);
        walk.begin(ProcedureName::Balance, None);
        assert!(walk.guide().running().is_none(), "{lines:?}");
    }
    let mut walk = before(-2.0, -1.0, [Acuity::of_6_m(6.0), Acuity::of_log_mar(0.08)]);
    walk.begin(ProcedureName::Balance, None);
    assert!(walk.guide().running().is_some());
}

#[test]
fn no_addition_below_three_quarters_is_offered_at_any_age() {
    for age in 14..=90 {
        for answer in [Answer::Clearer, Answer::Same, Answer::Worse] {
            let mut walk = Walk::new(outreach());
            walk.detail(Detail::AgeYears(age));
            walk.begin(ProcedureName::Near, None);
            while walk.guide().running().is_some() {
                let question = walk.present().question;
                walk.answer(match question {
                    Question::PrintRead => Answer::Print(if age < 50 { 5.0 } else { 10.0 }),
                    Question::NearestClear => Answer::Centimetres(30.0),
                    Question::FarthestClear => Answer::Centimetres(60.0),
                    _ => answer,
                });
            }
            let addition = walk.guide().findings().addition;
            assert!(addition.is_none_or(|addition| addition >= 0.75), "{age}: {addition:?}");
        }
    }
}

// a chart at 3 m: what was tried near stays, and what is taken off far away is added again
#[test]
fn the_near_power_that_was_tried_is_what_is_written() {
    let mut person = Person::before_a_chart_at(3.0, rx(-2.0, 0.0, 180.0), rx(-1.5, 0.0, 180.0), 58, Complaint::FarBlur);
    let mut walk = Walk::new(outreach());
    walk.run_to_the_end(&mut person);
    let tried = walk.asked.iter().rev().find(|(asked, _)| asked.question == Question::PrintRead).unwrap().0.shown.to;
    let prescription = dioptray::exam::Prescription::of(walk.state(), 1);
    for eye in Eye::BOTH {
        let written = prescription.eye(eye).unwrap().written.power().m + prescription.additions[eye].unwrap().0;
        assert!((written - tried[eye].m).abs() <= 0.125 + 0.06, "{eye}: {written} {tried:?}");
    }
}

#[test]
fn a_lens_changed_by_hand_before_one_eye_gives_each_its_own_addition() {
    let mut walk = Walk::new(outreach());
    walk.detail(Detail::AgeYears(60));
    walk.begin(ProcedureName::Near, None);
    walk.answers(&[Answer::Same, Answer::Same, Answer::Print(5.0)]);
    let (piece, cell) = {
        let lens = walk.state().fitted.in_cells(Eye::Left).next().unwrap();
        (lens.stocked.piece.clone(), lens.cell)
    };
    let more = walk.state().fitted.stock.free_piece(&super::set::sphere(2.25)).unwrap().piece.clone();
    let steps =
        [Move::Take { piece, eye: Eye::Left, cell }, Move::Put { piece: more, eye: Eye::Left, cell, direction: None }];
    walk.exam.apply(&steps.map(Event::Moved)).unwrap();
    walk.answers(&[Answer::Centimetres(30.0), Answer::Centimetres(60.0)]);
    assert_eq!(walk.guide().findings().addition, Some(2.0));
    assert_eq!(walk.guide().findings().addition_of_left, Some(2.25));
    // an addition stands on a power that was found
    let accepted = Eye::BOTH.map(|eye| Event::Accepted(Accepted::Refraction(eye, Some(Power::ZERO))));
    walk.exam.apply(&accepted).unwrap();
    walk.begin(ProcedureName::Writing, None);
    while walk.guide().running().is_some() {
        let answer =
            if walk.present().question == Question::Ready { Answer::Done } else { Answer::Read(Acuity::of_6_m(6.0)) };
        walk.answer(answer);
    }
    let additions = dioptray::exam::Prescription::of(walk.state(), 1).additions;
    assert_eq!(additions.map(|addition| addition.unwrap().0), Eyes::new(2.0, 2.25));
}
