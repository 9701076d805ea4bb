//! By what boxes are known, and which changes an exam began with.

use std::collections::{BTreeMap, HashSet};
use std::{fs, mem};

use dioptray::kit::shipped::demo_box;
use dioptray::kit::{BoxChange, DeclaredBox, Lens, LensLine, Measurement, Piece, Place, Stock};
use dioptray::logbook::{BoxKey, Later, Logbook, LogbookError, NamedBox, NewChanges, SameId};

use super::{after, fresh, start};
use crate::invented::declared_box;
use crate::kept::box_changes;
use crate::kept_exam::named;

fn happened(later: Later) -> BoxChange {
    let happened = match later {
        Later::Happened(stored) => Some(stored.change),
        Later::TakenBack(_) => None,
    };
    happened.unwrap()
}

fn lost(piece: &str) -> BoxChange {
    BoxChange::Lost(piece.parse().unwrap())
}

#[test]
fn one_name_in_two_unicode_forms_is_one_box() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let (composed, decomposed) = ("Caf\u{e9}", "Cafe\u{301}");
    let declared = declared_box(composed);
    logbook.change_box(&named(composed), &declared, &lost("-2.00 sphere #1"), None, start()).unwrap();
    let on_record = logbook.stock_of(&BoxKey::of_name(decomposed), &declared_box(decomposed)).unwrap();
    assert_eq!(on_record.stock.get(&"-2.00 sphere #1".parse().unwrap()).unwrap().place, Place::Lost);
    let _claim = logbook.claim_box(&named(decomposed), start()).unwrap();
    assert!(logbook.holder_of(&BoxKey::of_name(composed)).unwrap().is_some());
}

#[test]
fn two_boxes_of_one_name_with_ids_are_two() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let (one, two) = (NamedBox::new(Some("bag-1"), "Bag"), NamedBox::new(Some("bag-2"), "Bag"));
    logbook.change_box(&one, &declared_box("Bag"), &lost("-2.00 sphere #1"), Some("K."), start()).unwrap();
    assert_eq!(logbook.box_changes(&one.key).unwrap().len(), 1);
    assert_eq!(logbook.box_changes(&two.key).unwrap(), []);
    // renamed, it is the same box
    let renamed = NamedBox::new(Some("bag-1"), "Old bag");
    assert_eq!(logbook.box_changes(&renamed.key).unwrap().len(), 1);
}

#[test]
fn what_is_known_under_a_name_goes_over_to_the_id_once_and_two_boxes_are_never_made_one() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let (by_name, by_id) = (named("Bag"), NamedBox::new(Some("bag-1"), "Bag"));
    let declared = declared_box("Bag");
    logbook.adopt_box(&by_name.key, &by_id.key).unwrap();
    assert!(!logbook.knows_box(&by_id.key).unwrap(), "there was nothing to carry over");
    logbook.change_box(&by_name, &declared, &lost("-2.00 sphere #1"), None, start()).unwrap();
    logbook.adopt_box(&by_name.key, &by_id.key).unwrap();
    logbook.change_box(&by_id, &declared, &lost("-2.00 sphere #2"), None, after(1)).unwrap();
    let changes = logbook.box_changes(&by_id.key).unwrap();
    assert_eq!(changes.iter().map(|change| (change.place, change.number)).collect::<Vec<_>>(), [(1, 1), (2, 2)]);
    logbook.adopt_box(&by_name.key, &by_id.key).unwrap();

    let other = NamedBox::new(Some("bag-2"), "Bag");
    logbook.change_box(&other, &declared, &lost("-2.00 sphere #1"), None, start()).unwrap();
    let refusal = logbook.adopt_box(&by_name.key, &other.key).unwrap_err();
    assert!(matches!(refusal, LogbookError::BothBoxesKnown { .. }), "{refusal}");
    assert!(refusal.to_string().contains("the id bag-2"), "{refusal}");
    assert_eq!(logbook.box_changes(&other.key).unwrap().len(), 1);
}

#[test]
fn two_files_with_one_id_are_reported_and_a_moved_file_is_not() {
    let (folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let file = |name: &str| folder.path().join(name);
    let (a, b) = (NamedBox::new(Some("bag-1"), "Bag A"), NamedBox::new(Some("bag-1"), "Bag B"));
    fs::write(file("a.yaml"), "").unwrap();
    fs::write(file("b.yaml"), "").unwrap();
    assert_eq!(logbook.note_box_file(&a, &file("a.yaml")).unwrap(), None);
    assert_eq!(logbook.note_box_file(&a, &file("a.yaml")).unwrap(), None);
    let other = SameId { key: a.key.clone(), file: file("a.yaml"), name: "Bag A".to_owned() };
    assert_eq!(logbook.note_box_file(&b, &file("b.yaml")).unwrap(), Some(other));
    fs::rename(file("b.yaml"), file("c.yaml")).unwrap();
    assert_eq!(logbook.note_box_file(&b, &file("c.yaml")).unwrap(), None);
    // names may be alike
    assert_eq!(logbook.note_box_file(&named("Bag"), &file("a.yaml")).unwrap(), None);
    assert_eq!(logbook.note_box_file(&named("Bag"), &file("c.yaml")).unwrap(), None);
}

#[test]
fn a_box_from_before_it_was_noted_which_changes_it_has_gets_the_others_of_every_kind() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let mut most: BTreeMap<Lens, u8> = BTreeMap::new();
    for piece in box_changes().iter().filter_map(BoxChange::piece) {
        let declared = most.entry(piece.lens.clone()).or_default();
        *declared = piece.number.max(*declared);
    }
    let lines = most.into_iter().map(|(lens, declared)| LensLine { lens, declared, missing: 0 });
    let (in_box, declared) = (named("Bag"), DeclaredBox { lines: lines.collect(), ..declared_box("Bag") });
    let mut stocks = vec![Stock::of(&declared)];
    let mut kinds = HashSet::new();
    for change in box_changes() {
        let mut stock = stocks[stocks.len() - 1].clone();
        // one of the pinned changes cannot follow the others: a lens that is lent is not lent again
        if stock.note(&change).is_ok() {
            let new = NewChanges { changes: vec![change.clone()], note: None, by: None, at: start(), count: None };
            logbook.note_in_box(&in_box, &declared, &new, &[(named("School"), &declared_box("School"))]).unwrap();
            kinds.insert(mem::discriminant(&change));
            stocks.push(stock);
        }
    }
    let pinned: HashSet<_> = box_changes().iter().map(mem::discriminant).collect();
    assert_eq!(kinds.len(), pinned.len(), "a kind of change was never made");
    let end = stocks[stocks.len() - 1].clone();
    for (made, mut stock) in stocks.into_iter().enumerate() {
        let since = logbook.changes_since(&in_box.key, None, &stock).unwrap();
        since.later.iter().for_each(|later| later.apply(&mut stock).unwrap());
        assert_eq!(stock, end, "{made} were made, {} were left", since.later.len());
    }
}

#[test]
fn changes_since_an_exam_began_go_by_number_whatever_the_clock_says() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let (in_box, declared) = (named("Hillside"), declared_box("Hillside"));
    let year = 366 * 86_400;
    logbook.change_box(&in_box, &declared, &lost("-2.00 sphere #1"), None, after(year)).unwrap();
    let began = logbook.stock_of(&in_box.key, &declared).unwrap();
    for (piece, at) in [("-2.00 sphere #2", after(-year)), ("+2.00 sphere #1", after(2 * year))] {
        logbook.change_box(&in_box, &declared, &lost(piece), None, at).unwrap();
    }
    for applied in [Some(&began.applied), None] {
        let since = logbook.changes_since(&in_box.key, applied, &began.stock).unwrap();
        let changes: Vec<BoxChange> = since.later.into_iter().map(happened).collect();
        assert_eq!(changes, [lost("-2.00 sphere #2"), lost("+2.00 sphere #1")]);
        assert_eq!(since.all, logbook.stock_of(&in_box.key, &declared).unwrap().applied);
    }
}

#[test]
fn what_befell_one_piece_after_another_is_found_in_the_box_wherever_it_stands() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let (in_box, declared) = (named("Demo"), demo_box().unwrap());
    let piece: Piece = "-2.00 sphere #1".parse().unwrap();
    let mut stocks = vec![Stock::of(&declared)];
    for change in [
        BoxChange::Lost(piece.clone()),
        BoxChange::Found(piece.clone()),
        BoxChange::Lent { piece: piece.clone(), to: Some("K.".to_owned()), until: None },
        BoxChange::Damaged { piece: "-1.00 sphere #1".parse().unwrap(), what: None },
        BoxChange::Measured { piece: "-3.00 sphere #1".parse().unwrap(), measurement: Measurement::of(-2.87) },
        BoxChange::Returned(piece.clone()),
        BoxChange::Retired(piece),
    ] {
        let mut stock = stocks[stocks.len() - 1].clone();
        stock.change(&change).unwrap();
        logbook.change_box(&in_box, &declared, &change, None, start()).unwrap();
        stocks.push(stock);
    }
    let end = stocks[stocks.len() - 1].clone();
    for (made, mut stock) in stocks.into_iter().enumerate() {
        let since = logbook.changes_since(&in_box.key, None, &stock).unwrap();
        since.later.iter().for_each(|later| later.apply(&mut stock).unwrap());
        assert_eq!(stock, end, "{made} were made, {} were left", since.later.len());
    }
}
