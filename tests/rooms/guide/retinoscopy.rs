//! Retinoscopy: the distance first, a working lens that stays in its cell, and what is taken off.

use dioptray::exam::{Answer, Complaint, Detail, Event, ProcedureName};
use dioptray::frame::Move;
use dioptray::guide::{Question, Remark};
use dioptray::optics::{Eye, Eyes};

use super::set::{Walk, outreach, sphere};
use crate::steady::{Person, rx};

fn person() -> Person {
    Person::new(rx(-2.25, -1.50, 35.0), rx(1.25, -0.75, 100.0), 30, Complaint::FarBlur)
}

/// Whether before an eye the cells hold a lens of this mark in the cell.
fn stands(walk: &Walk, eye: Eye, cell: u8, mark: f64) -> bool {
    let lens = walk.state().fitted.in_cell(eye, cell);
    lens.is_some_and(|lens| lens.stocked.piece.lens == sphere(mark))
}

#[test]
fn the_working_lens_stays_in_one_cell_and_comes_out_alone_at_the_end() {
    for (metres, mark) in [(2.0 / 3.0, 1.50), (0.6, 1.75), (0.5, 2.00), (1.0, 1.00)] {
        let mut person = person();
        person.room(metres);
        let mut walk = Walk::new(outreach());
        walk.begin(ProcedureName::Retinoscopy, None);
        assert_eq!(walk.present().question, Question::WorkingDistance);
        walk.answer(Answer::Metres(metres));
        let words = walk.present().instruction.to_string();
        assert!(words.contains(&format!("working lens is +{mark:.2}")), "{words}");
        walk.answer(Answer::First);
        let cell = (2..=4).find(|&cell| stands(&walk, Eye::Right, cell, mark)).unwrap();
        while walk.present().question != Question::Ready {
            assert!(Eye::BOTH.into_iter().all(|eye| stands(&walk, eye, cell, mark)), "{metres}\n{}", walk.tail());
            let answer = person.answers(&walk.present(), &walk.exam);
            walk.answer(answer);
        }
        let taken: Vec<&Event> = walk.exam.standing_steps().last().unwrap().iter().collect();
        for eye in Eye::BOTH {
            let out = taken.iter().any(|event| {
                matches!(event, Event::Moved(Move::Take { piece, eye: of, cell: from })
                    if *of == eye && *from == cell && piece.lens == sphere(mark))
            });
            assert!(out, "{metres}: {eye} {taken:?}");
        }
        walk.answer(Answer::Done);
        for eye in Eye::BOTH {
            let found = walk.state().results.retinoscopy[eye].unwrap();
            assert!(found.miss(person.needs[eye]) < 0.25, "{metres} {eye}: {found:?}");
            let stands = walk.state().fitted.in_front_of(eye).net;
            assert!(stands.miss(found) < 0.30, "{metres} {eye}: {stands:?} {found:?}");
        }
    }
}

#[test]
fn a_distance_corrected_while_it_runs_is_the_one_that_is_taken_off() {
    let mut person = person();
    person.room(0.5);
    let mut walk = Walk::new(outreach());
    walk.begin(ProcedureName::Retinoscopy, None);
    walk.answers(&[Answer::Metres(2.0 / 3.0), Answer::First]);
    for nth in 0.. {
        if walk.guide().running().is_none() {
            break;
        }
        if nth == 9 {
            walk.detail(Detail::WorkingMetres(0.5));
            let said = Remark::WorkingLens { power: 2.0, in_frame: Some(1.5) };
            assert!(walk.present().remarks.contains(&said), "{:?}", walk.present().remarks);
        }
        let answer = person.answers(&walk.present(), &walk.exam);
        walk.answer(answer);
    }
    for eye in Eye::BOTH {
        let found = walk.state().results.retinoscopy[eye].unwrap();
        assert!(found.miss(person.needs[eye]) < 0.25, "{eye}: {found:?}\n{}", walk.tail());
    }
}

#[test]
fn what_each_slip_of_distance_does_is_said() {
    let mut walk = Walk::new(outreach());
    walk.begin(ProcedureName::Retinoscopy, None);
    let why = walk.present().why.to_string();
    assert!(why.contains("nearer than said comes out too plus") && why.contains("farther too minus"), "{why}");
    walk.answers(&[Answer::Metres(0.5), Answer::First, Answer::Degrees(90)]);
    assert!(walk.present().why.to_string().contains("looks at your face"), "{}", walk.present().why);
    // said as it is: nearer by 5 cm at 67 cm
    assert!((1.0_f64 / 0.62 - 1.0 / 0.67 - 0.12).abs() < 0.005);
}

#[test]
fn whatever_is_seen_retinoscopy_ends() {
    for answer in [
        Answer::Neither,
        Answer::Breaks,
        Answer::With { dull: true },
        Answer::With { dull: false },
        Answer::Against { dull: true },
        Answer::Against { dull: false },
    ] {
        let mut walk = Walk::new(outreach());
        walk.begin(ProcedureName::Retinoscopy, None);
        while walk.guide().running().is_some() {
            let question = walk.present().question;
            walk.answer(match question {
                Question::WorkingDistance => Answer::Metres(0.5),
                Question::WorkingLens => Answer::First,
                Question::ObliqueMeridian => Answer::Degrees(60),
                Question::Ready => Answer::Done,
                _ => answer,
            });
            assert!(walk.asked.len() < 800, "{answer:?} does not end");
        }
    }
}

#[test]
fn the_age_corrected_while_near_is_looked_for_begins_from_it() {
    let mut walk = Walk::new(outreach());
    walk.detail(Detail::AgeYears(50));
    walk.begin(ProcedureName::Near, None);
    let shown = |walk: &Walk| walk.present().shown.from.map(|power| power.m);
    assert_eq!(shown(&walk).map(|m| (m * 4.0).round()), Eyes::both(5.0));
    walk.detail(Detail::AgeYears(65));
    let asked = walk.present().instruction.to_string();
    assert!(asked.contains("addition +2.25"), "{asked}");
}
