//! What was only seen in the hand is wanted at its mark: nearer to the eye the lens does not make what it made out there.
//! That it is so, and from which difference on not, is ours, no source; what stands there is computed by the step-along, which
//! `outside/matrices.rs` holds against others.

use approx::assert_abs_diff_eq;
use dioptray::exam::{Answer, Detail, Event, Exam, GuideEvent, ProcedureName, Shown};
use dioptray::frame::{DeclaredFrame, Move};
use dioptray::kit::{Lens, Piece};
use dioptray::optics::{Acuity, Dioptres, Eye, Eyes, Millimetres, Power};

use super::set::{Walk, exam_in, outreach, outreach_lines, sphere};
use crate::plain::four_cells;

const EYE: Eye = Eye::Right;

fn free(walk: &Walk, power: f64) -> Piece {
    walk.state().fitted.stock.free_piece(&sphere(power)).unwrap().piece.clone()
}

fn moved(walk: &mut Walk, step: Move) {
    walk.exam.apply(&[Event::Moved(step)]).unwrap();
}

fn put(walk: &mut Walk, power: f64, cell: u8) {
    let piece = free(walk, power);
    moved(walk, Move::Put { piece, eye: EYE, cell, direction: None });
}

fn held(walk: &Walk) -> Option<Lens> {
    walk.state().fitted.held(EYE).map(|held| held.stocked.piece.lens.clone())
}

/// The first lens was refused, so that the search for the sphere goes on the other way in steps of 2.00.
fn in_steps_of_two(exam: Exam, plus: bool) -> Walk {
    let mut walk = Walk::new(exam);
    walk.detail(Detail::AgeYears(50));
    if plus {
        walk.detail(Detail::Complaint(dioptray::exam::Complaint::FarBlur));
    }
    walk.begin(ProcedureName::FirstLens, Some(EYE));
    walk.answer(Answer::Worse);
    walk
}

/// Four cells that far apart.
fn cells_apart(gap_mm: f64) -> DeclaredFrame {
    let mut frame = four_cells();
    for cell in frame.cells.iter_mut().skip(1) {
        cell.gap = Millimetres(gap_mm);
    }
    frame
}

/// What is said to be shown is what stands there, whatever is wanted once it is accepted.
fn asked_truly(walk: &Walk) -> Shown {
    let (shown, stands) = (walk.present().shown, walk.state().fitted.in_front_of(EYE));
    assert!(shown.from[EYE].miss(stands.net) < 1e-9 && shown.to[EYE].miss(stands.net_with_hand) < 1e-9, "{shown:?}");
    shown
}

#[test]
fn two_dioptres_accepted_in_the_hand_are_two_dioptres_more() {
    for mark in [2.0, -2.0] {
        let mut walk = in_steps_of_two(outreach(), mark > 0.0);
        walk.begin_comparing(ProcedureName::BestSphere, Some(EYE));
        assert_eq!(held(&walk), Some(sphere(mark)));
        let made = asked_truly(&walk).to.right.m;
        // 15.5 mm before cell 1 it makes 2.064 or −1.940
        assert!((made - mark).abs() > 0.05, "{made}");
        // two dioptres are asked twice
        walk.answers(&[Answer::Clearer, Answer::Clearer]);
        assert_abs_diff_eq!(walk.found(EYE).m, mark, epsilon = 1e-9);
        let cells: Vec<Lens> = walk.state().fitted.in_cells(EYE).map(|lens| lens.stocked.piece.lens.clone()).collect();
        assert_eq!(cells, [sphere(mark)]);
        // what was tried is on the record as it stood there
        assert_abs_diff_eq!(walk.state().trail.last().unwrap().power.m, made, epsilon = 1e-9);
    }
}

#[test]
fn a_quarter_accepted_in_the_hand_is_a_quarter_more() {
    for mark in [0.25, -0.25] {
        let mut walk = Walk::new(outreach());
        walk.detail(Detail::AgeYears(50));
        put(&mut walk, -8.0, 4);
        walk.begin(ProcedureName::FinalSphere, Some(EYE));
        walk.answer(Answer::Read(Acuity::of_6_m(6.0)));
        if mark < 0.0 {
            walk.answer(Answer::Worse);
        }
        assert_eq!(held(&walk), Some(sphere(mark)));
        let shown = asked_truly(&walk);
        // in front of −8.00 in the outermost cell it makes a sixth less
        assert!((shown.to.right.m - shown.from.right.m - mark).abs() > 0.03, "{shown:?}");
        walk.answer(Answer::Clearer);
        if mark < 0.0 {
            // minus is asked twice
            walk.answer(Answer::Clearer);
        }
        assert!(walk.found(EYE).miss(shown.from.right + Power::sphere(Dioptres(mark))) < 1e-9, "{mark}");
    }
}

#[test]
fn what_is_refused_changes_nothing() {
    let mut walk = in_steps_of_two(outreach(), false);
    walk.begin_comparing(ProcedureName::BestSphere, Some(EYE));
    walk.answer(Answer::Worse);
    assert!(walk.found(EYE).miss(Power::ZERO) < 1e-9);
}

#[test]
fn what_makes_an_eighth_less_than_its_mark_is_wanted_as_it_was_seen() {
    let mut lines = outreach_lines();
    lines.push((sphere(-10.0), 1));
    let mut walk = in_steps_of_two(exam_in(cells_apart(10.0), &lines), false);
    put(&mut walk, -10.0, 4);
    walk.begin_comparing(ProcedureName::BestSphere, Some(EYE));
    assert_eq!(held(&walk), Some(sphere(-2.0)));
    let shown = asked_truly(&walk);
    // −2.00 35 mm before cell 1, through −10.00 30 mm before it: −1.12
    assert_abs_diff_eq!(shown.to.right.m - shown.from.right.m, -1.12, epsilon = 0.01);
    walk.answers(&[Answer::Clearer, Answer::Clearer]);
    assert!(walk.found(EYE).miss(shown.to.right) < 1e-9);
}

#[test]
fn the_mark_counts_below_an_eighth_of_difference_in_sphere_or_cylinder() {
    let from = Power::sphere(Dioptres(-10.0)) + Power::cylinder(Dioptres(-2.0), 20.0);
    let mark = Power::sphere(Dioptres(-2.0));
    let shown = |off: Power| Shown {
        from: Eyes::only(EYE, from),
        to: Eyes::only(EYE, from + mark + off),
        cells: Eyes::only(EYE, from),
        mark_in_hand: Eyes::only(EYE, Some(mark)),
    };
    // a cylinder of 0.16 at any axis is 0.08 of sphere and 0.08 of astigmatism: 0.113 together; of 0.18 it is 0.127
    let off = |cylinder: f64| Power::cylinder(Dioptres(cylinder), 110.0);
    for alike in [Power::ZERO, Power::sphere(Dioptres(0.115)), Power::sphere(Dioptres(-0.115)), off(0.16)] {
        assert!(shown(alike).wanted(EYE).miss(from + mark) < 1e-9, "{alike:?}");
    }
    for other in [Power::sphere(Dioptres(0.125)), Power::sphere(Dioptres(-0.125)), off(0.18)] {
        assert!(shown(other).wanted(EYE).miss(from + mark + other) < 1e-9, "{other:?}");
    }
    // the other eye had nothing in the hand
    assert_eq!(shown(Power::ZERO).wanted(Eye::Left), Power::ZERO);
}

#[test]
fn the_lens_that_the_examiner_holds_instead_is_wanted_at_its_own_mark() {
    let mut walk = in_steps_of_two(outreach(), false);
    walk.begin_comparing(ProcedureName::BestSphere, Some(EYE));
    walk.answer(Answer::Clearer);
    let piece = walk.state().fitted.held(EYE).unwrap().stocked.piece.clone();
    moved(&mut walk, Move::Lay { piece, eye: EYE });
    // laid back, it was still the one that was set out and compared
    assert_eq!(walk.present().shown.mark_in_hand.right, Some(Power::sphere(Dioptres(-2.0))));
    let piece = free(&walk, -1.5);
    moved(&mut walk, Move::Hold { piece, eye: EYE, direction: None });
    asked_truly(&walk);
    walk.answer(Answer::Clearer);
    assert_abs_diff_eq!(walk.found(EYE).m, -1.5, epsilon = 1e-9);
}

#[test]
fn what_was_answered_before_marks_were_kept_adds_up_as_it_did() {
    let mut walk = in_steps_of_two(outreach(), false);
    walk.begin_comparing(ProcedureName::BestSphere, Some(EYE));
    let made = walk.present().shown.to.right;
    walk.answers(&[Answer::Clearer, Answer::Clearer]);
    let mut steps: Vec<Vec<Event>> = walk.exam.standing_steps().to_vec();
    for event in steps.iter_mut().flatten() {
        if let Event::Guide(GuideEvent::Answered { shown, .. } | GuideEvent::SetOut(shown)) = event {
            shown.mark_in_hand = Eyes::both(None);
        }
    }
    let kept = serde_json::to_string(&steps).unwrap();
    assert!(!kept.contains("mark_in_hand"), "{kept}");
    let before: Vec<Vec<Event>> = serde_json::from_str(&kept).unwrap();
    let led = Exam::replay(walk.exam.opening().clone(), before).unwrap();
    // the cells were built to the mark since; what the guide had found is what it made
    let wanted = dioptray::guide::Guide::of(&led).found().right;
    assert!(wanted.miss(made) < 1e-9, "{wanted:?} {made:?}");
}
