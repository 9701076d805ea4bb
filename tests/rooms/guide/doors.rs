//! The doors: undo, repeat, skip, leave, by hand, and what is said when something is missing.

use approx::assert_abs_diff_eq;
use dioptray::exam::{Accepted, Answer, CheckedStep, Complaint, Detail, Event, Exam, GuideEvent, ProcedureName};
use dioptray::frame::Move;
use dioptray::guide::{self, Guide, GuideError, Question, Remark, Show};
use dioptray::kit::{Lens, Piece};
use dioptray::optics::{Acuity, Eye, Millimetres, Power};

use super::set::{Walk, cylinder, exam, outreach, outreach_lines, sphere};
use crate::steady::{Person, rx};

fn aged(age: u8) -> Walk {
    let mut walk = Walk::new(outreach());
    walk.detail(Detail::AgeYears(age));
    walk
}

fn put(walk: &mut Walk, power: f64, cell: u8) {
    let lens = sphere(power);
    let piece = walk.state().fitted.stock.free_piece(&lens).unwrap().piece.clone();
    let put = Move::Put { piece, eye: Eye::Right, cell, direction: None };
    walk.exam.apply(&[Event::Moved(put)]).unwrap();
}

/// Why a door of the guide gives no step.
fn refusal(walk: &Walk, door: impl FnOnce(&Guide, &Exam) -> Result<CheckedStep, GuideError>) -> GuideError {
    door(&walk.guide(), &walk.exam).unwrap_err()
}

#[test]
fn undo_takes_back_one_answer_with_its_moves() {
    let mut walk = aged(50);
    walk.begin_comparing(ProcedureName::BestSphere, Some(Eye::Right));
    let before = (walk.present(), walk.state().clone());
    walk.answer(Answer::Clearer);
    assert_ne!(walk.present(), before.0);
    walk.exam.apply(&[Event::Undone]).unwrap();
    assert_eq!((walk.present(), walk.state().clone()), before);
    walk.exam.apply(&[Event::Redone]).unwrap();
    assert_abs_diff_eq!(walk.found(Eye::Right).m, 1.0, epsilon = 0.06);
}

#[test]
fn an_exam_replayed_from_its_events_asks_the_same() {
    let mut walk = Walk::new(outreach());
    let mut person = Person::new(rx(-1.5, -1.0, 20.0), rx(-2.0, 0.0, 180.0), 30, Complaint::FarBlur);
    while !walk.guide().findings().written {
        let answer = person.answers(&walk.present(), &walk.exam);
        walk.answer(answer);
        let kept = serde_json::to_string(walk.exam.standing_steps()).unwrap();
        let steps: Vec<Vec<Event>> = serde_json::from_str(&kept).unwrap();
        let mut again = Exam::open(walk.exam.opening().clone());
        for step in &steps {
            again.apply(step).unwrap();
        }
        assert_eq!(guide::Guide::of(&again), walk.guide());
    }
}

#[test]
fn a_comparison_is_held_in_front_and_only_what_is_accepted_is_built_in() {
    let mut walk = aged(50);
    walk.begin_comparing(ProcedureName::BestSphere, Some(Eye::Right));
    let fitted = &walk.state().fitted;
    assert_eq!(fitted.held(Eye::Right).unwrap().stocked.piece.lens, sphere(1.0));
    assert!(fitted.in_front_of(Eye::Right).net.miss(Power::ZERO) < 1e-9);
    walk.answer(Answer::Clearer);
    assert_abs_diff_eq!(walk.state().fitted.in_front_of(Eye::Right).net.m, 1.0, epsilon = 0.06);
    // the eye never had less plus on the way: the lens in the hand stayed until the cells were built
    let step = walk.exam.standing_steps().last().unwrap();
    let moves: Vec<&Move> = step.iter().filter_map(|e| if let Event::Moved(m) = e { Some(m) } else { None }).collect();
    let put = moves.iter().position(|m| matches!(m, Move::Put { .. })).unwrap();
    let laid = moves.iter().position(|m| matches!(m, Move::Lay { .. }));
    assert!(laid.is_none_or(|laid| put < laid), "{moves:?}");
}

#[test]
fn a_power_set_by_hand_is_where_the_guide_goes_on() {
    let mut walk = aged(50);
    walk.begin_comparing(ProcedureName::BestSphere, Some(Eye::Right));
    put(&mut walk, -2.0, 1);
    let presentation = walk.present();
    assert_abs_diff_eq!(presentation.from.right.unwrap().m, -2.0, epsilon = 1e-9);
    walk.take(guide::set_out);
    let step = walk.exam.standing_steps().last().unwrap();
    assert!(step.iter().any(|event| matches!(event, Event::Guide(GuideEvent::TakenOver(_)))));
    walk.answer(Answer::Worse);
    assert_abs_diff_eq!(walk.found(Eye::Right).m, -2.0, epsilon = 1e-9);
    // and an answer without setting out again starts from there too
    put(&mut walk, -1.0, 2);
    walk.answer(Answer::Worse);
    assert_abs_diff_eq!(walk.found(Eye::Right).m, -3.0, epsilon = 0.06);
}

#[test]
fn repeating_asks_again_and_says_when_the_answers_do_not_agree() {
    let mut walk = aged(50);
    walk.begin_comparing(ProcedureName::BestSphere, Some(Eye::Right));
    assert_eq!(refusal(&walk, guide::repeat), GuideError::NothingToRepeat);
    let asked = walk.present();
    walk.answer(Answer::Clearer);
    walk.take(guide::repeat);
    assert_eq!(walk.present().to, asked.to);
    walk.answer(Answer::Worse);
    assert!(walk.present().remarks.iter().any(|remark| matches!(remark, Remark::Contradiction { .. })));
    assert!(walk.found(Eye::Right).miss(Power::ZERO) < 1e-9);
}

#[test]
fn clearer_with_plus_and_clearer_with_minus_from_one_place_is_said() {
    let mut walk = aged(50);
    walk.begin_comparing(ProcedureName::BestSphere, Some(Eye::Right));
    walk.answer(Answer::Clearer);
    walk.take(guide::leave);
    // back to nothing by hand, and the search asked for again
    let piece = walk.state().fitted.in_cells(Eye::Right).next().map(|l| (l.stocked.piece.clone(), l.cell)).unwrap();
    let take = Move::Take { piece: piece.0, eye: Eye::Right, cell: piece.1 };
    walk.exam.apply(&[Event::Moved(take)]).unwrap();
    walk.begin_comparing(ProcedureName::BestSphere, Some(Eye::Right));
    walk.answer(Answer::Same);
    walk.take(guide::leave);
    let piece = walk.state().fitted.in_cells(Eye::Right).next().map(|l| (l.stocked.piece.clone(), l.cell)).unwrap();
    let take = Move::Take { piece: piece.0, eye: Eye::Right, cell: piece.1 };
    walk.exam.apply(&[Event::Moved(take)]).unwrap();
    walk.begin_comparing(ProcedureName::BestSphere, Some(Eye::Right));
    walk.take(guide::skip);
    walk.answers(&[Answer::Clearer, Answer::Clearer]);
    let said: Vec<String> = walk.present().remarks.iter().map(|remark| remark.sentence().to_string()).collect();
    assert!(said.iter().any(|text| text.contains("do not agree")), "{said:?}");
}

#[test]
fn a_line_through_the_fog_that_contradicts_the_sphere_search_is_said() {
    let mut walk = aged(50);
    walk.begin(ProcedureName::BestSphere, Some(Eye::Right));
    let six = Answer::Read(Acuity::of_6_m(6.0));
    walk.answers(&[six, Answer::Worse, Answer::Worse]);
    walk.begin(ProcedureName::OverMinusCheck, Some(Eye::Right));
    walk.answer(Answer::Read(Acuity::of_6_m(7.5)));
    let remarks = walk.present().remarks;
    assert!(remarks.iter().any(|remark| matches!(remark, Remark::Contradiction { .. })), "{remarks:?}");
    assert!(remarks.contains(&Remark::TooMuchMinus(Eye::Right)));
}

#[test]
fn a_skipped_step_teaches_nothing_and_is_not_offered_again() {
    let mut walk = aged(50);
    walk.begin_comparing(ProcedureName::BestSphere, Some(Eye::Right));
    let skipped = walk.present().to;
    walk.take(guide::skip);
    assert_ne!(walk.present().to, skipped);
    assert_eq!(walk.present().bracket.unwrap().most_d, None);
    assert!(walk.state().trail.is_empty());
}

#[test]
fn fog_and_working_lens_are_not_forgotten_when_a_procedure_is_left() {
    let mut walk = aged(50);
    walk.begin(ProcedureName::Retinoscopy, None);
    walk.answers(&[Answer::Metres(2.0 / 3.0), Answer::First]);
    assert_abs_diff_eq!(walk.state().fitted.in_front_of(Eye::Left).net.m, 1.5, epsilon = 0.06);
    walk.begin(ProcedureName::BestSphere, Some(Eye::Left));
    assert_abs_diff_eq!(walk.state().fitted.in_front_of(Eye::Left).net.m, 0.0, epsilon = 0.06);
    walk.begin(ProcedureName::Balance, None);
    assert_abs_diff_eq!(walk.state().fitted.in_front_of(Eye::Right).net_with_hand.m, 1.0, epsilon = 0.06);
    walk.begin(ProcedureName::Writing, None);
    assert_abs_diff_eq!(walk.state().fitted.in_front_of(Eye::Right).net.m, 0.0, epsilon = 0.06);
}

#[test]
fn the_working_lens_is_said_at_every_sweep() {
    for (way, in_frame) in [(Answer::First, Some(1.5)), (Answer::Second, None)] {
        let mut walk = aged(50);
        walk.begin(ProcedureName::Retinoscopy, None);
        walk.answers(&[Answer::Metres(2.0 / 3.0), way, Answer::Degrees(90)]);
        for _ in 0..3 {
            assert!(walk.present().remarks.contains(&Remark::WorkingLens { power: 1.5, in_frame }));
            walk.answer(Answer::With { dull: false });
        }
    }
}

#[test]
fn an_answer_to_another_question_is_refused() {
    let mut walk = aged(50);
    walk.begin_comparing(ProcedureName::BestSphere, Some(Eye::Right));
    for answer in [Answer::With { dull: true }, Answer::Done, Answer::Degrees(20), Answer::Read(Acuity::NoLetter)] {
        assert_eq!(refusal(&walk, |guide, exam| guide::answer(guide, exam, answer)), GuideError::NotAnAnswer);
    }
    let without_eye = |guide: &Guide, exam: &Exam| guide::begin(guide, exam, ProcedureName::BestSphere, None);
    assert_eq!(refusal(&walk, without_eye), GuideError::NeedsAnEye(ProcedureName::BestSphere));
    walk.exam.apply(&[Event::Finished]).unwrap();
    let answer = |guide: &Guide, exam: &Exam| guide::answer(guide, exam, Answer::Clearer);
    assert!(matches!(refusal(&walk, answer), GuideError::Exam(_)));
}

#[test]
fn a_line_that_is_read_answers_a_comparison_by_its_letters() {
    let mut walk = aged(50);
    walk.begin(ProcedureName::BestSphere, Some(Eye::Right));
    walk.answer(Answer::Read(Acuity::of_6_m(9.0)));
    assert!(matches!(walk.present().question, Question::ClearerWith { before: Some(_) }));
    walk.answer(Answer::Read(Acuity::Line { mar: 1.5, letters: 2 }));
    assert_abs_diff_eq!(walk.found(Eye::Right).m, 0.25, epsilon = 0.06);
    assert_eq!(walk.state().acuities.last().unwrap().acuity, Acuity::Line { mar: 1.5, letters: 2 });
}

#[test]
fn a_missing_step_is_made_another_way_and_said() {
    // no loose quarter: two stacks differ by one
    let lines: Vec<_> = outreach_lines()
        .into_iter()
        .filter(|(lens, _)| !matches!(lens, Lens::Sphere(mark) if mark.dioptres().abs() < 0.45))
        .collect();
    let mut walk = Walk::new(exam(&lines));
    walk.detail(Detail::AgeYears(50));
    walk.begin(ProcedureName::BestSphere, Some(Eye::Right));
    walk.answer(Answer::Read(Acuity::of_6_m(6.0)));
    let presentation = walk.present();
    assert_abs_diff_eq!(presentation.shown.to.right.m, 0.25, epsilon = 0.06);
    assert!(presentation.remarks.contains(&Remark::InTheCells { eye: Eye::Right }));
    walk.answer(Answer::Worse);
    assert_abs_diff_eq!(walk.state().fitted.in_front_of(Eye::Right).net_with_hand.m, -0.25, epsilon = 0.06);

    // a box of whole dioptres: steps that cannot be made are passed over, and said
    let whole: Vec<_> = [1.0, -1.0, 2.0, -2.0].map(|power| (sphere(power), 2)).to_vec();
    let mut walk = Walk::new(exam(&whole));
    walk.detail(Detail::AgeYears(50));
    walk.begin(ProcedureName::BestSphere, Some(Eye::Right));
    walk.answer(Answer::Read(Acuity::of_6_m(6.0)));
    assert!(walk.guide().running().is_none());
    assert!(walk.present().remarks.iter().any(|remark| matches!(remark, Remark::NoLens { .. })));
}

#[test]
fn a_cylinder_that_cannot_be_made_is_not_made_up_for_with_spheres() {
    let lines: Vec<_> = outreach_lines().into_iter().filter(|(lens, _)| !matches!(lens, Lens::Cylinder(_))).collect();
    let mut walk = Walk::new(exam(&lines));
    walk.detail(Detail::AgeYears(50));
    walk.begin(ProcedureName::Fan, Some(Eye::Right));
    walk.answer(Answer::HalfHours(6));
    // the same fan would only be answered the same again
    assert!(walk.guide().running().is_none());
    let said: Vec<String> = walk.present().remarks.iter().map(|remark| remark.sentence().to_string()).collect();
    assert_eq!(said, ["right eye: no free lens for plano/−0.50×90 and +1.25 over it: skipped."]);
    assert!(walk.found(Eye::Right).miss(Power::ZERO) < 1e-9);
}

#[test]
fn without_a_cross_cylinder_it_is_said() {
    let lines: Vec<_> =
        outreach_lines().into_iter().filter(|(lens, _)| !lens.is_cross_cylinder() && !lens.is_cylinder()).collect();
    let mut walk = Walk::new(exam(&lines));
    walk.begin(ProcedureName::CrossCylinderSearch, Some(Eye::Right));
    assert!(walk.guide().running().is_none());
    assert!(walk.present().remarks.iter().any(|remark| matches!(remark, Remark::NoLens { .. })));
}

#[test]
fn the_stronger_cross_cylinder_is_taken_for_poor_acuity() {
    for (denominator, power) in [(6.0, 0.25), (12.0, 0.25), (18.0, 0.50)] {
        let mut walk = aged(50);
        walk.begin(ProcedureName::OverMinusCheck, Some(Eye::Right));
        walk.answer(Answer::Read(Acuity::of_6_m(denominator)));
        walk.begin(ProcedureName::CrossCylinderSearch, Some(Eye::Right));
        let Show::CrossCylinder { power: shown, .. } = walk.present().show else { panic!("no cross cylinder") };
        assert_eq!(shown.0, power, "6/{denominator}");
    }
}

#[test]
fn a_pinhole_that_does_not_help_goes_on_the_record() {
    let mut walk = aged(50);
    walk.begin(ProcedureName::SetUp, None);
    while walk.present().question != Question::LineRead {
        walk.take(guide::skip);
    }
    let poor = Answer::Read(Acuity::of_6_m(36.0));
    walk.answers(&[poor, poor]);
    assert!(walk.present().remarks.contains(&Remark::PinholeNoHelp(Eye::Right)));
    assert_eq!(walk.state().notes.len(), 1);
}

#[test]
fn a_frame_set_to_another_pupillary_distance_is_said() {
    let mut walk = aged(50);
    put(&mut walk, -5.0, 1);
    walk.detail(Detail::EyePd(Eye::Right, Millimetres(30.0)));
    walk.detail(Detail::FramePd(Eye::Right, Millimetres(34.0)));
    let remarks = walk.present().remarks;
    let Some(Remark::FramePd { eye, prism, off_mm }) =
        remarks.iter().find(|remark| matches!(remark, Remark::FramePd { .. }))
    else {
        panic!("{remarks:?}")
    };
    assert_eq!(*eye, Eye::Right);
    assert_abs_diff_eq!(*off_mm, 4.0, epsilon = 1e-9);
    assert_abs_diff_eq!(prism.amount(), 2.0, epsilon = 1e-9);
}

#[test]
fn a_lens_in_the_other_eye_is_not_asked_for() {
    // one +1.00 only, and it stands before the left eye
    let mut walk = Walk::new(exam(&[(sphere(1.0), 1), (sphere(-1.0), 1), (sphere(0.5), 1)]));
    walk.detail(Detail::AgeYears(50));
    let piece = Piece { lens: sphere(1.0), number: 1 };
    let there = Move::Put { piece: piece.clone(), eye: Eye::Left, cell: 1, direction: None };
    walk.exam.apply(&[Event::Moved(there)]).unwrap();
    walk.begin_comparing(ProcedureName::BestSphere, Some(Eye::Right));
    let step = walk.exam.standing_steps().last().unwrap();
    assert!(!step.iter().any(|event| matches!(event, Event::Moved(Move::Hold { piece: p, .. }) if *p == piece)));
    assert!(walk.present().remarks.iter().any(|remark| matches!(remark, Remark::OtherStep { .. })));
}

/// The lenses in the cells of the right eye.
fn in_right_cells(walk: &Walk) -> Vec<String> {
    walk.state().fitted.in_cells(Eye::Right).map(|lens| lens.stocked.piece.to_string()).collect()
}

// common practice, no source: what the examiner put in is where the next procedure begins, and nothing of it is thrown out
#[test]
fn whichever_procedure_begins_it_starts_from_the_lenses_that_stand_in_the_frame() {
    for &procedure in ProcedureName::ALL {
        let mut walk = aged(50);
        put(&mut walk, -4.0, 1);
        let cylinder = walk.state().fitted.stock.free_piece(&cylinder(-0.75)).unwrap().piece.clone();
        let turned = Move::Put { piece: cylinder, eye: Eye::Right, cell: 3, direction: Some(180) };
        walk.exam.apply(&[Event::Moved(turned)]).unwrap();
        let (stands, lenses) = (walk.state().fitted.in_front_of(Eye::Right).net, in_right_cells(&walk));
        walk.begin(procedure, procedure.eye_of(Eye::Right));
        assert!(walk.found(Eye::Right).miss(stands) < 1e-9, "{procedure}: {:?}", walk.found(Eye::Right));
        let taken_out = lenses.iter().filter(|lens| !in_right_cells(&walk).contains(lens)).count();
        // a fog or an addition goes into the cells, as a stack of its own
        let rebuilt = [ProcedureName::Balance, ProcedureName::Near, ProcedureName::Slit].contains(&procedure);
        assert!(taken_out == 0 || rebuilt, "{procedure}: {lenses:?}, then {:?}", in_right_cells(&walk));
    }
}

#[test]
fn what_was_accepted_is_written_when_nothing_was_led() {
    let mut walk = aged(50);
    put(&mut walk, -4.0, 1);
    let accepted = walk.state().fitted.in_front_of(Eye::Right).net;
    walk.exam.apply(&[Event::Accepted(Accepted::Refraction(Eye::Right, Some(accepted)))]).unwrap();
    let taken = Move::Take { piece: Piece { lens: sphere(-4.0), number: 1 }, eye: Eye::Right, cell: 1 };
    walk.exam.apply(&[Event::Moved(taken)]).unwrap();
    walk.begin(ProcedureName::Writing, None);
    assert!(walk.found(Eye::Right).miss(accepted) < 1e-9);
    assert!(walk.state().fitted.in_front_of(Eye::Right).net.miss(accepted) < 0.06, "it is built again");
}

#[test]
fn lenses_that_unaided_reading_took_out_are_put_back_and_the_first_lens_starts_from_them() {
    let mut walk = aged(50);
    put(&mut walk, -4.0, 1);
    let mut person = Person::new(rx(-4.25, 0.0, 180.0), rx(0.0, 0.0, 180.0), 50, Complaint::FarBlur);
    walk.begin(ProcedureName::SetUp, None);
    walk.run(&mut person);
    assert!(walk.state().fitted.in_front_of(Eye::Right).net.miss(rx(-4.0, 0.0, 180.0)) < 1e-9);
    walk.begin(ProcedureName::FirstLens, Some(Eye::Right));
    assert!(walk.present().choices.iter().any(|choice| choice.answer == Answer::Yes), "{:?}", walk.present());
    walk.answer(Answer::Yes);
    assert!(walk.found(Eye::Right).miss(rx(-4.0, 0.0, 180.0)) < 1e-9);
    walk.begin(ProcedureName::FirstLens, Some(Eye::Right));
    walk.answer(Answer::No);
    assert!(walk.state().fitted.in_front_of(Eye::Right).net.m > -3.0, "the examiner said so");
}

#[test]
fn a_guide_that_lags_behind_its_exam_answers_what_is_asked_now() {
    let mut walk = aged(50);
    walk.begin_comparing(ProcedureName::BestSphere, Some(Eye::Right));
    let lagging = walk.guide();
    put(&mut walk, -2.0, 1);
    let step = guide::answer(&lagging, &walk.exam, Answer::Worse).unwrap();
    walk.exam.accept(step);
    assert!(walk.found(Eye::Right).miss(rx(-2.0, 0.0, 180.0)) < 1e-9, "{:?}", walk.found(Eye::Right));
}
