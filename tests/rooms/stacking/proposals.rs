//! What is proposed, in what words and by which moves.

use dioptray::frame::{FittedFrame, Move};
use dioptray::kit::{BoxChange, LensForm, Measurement, Piece};
use dioptray::optics::{Axis, Eye, Power};
use dioptray::stacking::reason::lens_that_would_do;
use dioptray::stacking::{Proposal, SearchOptions, propose};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::boxes::{cell, four_cells, frame, power, quarter, stock};

/// Net, miss and places of a proposal are what they say, recomputed by putting it in.
pub fn assert_honest(fitted: &FittedFrame, proposal: &Proposal, wanted: Power, context: &str) {
    let mut frame = fitted.clone();
    for step in proposal.movements(fitted).moves {
        frame.apply(&step).unwrap_or_else(|why| panic!("{context}: {step} refused: {why}"));
    }
    let there: Vec<_> = frame.in_cells(proposal.eye).map(|lens| (lens.cell, lens.stocked.piece.clone())).collect();
    let said: Vec<_> = proposal.cells.iter().map(|lens| (lens.cell, lens.piece.clone())).collect();
    assert_eq!(there, said, "{context}");
    let made = frame.in_front_of(proposal.eye).net;
    assert!(made.miss(proposal.net) < 1e-9, "{context}: {made:?} made, {:?} said", proposal.net);
    assert!((made.miss(wanted) - proposal.miss_d).abs() < 1e-9, "{context}");
}

#[test]
fn a_missing_sphere_is_stacked_and_the_reason_said() {
    let fitted =
        FittedFrame::new(four_cells(), stock(&[(3.0, 1), (0.25, 1), (3.5, 1), (-0.25, 1)], &[], LensForm::Thin));
    let best = &propose(&fitted, Eye::Right, power(3.25, 0.0, 180.0), &SearchOptions::default()).list[0];
    assert!(best.reaches);
    let reason = best.reason(&fitted, power(3.25, 0.0, 180.0));
    assert_eq!(reason, "+3.25 sphere is not in the box");
}

/// From 10.5 mm out, -6.00 acts as -6 / (1 + 0.0105 × 6) = -5.64 (an equation of thin lenses), and one that was measured as
/// -5.87 as -5.53: it is the measured power that acts.
#[test]
fn what_acts_farther_out_is_the_measured_power() {
    let far = frame(vec![cell(0.0, false, None), cell(10.5, false, None)]);
    let piece: Piece = "-6.00 sphere #1".parse().unwrap();
    let rows = [
        (None, "-6.00 acts as -5.64 so far out"),
        (Some(-5.87), "-6.00, measured -5.87, acts as -5.53 so far out"),
        (Some(-5.998), "-6.00 acts as -5.64 so far out"),
    ];
    for (measured, said) in rows {
        let mut stock = stock(&[(-8.0, 1), (-6.0, 1)], &[], LensForm::Thin);
        if let Some(power) = measured {
            stock.change(&BoxChange::Measured { piece: piece.clone(), measurement: Measurement::of(power) }).unwrap();
        }
        let fitted = FittedFrame::new(far.clone(), stock);
        let wanted = power(-13.6, 0.0, 180.0);
        let best = &propose(&fitted, Eye::Right, wanted, &SearchOptions::default()).list[0];
        assert_eq!(best.lens_list(), "-8.00 -6.00");
        let reason = best.reason(&fitted, wanted);
        assert!(reason.split("; ").any(|one| one == said), "{reason}");
    }
}

#[test]
fn the_rear_cell_takes_the_strongest_sphere_and_a_turning_cell_the_cylinder() {
    let fitted = FittedFrame::new(four_cells(), stock(&[(-4.25, 1)], &[(-0.75, 1)], LensForm::Additive));
    let best = &propose(&fitted, Eye::Left, power(-4.25, -0.75, 20.0), &SearchOptions::default()).list[0];
    let cells: Vec<_> = best.cells.iter().map(|lens| (lens.cell, lens.piece.to_string(), lens.direction)).collect();
    assert_eq!(cells, [(1, "-4.25 sphere #1".to_owned(), None), (3, "-0.75 cylinder #1".to_owned(), Some(20))]);
}

#[test]
fn damaged_lenses_come_last() {
    let mut stock = stock(&[(2.0, 2)], &[], LensForm::Thin);
    let first: Piece = "+2.00 sphere #1".parse().unwrap();
    stock.change(&BoxChange::Damaged { piece: first.clone(), what: None }).unwrap();
    let fitted = FittedFrame::new(four_cells(), stock);
    let best = &propose(&fitted, Eye::Right, power(2.0, 0.0, 180.0), &SearchOptions::default()).list[0];
    assert_eq!(best.cells[0].piece.to_string(), "+2.00 sphere #2");
}

#[test]
fn what_is_in_the_other_eye_is_left_there() {
    let mut fitted = FittedFrame::new(four_cells(), stock(&[(2.0, 1), (1.0, 2)], &[], LensForm::Thin));
    let piece: Piece = "+2.00 sphere #1".parse().unwrap();
    fitted.apply(&Move::Put { piece, eye: Eye::Left, cell: 1, direction: None }).unwrap();
    let best = &propose(&fitted, Eye::Right, power(2.0, 0.0, 180.0), &SearchOptions::default()).list[0];
    assert_eq!(best.lens_list(), "+1.00 +1.00");
    let reason = best.reason(&fitted, power(2.0, 0.0, 180.0));
    assert_eq!(reason, "+2.00 sphere is in cell 1 of the left eye");
}

#[test]
fn moves_never_leave_the_eye_with_less_plus_or_say_to_cover_it() {
    let powers: Vec<(f64, u8)> = (-12..=12).filter(|&q| q != 0).map(|q| (f64::from(q) * 0.5, 2)).collect();
    let mut changed_in_place = 0;
    for seed in 0..200 {
        let rng = &mut ChaCha8Rng::seed_from_u64(9000 + seed);
        let mut fitted =
            FittedFrame::new(four_cells(), stock(&powers, &[(-0.5, 2), (-1.0, 2), (1.0, 1)], LensForm::Thin));
        for _ in 0..2 {
            let axis = f64::from(Axis::folded(rng.random_range(0..180)).degrees());
            let wanted = power(quarter(rng, 24), -quarter(rng, 4).abs(), axis);
            let start = fitted.in_front_of(Eye::Right).net.m;
            let best = propose(&fitted, Eye::Right, wanted, &SearchOptions::default()).list.remove(0);
            let movements = best.movements(&fitted);
            let mut through = vec![start];
            for step in &movements.moves {
                fitted.apply(step).unwrap();
                through.push(fitted.in_front_of(Eye::Right).net_with_hand.m);
            }
            let end = fitted.in_front_of(Eye::Right).net;
            assert!(end.miss(best.net) < 1e-9);
            let floor = start.min(end.m) - 0.061;
            let spared = through.iter().all(|m| *m >= floor);
            assert!(spared || movements.cover_eye, "seed {seed}: {:?} through {through:?}", movements.moves);
            changed_in_place += usize::from(movements.moves.iter().any(|step| matches!(step, Move::Hold { .. })));
        }
    }
    assert!(changed_in_place > 0, "no plus lens was ever changed in its cell, so that case was not tried");
}

#[test]
fn the_lens_that_would_do_does() {
    let fitted = FittedFrame::new(four_cells(), stock(&[(-1.0, 1), (-2.0, 1)], &[(-0.5, 1)], LensForm::Thin));
    let wanted = power(-6.0, -0.5, 90.0);
    let lens = lens_that_would_do(&fitted, Eye::Right, wanted, &SearchOptions::default()).unwrap();
    assert_eq!(lens.to_string(), "-6.00 sphere");
    let mut richer = fitted.clone();
    richer.stock.change(&BoxChange::Added(lens.into())).unwrap();
    assert!(propose(&richer, Eye::Right, wanted, &SearchOptions::default()).list[0].reaches);
}

#[test]
fn of_stacks_that_miss_alike_the_one_with_fewer_lenses_comes_first() {
    // spheres alone leave 0.25 D of the cylinder; to 0.001 D two lenses come as near as four
    let powers: Vec<(f64, u8)> = (-16..=16).filter(|&q| q != 0).map(|q| (f64::from(q) * 0.5, 2)).collect();
    let fitted = FittedFrame::new(four_cells(), stock(&powers, &[], LensForm::Thin));
    for sphere in [-6.0, -1.25, 4.75, -8.0, -4.5, 0.25] {
        let wanted = power(sphere, -0.5, 66.0);
        let fewest = |most: usize| {
            let options = SearchOptions { max_lenses: Some(most), limit: 1, ..SearchOptions::default() };
            let best = propose(&fitted, Eye::Right, wanted, &options).list.remove(0);
            ((best.miss_d * 1000.0).round(), best.cells.len())
        };
        let by_most = [1, 2, 3, 4].map(fewest);
        for pair in by_most.windows(2) {
            // a further lens is used only where it comes nearer by a step
            assert!(pair[1].0 < pair[0].0 || pair[1] == pair[0], "{sphere}: {by_most:?}");
        }
    }
}

#[test]
fn a_focus_in_the_plane_of_a_cell_is_never_proposed() {
    // +25 D 40 mm before cell 1 focuses exactly there: its vergence is infinite, and no power at all
    let two = frame(vec![cell(0.0, false, None), cell(40.0, false, None)]);
    let fitted = FittedFrame::new(two, stock(&[(25.0, 1)], &[], LensForm::Thin));
    let found =
        propose(&fitted, Eye::Right, power(25.0, 0.0, 180.0), &SearchOptions { limit: 9, ..SearchOptions::default() });
    assert_eq!(found.list.len(), 2, "the lens in cell 1, and nothing at all");
    assert!(found.list.iter().all(|proposal| proposal.net.is_finite() && proposal.miss_d.is_finite()));
}

#[test]
fn nothing_wanted_is_reached_by_nothing() {
    let fitted = FittedFrame::new(four_cells(), stock(&[(1.0, 1)], &[], LensForm::Thin));
    let best = &propose(&fitted, Eye::Right, Power::ZERO, &SearchOptions::default()).list[0];
    assert!(best.cells.is_empty() && best.reaches);
}

#[test]
fn the_lenses_of_a_stack_that_reaches_are_not_proposed_again_the_wrong_way() {
    // one cylinder: the only stacks are it and nothing, so turned across the wanted axis it must not come back
    let one = frame(vec![cell(0.0, true, None)]);
    let fitted = FittedFrame::new(one, stock(&[], &[(-1.0, 1)], LensForm::Thin));
    let found =
        propose(&fitted, Eye::Left, power(0.0, -1.0, 106.0), &SearchOptions { limit: 9, ..SearchOptions::default() });
    let lists: Vec<_> = found.list.iter().map(|proposal| (proposal.reaches, proposal.cells.len())).collect();
    assert_eq!(lists, [(true, 1), (false, 0)]);
}

#[test]
fn a_frame_with_many_turning_cells_is_still_answered() {
    // more cylinder than the lenses make
    let cells = (0..5).map(|number| cell(if number == 0 { 0.0 } else { 3.5 }, true, None)).collect();
    let spheres: Vec<(f64, u8)> = (-16..=16).filter(|&q| q != 0).map(|q| (f64::from(q) * 0.5, 2)).collect();
    let cylinders: Vec<(f64, u8)> = (1..=8).map(|q| (f64::from(q) * -0.25, 2)).collect();
    let fitted = FittedFrame::new(frame(cells), stock(&spheres, &cylinders, LensForm::Thin));
    let wanted = power(-4.0, -20.0, 20.0);
    let best =
        propose(&fitted, Eye::Right, wanted, &SearchOptions { limit: 1, ..SearchOptions::default() }).list.remove(0);
    assert!(!best.reaches);
    assert_honest(&fitted, &best, wanted, "five turning cells");
    // four lenses make -20 D of cylinder and its -14 D of equivalent best with the strongest sphere: it and three cylinders at one axis
    // miss by about 7.8 D, two spheres and two cylinders by 8, four cylinders by 12
    assert_eq!(best.lens_list(), "-8.00 -2.00x20 -2.00x20 -1.75x20");
    assert!((7.5..8.0).contains(&best.miss_d), "{}", best.miss_d);
}
