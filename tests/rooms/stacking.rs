//! The search for stacks against exhaustive enumeration on small random boxes and frames.
#![expect(clippy::unwrap_used, clippy::panic, reason = "a test that cannot set itself up must stop")]

use dioptray::frame::{CellSpec, DeclaredFrame, FittedFrame, Move};
use dioptray::kit::{BoxChange, DeclaredBox, Lens, LensForm, LensLine, Mark, Piece, Stock};
use dioptray::optics::vergence::net;
use dioptray::optics::{Axis, Dioptres, Eye, Eyes, Millimetres, Power, SpheroCylinder};
use dioptray::stacking::reason::lens_that_would_do;
use dioptray::stacking::{Proposal, SearchOptions, propose, propose_both};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::plain::box_of;

fn cell(gap: f64, turns: bool, ring: Option<&str>) -> CellSpec {
    CellSpec { name: String::new(), gap: Millimetres(gap), turns, ring: ring.map(str::to_owned) }
}

fn frame(cells: Vec<CellSpec>) -> DeclaredFrame {
    DeclaredFrame { name: "test".into(), vertex: Millimetres(12.0), pd: None, axis_marks_deg: 5, cells }
}

fn four_cells() -> DeclaredFrame {
    frame(vec![cell(0.0, false, None), cell(3.5, false, None), cell(3.5, true, None), cell(3.5, true, None)])
}

fn stock(spheres: &[(f64, u8)], cylinders: &[(f64, u8)], form: LensForm) -> Stock {
    let line = |lens: Lens, declared: u8| LensLine { lens, declared, missing: 0 };
    let spheres = spheres.iter().map(|&(power, n)| line(Lens::Sphere(Mark::nearest(power)), n));
    let cylinders = cylinders.iter().map(|&(power, n)| line(Lens::Cylinder(Mark::nearest(power)), n));
    Stock::of(&DeclaredBox { form, ..box_of("test", spheres.chain(cylinders).collect()) })
}

fn power(sphere: f64, cylinder: f64, axis: f64) -> Power {
    SpheroCylinder { sphere, cylinder, axis }.power()
}

/// One lens of an enumerated stack: cell index, power, is it a cylinder, axis.
type Enumerated = (usize, f64, bool, u8);

/// Every stack that can be made, with every whole-degree axis of every ring.
fn enumerate(fitted: &FittedFrame, most: usize, each: &mut impl FnMut(&[Enumerated])) {
    let mut lenses: Vec<(f64, bool, u8)> = Vec::new();
    for count in fitted.stock.counts().iter().filter(|count| count.free > 0) {
        lenses.push((count.lens.mark().unwrap().dioptres(), matches!(count.lens, Lens::Cylinder(_)), count.free));
    }
    let mut chosen = Vec::new();
    let mut rings = Vec::new();
    go(fitted, &mut lenses, 0, most, &mut chosen, &mut rings, each);
}

fn go(
    fitted: &FittedFrame,
    lenses: &mut Vec<(f64, bool, u8)>,
    at: usize,
    left: usize,
    chosen: &mut Vec<Enumerated>,
    rings: &mut Vec<(u8, u8)>,
    each: &mut impl FnMut(&[Enumerated]),
) {
    if at == fitted.frame.cells.len() {
        return each(chosen);
    }
    go(fitted, lenses, at + 1, left, chosen, rings, each);
    if left == 0 {
        return;
    }
    for index in 0..lenses.len() {
        let (power, is_cylinder, free) = lenses[index];
        let ring = fitted.frame.turning_with(at as u8 + 1).first().copied();
        if free == 0 || (is_cylinder && ring.is_none()) {
            continue;
        }
        lenses[index].2 -= 1;
        let held = rings.iter().find(|(r, _)| Some(*r) == ring).map(|(_, axis)| *axis);
        let axes = match (is_cylinder, held) {
            (false, _) => 180..=180,
            (true, Some(axis)) => axis..=axis,
            (true, None) => 1..=180,
        };
        for axis in axes {
            let opens_ring = is_cylinder && held.is_none();
            if opens_ring {
                rings.push((ring.unwrap(), axis));
            }
            chosen.push((at, power, is_cylinder, axis));
            go(fitted, lenses, at + 1, left - 1, chosen, rings, each);
            chosen.pop();
            if opens_ring {
                rings.pop();
            }
        }
        lenses[index].2 += 1;
    }
}

fn net_of(stack: &[Enumerated], cells: usize, gaps: &[Millimetres]) -> Power {
    let mut powers = vec![Power::ZERO; cells];
    for &(cell, power, is_cylinder, axis) in stack {
        let power = Dioptres(power);
        powers[cell] = if is_cylinder { Power::cylinder(power, f64::from(axis)) } else { Power::sphere(power) };
    }
    net(&powers, gaps)
}

/// The best by the ranking: (lenses, miss) of the best that reaches, or else the least miss.
struct Best {
    reached: Option<(usize, f64)>,
    least_miss: f64,
}

fn best_by_enumeration(fitted: &FittedFrame, wanted: Power, most: usize, within: f64) -> Best {
    let (cells, gaps) = (fitted.frame.cells.len(), fitted.gaps());
    // per number of lenses: least miss with one axis, least miss with crossed cylinders
    let mut least = vec![(f64::INFINITY, f64::INFINITY); most + 1];
    enumerate(fitted, most, &mut |stack| {
        let miss = net_of(stack, cells, &gaps).miss(wanted);
        let mut axes = stack.iter().filter(|lens| lens.2).map(|lens| lens.3);
        let first = axes.next();
        let entry = &mut least[stack.len()];
        let place = if axes.all(|axis| Some(axis) == first) { &mut entry.0 } else { &mut entry.1 };
        *place = place.min(miss);
    });
    let reached = least.iter().enumerate().find_map(|(lenses, &(one_axis, crossed))| {
        [one_axis, crossed].into_iter().find(|miss| *miss <= within).map(|miss| (lenses, miss))
    });
    let least_miss = least.iter().map(|(one_axis, crossed)| one_axis.min(*crossed)).fold(f64::INFINITY, f64::min);
    Best { reached, least_miss }
}

fn assert_best(fitted: &FittedFrame, wanted: Power, most: usize, context: &str) {
    let options = SearchOptions { max_lenses: Some(most), limit: 3, ..SearchOptions::default() };
    let found = propose(fitted, Eye::Right, wanted, &options);
    let best = best_by_enumeration(fitted, wanted, most, options.within_d);
    let first = found.first().unwrap();
    assert_honest(fitted, first, wanted, context);
    if let Some((lenses, miss)) = best.reached {
        assert!(first.reaches, "{context}: reached with {lenses} lenses, missed by {}", first.miss_d);
        assert_eq!(first.cells.len(), lenses, "{context}");
        assert!((first.miss_d - miss).abs() < 2e-6, "{context}: {} instead of {miss}", first.miss_d);
    } else {
        assert!(!first.reaches, "{context}: enumeration comes no nearer than {}", best.least_miss);
        // misses of stacks that do not reach are compared to 0.001 D
        assert!(first.miss_d - best.least_miss < 0.001, "{context}: {} instead of {}", first.miss_d, best.least_miss);
        assert!(first.miss_d > best.least_miss - 1e-9, "{context}: nearer than enumeration, so enumeration is wrong");
    }
}

/// Net, miss and places of a proposal are what they say, recomputed by putting it in.
fn assert_honest(fitted: &FittedFrame, proposal: &Proposal, wanted: Power, context: &str) {
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

fn quarter(rng: &mut ChaCha8Rng, most: i32) -> f64 {
    f64::from(rng.random_range(-most..=most)) * 0.25
}

fn random_powers(rng: &mut ChaCha8Rng, how_many: usize, most: i32) -> Vec<(f64, u8)> {
    let mut powers: Vec<(f64, u8)> = Vec::new();
    while powers.len() < how_many {
        let power = quarter(rng, most);
        if power != 0.0 && powers.iter().all(|p| p.0 != power) {
            powers.push((power, rng.random_range(1..=2)));
        }
    }
    powers
}

#[test]
fn spheres_and_one_axis_are_as_good_as_enumeration() {
    let frames = [
        frame(vec![cell(0.0, false, None), cell(3.5, false, None), cell(3.5, true, None)]),
        frame(vec![cell(0.0, true, Some("a")), cell(7.5, true, Some("a")), cell(3.5, false, None)]),
        frame(vec![cell(0.0, false, None), cell(40.0, true, None), cell(40.0, false, None)]),
        frame(vec![cell(0.0, false, None), cell(4.0, false, None), cell(2.0, false, None), cell(9.0, false, None)]),
    ];
    for seed in 0..120 {
        let rng = &mut ChaCha8Rng::seed_from_u64(seed);
        let form = if seed % 7 == 0 { LensForm::Additive } else { LensForm::Thin };
        let stock = stock(&random_powers(rng, 4, 32), &random_powers(rng, 2, 12), form);
        let fitted = FittedFrame::new(frames[seed as usize % frames.len()].clone(), stock);
        let axis = f64::from(rng.random_range(1..=180));
        let wanted = power(quarter(rng, 40), quarter(rng, 10), axis);
        assert_best(&fitted, wanted, 3, &format!("seed {seed}"));
    }
}

#[test]
fn crossed_cylinders_are_as_good_as_enumeration() {
    let frames = [
        frame(vec![cell(0.0, false, None), cell(3.5, true, None), cell(3.5, true, None)]),
        frame(vec![cell(0.0, true, None), cell(3.5, false, None), cell(3.5, true, None)]),
        frame(vec![cell(0.0, true, None), cell(5.0, true, None), cell(3.5, false, None)]),
        frame(vec![cell(0.0, true, Some("a")), cell(5.0, true, Some("a")), cell(3.5, true, None)]),
    ];
    for seed in 0..16 {
        let rng = &mut ChaCha8Rng::seed_from_u64(1000 + seed);
        let stock = stock(&random_powers(rng, 2, 24), &random_powers(rng, 2, 12), LensForm::Thin);
        let fitted = FittedFrame::new(frames[seed as usize % frames.len()].clone(), stock);
        let axis = f64::from(rng.random_range(1..=180));
        let wanted = power(quarter(rng, 24), quarter(rng, 12), axis);
        assert_best(&fitted, wanted, 3, &format!("seed {seed}"));
    }
}

#[test]
fn three_crossed_cylinders_are_as_good_as_enumeration() {
    let frame = frame(vec![cell(0.0, true, None), cell(3.5, true, None), cell(3.5, true, None)]);
    let fitted = FittedFrame::new(frame, stock(&[], &[(-1.25, 2), (0.75, 1)], LensForm::Thin));
    assert_best(&fitted, power(0.25, -1.5, 33.0), 3, "three turning cells");
}

#[test]
fn a_missing_sphere_is_stacked_and_the_reason_said() {
    let fitted =
        FittedFrame::new(four_cells(), stock(&[(3.0, 1), (0.25, 1), (3.5, 1), (-0.25, 1)], &[], LensForm::Thin));
    let best = &propose(&fitted, Eye::Right, power(3.25, 0.0, 180.0), &SearchOptions::default())[0];
    assert!(best.reaches);
    let reason = best.reason(&fitted, power(3.25, 0.0, 180.0));
    assert_eq!(reason, "+3.25 sphere is not in the box: +3.00 with +0.25");
}

#[test]
fn the_rear_cell_takes_the_strongest_sphere_and_a_turning_cell_the_cylinder() {
    let fitted = FittedFrame::new(four_cells(), stock(&[(-4.25, 1)], &[(-0.75, 1)], LensForm::Additive));
    let best = &propose(&fitted, Eye::Left, power(-4.25, -0.75, 20.0), &SearchOptions::default())[0];
    let cells: Vec<_> = best.cells.iter().map(|lens| (lens.cell, lens.piece.to_string(), lens.direction)).collect();
    assert_eq!(cells, [(1, "-4.25 sphere #1".to_owned(), None), (3, "-0.75 cylinder #1".to_owned(), Some(20))]);
}

#[test]
fn damaged_lenses_come_last() {
    let mut stock = stock(&[(2.0, 2)], &[], LensForm::Thin);
    let first: Piece = "+2.00 sphere #1".parse().unwrap();
    stock.change(&BoxChange::Damaged(first.clone())).unwrap();
    let fitted = FittedFrame::new(four_cells(), stock);
    let best = &propose(&fitted, Eye::Right, power(2.0, 0.0, 180.0), &SearchOptions::default())[0];
    assert_eq!(best.cells[0].piece.to_string(), "+2.00 sphere #2");
}

#[test]
fn what_is_in_the_other_eye_is_left_there() {
    let mut fitted = FittedFrame::new(four_cells(), stock(&[(2.0, 1), (1.0, 2)], &[], LensForm::Thin));
    let piece: Piece = "+2.00 sphere #1".parse().unwrap();
    fitted.apply(&Move::Put { piece, eye: Eye::Left, cell: 1, direction: None }).unwrap();
    let best = &propose(&fitted, Eye::Right, power(2.0, 0.0, 180.0), &SearchOptions::default())[0];
    assert_eq!(best.lens_list(), "+1.00 with +1.00");
    let reason = best.reason(&fitted, power(2.0, 0.0, 180.0));
    assert_eq!(reason, "+2.00 sphere is in cell 1 of the left eye: +1.00 with +1.00");
}

#[test]
fn pairs_use_no_piece_twice_and_are_the_best_of_all_pairs() {
    for seed in 0..60 {
        let rng = &mut ChaCha8Rng::seed_from_u64(5000 + seed);
        let spheres: Vec<(f64, u8)> = random_powers(rng, 5, 12).into_iter().map(|(power, _)| (power, 1)).collect();
        let three = frame(vec![cell(0.0, false, None), cell(3.5, false, None), cell(3.5, true, None)]);
        let fitted = FittedFrame::new(three, stock(&spheres, &[(-0.5, 1)], LensForm::Thin));
        let wanted = Eyes::from_fn(|_| power(quarter(rng, 12), 0.0, 180.0));
        let options = SearchOptions { limit: 4, max_lenses: Some(2), ..SearchOptions::default() };
        let pairs = propose_both(&fitted, wanted, &options);
        let rank = |right: &Proposal, left: &Proposal| {
            let unreached = usize::from(!right.reaches) + usize::from(!left.reaches);
            let steps = |p: &Proposal| if p.reaches { 0 } else { (p.miss_d * 1000.0).round() as usize };
            (unreached, steps(right) + steps(left), right.cells.len() + left.cells.len())
        };
        for pair in &pairs {
            let mut used: Vec<_> = pair.right.cells.iter().chain(&pair.left.cells).map(|lens| &lens.piece).collect();
            let all = used.len();
            used.sort();
            used.dedup();
            assert_eq!(used.len(), all, "seed {seed}: a piece is used twice");
        }
        // all stacks of each eye, each pair of them that shares no piece
        let all = SearchOptions { limit: 10_000, ..options };
        let (rights, lefts) =
            (propose(&fitted, Eye::Right, wanted.right, &all), propose(&fitted, Eye::Left, wanted.left, &all));
        let best = rights
            .iter()
            .flat_map(|right| lefts.iter().map(move |left| (right, left)))
            .filter(|(right, left)| right.cells.iter().all(|r| left.cells.iter().all(|l| l.piece != r.piece)))
            .map(|(right, left)| rank(right, left))
            .min();
        let first = &pairs[0];
        assert_eq!(Some(rank(&first.right, &first.left)), best, "seed {seed}");
    }
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
            let best = propose(&fitted, Eye::Right, wanted, &SearchOptions::default()).remove(0);
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
    richer.stock.change(&BoxChange::Added(lens)).unwrap();
    assert!(propose(&richer, Eye::Right, wanted, &SearchOptions::default())[0].reaches);
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
            let best = propose(&fitted, Eye::Right, wanted, &options).remove(0);
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
    assert_eq!(found.len(), 2, "the lens in cell 1, and nothing at all");
    assert!(found.iter().all(|proposal| proposal.net.is_finite() && proposal.miss_d.is_finite()));
}

#[test]
fn nothing_wanted_is_reached_by_nothing() {
    let fitted = FittedFrame::new(four_cells(), stock(&[(1.0, 1)], &[], LensForm::Thin));
    let best = &propose(&fitted, Eye::Right, Power::ZERO, &SearchOptions::default())[0];
    assert!(best.cells.is_empty() && best.reaches);
}

#[test]
fn the_lenses_of_a_stack_that_reaches_are_not_proposed_again_the_wrong_way() {
    // one cylinder: the only stacks are it and nothing, so turned across the wanted axis it must not come back
    let one = frame(vec![cell(0.0, true, None)]);
    let fitted = FittedFrame::new(one, stock(&[], &[(-1.0, 1)], LensForm::Thin));
    let found =
        propose(&fitted, Eye::Left, power(0.0, -1.0, 106.0), &SearchOptions { limit: 9, ..SearchOptions::default() });
    let lists: Vec<_> = found.iter().map(|proposal| (proposal.reaches, proposal.cells.len())).collect();
    assert_eq!(lists, [(true, 1), (false, 0)]);
}

#[test]
fn pairs_are_as_good_whichever_eye_wants_which_power() {
    // -2 D is reached by the sphere alone, but the other eye has more use for it: two crossed cylinders make it too
    let two = frame(vec![cell(0.0, true, None), cell(5.0, true, None)]);
    let spheres = [(-2.0, 1), (2.0, 1), (4.0, 1)];
    let fitted = FittedFrame::new(two, stock(&spheres, &[(-2.0, 2), (-1.0, 1)], LensForm::Thin));
    let (lesser, other) = (power(-2.0, 0.0, 180.0), power(2.5, -0.25, 53.0));
    let options = SearchOptions { limit: 1, ..SearchOptions::default() };
    let of_the_lesser = Eye::BOTH.map(|eye| {
        let wanted = Eyes::from_fn(|of| if of == eye { lesser } else { other });
        let pair = propose_both(&fitted, wanted, &options).remove(0);
        let eyes = Eyes::new(pair.right, pair.left);
        assert!((eyes[eye.other()].miss_d - 0.3189).abs() < 0.001, "{eyes:?}");
        eyes[eye].cells.iter().map(|lens| lens.piece.lens.to_string()).collect::<Vec<_>>()
    });
    assert_eq!(of_the_lesser[0], ["-2.00 cylinder", "-2.00 cylinder"]);
    assert_eq!(of_the_lesser[1], of_the_lesser[0]);
}

#[test]
fn a_frame_with_many_turning_cells_is_still_answered() {
    // more cylinder than the lenses make: on such a frame the crossings at many axes are beyond counting, and left out
    let cells = (0..5).map(|number| cell(if number == 0 { 0.0 } else { 3.5 }, true, None)).collect();
    let spheres: Vec<(f64, u8)> = (-16..=16).filter(|&q| q != 0).map(|q| (f64::from(q) * 0.5, 2)).collect();
    let cylinders: Vec<(f64, u8)> = (1..=8).map(|q| (f64::from(q) * -0.25, 2)).collect();
    let fitted = FittedFrame::new(frame(cells), stock(&spheres, &cylinders, LensForm::Thin));
    let wanted = power(-4.0, -20.0, 20.0);
    let best = propose(&fitted, Eye::Right, wanted, &SearchOptions { limit: 1, ..SearchOptions::default() }).remove(0);
    assert!(!best.reaches);
    assert_honest(&fitted, &best, wanted, "five turning cells");
    // the four strongest cylinders on one axis make about 7.5 D, and spheres do not make any
    let made = best.net.minus_form().cylinder;
    assert!((-8.5..-6.5).contains(&made), "{made}");
}
