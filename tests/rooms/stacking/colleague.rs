//! What comes first is what a colleague would put in: wanted powers whose first proposal was once a stack that nobody builds.

use dioptray::frame::shipped::demo_frame;
use dioptray::frame::{CellSpec, FittedFrame};
use dioptray::kit::shipped::{demo_box, full_box};
use dioptray::kit::{BoxChange, Lens, LensForm, Stock, parse_box};
use dioptray::optics::notation::parse_prescription;
use dioptray::optics::{CylinderForm, Eye, Eyes, Power};
use dioptray::stacking::reason::Reason;
use dioptray::stacking::{MOST_STEPS, Proposal, SearchOptions, propose, propose_both};

use super::boxes::{cell, four_cells, frame, power, stock};

fn outreach() -> FittedFrame {
    FittedFrame::new(demo_frame().unwrap(), Stock::of(&demo_box().unwrap()))
}

fn full() -> FittedFrame {
    FittedFrame::new(demo_frame().unwrap(), Stock::of(&full_box().unwrap()))
}

fn first(fitted: &FittedFrame, rx: &str) -> Proposal {
    let found = propose(fitted, Eye::Right, wanted(rx), &SearchOptions::default());
    assert!(found.is_complete(), "{rx}: {:?}", found.bound);
    found.list.into_iter().next().unwrap()
}

fn wanted(rx: &str) -> Power {
    parse_prescription(rx).unwrap().power()
}

/// That the strongest lens belongs to the rear is taught (Kerr's trial-lens notes, and facts of optics: farther out it acts as
/// another power); one axis, few lenses and few moves are common practice, no source. Axes more than 2° off are outside
/// ANSI Z80.1 above 1.50 D of cylinder, so that crossed strong cylinders are no answer. Costs by the table of the README, from
/// empty cells; those of the first, second and fourth row were also computed by enumeration.
#[test]
fn what_comes_first_is_what_a_colleague_would_put_in() {
    let rows = [
        (outreach(), "-4.25/-0.75x180", "-4.00 -0.25 -0.75x180", 3.78),
        (full(), "-9.50", "-9.00 -0.50", 2.51),
        (full(), "-4.25/-2.50x15", "-4.00 -0.25 -2.50x15", 4.03),
        (outreach(), "-4.25/-2.50x15", "-4.00 -0.25 -2.00x15 -0.50x15", 5.28),
        (full(), "-13.75/-0.50x180", "-13.00 -0.75 -0.50x180", 3.79),
        (outreach(), "-1.50/-0.50x80", "-1.25 -0.25 -0.50x80", 3.77),
        (outreach(), "-1.50/-1.00x180", "-1.25 -0.25 -1.00x180", 3.80),
    ];
    for (fitted, rx, lenses, cost) in rows {
        let best = first(&fitted, rx);
        assert_eq!(best.lens_list(), lenses, "{rx}");
        assert!((best.cost.total() - cost).abs() < 0.005, "{rx}: {:?} is {}", best.cost, best.cost.total());
        assert!(best.reaches, "{rx}");
    }
}

/// Plus cylinders alone: the sphere is that of the plus form, in the rear, and little stands against it.
#[test]
fn a_box_with_plus_cylinders_only_is_stacked_and_explained_in_plus() {
    let text = "box: Plus\nid: plus-1\nlenses:\n  - {kind: sphere, powers: [\"-3.50\", \"-6.00\", \"+0.25\", \"+2.75\"], each: 2}\n\
                \u{20} - {kind: cylinder, powers: [\"+0.25 to +2.00 by 0.25\"], each: 2}\n";
    let mut fitted = FittedFrame::new(demo_frame().unwrap(), Stock::of(&parse_box("plus.yaml", text).unwrap()));
    let best = first(&fitted, "-2.00/-1.25x90");
    assert_eq!(best.lens_list(), "-3.50 +0.25 +1.25x180");
    assert_eq!(best.cost.sign, 0.0, "{:?}", best.cost);
    assert_eq!(best.reason(&fitted, wanted("-2.00/-1.25x90")), "-3.25 sphere is not in the box; plus against minus");
    // a cylinder that was lost meanwhile was no minus one, and what was lost still says which form the box is in
    for number in 1..=2 {
        let piece = format!("+1.25 cylinder #{number}").parse().unwrap();
        fitted.stock.change(&BoxChange::Lost(piece)).unwrap();
    }
    let without = first(&fitted, "-2.00/-1.25x90");
    let reason = without.reason(&fitted, wanted("-2.00/-1.25x90"));
    assert!(reason.contains("+1.25 cylinder is lost"), "{reason}");
    assert_eq!(without.cost.sign, 0.0, "{:?}", without.cost);
}

/// Whoever works in plus with minus cylinders only can do nothing about their sign: it costs, and nothing is said of it. One
/// plus cylinder in the set makes it a choice, wherever it is, until it leaves the set.
#[test]
fn the_other_sign_is_said_only_where_the_box_has_the_one_in_use() {
    let in_plus = SearchOptions { form: CylinderForm::Plus, ..SearchOptions::default() };
    let mut fitted = FittedFrame::new(four_cells(), stock(&[(-4.0, 1)], &[(-1.0, 1)], LensForm::Thin));
    let says_it = |fitted: &FittedFrame| {
        let best = propose(fitted, Eye::Right, wanted("-4.00/-1.00x180"), &in_plus).list.remove(0);
        assert_eq!(best.lens_list(), "-4.00 -1.00x180");
        assert_eq!(best.cost.sign, 0.25, "{:?}", best.cost);
        let reason = best.reason(fitted, wanted("-4.00/-1.00x180"));
        reason.contains("cylinder of the other sign")
    };
    assert!(!says_it(&fitted));
    let plus: Lens = "+3.00 cylinder".parse().unwrap();
    fitted.stock.change(&BoxChange::Added(plus.clone().into())).unwrap();
    assert!(says_it(&fitted));
    let piece = fitted.stock.of_lens(&plus).next().unwrap().piece.clone();
    fitted.stock.change(&BoxChange::Lost(piece.clone())).unwrap();
    assert!(says_it(&fitted), "a lost lens may be found");
    fitted.stock.change(&BoxChange::Found(piece.clone())).unwrap();
    fitted.stock.change(&BoxChange::Retired(piece)).unwrap();
    assert!(!says_it(&fitted));
}

/// The outreach box has two of each cylinder to 2.00 D, and the frame two cells that turn: 4.00 D are all that stand at one
/// axis. The worth of the other 2.50 D is computed, at cell 1.
#[test]
fn what_is_missing_of_a_cylinder_is_said() {
    let fitted = outreach();
    let best = first(&fitted, "-4.00/-6.50x25");
    assert!(!best.reaches);
    let reasons = best.reasons(&fitted, wanted("-4.00/-6.50x25"));
    let missing = reasons.iter().find_map(|reason| match reason {
        Reason::CylinderMissing(amount) => Some(amount.0),
        _ => None,
    });
    assert!(missing.is_some_and(|missing| (missing - 2.55).abs() < 0.005), "{reasons:?}");
    assert!(best.reason(&fitted, wanted("-4.00/-6.50x25")).contains("2.55 D of the cylinder is missing"));
}

fn rings() -> Vec<CellSpec> {
    vec![cell(0.0, true, Some("a")), cell(3.5, true, Some("a")), cell(3.5, true, Some("b")), cell(3.5, true, Some("b"))]
}

/// Once 18 s and 217 s: they end, and say what they cannot rule out where they had to stop. Steps are counted, not seconds.
#[test]
fn searches_that_once_took_minutes_end() {
    let spheres: Vec<(f64, u8)> = (-40..=40).filter(|&q| q != 0).map(|q| (f64::from(q) * 0.25, 2)).collect();
    let cylinders: Vec<(f64, u8)> = (1..=24).map(|q| (f64::from(q) * -0.25, 2)).collect();
    let on_rings = FittedFrame::new(frame(rings()), stock(&spheres, &cylinders, LensForm::Thin));
    let wide = vec![
        cell(0.0, true, Some("b")),
        cell(1.5, true, None),
        cell(3.0, false, None),
        cell(4.0, false, None),
        cell(0.5, false, None),
    ];
    let on_wide = FittedFrame::new(frame(wide), stock(&spheres, &cylinders[..8], LensForm::Thin));
    let asked = [
        (&on_rings, Eyes::new(power(-4.1, -2.3, 17.0), power(3.3, -1.1, 101.0)), 0.005),
        (&on_wide, Eyes::new(power(-3.0, -8.5, 17.0), power(-3.0, -8.5, 163.0)), 0.06),
    ];
    for (fitted, wanted, within_d) in asked {
        let options = SearchOptions { within_d, limit: 1, ..SearchOptions::default() };
        let found = propose_both(fitted, wanted, &options);
        assert!(!found.list.is_empty());
        assert!(found.steps < 2 * MOST_STEPS, "{} steps", found.steps);
    }
}
