//! What other seats noted of one's own box, once their parcels are read.

use dioptray::kit::{BoxChange, DeclaredBox, Measurement, Piece, Place, SettledAt};
use dioptray::logbook::parcels::others::others_of;
use dioptray::logbook::{LogbookError, NamedBox, NewChanges, StockOnRecord};

use super::parcels::Seats;
use super::{after, declared_box};

/// The box of this test, which every seat has a file of.
fn named() -> NamedBox {
    NamedBox::new(Some("hillside"), "Hillside")
}

fn declared() -> DeclaredBox {
    DeclaredBox { id: Some("hillside".to_owned()), ..declared_box("Hillside") }
}

fn piece(text: &str) -> Piece {
    text.parse().unwrap()
}

fn lent(of: &str, to: &str) -> BoxChange {
    BoxChange::Lent { piece: piece(of), to: Some(to.to_owned()), until: None }
}

fn settled(of: &str, at: SettledAt) -> BoxChange {
    BoxChange::Settled { piece: piece(of), at }
}

fn measured(of: &str, power: f64) -> BoxChange {
    BoxChange::Measured { piece: piece(of), measurement: Measurement::of(power) }
}

/// Notes it at a seat.
fn note(seats: &Seats, seat: &str, change: &BoxChange) -> Result<StockOnRecord, LogbookError> {
    seats.open(seat).change_box(&named(), &declared(), change, Some(seat), after(0))
}

/// The box as a seat has it.
fn at(seats: &Seats, seat: &str) -> StockOnRecord {
    seats.open(seat).stock_of(&named().key, &declared()).unwrap()
}

/// Has one seat read all that another one wrote.
fn carry(seats: &Seats, from: &str, to: &str) {
    let file = seats.write(from, &format!("{from}-to-{to}"), None);
    seats.read(to, &[&file]).unwrap();
}

fn place(on_record: &StockOnRecord, of: &str) -> Place {
    on_record.stock.get(&piece(of)).unwrap().place.clone()
}

const LENS: &str = "-2.00 sphere #1";

#[test]
fn what_is_lost_at_another_seat_is_lost_here_once_its_parcel_is_read() {
    let seats = Seats::new();
    seats.open("lane3");
    note(&seats, "teamB", &BoxChange::Lost(piece(LENS))).unwrap();
    note(&seats, "teamB", &lent("-2.00 sphere #2", "Clinic 4")).unwrap();
    assert_eq!(place(&at(&seats, "lane3"), LENS), Place::Box);
    carry(&seats, "teamB", "lane3");
    let here = at(&seats, "lane3");
    assert_eq!(place(&here, LENS), Place::Lost);
    assert_eq!(here.place_noted_at(&piece(LENS)).map(ToString::to_string).as_deref(), Some("teamB"));
    assert_eq!(here.unsettled(), []);
    let line = &here.history_of(&piece(LENS))[0];
    assert_eq!((line.event, line.by.as_deref()), ("lost", Some("teamB")));
    assert_eq!(line.seat.as_ref().map(ToString::to_string).as_deref(), Some("teamB"));
    // the loan is one here too
    let loan = here.loan_of(&piece("-2.00 sphere #2"), "2026-03-02".parse().unwrap()).unwrap();
    assert_eq!((loan.to.as_deref(), loan.since), (Some("Clinic 4"), after(0)));
    // found here, it is found: the keeper knew of both
    let found = note(&seats, "lane3", &BoxChange::Found(piece(LENS))).unwrap();
    assert_eq!(place(&found, LENS), Place::Box);
    assert_eq!(found.place_noted_at(&piece(LENS)), None);
    carry(&seats, "lane3", "teamB");
    assert_eq!(place(&at(&seats, "teamB"), LENS), Place::Box);
}

#[test]
fn another_box_with_the_same_name_is_another_box() {
    let seats = Seats::new();
    let (name, nameless) = (NamedBox::new(None, "Hillside"), declared_box("Hillside"));
    seats.open("lane3");
    seats.open("teamB").change_box(&name, &nameless, &BoxChange::Lost(piece(LENS)), None, after(0)).unwrap();
    carry(&seats, "teamB", "lane3");
    assert_eq!(place(&seats.open("lane3").stock_of(&name.key, &nameless).unwrap(), LENS), Place::Box);
}

#[test]
fn a_piece_that_two_teams_were_lent_is_in_two_places_until_it_is_settled() {
    let seats = Seats::new();
    note(&seats, "lane3", &lent(LENS, "Clinic 3")).unwrap();
    note(&seats, "teamB", &lent(LENS, "Clinic 4")).unwrap();
    carry(&seats, "teamB", "lane3");
    carry(&seats, "lane3", "teamB");
    for seat in ["lane3", "teamB"] {
        let here = at(&seats, seat);
        assert_eq!(place(&here, LENS), Place::InTwoPlaces);
        assert!(!here.stock.get(&piece(LENS)).unwrap().is_free());
        assert!(here.refused.is_empty());
        let open = here.unsettled();
        assert_eq!(open.len(), 1);
        assert!(open[0].is_of_the_place());
        let said: Vec<(bool, Option<String>)> =
            open[0].said.iter().map(|said| (said.seat.is_none(), said.change.details())).collect();
        let own = if seat == "lane3" { "to Clinic 3" } else { "to Clinic 4" };
        assert_eq!(said[0], (true, Some(own.to_owned())), "what was noted here comes first");
        assert!(!said[1].0);
    }
    let before = at(&seats, "lane3").unsettled()[0].in_words();
    assert_eq!(
        before,
        "-2.00 sphere #1, in two places: lent to Clinic 3, noted here by lane3; lent to Clinic 4, noted at teamB by teamB"
    );
    let settled = note(&seats, "lane3", &settled(LENS, SettledAt::Seat("teamB".to_owned()))).unwrap();
    assert_eq!(place(&settled, LENS), Place::Lent { to: Some("teamB".to_owned()) });
    assert_eq!(settled.unsettled(), []);
    carry(&seats, "lane3", "teamB");
    let there = at(&seats, "teamB");
    assert_eq!(place(&there, LENS), Place::Box, "what is at this seat is here");
    assert_eq!(there.unsettled(), []);
    // a slip of the keeper leaves it as open as it was
    let back = seats.open("lane3").undo_in_box(&named(), &declared(), None, None, after(10)).unwrap();
    assert_eq!(place(&back.on_record, LENS), Place::InTwoPlaces);
    assert_eq!(back.on_record.unsettled()[0].in_words(), before);
}

#[test]
fn damage_and_power_are_facts_of_their_own_and_are_settled_by_noting_them_again() {
    let seats = Seats::new();
    note(&seats, "lane3", &BoxChange::Lost(piece(LENS))).unwrap();
    note(&seats, "teamB", &measured(LENS, -1.87)).unwrap();
    note(&seats, "teamB", &BoxChange::Damaged { piece: piece(LENS), what: Some("scratched".to_owned()) }).unwrap();
    carry(&seats, "teamB", "lane3");
    let here = at(&seats, "lane3");
    let now = here.stock.get(&piece(LENS)).unwrap();
    assert_eq!((&now.place, now.damaged, now.measured), (&Place::Lost, true, Some(-1.87)));
    assert_eq!(here.unsettled(), []);
    let known = here.known_of(&piece(LENS), "2026-03-02".parse().unwrap());
    assert_eq!(known.damage.as_deref(), Some("scratched"));
    assert_eq!(known.measured.map(|at| at.measurement.power), Some(-1.87));
    // another seat that had not read that measured something else, and says that it is whole again
    note(&seats, "desk", &BoxChange::Damaged { piece: piece(LENS), what: None }).unwrap();
    note(&seats, "desk", &BoxChange::Mended(piece(LENS))).unwrap();
    note(&seats, "desk", &measured(LENS, -2.12)).unwrap();
    carry(&seats, "desk", "lane3");
    let here = at(&seats, "lane3");
    let open: Vec<&str> = here.unsettled().iter().map(dioptray::logbook::Unsettled::about).collect();
    assert_eq!(open, ["damage", "power"]);
    let now = here.stock.get(&piece(LENS)).unwrap();
    assert_eq!((now.damaged, now.measured), (true, None), "proposed last, and by its mark");
    note(&seats, "lane3", &BoxChange::Damaged { piece: piece(LENS), what: None }).unwrap();
    note(&seats, "lane3", &measured(LENS, -1.94)).unwrap();
    let here = at(&seats, "lane3");
    assert_eq!(here.unsettled(), []);
    assert_eq!(here.stock.get(&piece(LENS)).unwrap().measured, Some(-1.94));
}

#[test]
fn a_box_that_is_handed_over_is_changed_by_that_seat_alone_until_it_is_back() {
    let seats = Seats::new();
    seats.open("lane3").hand_over_box(&named(), &declared(), Some("teamB"), None, after(0)).unwrap();
    let refused = note(&seats, "lane3", &BoxChange::Lost(piece(LENS))).unwrap_err();
    assert!(refused.is_a_refusal_of_a_box());
    assert_eq!(
        refused.to_string(),
        "the box Hillside is handed over to teamB, which alone changes it until it is handed back: `dioptray box hand-over --back` \
         notes that"
    );
    // one who had not heard of it
    note(&seats, "desk", &BoxChange::Lost(piece(LENS))).unwrap();
    carry(&seats, "lane3", "teamB");
    let there = note(&seats, "teamB", &lent(LENS, "Clinic 4")).unwrap();
    assert!(!there.handed_over().unwrap().is_closed_here);
    carry(&seats, "teamB", "lane3");
    carry(&seats, "desk", "lane3");
    let here = at(&seats, "lane3");
    assert_eq!(place(&here, LENS), Place::Lent { to: Some("Clinic 4".to_owned()) });
    let open = here.unsettled();
    assert_eq!(open.len(), 1);
    assert_eq!(
        open[0].in_words(),
        "-2.00 sphere #1, where is it?: lost, noted at desk by desk while the box is handed over; lent to Clinic 4, noted at teamB by teamB"
    );
    // it comes back, and what was kept counts
    seats.open("lane3").hand_over_box(&named(), &declared(), None, None, after(20)).unwrap();
    let here = at(&seats, "lane3");
    assert_eq!(here.handed_over(), None);
    assert_eq!(place(&here, LENS), Place::InTwoPlaces);
    note(&seats, "lane3", &settled(LENS, SettledAt::Lost)).unwrap();
    assert_eq!(at(&seats, "lane3").unsettled(), []);
}

#[test]
fn what_cannot_be_handed_over_is_refused() {
    let seats = Seats::new();
    let mut logbook = seats.open("lane3");
    let mut hand = |to| logbook.hand_over_box(&named(), &declared(), to, None, after(0)).map(|_| ());
    assert_eq!(hand(Some("lane3")).unwrap_err().to_string(), "lane3 is this seat: the box Hillside is here");
    assert_eq!(hand(None).unwrap_err().to_string(), "the box Hillside is not handed over to anybody");
    assert!(hand(Some("team B")).unwrap_err().to_string().contains("is not the name of a seat"));
    hand(Some("teamB")).unwrap();
    assert!(matches!(hand(Some("desk")), Err(LogbookError::BoxHandedOver { .. })));
    // a slip
    logbook.undo_in_box(&named(), &declared(), None, None, after(1)).unwrap();
    assert_eq!(logbook.stock_of(&named().key, &declared()).unwrap().handed_over(), None);
}

#[test]
fn a_further_piece_of_another_seat_is_not_one_of_the_pieces_here() {
    let seats = Seats::new();
    let further = |seats: &Seats, seat: &str| {
        let lens: dioptray::kit::Lens = "-2.00 sphere".parse().unwrap();
        note(seats, seat, &BoxChange::Added(lens.into())).unwrap()
    };
    further(&seats, "teamB");
    note(&seats, "teamB", &measured("-2.00 sphere #3", -1.81)).unwrap();
    further(&seats, "lane3");
    carry(&seats, "teamB", "lane3");
    let here = at(&seats, "lane3");
    let third = here.stock.get(&piece("-2.00 sphere #3")).unwrap();
    assert_eq!(
        (&third.place, third.measured),
        (&Place::Box, None),
        "one that came here, of which nobody measured anything"
    );
    assert_eq!(here.history_of(&piece("-2.00 sphere #3")).len(), 3, "the history has both");
    // and the next that comes here has a number that nobody gave
    let fourth = further(&seats, "lane3");
    assert!(fourth.stock.get(&piece("-2.00 sphere #4")).is_some());
}

#[test]
fn what_is_noted_names_what_was_known_of_that_piece_from_every_seat() {
    let seats = Seats::new();
    seats.open("lane3");
    note(&seats, "teamB", &BoxChange::Lost(piece(LENS))).unwrap();
    note(&seats, "teamB", &BoxChange::Lost(piece("-2.00 sphere #2"))).unwrap();
    carry(&seats, "teamB", "lane3");
    let here = note(&seats, "lane3", &BoxChange::Found(piece(LENS))).unwrap();
    let theirs = &here.others.entries;
    let own = &here.entries.all[0];
    let (about_it, about_another) = (theirs[0].stored.entry, theirs[1].stored.entry);
    assert!(own.after.know(about_it.writer, about_it.number));
    assert!(!own.after.know(about_another.writer, about_another.number));
}

#[test]
fn what_cannot_be_read_of_others_keeps_nobody_from_the_box() {
    let seats = Seats::new();
    seats.open("lane3");
    note(&seats, "teamB", &BoxChange::Lost(piece(LENS))).unwrap();
    note(&seats, "teamB", &BoxChange::Lost(piece("-2.25 sphere #1"))).unwrap();
    carry(&seats, "teamB", "lane3");
    let others = others_of(&seats.path("lane3"));
    // a newer program wrote the first
    let as_of_a_newer_program = "DROP TRIGGER entry_is_kept; UPDATE entry SET format = 9 WHERE number = 1";
    rusqlite::Connection::open(&others).unwrap().execute_batch(as_of_a_newer_program).unwrap();
    let here = at(&seats, "lane3");
    assert_eq!((place(&here, LENS), place(&here, "-2.25 sphere #1")), (Place::Box, Place::Lost));
    assert_eq!(here.unread.len(), 1);
    assert!(here.unread[0].contains("it has row form 9"), "{}", here.unread[0]);
    std::fs::write(&others, b"SQLite format 3\0 and nothing more").unwrap();
    let here = at(&seats, "lane3");
    assert_eq!(place(&here, "-2.25 sphere #1"), Place::Box);
    assert_eq!(here.unread.len(), 1);
    assert!(here.unread[0].contains("others-logbook.db"), "{}", here.unread[0]);
    note(&seats, "lane3", &BoxChange::Lost(piece("-1.00 sphere #1"))).unwrap();
}

/// Moves into a box that is with somebody else are changes of it too.
#[test]
fn nothing_moves_into_a_box_that_is_handed_over() {
    let seats = Seats::new();
    let mut logbook = seats.open("lane3");
    let school = NamedBox::new(Some("school"), "School");
    let of_school = DeclaredBox { id: Some("school".to_owned()), ..declared_box("School") };
    logbook.hand_over_box(&school, &of_school, Some("teamB"), None, after(0)).unwrap();
    let moves = BoxChange::moved_to(piece(LENS), "id:school");
    let new = NewChanges { changes: vec![moves], note: None, by: None, at: after(1), count: None };
    let refused = logbook.note_in_box(&named(), &declared(), &new, &[(school, &of_school)]);
    assert!(matches!(refused, Err(LogbookError::BoxHandedOver { .. })));
}
