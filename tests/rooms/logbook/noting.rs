//! Noting what happened in one entry, moving between boxes, and taking back.

use std::thread;
use std::time::Duration;

use dioptray::exam::Event;
use dioptray::frame::Move;
use dioptray::kit::{BoxChange, DeclaredBox, LensLine, Measurement, Motion, Piece, Place, StockTake, Tray};
use dioptray::logbook::{BoxKey, EntryRef, Logbook, LogbookError, NamedBox, NewChanges, Noted, StockOnRecord};
use dioptray::optics::Eye;
use proptest::prelude::*;
use rusqlite::{Connection, TransactionBehavior};

use super::{after, fresh, start};
use crate::invented::declared_box;
use crate::kept_exam::{append, begin, named};

fn piece(label: &str) -> Piece {
    label.parse().unwrap()
}

fn new(changes: Vec<BoxChange>) -> NewChanges<'static> {
    NewChanges { changes, note: None, by: None, at: start(), count: None }
}

fn lost(label: &str) -> BoxChange {
    BoxChange::Lost(piece(label))
}

fn lent(label: &str, to: Option<&str>) -> BoxChange {
    BoxChange::Lent { piece: piece(label), to: to.map(str::to_owned), until: None }
}

/// Two boxes in a logbook.
struct Two {
    _folder: tempfile::TempDir,
    logbook: Logbook,
    boxes: [(NamedBox, DeclaredBox); 2],
}

impl Two {
    fn new() -> Self {
        let (folder, path) = fresh();
        let of = |id: &str| (NamedBox::new(Some(id), id), DeclaredBox { id: Some(id.to_owned()), ..declared_box(id) });
        Self { _folder: folder, logbook: Logbook::open(&path).unwrap(), boxes: [of("bag-a"), of("bag-b")] }
    }

    fn note(&mut self, which: usize, changes: Vec<BoxChange>) -> Result<Noted, LogbookError> {
        let (there, declared_there) = self.boxes[1 - which].clone();
        let (here, declared) = &self.boxes[which];
        self.logbook.note_in_box(here, declared, &new(changes), &[(there, &declared_there)])
    }

    fn undo(&mut self, which: usize, entry: Option<EntryRef>) -> Result<(), LogbookError> {
        let (here, declared) = &self.boxes[which];
        self.logbook.undo_in_box(here, declared, entry, None, after(9)).map(|_| ())
    }

    fn record(&self, which: usize) -> StockOnRecord {
        let (here, declared) = &self.boxes[which];
        self.logbook.stock_of(&here.key, declared).unwrap()
    }

    fn place(&self, which: usize, label: &str) -> Option<Place> {
        self.record(which).stock.get(&piece(label)).map(|stocked| stocked.place.clone())
    }
}

fn moved(label: &str, to: &str) -> BoxChange {
    BoxChange::moved_to(piece(label), &format!("id:{to}"))
}

#[test]
fn a_list_is_noted_whole_or_not_at_all() {
    let mut two = Two::new();
    let refusal =
        two.note(0, vec![lost("-2.00 sphere #1"), lost("-2.00 sphere #2"), lost("-2.00 sphere #3")]).unwrap_err();
    assert_eq!(refusal.to_string(), "-2.00 sphere #3 is not a piece of this box");
    assert_eq!(two.record(0).entries.all, []);
    two.note(0, vec![lost("-2.00 sphere #1"), lost("-2.00 sphere #2")]).unwrap();
    assert_eq!(two.record(0).entries.all.len(), 1);
    assert_eq!(two.place(0, "-2.00 sphere #2"), Some(Place::Lost));
}

#[test]
fn what_is_so_already_or_not_said_or_doubtful_is_refused_in_whole_sentences() {
    let mut two = Two::new();
    let damaged = || BoxChange::Damaged { piece: piece("-2.00 sphere #1"), what: None };
    two.note(0, vec![damaged(), lost("-1.00 sphere #1")]).unwrap();
    let measured =
        |label: &str, power| BoxChange::Measured { piece: piece(label), measurement: Measurement::of(power) };
    let refused = [
        (damaged(), "-2.00 sphere #1 is damaged already"),
        (BoxChange::Mended(piece("-2.00 sphere #2")), "-2.00 sphere #2 is not damaged, so it cannot be mended"),
        (lost("-1.00 sphere #1"), "-1.00 sphere #1 is lost, so it cannot be lost"),
        (BoxChange::Returned(piece("-2.00 sphere #2")), "-2.00 sphere #2 is in the box, so it cannot be returned"),
        (lent("-2.00 sphere #2", None), "to whom is -2.00 sphere #2 lent? A loan needs a name"),
        (lent("-2.00 sphere #2", Some("  ")), "to whom is -2.00 sphere #2 lent? A loan needs a name"),
        (
            measured("+3.00 sphere #1", -3.0),
            "+3.00 sphere #1: marked +3.00, measured -3.00, -6.00 off: of the other sign. Measure it again; if it is so, say that you are sure",
        ),
        (
            measured("+3.00 sphere #1", 3.51),
            "+3.00 sphere #1: marked +3.00, measured +3.51, +0.51 off: far from its mark. Measure it again; if it is so, say that you are sure",
        ),
        (measured("occluder #1", 1.0), "occluder #1 has no power that could be measured"),
        (moved("-1.00 sphere #1", "bag-b"), "-1.00 sphere #1 is lost, so it cannot be moved to another box"),
        (moved("-2.00 sphere #1", "bag-a"), "-2.00 sphere #1 is in this box already: name another box to move it to"),
        (moved("-2.00 sphere #1", "bag-c"), "no box is known here by bag-c"),
        (BoxChange::Added("-2.00 sphere #1".parse().unwrap()), "the box has -2.00 sphere #1 already"),
    ];
    for (change, expected) in refused {
        assert_eq!(two.note(0, vec![change]).unwrap_err().to_string(), expected);
    }
    assert_eq!(two.record(0).entries.all.len(), 1);
    // within half a dioptre, or a tenth of a strong mark, or said to be so
    let sure = |label: &str, power| BoxChange::Measured {
        piece: piece(label),
        measurement: Measurement { sure: true, ..Measurement::of(power) },
    };
    two.note(0, vec![measured("+3.00 sphere #1", 3.5), sure("+3.00 sphere #1", -3.0), measured("2 prism #1", 2.2)])
        .unwrap();
    assert_eq!(two.record(0).stock.get(&piece("2 prism #1")).unwrap().measured, Some(2.2));
}

#[test]
fn what_the_file_of_the_box_says_too_is_settled_without_a_word() {
    let mut two = Two::new();
    let gone = declared_box("x").lines[0].lens.clone();
    let missing = Piece { lens: gone, number: 2 };
    two.note(0, vec![BoxChange::Found(missing.clone())]).unwrap();
    assert_eq!(two.place(0, &missing.to_string()), Some(Place::Box));
    two.boxes[0].1.lines[0].missing = 0;
    assert_eq!(two.record(0).refused, []);
    // and a further piece that the file has now is the one that came
    let further = Piece { number: 3, ..missing.clone() };
    two.note(0, vec![BoxChange::Added(missing.lens.clone().into())]).unwrap();
    two.boxes[0].1.lines[0].declared = 3;
    let record = two.record(0);
    assert_eq!((record.refused.len(), record.stock.of_lens(&missing.lens).count()), (0, 3));
    assert_eq!(record.stock.get(&further).unwrap().place, Place::Box);
}

#[test]
fn a_move_is_one_entry_that_both_boxes_see() {
    let mut two = Two::new();
    let measured = BoxChange::Measured { piece: piece("-2.00 sphere #1"), measurement: Measurement::of(-1.87) };
    let damaged = BoxChange::Damaged { piece: piece("-2.00 sphere #1"), what: Some("chipped".to_owned()) };
    two.note(0, vec![measured, damaged]).unwrap();
    let noted = two.note(0, vec![moved("-2.00 sphere #1", "bag-b"), moved("-2.00 sphere #2", "bag-b")]).unwrap();
    assert_eq!(
        noted.changes.iter().filter_map(|change| change.moves_to()).map(|(_, piece)| piece.number).collect::<Vec<_>>(),
        [3, 4]
    );
    assert_eq!(two.place(0, "-2.00 sphere #1"), Some(Place::Moved { to: "id:bag-b".to_owned() }));
    assert_eq!(two.place(1, "-2.00 sphere #3"), Some(Place::Box));
    let there = two.record(1);
    let came = there.stock.get(&piece("-2.00 sphere #3")).unwrap();
    // what is known of it goes with it: a mismarked lens counts with its true power in the other box too
    assert_eq!((came.measured, came.damaged), (Some(-1.87), true));
    assert_eq!(there.entries.all[0].entry, two.record(0).entries.all[1].entry);
    let history: Vec<(&str, Option<String>)> =
        there.history_of(&piece("-2.00 sphere #4")).into_iter().map(|line| (line.event, line.says)).collect();
    assert_eq!(history, [("moved", Some("from bag-a".to_owned()))]);
    two.note(1, vec![lent("-2.00 sphere #3", Some("K."))]).unwrap();
    let refusal = two.undo(0, None).unwrap_err().to_string();
    assert_eq!(
        refusal,
        "this cannot be taken back: \"lent: -2.00 sphere #3\", noted later at 2026-03-01T09:30:00Z, rests on it. Take that back first"
    );
    let elsewhere = Some(there.entries.all[0].entry);
    assert_eq!(two.undo(1, elsewhere).unwrap_err().to_string(), "this was noted in the box bag-a: take it back there");
    two.undo(1, None).unwrap();
    two.undo(0, None).unwrap();
    assert_eq!((two.place(0, "-2.00 sphere #1"), two.place(1, "-2.00 sphere #3")), (Some(Place::Box), None));
}

#[test]
fn a_slip_is_not_applied_and_stays_in_the_history_as_one() {
    let mut two = Two::new();
    two.note(0, vec![lost("-2.00 sphere #1")]).unwrap();
    two.note(0, vec![BoxChange::Found(piece("-2.00 sphere #1"))]).unwrap();
    let first = two.record(0).entries.all[0].entry;
    assert_eq!(
        two.undo(0, Some(first)).unwrap_err().to_string(),
        "this cannot be taken back: \"found: -2.00 sphere #1\", noted later at 2026-03-01T09:30:00Z, rests on it. Take that back first"
    );
    two.undo(0, None).unwrap();
    assert_eq!(two.place(0, "-2.00 sphere #1"), Some(Place::Lost));
    two.undo(0, None).unwrap();
    assert_eq!(two.place(0, "-2.00 sphere #1"), Some(Place::Box));
    let record = two.record(0);
    let history: Vec<(&str, bool)> =
        record.history().into_iter().map(|line| (line.event, line.slip.is_some())).collect();
    assert_eq!(history, [("lost", true), ("found", true), ("undone", false), ("undone", false)]);
    let refusal = |two: &mut Two, entry| two.undo(0, entry).unwrap_err().to_string();
    assert_eq!(refusal(&mut two, Some(first)), "this was taken back already at 2026-03-01T09:30:09Z");
    assert_eq!(refusal(&mut two, None), "nothing that was noted of the box bag-a is left to be taken back");
    let slip = record.entries.all[3].entry;
    assert_eq!(refusal(&mut two, Some(slip)), "that something was a slip stays: note again what happened");
    let unknown = EntryRef { number: 99, ..first };
    assert_eq!(refusal(&mut two, Some(unknown)), "there is no such entry of the box bag-a");
}

#[test]
fn an_exam_that_goes_on_learns_what_was_a_slip() {
    let mut two = Two::new();
    two.note(0, vec![lost("-2.00 sphere #1"), lost("-1.00 sphere #1")]).unwrap();
    let began = two.record(0);
    two.undo(0, None).unwrap();
    two.note(0, vec![lost("+1.00 sphere #1")]).unwrap();
    two.undo(0, None).unwrap();
    let mut stock = began.stock.clone();
    let since = two.logbook.changes_since(&two.boxes[0].0.key, Some(&began.applied), &stock).unwrap();
    since.later.iter().for_each(|later| later.apply(&mut stock).unwrap());
    assert_eq!(stock, two.record(0).stock);
    assert_eq!(since.later.len(), 2, "what came and was taken back since was never there");
    assert!(since.later.iter().all(|later| later.brings_back() && !later.takes_away()));
}

#[test]
fn what_stands_before_an_eye_in_an_open_exam_does_not_go_away() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let (in_box, declared) = (named("Hillside"), declared_box("Hillside"));
    let mut exam = begin(&mut logbook, "Hillside", start()).unwrap();
    let put = Move::Put { piece: piece("-3.00 sphere #1"), eye: Eye::Right, cell: 1, direction: None };
    append(&mut logbook, &mut exam, &[Event::Moved(put)], start()).unwrap();
    let expected = "-3.00 sphere #1 is in cell 1 of the right eye in exam 1, which is open: take it out there first";
    let goes = [
        lost("-3.00 sphere #1"),
        lent("-3.00 sphere #1", Some("K.")),
        BoxChange::Retired(piece("-3.00 sphere #1")),
        moved("-3.00 sphere #1", "bag-b"),
    ];
    for change in goes {
        let refusal = logbook.note_in_box(&in_box, &declared, &new(vec![change]), &[]).unwrap_err();
        assert_eq!(refusal.to_string(), expected);
    }
    assert_eq!(logbook.box_changes(&in_box.key).unwrap(), []);
    logbook.change_box(&in_box, &declared, &lost("-3.00 sphere #2"), None, start()).unwrap();
}

/// What is refused although the last step of the only exam is added by another program while this waits to be noted.
///
/// That step is taken out of the file before, and put back by whoever holds the file when this has looked what is in the frames.
fn while_another_adds_the_last_step(
    mut logbook: Logbook,
    note: impl FnOnce(&mut Logbook) -> Result<(), LogbookError> + Send + 'static,
) -> (Logbook, String) {
    let mut other = Connection::open(logbook.path()).unwrap();
    let taken_out = "DROP TRIGGER IF EXISTS step_stays; CREATE TEMP TABLE last AS SELECT * FROM step; DELETE FROM step";
    other.execute_batch(taken_out).unwrap();
    let holding = other.transaction_with_behavior(TransactionBehavior::Immediate).unwrap();
    let noting = thread::spawn(move || {
        let refused = note(&mut logbook).unwrap_err().to_string();
        (logbook, refused)
    });
    // long enough to look and to wait for the file; if it were too short, what is refused is refused all the same
    thread::sleep(Duration::from_millis(400));
    holding.execute_batch("INSERT INTO step SELECT * FROM temp.last").unwrap();
    holding.commit().unwrap();
    noting.join().unwrap()
}

#[test]
fn a_lens_that_another_program_puts_in_at_that_moment_does_not_go_away() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let (in_box, declared) = (named("Hillside"), declared_box("Hillside"));
    logbook.change_box(&in_box, &declared, &lost("-3.00 sphere #1"), None, start()).unwrap();
    logbook.change_box(&in_box, &declared, &BoxChange::Found(piece("-3.00 sphere #1")), None, start()).unwrap();
    let mut exam = begin(&mut logbook, "Hillside", start()).unwrap();
    let put = Move::Put { piece: piece("-3.00 sphere #1"), eye: Eye::Right, cell: 1, direction: None };
    append(&mut logbook, &mut exam, &[Event::Moved(put)], start()).unwrap();
    drop(exam);
    let expected = "-3.00 sphere #1 is in cell 1 of the right eye in exam 1, which is open: take it out there first";
    let (here, of) = (in_box.clone(), declared.clone());
    let (logbook, noted) = while_another_adds_the_last_step(logbook, move |logbook| {
        logbook.note_in_box(&here, &of, &new(vec![lost("-3.00 sphere #1")]), &[]).map(|_| ())
    });
    assert_eq!(noted, expected);
    // nor by taking back that it was found
    let (_, undone) = while_another_adds_the_last_step(logbook, move |logbook| {
        logbook.undo_in_box(&in_box, &declared, None, None, after(9)).map(|_| ())
    });
    assert_eq!(undone, expected);
}

#[test]
fn a_look_is_in_the_history_of_every_lens_that_was_held() {
    let mut two = Two::new();
    let look = |first: &str, second: &str| BoxChange::Looked {
        piece: piece(first),
        with: vec![piece(second)],
        seen: Motion::Against,
    };
    two.note(0, vec![look("+2.00 sphere #1", "-2.00 sphere #2")]).unwrap();
    let record = two.record(0);
    let of_the_first = record.history_of(&piece("+2.00 sphere #1"));
    assert_eq!(of_the_first.len(), 1);
    assert_eq!(record.history_of(&piece("-2.00 sphere #2")), of_the_first);
    assert_eq!(record.history_of_lens(&"-2.00 sphere".parse().unwrap()), of_the_first);
    assert_eq!(record.history_of(&piece("-2.00 sphere #1")), []);
    // a lens that came from another box was held there: that it came is not taken back
    two.note(0, vec![moved("-2.00 sphere #1", "bag-b")]).unwrap();
    two.note(1, vec![look("+2.00 sphere #1", "-2.00 sphere #3")]).unwrap();
    let refused = two.undo(0, None).unwrap_err();
    assert!(matches!(refused, LogbookError::RestedOn { .. }), "{refused}");
}

#[test]
fn a_piece_keeps_its_own_mark_and_takes_it_along() {
    let mut two = Two::new();
    let marked =
        |label: &str, mark: Option<&str>| BoxChange::Marked { piece: piece(label), own_mark: mark.map(str::to_owned) };
    let mark = |two: &Two, which, label: &str| two.record(which).own_marks().of_piece(&piece(label)).map(str::to_owned);
    two.note(0, vec![marked("-2.00 sphere #1", Some("white dot")), marked("-2.00 sphere #2", Some("notch"))]).unwrap();
    assert_eq!(mark(&two, 0, "-2.00 sphere #1").as_deref(), Some("white dot"));
    // marked again in the entry that moves it
    two.note(
        0,
        vec![
            moved("-2.00 sphere #1", "bag-b"),
            marked("-2.00 sphere #2", Some("red")),
            moved("-2.00 sphere #2", "bag-b"),
        ],
    )
    .unwrap();
    assert_eq!(mark(&two, 1, "-2.00 sphere #3").as_deref(), Some("white dot"));
    assert_eq!(mark(&two, 1, "-2.00 sphere #4").as_deref(), Some("red"));
    two.note(1, vec![marked("-2.00 sphere #3", None)]).unwrap();
    assert_eq!(mark(&two, 1, "-2.00 sphere #3"), None);
    assert_eq!(
        mark(&two, 0, "-2.00 sphere #1").as_deref(),
        Some("white dot"),
        "it is what is known of the piece that went"
    );
    two.undo(1, None).unwrap();
    assert_eq!(mark(&two, 1, "-2.00 sphere #3").as_deref(), Some("white dot"));
}

#[test]
fn loans_are_by_borrower_and_overdue_once_the_day_has_passed() {
    let mut two = Two::new();
    let lent = |label: &str, to: &str, until: Option<&str>| BoxChange::Lent {
        piece: piece(label),
        to: Some(to.to_owned()),
        until: until.map(|day| day.parse().unwrap()),
    };
    two.note(
        0,
        vec![
            lent("-2.00 sphere #1", "Z", None),
            lent("-2.00 sphere #2", "K", Some("2026-03-10")),
            lent("+2.00 sphere #1", "K", Some("2026-03-05")),
        ],
    )
    .unwrap();
    let record = two.record(0);
    let loans = |day: &str| -> Vec<(String, String, bool)> {
        let of = record.loans(day.parse().unwrap()).into_iter();
        of.map(|loan| (loan.to.unwrap(), loan.piece.to_string(), loan.overdue)).collect()
    };
    let line = |to: &str, label: &str, overdue| (to.to_owned(), label.to_owned(), overdue);
    let expected = |overdue| {
        [
            line("K", "+2.00 sphere #1", overdue),
            line("K", "-2.00 sphere #2", false),
            line("Z", "-2.00 sphere #1", false),
        ]
    };
    assert_eq!(loans("2026-03-05"), expected(false), "on its day it is not overdue");
    assert_eq!(loans("2026-03-06"), expected(true));
    let known = record.known_of(&piece("-2.00 sphere #2"), "2026-03-05".parse().unwrap());
    assert_eq!(known.loan.unwrap().until, Some("2026-03-10".parse().unwrap()));
}

#[test]
fn a_stock_take_goes_on_another_day_and_ends_in_one_entry() {
    let mut two = Two::new();
    let (in_box, declared) = two.boxes[0].clone();
    let stock = two.record(0).stock;
    let mut take = StockTake::begin(&Tray::of(&declared.tray, &stock), &stock);
    take.say(&piece("-2.00 sphere #1"), dioptray::kit::stock_take::Said::Missing);
    two.logbook.keep_stock_take(&in_box, &take, after(1)).unwrap();
    assert_eq!(take.one_more(&"+7.00 sphere".parse().unwrap()), None);
    take.write_note(Some("with B.".to_owned()));
    two.logbook.keep_stock_take(&in_box, &take, after(2)).unwrap();
    let kept = two.logbook.stock_take(&in_box.key).unwrap().unwrap();
    assert_eq!((kept.take.clone(), kept.at), (take, after(2)));
    assert_eq!(two.logbook.stock_take(&two.boxes[1].0.key).unwrap(), None);
    let ending = kept.take.ending(&two.record(0).stock);
    let noted = two.logbook.end_stock_take(&in_box, &declared, &ending, Some("K."), after(3)).unwrap();
    let expected = [lost("-2.00 sphere #1"), BoxChange::Added("+7.00 sphere #1".parse().unwrap())];
    assert_eq!(noted.changes, expected);
    assert_eq!(two.logbook.stock_take(&in_box.key).unwrap(), None);
    assert_eq!(noted.on_record.last_stock_take(), Some((after(3), ending.count.as_slice())));
    // one that is refused goes on
    two.logbook.keep_stock_take(&in_box, &kept.take, after(4)).unwrap();
    two.logbook.end_stock_take(&in_box, &declared, &ending, None, after(5)).unwrap_err();
    assert!(two.logbook.stock_take(&in_box.key).unwrap().is_some());
    two.logbook.give_up_stock_take(&in_box, after(6)).unwrap();
    assert_eq!(two.logbook.stock_take(&in_box.key).unwrap(), None);
}

#[test]
fn every_box_that_was_noted_is_listed_by_its_id() {
    let mut two = Two::new();
    two.note(0, vec![moved("-2.00 sphere #1", "bag-b")]).unwrap();
    two.logbook
        .change_box(&named("Hillside"), &declared_box("Hillside"), &lost("-2.00 sphere #1"), None, start())
        .unwrap();
    let boxes: Vec<BoxKey> = two.logbook.boxes().unwrap().into_iter().map(|(named, _)| named.key).collect();
    assert_eq!(boxes, [BoxKey::of_id("bag-a"), BoxKey::of_id("bag-b"), BoxKey::of_name("Hillside")]);
}

/// Something that a keeper of two boxes does.
#[derive(Debug, Clone)]
enum Doing {
    Change(usize, BoxChange),
    Undo(usize),
}

const LABELS: [&str; 2] = ["-2.00 sphere", "+2.00 sphere"];

fn doings() -> impl Strategy<Value = Doing> {
    let label = (0..LABELS.len(), 1u8..=5).prop_map(|(lens, number)| format!("{} #{number}", LABELS[lens]));
    let change = (0usize..2, label, 0..9).prop_map(|(which, label, kind)| {
        let of = piece(&label);
        let change = match kind {
            0 => BoxChange::Lost(of),
            1 => BoxChange::Found(of),
            2 => lent(&label, Some("K.")),
            3 => BoxChange::Returned(of),
            4 => BoxChange::Retired(of),
            5 => BoxChange::Added(of.lens.into()),
            6 => BoxChange::Damaged { piece: of, what: None },
            _ => moved(&label, ["bag-b", "bag-a"][which]),
        };
        Doing::Change(which, change)
    });
    prop_oneof![6 => change, 1 => (0usize..2).prop_map(Doing::Undo)]
}

/// How many pieces of a lens belong to a box.
fn belong(record: &StockOnRecord, label: &str) -> usize {
    let lens = label.parse().unwrap();
    record.stock.of_lens(&lens).filter(|stocked| !stocked.place.has_left_the_set()).count()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]
    /// A piece that moves is in one of the two boxes and not in both, whatever is noted, taken back, and written in the files
    /// afterwards; and pieces come only by adding and go only for good.
    #[test]
    fn no_history_puts_a_piece_into_two_boxes_or_none(
        doings in prop::collection::vec(doings(), 1..40),
        declared in prop::collection::vec((0u8..5, 0u8..3), 4),
    ) {
        let mut two = Two::new();
        let has: usize = LABELS.iter().map(|label| belong(&two.record(0), label) + belong(&two.record(1), label)).sum();
        for doing in doings {
            let _ = match doing {
                Doing::Change(which, change) => two.note(which, vec![change]).map(|_| ()),
                Doing::Undo(which) => two.undo(which, None),
            };
        }
        let standing = |two: &Two, which: usize| -> Vec<BoxChange> {
            let key = &two.boxes[which].0.key;
            two.logbook.box_changes(key).unwrap().into_iter().map(|stored| stored.change).collect()
        };
        let (mut came, mut went) = (0, 0);
        for which in 0..2 {
            let record = two.record(which);
            prop_assert_eq!(&record.refused, &[], "what was taken is refused afterwards");
            for change in standing(&two, which) {
                came += usize::from(change.added().is_some());
                went += usize::from(matches!(change, BoxChange::Retired(_) | BoxChange::Moved { .. }));
            }
        }
        let is: usize = LABELS.iter().map(|label| belong(&two.record(0), label) + belong(&two.record(1), label)).sum();
        prop_assert_eq!(is, has + came - went);

        // the files are edited
        for (at, (count, missing)) in declared.into_iter().enumerate() {
            let lens = LABELS[at % 2].parse().unwrap();
            let lines = &mut two.boxes[at / 2].1.lines;
            lines.retain(|line: &LensLine| line.lens != lens);
            if count > 0 {
                lines.push(LensLine { lens, declared: count, missing: missing.min(count) });
            }
        }
        let records = [two.record(0), two.record(1)];
        for which in 0..2 {
            for change in standing(&two, which) {
                let Some((_, there)) = change.moves_to() else { continue };
                let gone = change.piece().unwrap();
                let here = records[which].stock.get(&gone);
                prop_assert!(here.is_none_or(|stocked| stocked.place.has_left_the_set()), "{} is still here", gone);
                let came = records[1 - which].stock.get(&there);
                prop_assert!(came.is_some(), "{} did not come", there);
                let went_on = standing(&two, 1 - which).iter().any(|later| {
                    later.piece().as_ref() == Some(&there) && matches!(later, BoxChange::Retired(_) | BoxChange::Moved { .. })
                });
                prop_assert_eq!(came.is_some_and(|stocked| stocked.place.has_left_the_set()), went_on, "{}", there);
            }
        }
    }
}
