//! Laws of an exam: undo, redo, replay and refusal, and the JSON in which its events are kept.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test stops where something is not as it must be")]

use crate::invented::opening;
use crate::kept;
use dioptray::exam::{
    Accepted, AcuityNote, Answer, Complaint, Detail, EarlierRetinoscopy, Event, Exam, ExamError, Given, GuideEvent,
    Judgement, Opening, ProcedureName, Shown, Through, Tried,
};
use dioptray::frame::Move;
use dioptray::kit::{Lens, Mark, Piece};
use dioptray::optics::{Acuity, Dioptres, Eye, Eyes, Millimetres, Power, Prism, SpheroCylinder};
use proptest::option;
use proptest::prelude::*;
use proptest::sample::select;

type Steps = Vec<Vec<Event>>;

fn any_eye() -> impl Strategy<Value = Eye> {
    select(&Eye::BOTH[..])
}

/// A few pieces of the box, so that they meet in cells and rings often, and one that it does not have.
fn any_piece() -> impl Strategy<Value = Piece> {
    let labels = ["-3.00 sphere", "+0.37 sphere", "-0.75 cylinder", "-1.00 cylinder", "2 prism", "0.25 cross cylinder"];
    let mut lenses: Vec<Lens> = labels.iter().map(|label| label.parse().unwrap()).collect();
    lenses.extend([Lens::Accessory("slit".into()), Lens::Sphere(Mark::nearest(19.0))]);
    (select(lenses), 1..=2u8).prop_map(|(lens, number)| Piece { lens, number })
}

/// Moves, a good part of which can be made; cell 5 is not there, direction 365 is not on the dial.
fn any_move() -> impl Strategy<Value = Move> {
    let degrees = select(vec![5u16, 90, 180, 365]);
    let fitting = proptest::bool::weighted(0.9);
    (any_piece(), any_eye(), 1..=5u8, degrees, 0..6u8, fitting).prop_map(
        |(piece, eye, cell, degrees, kind, fitting)| {
            let direction = (piece.lens.has_direction() == fitting).then_some(degrees);
            match kind {
                0 | 1 => Move::Put { piece, eye, cell, direction },
                2 => Move::Take { piece, eye, cell },
                3 => Move::Turn { eye, cell, direction: degrees },
                4 => Move::Hold { piece, eye, direction },
                _ => Move::Lay { piece, eye },
            }
        },
    )
}

fn any_acuity() -> impl Strategy<Value = Acuity> {
    prop_oneof![
        4 => (0.3..20.0, -4..=4i8).prop_map(|(mar, letters)| Acuity::Line { mar, letters }),
        1 => (0.3..20.0, -4..=4i8, select(&[(6.0, 3.0), (4.0, 6.0)][..])).prop_map(|(mar, letters, (made_for_m, stood_at_m))| {
            Acuity::ChartLine { mar, letters, made_for_m, stood_at_m }
        }),
        1 => select(&Acuity::WITHOUT_LETTERS[..]),
    ]
}

fn any_rx() -> impl Strategy<Value = SpheroCylinder> {
    (-40.0..40.0, -6.0..0.0, 0.001..180.0).prop_map(|(sphere, cylinder, axis)| SpheroCylinder {
        sphere,
        cylinder,
        axis,
    })
}

fn any_detail() -> impl Strategy<Value = Detail> {
    prop_oneof![
        any::<String>().prop_map(Detail::Label),
        (1..=120u8).prop_map(Detail::AgeYears),
        select(kept::all_of::<Complaint>("Complaint")).prop_map(Detail::Complaint),
        (any_eye(), 15.0..45.0).prop_map(|(eye, mm)| Detail::EyePd(eye, Millimetres(mm))),
        (any_eye(), 15.0..45.0).prop_map(|(eye, mm)| Detail::FramePd(eye, Millimetres(mm))),
        (0.0..40.0).prop_map(|mm| Detail::PlannedVertex(Millimetres(mm))),
        (0.5..10.0).prop_map(Detail::ChartMetres),
        (0.1..2.0).prop_map(Detail::NearMetres),
        (0.1..2.0).prop_map(Detail::WorkingMetres),
        (any_eye(), any_rx()).prop_map(|(eye, rx)| Detail::OldGlasses(eye, rx)),
        (0.25..4.0).prop_map(Detail::OldAddition),
        any_eye().prop_map(Detail::DominantEye),
        (10..99usize, any_rx(), any_rx()).prop_map(|(eyes, differs, spread)| {
            let (differs, spread) = (differs.power(), spread.power());
            Detail::EarlierRetinoscopy(EarlierRetinoscopy { eyes, differs, spread })
        }),
    ]
}

/// Every answer there is, and more of those with a figure.
fn any_answer() -> impl Strategy<Value = Answer> {
    let pinned = kept::events().into_iter().filter_map(|event| match event {
        Event::Guide(GuideEvent::Answered { answer, .. }) => Some(answer),
        _ => None,
    });
    prop_oneof![
        5 => select(pinned.collect::<Vec<_>>()),
        1 => any_acuity().prop_map(Answer::Read),
        1 => (1..=24u8).prop_map(Answer::HalfHours),
        1 => (1..=180u16).prop_map(Answer::Degrees),
        1 => (5.0..200.0).prop_map(Answer::Centimetres),
    ]
}

fn any_shown() -> impl Strategy<Value = Shown> {
    let pair = || (any_rx(), any_rx()).prop_map(|(right, left)| Eyes::new(right.power(), left.power()));
    let held = || option::of(any_rx().prop_map(SpheroCylinder::power));
    let marks = (held(), held()).prop_map(|(right, left)| Eyes::new(right, left));
    (pair(), pair(), pair(), marks).prop_map(|(from, to, cells, mark_in_hand)| Shown { from, to, cells, mark_in_hand })
}

fn any_given() -> impl Strategy<Value = Box<Given>> {
    (any_shown(), option::of(5..90_u8), option::of(any_acuity()), any::<bool>()).prop_map(
        |(shown, age_years, unaided, crossed)| {
            Box::new(Given {
                start: shown.to,
                age_years,
                unaided: Eyes::new(unaided, None),
                cross_cylinders: if crossed { vec![Dioptres(0.25), Dioptres(0.5)] } else { Vec::new() },
                ..Given::default()
            })
        },
    )
}

fn any_guide_event() -> impl Strategy<Value = GuideEvent> {
    let procedures = kept::all_of::<ProcedureName>("ProcedureName");
    prop_oneof![
        (select(procedures), option::of(any_eye()), any_given())
            .prop_map(|(procedure, eye, given)| GuideEvent::Began { procedure, eye, given }),
        any_shown().prop_map(GuideEvent::SetOut),
        any_shown().prop_map(|shown| GuideEvent::TakenOver(shown.cells)),
        (any_answer(), any_shown()).prop_map(|(answer, shown)| GuideEvent::Answered { answer, shown }),
        any::<bool>().prop_map(|no_lens| GuideEvent::Skipped { no_lens }),
        select(vec![GuideEvent::Repeated, GuideEvent::Left]),
        (1..9u32).prop_map(|version| GuideEvent::ProceduresChanged { version }),
    ]
}

fn any_tried() -> impl Strategy<Value = Tried> {
    let judgements = kept::all_of::<Judgement>("Judgement");
    let power = (-40.0..40.0, -3.0..3.0, -3.0..3.0).prop_map(|(m, j0, j45)| Power { m, j0, j45 });
    (any_eye(), power, option::of(any_acuity()), option::of(select(judgements)), any::<bool>())
        .prop_map(|(eye, power, acuity, judgement, kept)| Tried { eye, power, acuity, judgement, kept })
}

fn any_accepted() -> impl Strategy<Value = Accepted> {
    let power = || option::of((-40.0..40.0, -3.0..3.0, -3.0..3.0).prop_map(|(m, j0, j45)| Power { m, j0, j45 }));
    let prism = option::of((-20.0..20.0, -20.0..20.0).prop_map(|(x, y)| Prism { x, y }));
    prop_oneof![
        (any_eye(), power()).prop_map(|(eye, power)| Accepted::Refraction(eye, power)),
        (any_eye(), power()).prop_map(|(eye, power)| Accepted::Retinoscopy(eye, power)),
        option::of(0.0..2.0).prop_map(Accepted::ChartAllowance),
        option::of(0.25..4.0).prop_map(Accepted::Addition),
        (any_eye(), prism).prop_map(|(eye, prism)| Accepted::Prism(eye, prism)),
    ]
}

fn any_acuity_note() -> impl Strategy<Value = AcuityNote> {
    let throughs = kept::all_of::<Through>("Through");
    (option::of(any_eye()), select(throughs), any_acuity()).prop_map(|(eye, through, acuity)| AcuityNote {
        eye,
        through,
        acuity,
    })
}

/// Every event there is but the end of the exam, which comes once, and more of those that change what is in the cells.
fn any_event() -> impl Strategy<Value = Event> {
    let pinned = kept::events().into_iter().filter(|event| *event != Event::Finished);
    prop_oneof![
        4 => select(pinned.collect::<Vec<_>>()),
        4 => any_detail().prop_map(Event::Detail),
        8 => any_move().prop_map(Event::Moved),
        2 => (any_eye(), option::of(any_rx())).prop_map(|(eye, rx)| Event::Wanted(eye, rx)),
        2 => any_acuity_note().prop_map(Event::Acuity),
        2 => any_tried().prop_map(Event::Tried),
        2 => any_accepted().prop_map(Event::Accepted),
        3 => any_guide_event().prop_map(Event::Guide),
        1 => any::<String>().prop_map(Event::Note),
        1 => any::<String>().prop_map(Event::Amended),
        1 => Just(Event::Undone),
        1 => Just(Event::Redone),
    ]
}

/// Steps as they might come from anywhere: sound, refused, undone, redone, and at times the end of the exam.
fn any_steps() -> impl Strategy<Value = Steps> {
    let step = prop_oneof![
        10 => proptest::collection::vec(any_event(), 0..4),
        3 => Just(vec![Event::Undone]),
        2 => Just(vec![Event::Redone]),
    ];
    let finish = option::weighted(0.2, 0..60usize);
    (proptest::collection::vec(step, 0..60), finish).prop_map(|(mut steps, finish)| {
        if let Some(at) = finish {
            steps.insert(at.min(steps.len()), vec![Event::Finished]);
        }
        steps
    })
}

fn changes_procedures(step: &[Event]) -> bool {
    step.iter().any(|event| event.procedures_version().is_some())
}

/// An exam with those of the steps that it accepts, and these.
fn exam_of(steps: &Steps) -> (Exam, Steps) {
    let mut exam = Exam::open(opening("any"));
    let accepted = steps.iter().filter(|step| exam.apply(step).is_ok()).cloned().collect();
    (exam, accepted)
}

proptest! {
    #[test]
    fn undo_then_redo_changes_nothing(steps in any_steps()) {
        let (mut exam, _) = exam_of(&steps);
        let before = exam.clone();
        match exam.apply(&[Event::Undone]) {
            Ok(()) => {
                prop_assert_eq!(exam.redoable(), before.redoable() + 1);
                exam.apply(&[Event::Redone]).unwrap();
            }
            Err(error) => {
                let expected = match before.standing_steps().last() {
                    _ if before.state().finished => ExamError::Closed,
                    Some(step) if changes_procedures(step) => ExamError::OtherProcedures,
                    _ => ExamError::NothingToUndo,
                };
                prop_assert_eq!(error, expected);
            }
        }
        prop_assert_eq!(exam, before);
    }

    #[test]
    fn undoing_everything_leads_back_as_far_as_the_same_procedures_and_redoing_everything_forth_again(steps in any_steps()) {
        let (mut exam, _) = exam_of(&steps);
        prop_assume!(!exam.state().finished);
        while exam.redoable() > 0 {
            exam.apply(&[Event::Redone]).unwrap();
        }
        let end = exam.clone();
        let changed = exam.standing_steps().iter().rposition(|step| changes_procedures(step));
        let stays = changed.map_or(0, |changed| changed + 1);
        let back = exam.standing_steps().len() - stays;
        for _ in 0..back {
            exam.apply(&[Event::Undone]).unwrap();
        }
        let end_of_undo = changed.map_or(ExamError::NothingToUndo, |_| ExamError::OtherProcedures);
        prop_assert_eq!(exam.apply(&[Event::Undone]), Err(end_of_undo));
        prop_assert_eq!(exam.state(), &exam.state_after(stays).unwrap());
        if changed.is_none() {
            let beginning = Exam::open(opening("any"));
            prop_assert_eq!(exam.state(), beginning.state());
        }
        for _ in 0..back {
            exam.apply(&[Event::Redone]).unwrap();
        }
        prop_assert_eq!(exam.apply(&[Event::Redone]), Err(ExamError::NothingToRedo));
        prop_assert_eq!(exam, end);
    }

    /// What the logbook does after a crash: the steps as JSON, in order, onto the beginning as JSON.
    #[test]
    fn replaying_the_steps_from_json_gives_the_same_exam(steps in any_steps()) {
        let (exam, accepted) = exam_of(&steps);
        let beginning: Opening = through_json(exam.opening());
        let replayed = Exam::replay(beginning, accepted.iter().map(through_json)).unwrap();
        prop_assert_eq!(replayed, exam);
    }

    #[test]
    fn a_history_with_a_refused_step_is_refused_at_that_step(steps in any_steps()) {
        let mut exam = Exam::open(opening("any"));
        let refused = steps.iter().position(|step| exam.apply(step).is_err());
        let history = refused.map_or(steps.as_slice(), |place| &steps[..=place]);
        match (Exam::replay(opening("any"), history.to_vec()), refused) {
            (Ok(replayed), None) => prop_assert_eq!(replayed, exam),
            (Err((place, _)), Some(refused)) => prop_assert_eq!(place, refused),
            (replayed, refused) => prop_assert!(false, "{replayed:?} where {refused:?} was refused"),
        }
    }

    #[test]
    fn every_step_has_a_revision_of_its_own_and_undoing_another_lineage(steps in any_steps()) {
        let mut exam = Exam::open(opening("any"));
        let mut seen = vec![exam.revision()];
        for step in &steps {
            let before = exam.lineage();
            if exam.apply(step).is_err() || step.is_empty() {
                prop_assert_eq!(Some(&exam.revision()), seen.last());
                continue;
            }
            prop_assert!(!seen.contains(&exam.revision()));
            seen.push(exam.revision());
            let rewound = matches!(step.as_slice(), [Event::Undone | Event::Redone]);
            prop_assert_eq!(exam.lineage() != before, rewound);
        }
    }

    #[test]
    fn the_steps_that_stand_alone_give_the_same_state(steps in any_steps()) {
        let (exam, _) = exam_of(&steps);
        let mut straight = Exam::open(opening("any"));
        for step in exam.standing_steps() {
            straight.apply(step).unwrap();
        }
        prop_assert_eq!(straight.state(), exam.state());
    }

    #[test]
    fn a_refused_step_changes_nothing_and_check_tells_it_beforehand(steps in any_steps()) {
        let mut exam = Exam::open(opening("any"));
        for step in &steps {
            let before = exam.clone();
            let checked = exam.check(step.clone()).map(|_| ());
            prop_assert_eq!(&exam, &before);
            let done = exam.apply(step);
            prop_assert_eq!(&checked, &done);
            if done.is_err() {
                prop_assert_eq!(&exam, &before);
            }
        }
    }

    #[test]
    fn a_new_step_ends_what_could_be_redone(steps in any_steps(), note in any::<String>()) {
        let (mut exam, _) = exam_of(&steps);
        prop_assume!(!exam.state().finished);
        exam.apply(&[Event::Note(note)]).unwrap();
        prop_assert_eq!(exam.redoable(), 0);
        prop_assert_eq!(exam.apply(&[Event::Redone]), Err(ExamError::NothingToRedo));
    }

    #[test]
    fn a_closed_exam_changes_by_amendments_only(steps in any_steps(), step in proptest::collection::vec(any_event(), 1..4)) {
        let (mut exam, _) = exam_of(&steps);
        if !exam.state().finished {
            exam.apply(&[Event::Finished]).unwrap();
        }
        let mut before = exam.state().clone();
        match exam.apply(&step) {
            Ok(()) => {
                prop_assert!(step.iter().all(Event::is_amendment), "{step:?} changed a closed exam");
                // what was added is added behind, and takes nothing away
                let now = exam.state();
                prop_assert!(now.amendments.starts_with(&before.amendments));
                prop_assert!(now.came_back.len() >= before.came_back.len());
                before.amendments.clone_from(&now.amendments);
                before.came_back.clone_from(&now.came_back);
            }
            Err(error) => prop_assert!([ExamError::Closed, ExamError::NoneCameBack].contains(&error), "{error}"),
        }
        prop_assert_eq!(exam.state(), &before);
    }

    #[test]
    fn no_piece_is_lost_or_doubled_by_any_steps(steps in any_steps()) {
        let (exam, _) = exam_of(&steps);
        let pieces = |exam: &Exam| -> Vec<Piece> {
            exam.state().fitted.stock.pieces().iter().map(|stocked| stocked.piece.clone()).collect()
        };
        prop_assert_eq!(pieces(&exam), pieces(&Exam::open(opening("any"))));
    }

    #[test]
    fn every_event_reads_back_from_json_as_it_was(event in any_event()) {
        prop_assert_eq!(&through_json(&event), &event);
    }

    /// Every finite number, to the last bit.
    #[test]
    fn numbers_read_back_to_the_last_bit(bits in any::<u64>()) {
        let number = f64::from_bits(bits);
        prop_assume!(number.is_finite());
        let Event::Detail(Detail::ChartMetres(back)) = through_json(&Event::Detail(Detail::ChartMetres(number))) else {
            panic!("another event came back");
        };
        prop_assert_eq!(back.to_bits(), number.to_bits());
    }
}

fn through_json<T: serde::Serialize + serde::de::DeserializeOwned>(value: &T) -> T {
    serde_json::from_str(&serde_json::to_string(value).unwrap()).unwrap()
}

#[test]
fn undo_and_redo_stand_alone() {
    let mut exam = Exam::open(opening("any"));
    exam.apply(&[Event::Note("first".to_owned())]).unwrap();
    for event in [Event::Undone, Event::Redone] {
        for step in [[event.clone(), Event::Finished], [Event::Finished, event]] {
            let refusal = exam.apply(&step).unwrap_err();
            assert!(matches!(refusal, ExamError::NotAlone | ExamError::Closed), "{refusal:?}");
        }
    }
    assert_eq!(exam.standing_steps().len(), 1);
}

#[test]
fn a_closing_step_ends_the_changes_even_within_itself() {
    let mut exam = Exam::open(opening("any"));
    let note = || Event::Note("after the end".to_owned());
    assert_eq!(exam.apply(&[Event::Finished, note()]), Err(ExamError::Closed));
    assert_eq!(exam.apply(&[Event::Amended("too early".to_owned())]), Err(ExamError::StillOpen));
    exam.apply(&[note(), Event::Finished, Event::Amended("and yet".to_owned())]).unwrap();
    assert_eq!(exam.state().amendments, ["and yet"]);
}
