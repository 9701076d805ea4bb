//! Cases worked by hand, in the words of whoever keeps boxes.

use dioptray::sharing::pieces::{Power, Says, What, Whereabouts, fold};
use dioptray::sharing::{EntryRef, Heads, SeatName, Told, WriterId};
use uuid::Uuid;

/// Entry 1, 2, 3 … of seat 1, 2, 3 …
fn entry(seat: u128, number: i64) -> EntryRef {
    EntryRef { writer: WriterId::new(Uuid::from_u128(seat)), number }
}

fn seat_of(writer: WriterId) -> Option<SeatName> {
    SeatName::new(&format!("seat{}", writer.uuid().as_u128())).ok()
}

fn knowing(known: &[EntryRef]) -> Heads {
    let mut heads = Heads::default();
    for entry in known {
        heads.learn(entry.writer, entry.number);
    }
    heads
}

fn said(by: EntryRef, after: &[EntryRef], piece: u8, says: Says) -> Told<u8> {
    Told { entry: by, after: knowing(after), what: What::Of(vec![(piece, says)]) }
}

fn lent(to: &str) -> Says {
    Says::Place(Whereabouts::OnLoan(Some(to.to_owned())))
}

const LOST: Says = Says::Place(Whereabouts::Lost);

/// Two teams were lent the same piece: both stand until somebody settles it, who names both.
#[test]
fn lent_twice_is_in_two_places_until_it_is_settled() {
    let mut told = vec![said(entry(1, 1), &[], 1, lent("Clinic 3")), said(entry(2, 1), &[], 1, lent("Clinic 4"))];
    assert!(fold(&told, &seat_of).pieces[&1].place.is_unsettled());
    let settles = Says::Place(Whereabouts::At("seat2".to_owned()));
    told.push(said(entry(1, 2), &[entry(2, 1)], 1, settles));
    let place = &fold(&told, &seat_of).pieces[&1].place;
    assert_eq!(place.value(), Some(&Whereabouts::At("seat2".to_owned())));
}

/// Several that say the same are one.
#[test]
fn lost_at_two_seats_is_lost() {
    let told = [said(entry(1, 1), &[], 1, LOST), said(entry(2, 1), &[], 1, LOST)];
    assert_eq!(fold(&told, &seat_of).pieces[&1].place.value(), Some(&Whereabouts::Lost));
}

/// Place, damage and measured power are separate facts.
#[test]
fn lost_here_and_damaged_and_measured_there_is_no_conflict() {
    let told = [
        said(entry(1, 1), &[], 1, LOST),
        said(entry(2, 1), &[], 1, Says::Damage(true)),
        said(entry(3, 1), &[], 1, Says::Power(Power::of(-1.87))),
    ];
    let piece = &fold(&told, &seat_of).pieces[&1];
    assert_eq!(piece.place.value(), Some(&Whereabouts::Lost));
    assert_eq!(piece.damage.value(), Some(&true));
    assert_eq!(piece.power.value().map(|power| power.dioptres()), Some(-1.87));
}

/// What was a slip counts as if it had not been noted, and what it followed counts again.
#[test]
fn without_a_slip_what_was_before_it_counts() {
    let told = [
        said(entry(1, 1), &[], 1, lent("Clinic 3")),
        said(entry(2, 1), &[entry(1, 1)], 1, LOST),
        Told { entry: entry(2, 2), after: knowing(&[]), what: What::TakesBack(entry(2, 1)) },
    ];
    let place = &fold(&told, &seat_of).pieces[&1].place;
    assert_eq!(place.value(), Some(&Whereabouts::OnLoan(Some("Clinic 3".to_owned()))));
}

/// Nobody is taken to know what somebody else knew: it may never have arrived.
#[test]
fn what_somebody_else_knew_is_not_known() {
    let told = [
        said(entry(1, 1), &[], 1, LOST),
        said(entry(2, 1), &[entry(1, 1)], 1, Says::Place(Whereabouts::InTheBox)),
        Told { entry: entry(2, 2), after: knowing(&[]), what: What::TakesBack(entry(2, 1)) },
        // seat 3 had read what seat 2 noted, and never what seat 1 did
        said(entry(3, 1), &[entry(2, 1)], 1, lent("Clinic 3")),
    ];
    assert!(fold(&told, &seat_of).pieces[&1].place.is_unsettled());
}

/// An entry without `after` knows what its own writer wrote before.
#[test]
fn old_rows_know_their_own_writer() {
    let told = [said(entry(1, 1), &[], 1, LOST), said(entry(1, 2), &[], 1, lent("Clinic 3"))];
    let place = &fold(&told, &seat_of).pieces[&1].place;
    assert_eq!(place.value(), Some(&Whereabouts::OnLoan(Some("Clinic 3".to_owned()))));
}

/// Entries of before named only what came last of a piece: what their writer named earlier is known to the writer still.
#[test]
fn what_a_writer_named_once_is_known_to_it_from_then_on() {
    let told = [
        said(entry(1, 1), &[], 1, LOST),
        said(entry(2, 1), &[entry(1, 1)], 1, Says::Place(Whereabouts::InTheBox)),
        Told { entry: entry(2, 2), after: knowing(&[]), what: What::TakesBack(entry(2, 1)) },
        said(entry(2, 3), &[entry(2, 1)], 1, lent("Clinic 3")),
    ];
    let place = &fold(&told, &seat_of).pieces[&1].place;
    assert_eq!(place.value(), Some(&Whereabouts::OnLoan(Some("Clinic 3".to_owned()))));
}

/// While a box is handed over what others note of it is kept, counts for nothing, and is listed; once it is back it counts.
#[test]
fn a_box_that_is_handed_over_is_changed_by_that_seat_alone() {
    let hands = |by, to: Option<&str>, after: &[EntryRef]| {
        let to = to.and_then(|to| SeatName::new(to).ok());
        Told { entry: by, after: knowing(after), what: What::<u8>::HandsOver(to) }
    };
    let mut told = vec![
        hands(entry(1, 1), Some("seat2"), &[]),
        said(entry(2, 1), &[entry(1, 1)], 1, lent("Clinic 3")),
        // had not heard of it
        said(entry(3, 1), &[], 1, LOST),
    ];
    let state = fold(&told, &seat_of);
    let piece = &state.pieces[&1];
    assert_eq!(piece.place.value(), Some(&Whereabouts::OnLoan(Some("Clinic 3".to_owned()))));
    assert_eq!(piece.outside, [entry(3, 1)].into());
    assert!(state.is_closed_to(seat_of(entry(1, 1).writer).as_ref()));
    assert!(state.is_closed_to(None));
    assert!(!state.is_closed_to(seat_of(entry(2, 1).writer).as_ref()));
    told.push(hands(entry(2, 2), None, &[entry(1, 1)]));
    let state = fold(&told, &seat_of);
    assert!(!state.is_closed_to(None));
    assert!(state.pieces[&1].place.is_unsettled());
    assert!(state.pieces[&1].outside.is_empty());
}

/// An entry that claims to know what comes after it gains nothing by that.
#[test]
fn two_that_claim_to_know_each_other_both_stand() {
    let told = [said(entry(1, 1), &[entry(2, 1)], 1, LOST), said(entry(2, 1), &[entry(1, 1)], 1, lent("Clinic 3"))];
    assert!(fold(&told, &seat_of).pieces[&1].place.is_unsettled());
}
