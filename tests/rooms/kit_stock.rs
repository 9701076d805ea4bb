//! Laws of marks and labels, of the stock (a piece is in one place) and of the frame (a ring has one axis).

use dioptray::frame::shipped::demo_frame;
use dioptray::frame::{CellSpec, DeclaredFrame, FittedFrame, Move, MoveError};
use dioptray::kit::stock::LensCount;
use dioptray::kit::{
    Accessory, BoxChange, DeclaredBox, Direction, Effect, Further, Lens, LensLine, Mark, Measured, Measurement, Piece,
    Place, Stock, StockError, StockedPiece, parse_box,
};
use dioptray::optics::{Axis, Dioptres, Eye, Millimetres, Power};
use dioptray::stacking::{SearchOptions, propose};
use proptest::prelude::*;

use crate::kept::box_changes;
use crate::plain::box_of;

type Outcome = Result<(), Box<dyn std::error::Error>>;

/// Marks as makers put them on: hundredths, and the eighths that are cut to two places.
fn marks(most: i32) -> impl Strategy<Value = Mark> {
    prop_oneof![
        (0..=most * 100).prop_map(|hundredths| Mark::nearest(f64::from(hundredths) / 100.0)),
        (0..=most * 8).prop_map(|eighths| Mark::nearest(f64::from(eighths) / 8.0)),
    ]
}

fn signed_marks() -> impl Strategy<Value = Mark> {
    (marks(40), any::<bool>()).prop_map(|(mark, minus)| if minus { mark.negated() } else { mark })
}

fn lenses() -> impl Strategy<Value = Lens> {
    let some = |mark: &Mark| !mark.is_plano();
    prop_oneof![
        signed_marks().prop_map(Lens::Sphere),
        signed_marks().prop_filter("a cylinder has power", some).prop_map(Lens::Cylinder),
        marks(40).prop_filter("a prism has power", some).prop_map(Lens::Prism),
        marks(40).prop_filter("a cross cylinder has power", some).prop_map(Lens::CrossCylinder),
        "[a-zé][a-zé0-9'-]{0,9}( [a-z0-9]{1,9}){0,2}".prop_filter_map("a name", |name| Lens::accessory(&name).ok()),
        // whatever further kinds there are
        prop::sample::select(crate::kept::lenses()),
    ]
}

proptest! {
    #[test]
    fn a_lens_reads_back_from_its_label(lens in lenses()) {
        prop_assert_eq!(lens.to_string().parse::<Lens>()?, lens);
    }

    #[test]
    fn a_piece_reads_back_from_its_label(lens in lenses(), number in 1u8..=99) {
        let piece = Piece { lens, number };
        prop_assert_eq!(piece.to_string().parse::<Piece>()?, piece.clone());
        let json = serde_json::to_string(&piece)?;
        prop_assert_eq!(serde_json::from_str::<Piece>(&json)?, piece);
    }

    #[test]
    fn the_nearest_mark_is_near_and_odd_in_sign(power in -40.0f64..40.0) {
        let mark = Mark::nearest(power);
        prop_assert!((mark.dioptres() - power).abs() <= 0.0101, "{mark} for {power}");
        prop_assert_eq!(Mark::nearest(-power), mark.negated());
        prop_assert_eq!(Mark::nearest(mark.dioptres()), mark);
    }

    #[test]
    fn no_text_brings_a_label_down(text in "[-+±0-9. #x a-z]{0,24}") {
        let lens = text.parse::<Lens>();
        let of_piece = text.parse::<Piece>().map(|piece| piece.lens);
        for lens in [lens, of_piece].into_iter().flatten() {
            prop_assert_eq!(lens.to_string().parse::<Lens>(), Ok(lens));
        }
    }
}

// Trial lenses are marked to two places and cut to eighths: common practice, no source.
#[test]
fn two_place_marks_of_eighths_are_eighths() {
    for (marked, power) in [(0.12, 0.125), (0.37, 0.375), (0.62, 0.625), (0.87, 0.875), (1.12, 1.125), (3.87, 3.875)] {
        assert_eq!(Mark::nearest(marked).dioptres(), power);
        assert_eq!(Mark::nearest(-marked).dioptres(), -power);
        assert_eq!(Mark::nearest(power).unsigned(), format!("{marked:.2}"));
    }
    for plain in [0.13, 0.38, 0.63, 0.88, 0.25, 0.50, 0.02, 0.24] {
        assert_eq!(Mark::nearest(plain).dioptres(), plain);
        assert_eq!(Mark::nearest(-plain).dioptres(), -plain);
    }
}

#[test]
fn labels_that_could_mean_two_things_mean_none() {
    for text in [
        "",
        "sphere",
        "2.00 sphere",
        "±2.00 sphere",
        "+40.25 sphere",
        "NaN sphere",
        "inf sphere",
        "+1e1 sphere",
        "plano cylinder",
        "0 prism",
        "-3 prism",
        "+0.25 cross cylinder",
        "+0.333 sphere",
        "plano",
        "+2.00 oblong",
        "slit x2",
        "red  filter",
        "-",
        "#1",
        "3",
        "+2.00",
    ] {
        assert!(text.parse::<Lens>().is_err(), "`{text}` was read as {:?}", text.parse::<Lens>());
    }
    for text in ["occluder", "occluder #0", "occluder #100", "occluder #+1", "occluder #"] {
        assert!(text.parse::<Piece>().is_err(), "`{text}` was read as a piece");
    }
    assert_eq!("+0,25 sphere".parse::<Lens>(), "+0.25 sphere".parse::<Lens>());
    assert_eq!("\u{2212}0.12 sphere".parse::<Lens>(), Ok(Lens::Sphere(Mark::nearest(-0.125))));
}

/// What logbooks have kept since the first: each text is read for ever, and as the same thing.
#[test]
fn kept_labels_are_read_as_what_they_were() {
    let known = [
        ("occluder", Accessory::Occluder, true, false),
        ("pinhole", Accessory::Pinhole, false, false),
        ("slit", Accessory::Slit, false, true),
        ("maddox rod", Accessory::MaddoxRod, false, true),
        ("red", Accessory::Red, false, false),
        ("green", Accessory::Green, false, false),
        ("cross lines", Accessory::CrossLines, false, false),
        ("frosted", Accessory::Frosted, false, false),
        ("flipper", Accessory::Flipper, false, false),
    ];
    assert_eq!(Accessory::KNOWN, known.clone().map(|(_, accessory, _, _)| accessory));
    for (label, accessory, covers, turns) in known {
        let lens = Lens::Accessory(accessory);
        assert_eq!((lens.occludes(), lens.has_direction()), (covers, turns), "{label}");
        assert_eq!(label.parse::<Lens>().as_ref(), Ok(&lens));
        assert_eq!(serde_json::to_string(&lens).ok(), Some(format!("\"{label}\"")));
    }
    // what a box could once call its own, near a known name or not, did neither
    for own in ["red filter", "Occluder", "ocluder", "slit lamp"] {
        let lens = own.parse::<Lens>();
        let does = lens.as_ref().map(|lens| (lens.occludes(), lens.has_direction(), lens.name()));
        assert_eq!(does, Ok((false, false, Some(own))));
        assert_eq!(serde_json::from_value(serde_json::json!(own)).ok(), lens.ok(), "{own}");
    }
    let patch = Accessory::Other { name: "patch".into(), covers: true, turns: false };
    let grating = Accessory::Other { name: "grating".into(), covers: false, turns: true };
    let both = Accessory::Other { name: "covered slit".into(), covers: true, turns: true };
    for (label, own) in
        [("patch (covers)", patch), ("grating (turns)", grating), ("covered slit (covers, turns)", both)]
    {
        let lens = Lens::Accessory(own);
        assert_eq!((lens.to_string().as_str(), label.parse::<Lens>().as_ref()), (label, Ok(&lens)));
    }
    assert!("pinhole (covers)".parse::<Lens>().is_err() && "patch (shines)".parse::<Lens>().is_err());
}

#[test]
fn an_accessory_of_ones_own_does_what_its_box_says() -> Result<(), Box<dyn std::error::Error>> {
    let text = "box: Own\nlenses:\n  - {kind: sphere, powers: [\"±1.00\"], each: 1}\n  \
        - {kind: accessory, name: patch, covers: true, each: 1}\n  \
        - {kind: accessory, name: grating, turns: true, each: 2}\nmissing: [grating]\n";
    let declared = parse_box("own.yaml", text)?;
    let stock = Stock::of(&serde_json::from_str(&serde_json::to_string(&declared)?)?);
    assert_eq!(stock.get(&"grating (turns) #2".parse()?).map(|piece| &piece.place), Some(&Place::Lost));
    let mut fitted = FittedFrame::new(demo_frame()?, stock);
    let eye = Eye::Right;
    fitted.apply(&Move::Put { piece: "grating (turns) #1".parse()?, eye, cell: 1, direction: Some(30) })?;
    assert!(!fitted.in_front_of(eye).occluded);
    fitted.apply(&Move::Put { piece: "patch (covers) #1".parse()?, eye, cell: 2, direction: None })?;
    assert!(fitted.in_front_of(eye).occluded);
    // a stack is put before the eye without taking out what is there for something else
    let best = propose(&fitted, eye, Power::sphere(Dioptres(1.0)), &SearchOptions::default()).list.remove(0);
    let moves = best.movements(&fitted).moves;
    assert!(matches!(moves.as_slice(), [Move::Put { cell: 3 | 4, .. }]), "{moves:?}");
    Ok(())
}

fn line(label: &str, declared: u8, missing: u8) -> Result<LensLine, Box<dyn std::error::Error>> {
    Ok(LensLine { lens: label.parse()?, declared, missing })
}

fn small_box() -> Result<DeclaredBox, Box<dyn std::error::Error>> {
    Ok(DeclaredBox {
        measured: vec![Measured { piece: "-1.00 sphere #1".parse()?, power: -1.1, note: None }],
        ..box_of(
            "Small",
            vec![
                line("+1.00 sphere", 2, 0)?,
                line("-1.00 sphere", 3, 1)?,
                line("-0.50 cylinder", 2, 0)?,
                line("-1.00 cylinder", 2, 0)?,
                line("3 prism", 1, 0)?,
                line("occluder", 1, 0)?,
            ],
        )
    })
}

/// Two still cells, two that turn as one ring, one that turns alone.
fn ringed_frame() -> DeclaredFrame {
    let cell = |name: &str, turns, ring: Option<&str>| CellSpec {
        name: name.into(),
        gap: Millimetres(if name == "rear" { 0.0 } else { 3.5 }),
        turns,
        ring: ring.map(str::to_owned),
    };
    DeclaredFrame {
        name: "Ringed".into(),
        vertex: Millimetres(12.0),
        pd: None,
        axis_marks_deg: 5,
        cells: vec![
            cell("rear", false, None),
            cell("second", false, None),
            cell("ring inner", true, Some("ring")),
            cell("ring outer", true, Some("ring")),
            cell("outer", true, None),
        ],
    }
}

const LABELS: [&str; 6] = ["+1.00 sphere", "-1.00 sphere", "-0.50 cylinder", "-1.00 cylinder", "3 prism", "occluder"];

fn pieces() -> impl Strategy<Value = Piece> {
    (0..LABELS.len(), 1u8..=4)
        .prop_filter_map("a piece", |(label, number)| Some(Piece { lens: LABELS[label].parse().ok()?, number }))
}

fn eyes() -> impl Strategy<Value = Eye> {
    prop_oneof![Just(Eye::Right), Just(Eye::Left)]
}

/// Anything that can befall the stock: a change of the box or a movement before an eye.
#[derive(Debug, Clone)]
enum Doing {
    Change(BoxChange),
    Place(Piece, Place),
}

/// The same change of another piece.
fn of_another(change: BoxChange, piece: Piece, power: f64) -> BoxChange {
    match change {
        BoxChange::Lost(_) => BoxChange::Lost(piece),
        BoxChange::Found(_) => BoxChange::Found(piece),
        BoxChange::Lent { to, until, .. } => BoxChange::Lent { piece, to, until },
        BoxChange::Returned(_) => BoxChange::Returned(piece),
        BoxChange::Damaged { what, .. } => BoxChange::Damaged { piece, what },
        BoxChange::Mended(_) => BoxChange::Mended(piece),
        BoxChange::Measured { measurement, .. } => {
            BoxChange::Measured { piece, measurement: Measurement { power, ..measurement } }
        }
        BoxChange::Added(Further { number: None, .. }) => BoxChange::Added(piece.lens.into()),
        BoxChange::Added(_) => BoxChange::Added(piece.into()),
        BoxChange::Retired(_) => BoxChange::Retired(piece),
        BoxChange::Moved { to, number, damaged, measured, own_mark, .. } => {
            BoxChange::Moved { piece, to, number, damaged, measured, own_mark }
        }
        BoxChange::Looked { with, seen, .. } => BoxChange::Looked { piece, with, seen },
        BoxChange::Marked { own_mark, .. } => BoxChange::Marked { piece, own_mark },
        BoxChange::Note { text, .. } => BoxChange::Note { piece, text },
        BoxChange::Settled { at, .. } => BoxChange::Settled { piece, at },
    }
}

fn doings() -> impl Strategy<Value = Doing> {
    let places = prop_oneof![
        Just(Place::Box),
        (eyes(), 1u8..=3).prop_map(|(eye, cell)| Place::Cell { eye, cell }),
        eyes().prop_map(|eye| Place::Hand { eye }),
        Just(Place::Lost),
        Just(Place::Retired),
    ];
    let changes = (pieces(), prop::sample::select(box_changes()), -45.0f64..45.0)
        .prop_map(|(piece, change, power)| of_another(change, piece, power));
    prop_oneof![
        changes.prop_map(Doing::Change),
        (pieces(), places).prop_map(|(piece, place)| Doing::Place(piece, place))
    ]
}

fn parts(count: &LensCount) -> u8 {
    count.free + count.lost + count.lent + count.damaged + count.in_frame + count.in_two_places
}

/// Every way to find pieces against a look through the whole box.
fn what_is_found_is_what_a_look_through_the_box_finds(stock: &Stock) -> Result<(), TestCaseError> {
    let all: Vec<&StockedPiece> = stock.pieces().iter().collect();
    let those = |fits: &dyn Fn(&StockedPiece) -> bool| -> Vec<&StockedPiece> {
        all.iter().copied().filter(|stocked| fits(stocked)).collect()
    };
    prop_assert_eq!(stock.before_eyes().collect::<Vec<_>>(), those(&|stocked| stocked.place.is_before_an_eye()));
    for eye in Eye::BOTH {
        let places = (0..=4).map(|cell| Place::Cell { eye, cell }).chain([Place::Hand { eye }]);
        for place in places {
            prop_assert_eq!(stock.at(&place), those(&|stocked| stocked.place == place).first().copied());
        }
    }
    for label in LABELS.into_iter().chain(["+9.75 sphere"]) {
        let lens: Lens = label.parse()?;
        prop_assert_eq!(stock.of_lens(&lens).collect::<Vec<_>>(), those(&|stocked| stocked.piece.lens == lens));
        for number in 0..=8 {
            let piece = Piece { lens: lens.clone(), number };
            prop_assert_eq!(stock.get(&piece), those(&|stocked| stocked.piece == piece).first().copied());
        }
    }
    let rising: Vec<&StockedPiece> = stock.rising().collect();
    let powered = those(&|stocked| stocked.piece.lens.is_stacked() && stocked.power().0 != 0.0);
    prop_assert_eq!(rising.len(), powered.len());
    prop_assert!(powered.iter().all(|stocked| rising.contains(stocked)));
    let rank = |stocked: &StockedPiece| (stocked.piece.lens.needs_turning_cell(), stocked.power().0);
    prop_assert!(rising.is_sorted_by(|one, other| rank(one) <= rank(other)));
    Ok(())
}

proptest! {
    #[test]
    fn a_piece_is_in_one_place_whatever_befalls_the_box(doings in prop::collection::vec(doings(), 0..120)) {
        let mut stock = Stock::of(&small_box().map_err(|error| TestCaseError::fail(error.to_string()))?);
        let (mut belong, mut added, mut retired) = (stock.pieces().iter().len(), 0, 0);
        for doing in doings {
            let before = stock.clone();
            let outcome = match &doing {
                Doing::Change(change) => stock.change(change),
                Doing::Place(piece, place) => stock.place(piece, place.clone()).map(|()| Effect::Changed),
            };
            if outcome != Ok(Effect::Changed) {
                prop_assert_eq!(&stock, &before, "a refusal changed the stock: {:?}", doing);
                continue;
            }
            match &doing {
                Doing::Change(BoxChange::Added(_)) => added += 1,
                Doing::Change(BoxChange::Retired(_) | BoxChange::Moved { .. }) => retired += 1,
                Doing::Change(_) => {}
                Doing::Place(piece, place) => {
                    prop_assert_eq!(stock.get(piece).map(|stocked| &stocked.place), Some(place));
                    prop_assert!(place.is_at_hand(), "{piece} was put {place}");
                    let was = before.get(piece).map(|stocked| stocked.place.is_at_hand());
                    prop_assert_eq!(was, Some(true), "a piece out of reach was put before an eye");
                }
            }
            prop_assert_eq!(stock.pieces().iter().len(), belong + added, "pieces come only by adding and never vanish");
            for (index, one) in stock.pieces().iter().enumerate() {
                for other in stock.pieces().iter().skip(index + 1) {
                    prop_assert_ne!(&one.piece, &other.piece, "two pieces have one name");
                    prop_assert!(!(one.place.is_before_an_eye() && one.place == other.place), "two pieces in {}", one.place);
                }
                prop_assert!(one.power().0.abs() <= 40.0);
            }
            what_is_found_is_what_a_look_through_the_box_finds(&stock)?;
            let kept: Stock = serde_json::from_str(&serde_json::to_string(&stock)?)?;
            prop_assert_eq!(&kept, &stock, "what is kept reads as it was");
            what_is_found_is_what_a_look_through_the_box_finds(&kept)?;
            let counts = stock.counts();
            prop_assert!(counts.iter().all(|count| parts(count) == count.declared), "{counts:?}");
            let sum: usize = counts.iter().map(|count| usize::from(count.declared)).sum();
            prop_assert_eq!(sum, belong + added - retired);
        }
        belong += added;
        prop_assert_eq!(stock.pieces().iter().len(), belong);
    }
}

#[test]
fn the_missing_have_the_highest_numbers_and_a_measured_mark_is_no_news() -> Outcome {
    let mut declared = small_box()?;
    declared.measured.push(Measured { piece: "+1.00 sphere #2".parse()?, power: 1.0, note: None });
    let stock = Stock::of(&declared);
    let place = |label: &str| stock.get(&label.parse().ok()?).map(|stocked| stocked.place.clone());
    assert_eq!(place("-1.00 sphere #2"), Some(Place::Box));
    assert_eq!(place("-1.00 sphere #3"), Some(Place::Lost));
    assert_eq!(stock.get(&"+1.00 sphere #2".parse()?).and_then(|stocked| stocked.measured), None);
    assert_eq!(stock.get(&"-1.00 sphere #1".parse()?).map(|stocked| stocked.power().0), Some(-1.1));
    Ok(())
}

#[test]
fn what_cannot_be_measured_is_refused() -> Outcome {
    let mut stock = Stock::of(&small_box()?);
    for power in [f64::NAN, f64::INFINITY, 40.5] {
        let outcome = stock
            .change(&BoxChange::Measured { piece: "+1.00 sphere #1".parse()?, measurement: Measurement::of(power) });
        assert!(matches!(outcome, Err(StockError::OutOfRange(_))), "{power} was taken");
    }
    let outcome =
        stock.change(&BoxChange::Measured { piece: "occluder #1".parse()?, measurement: Measurement::of(1.0) });
    assert!(matches!(outcome, Err(StockError::NoPower { .. })));
    Ok(())
}

#[test]
fn a_lost_lens_cannot_be_put_before_an_eye_until_it_is_found() -> Outcome {
    let mut stock = Stock::of(&small_box()?);
    let lost: Piece = "-1.00 sphere #3".parse()?;
    let cell = Place::Cell { eye: Eye::Right, cell: 1 };
    let refused = stock.place(&lost, cell.clone()).err().map(|error| error.to_string());
    assert_eq!(refused.as_deref(), Some("-1.00 sphere #3 is lost, so it cannot be moved"));
    stock.change(&BoxChange::Found(lost.clone()))?;
    stock.place(&lost, cell)?;
    let other = stock.place(&"+1.00 sphere #1".parse()?, Place::Cell { eye: Eye::Right, cell: 1 });
    let refused = other.err().map(|error| error.to_string());
    assert_eq!(refused.as_deref(), Some("-1.00 sphere #3 is already in cell 1 of the right eye: take it out first"));
    Ok(())
}

fn moves() -> impl Strategy<Value = Move> {
    let direction = prop_oneof![Just(None), (0u16..8).prop_map(|n| Some(n * 45)), (0u16..400).prop_map(Some)];
    (pieces(), eyes(), 0u8..=6, direction, 0..5).prop_map(|(piece, eye, cell, direction, what)| match what {
        0 | 1 => Move::Put { piece, eye, cell, direction },
        2 => Move::Take { piece, eye, cell },
        3 => Move::Turn { eye, cell, direction: direction.unwrap_or(90) },
        _ if cell % 2 == 0 => Move::Hold { piece, eye, direction },
        _ => Move::Lay { piece, eye },
    })
}

proptest! {
    #[test]
    fn a_frame_stays_possible_whatever_the_hand_does(moves in prop::collection::vec(moves(), 0..150)) {
        let declared = small_box().map_err(|error| TestCaseError::fail(error.to_string()))?;
        let mut fitted = FittedFrame::new(ringed_frame(), Stock::of(&declared));
        for step in moves {
            let before = fitted.clone();
            prop_assert_eq!(fitted.check(&step).is_ok(), fitted.apply(&step).is_ok(), "check and apply disagree");
            if before.check(&step).is_err() {
                prop_assert_eq!(&fitted, &before, "a refusal changed the frame: {}", step);
                continue;
            }
            let turned = |eye, cell| fitted.direction(eye, cell);
            for eye in Eye::BOTH {
                prop_assert_eq!(turned(eye, 3), turned(eye, 4), "a ring has one axis");
                for lens in fitted.in_cells(eye) {
                    let lens_needs_turning = lens.stocked.piece.lens.needs_turning_cell();
                    prop_assert!(lens.cell >= 3 || !lens_needs_turning, "a cylinder stands in a still cell");
                    prop_assert!(lens.direction.degrees().is_none_or(|degrees| degrees < 360));
                }
                prop_assert!(fitted.in_front_of(eye).net.is_finite() && fitted.in_front_of(eye).net_with_hand.is_finite());
            }
            let other = step.eye().other();
            prop_assert!(fitted.in_cells(other).eq(before.in_cells(other)), "{} moved the other eye's lenses", step);
            // a lens that stays where it is keeps its direction, unless it is the one that was turned
            if !matches!(step, Move::Turn { .. }) {
                for was in before.in_cells(step.eye()).filter(|lens| lens.stocked.piece.lens.has_direction()) {
                    if let Some(is) = fitted.in_cell(step.eye(), was.cell) {
                        prop_assert_eq!(is.direction, was.direction, "{} turned {}", step, was.stocked.piece);
                    }
                }
            }
        }
    }
}

fn ringed() -> Result<FittedFrame, Box<dyn std::error::Error>> {
    Ok(FittedFrame::new(ringed_frame(), Stock::of(&small_box()?)))
}

fn put(label: &str, cell: u8, direction: Option<u16>) -> Result<Move, Box<dyn std::error::Error>> {
    Ok(Move::Put { piece: label.parse()?, eye: Eye::Right, cell, direction })
}

fn refusal(fitted: &FittedFrame, step: &Move) -> Option<String> {
    fitted.check(step).err().map(|error| error.to_string())
}

#[test]
fn a_cylinder_is_refused_where_nothing_turns() -> Outcome {
    let said = refusal(&ringed()?, &put("-0.50 cylinder #1", 1, Some(90))?);
    let expected = "cell 1 does not turn, so -0.50 cylinder #1 cannot be set to an axis there: use cell 3 or 4 or 5";
    assert_eq!(said.as_deref(), Some(expected));
    Ok(())
}

#[test]
fn a_ring_refuses_a_second_axis_and_turns_as_one() -> Outcome {
    let mut fitted = ringed()?;
    fitted.apply(&put("-0.50 cylinder #1", 3, Some(90))?)?;
    let said = refusal(&fitted, &put("-1.00 cylinder #1", 4, Some(45))?);
    let expected = "cell 4 turns together with a cell that holds -0.50 cylinder #1 at 90: a ring has one axis";
    assert_eq!(said.as_deref(), Some(expected));
    fitted.apply(&put("-1.00 cylinder #1", 4, Some(90))?)?;
    fitted.apply(&Move::Turn { eye: Eye::Right, cell: 4, direction: 30 })?;
    let axes: Vec<Direction> = fitted.in_cells(Eye::Right).map(|lens| lens.direction).collect();
    assert_eq!(axes, [Direction::Axis(Axis::folded(30)); 2]);
    assert_eq!(fitted.direction(Eye::Left, 3), 180, "the other eye's ring stands");
    Ok(())
}

#[test]
fn a_ring_never_turns_a_prism_over_to_take_a_cylinder() -> Outcome {
    let mut fitted = ringed()?;
    fitted.apply(&put("3 prism #1", 3, Some(270))?)?;
    assert!(matches!(fitted.check(&put("-0.50 cylinder #1", 4, Some(90))?), Err(MoveError::RingHeld { .. })));
    fitted.apply(&put("-0.50 cylinder #1", 4, Some(270))?)?;
    let before = fitted.in_front_of(Eye::Right);
    approx::assert_abs_diff_eq!(before.prism.y, -3.0, epsilon = 1e-9);
    approx::assert_abs_diff_eq!(before.net.minus_form().axis, 90.0, epsilon = 1e-6);
    Ok(())
}

#[test]
fn a_still_cell_is_not_turned_but_a_prism_in_it_is() -> Outcome {
    let mut fitted = ringed()?;
    let turn = Move::Turn { eye: Eye::Right, cell: 1, direction: 90 };
    let said = refusal(&fitted, &turn);
    assert_eq!(said.as_deref(), Some("cell 1 does not turn and holds nothing with an axis: use cell 3 or 4 or 5"));
    fitted.apply(&put("3 prism #1", 1, Some(0))?)?;
    fitted.apply(&turn)?;
    approx::assert_abs_diff_eq!(fitted.in_front_of(Eye::Right).prism.y, 3.0, epsilon = 1e-9);
    let off_dial = Move::Turn { eye: Eye::Right, cell: 3, direction: 360 };
    assert!(matches!(fitted.check(&off_dial), Err(MoveError::NoDirection { direction: 360 })));
    Ok(())
}
