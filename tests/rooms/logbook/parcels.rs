//! Parcels: what two logbooks have of each other after exchanging them, and what is refused.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use dioptray::kit::BoxChange;
use dioptray::logbook::parcels::error::{ParcelError, ParcelFault};
use dioptray::logbook::parcels::exchange::known_of_others;
use dioptray::logbook::parcels::key::key_of;
use dioptray::logbook::parcels::others::{Elsewhere, Others, others_of};
use dioptray::logbook::parcels::read::Parcel;
use dioptray::logbook::parcels::signers::Trust;
use dioptray::logbook::parcels::taking::{Reading, Taken, take_in};
use dioptray::logbook::{BoxKey, Logbook, StoredExam};
use tempfile::TempDir;

use super::{Event, after, append, begin, declared_box, label, named, note};
use crate::kept_exam::Kept;

/// A folder with the logbooks of several seats.
pub struct Seats(pub TempDir);

impl Seats {
    pub fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    pub fn path(&self, seat: &str) -> PathBuf {
        self.0.path().join(seat).join("logbook.db")
    }

    pub fn open(&self, seat: &str) -> Logbook {
        let mut logbook = Logbook::open(&self.path(seat)).unwrap();
        if logbook.seat().unwrap().is_none() {
            logbook.name_seat(seat).unwrap();
        }
        logbook
    }

    /// Writes what a seat wrote since an earlier parcel into a file.
    pub fn write(&self, seat: &str, name: &str, since: Option<&Path>) -> PathBuf {
        let since = since.map(|earlier| Parcel::read(earlier).unwrap());
        let logbook = self.open(seat);
        let parcel = logbook.parcel(since.as_ref(), &key_of(logbook.path()).unwrap()).unwrap();
        let file = self.0.path().join(name);
        fs::write(&file, parcel.bytes).unwrap();
        file
    }

    pub(super) fn read(&self, seat: &str, files: &[&PathBuf]) -> Result<Taken, ParcelError> {
        let parcels = files.iter().map(|file| Parcel::read(file)).collect::<Result<Vec<_>, _>>()?;
        take_in(&self.path(seat), &parcels, trusting())
    }

    /// Everything that a seat has of others.
    pub fn state(&self, seat: &str) -> Vec<(String, StoredExam)> {
        let others = Others::beside(&self.path(seat)).unwrap().unwrap();
        others.check().unwrap();
        let list = others.exams().unwrap();
        assert!(list.passed_over.is_empty());
        let read = |name: &Elsewhere| (name.to_string(), others.read_exam(name).unwrap());
        list.exams.iter().map(|line| read(&line.name)).collect()
    }
}

/// Reading by somebody who trusts everybody.
fn trusting() -> Reading<'static> {
    Reading { with_gap: false, only_say: false, trust: Trust::All }
}

/// A closed exam with a label.
pub fn closed(logbook: &mut Logbook, of: &str, seconds: i64) -> Kept {
    let mut exam = begin(logbook, "Hillside", after(seconds)).unwrap();
    for (nth, step) in (1..).zip([label(of), note("reads well"), vec![Event::Finished]]) {
        append(logbook, &mut exam, &step, after(seconds + nth)).unwrap();
    }
    exam
}

pub fn amended(logbook: &mut Logbook, exam: &mut Kept, text: &str, seconds: i64) {
    append(logbook, exam, &[Event::Amended(text.to_owned())], after(seconds)).unwrap();
}

pub fn names(state: &[(String, StoredExam)]) -> Vec<&str> {
    state.iter().map(|(name, _)| name.as_str()).collect()
}

pub fn fault(error: ParcelError) -> ParcelFault {
    match error {
        ParcelError::At { fault, .. } => Some(fault),
        _ => None,
    }
    .unwrap()
}

/// Four parcels of one seat, each since the one before: an exam, an amendment of it, a change of a box with a second exam, two
/// amendments more.
pub fn four_parcels(seats: &Seats) -> [PathBuf; 4] {
    let mut logbook = seats.open("lane3");
    let mut first = closed(&mut logbook, "A.", 0);
    let one = seats.write("lane3", "1", None);
    amended(&mut logbook, &mut first, "one", 100);
    let two = seats.write("lane3", "2", Some(&one));
    let lost = BoxChange::Lost("-2.00 sphere #1".parse().unwrap());
    logbook.change_box(&named("Hillside"), &declared_box("Hillside"), &lost, None, after(200)).unwrap();
    closed(&mut logbook, "B.", 300);
    let three = seats.write("lane3", "3", Some(&two));
    amended(&mut logbook, &mut first, "two", 400);
    amended(&mut logbook, &mut first, "three", 500);
    let four = seats.write("lane3", "4", Some(&three));
    [one, two, three, four]
}

#[test]
fn two_logbooks_have_each_others_closed_exams_as_they_were_closed() {
    let seats = Seats::new();
    let (mut lane3, mut team) = (seats.open("lane3"), seats.open("teamB"));
    let mut exam = closed(&mut lane3, "A.", 0);
    amended(&mut lane3, &mut exam, "came back for the frame", 50);
    begin(&mut lane3, "Hillside", after(60)).unwrap();
    closed(&mut team, "B.", 100);
    let (from_lane3, from_team) = (seats.write("lane3", "a", None), seats.write("teamB", "b", None));
    let taken = seats.read("teamB", &[&from_lane3]).unwrap();
    assert_eq!((taken.entries, taken.new, taken.known, taken.writers, taken.not_listed), (2, 2, 0, 1, 0));
    let taken = seats.read("lane3", &[&from_team]).unwrap();
    assert_eq!((taken.entries, taken.new, taken.known, taken.writers, taken.not_listed), (1, 1, 0, 1, 0));

    let state = seats.state("teamB");
    assert_eq!(names(&state), ["lane3-1"], "an exam that is open goes nowhere");
    let (there, here) = (lane3.read_exam(exam.open.number()).unwrap(), &state[0].1);
    assert_eq!((here.exam.clone(), &here.steps, here.id()), (there.exam.clone(), &there.steps, there.id()));
    assert_eq!((&here.opened, &here.by, &here.beginning), (&there.opened, &there.by, &there.beginning));
    assert_eq!(here.number(), there.number());
    assert_eq!(names(&seats.state("lane3")), ["teamB-1"]);
    // one's own are as they were
    assert_eq!(team.exams().unwrap().exams.len(), 1);
    team.check().unwrap();
}

/// Whoever was making the file with what others wrote was killed before anything was in it.
#[test]
fn an_empty_file_of_others_is_nothing_yet_and_is_filled() {
    let seats = Seats::new();
    let (mut lane3, team) = (seats.open("lane3"), seats.open("teamB"));
    closed(&mut lane3, "A.", 0);
    let parcel = seats.write("lane3", "a", None);
    let others = others_of(team.path());
    fs::write(&others, "").unwrap();
    assert!(Others::beside(team.path()).unwrap().is_none());
    assert_eq!(seats.read("teamB", &[&parcel]).unwrap().new, 1);
    assert_eq!(names(&seats.state("teamB")), ["lane3-1"]);
    // and one who asks a room fills it by asking
    let others = others_of(lane3.path());
    fs::write(&others, "").unwrap();
    assert_eq!(known_of_others(lane3.path(), &BTreeMap::new()).unwrap().len(), 0);
    assert!(Logbook::open_read_only(&others).is_ok());
}

#[test]
fn the_last_entry_of_a_writer_comes_with_its_own_hash() {
    let seats = Seats::new();
    four_parcels(&seats);
    let logbook = seats.open("lane3");
    let last = logbook.last_entries().unwrap();
    assert_eq!(last.len(), 1);
    let (writer, number, hash) = last[0];
    assert_eq!(number, 6);
    assert_eq!(logbook.hash_of(writer, number).unwrap(), Some(hash));
}

#[test]
fn what_is_read_again_and_again_is_known() {
    let seats = Seats::new();
    let parcels = four_parcels(&seats);
    let files: Vec<&PathBuf> = parcels.iter().collect();
    let first = seats.read("teamB", &files).unwrap();
    assert_eq!((first.entries, first.new, first.known, first.writers), (6, 6, 0, 1));
    let state = seats.state("teamB");
    for _ in 0..2 {
        let again = seats.read("teamB", &files).unwrap();
        assert_eq!((again.entries, again.new, again.known, again.writers), (6, 0, 6, 1));
        assert_eq!(seats.state("teamB"), state);
    }
    // a whole logbook says the same
    let whole = seats.read("teamB", &[&seats.path("lane3")]).unwrap();
    assert_eq!((whole.entries, whole.new, whole.known), (6, 0, 6));
}

#[test]
fn any_order_and_any_repetition_give_one_state() {
    let seats = Seats::new();
    let parcels = four_parcels(&seats);
    let whole = seats.path("lane3");
    seats.read("whole", &[&whole]).unwrap();
    let state = seats.state("whole");
    assert_eq!(names(&state), ["lane3-2", "lane3-1"]);
    assert_eq!(state[1].1.exam.state().amendments.len(), 3);
    for order in [[3, 2, 1, 0], [1, 3, 0, 2], [2, 0, 3, 1], [0, 3, 2, 1]] {
        let seat = format!("one{}", order.map(|nth: usize| nth.to_string()).concat());
        let mut files: Vec<&PathBuf> = order.iter().map(|nth| &parcels[*nth]).collect();
        files.push(files[0]);
        seats.read(&seat, &files).unwrap();
        assert_eq!(seats.state(&seat), state, "{order:?}");

        // one by one, with gaps that are filled later
        let seat = format!("by{}", order.map(|nth| nth.to_string()).concat());
        for file in files {
            let reading = Reading { with_gap: true, ..trusting() };
            take_in(&seats.path(&seat), &[Parcel::read(file).unwrap()], reading).unwrap();
        }
        assert_eq!(seats.state(&seat), state, "{order:?} one by one");
    }
}

#[test]
fn a_parcel_that_is_missing_is_named_and_nothing_is_read() {
    let seats = Seats::new();
    let [one, two, three, four] = four_parcels(&seats);
    seats.read("teamB", &[&one]).unwrap();
    let refusal = fault(seats.read("teamB", &[&four]).unwrap_err());
    let said = refusal.to_string();
    assert!(matches!(refusal, ParcelFault::Missing { first: 2, last: 4, .. }), "{said}");
    assert!(said.contains("entries 2 to 4 of lane3") && said.contains("--with-gap"), "{said}");
    let refusal = fault(seats.read("teamB", &[&four, &three]).unwrap_err());
    assert!(matches!(refusal, ParcelFault::Missing { first: 2, last: 2, .. }), "{refusal}");
    assert_eq!(names(&seats.state("teamB")), ["lane3-1"]);
    seats.read("teamB", &[&four, &two, &three]).unwrap();
    assert_eq!(names(&seats.state("teamB")), ["lane3-2", "lane3-1"]);
}

#[test]
fn only_saying_writes_nothing() {
    let seats = Seats::new();
    let [one, ..] = four_parcels(&seats);
    let said = take_in(&seats.path("teamB"), &[Parcel::read(&one).unwrap()], Reading { only_say: true, ..trusting() })
        .unwrap();
    assert_eq!(said.new, 1);
    assert!(!others_of(&seats.path("teamB")).exists());
}

#[test]
fn one_bit_turned_anywhere_is_refused_and_named_where_it_is_an_entrys() {
    let seats = Seats::new();
    let [_, _, three, _] = four_parcels(&seats);
    let sound = fs::read(&three).unwrap();
    assert_eq!(Parcel::of_pipe(&sound).unwrap().entries(), 2);
    for at in (0..sound.len()).step_by(61) {
        let mut turned = sound.clone();
        turned[at] ^= 1 << (at % 8);
        assert!(Parcel::of_pipe(&turned).is_err(), "byte {at}");
    }
    // the time and the hash of the body of the exam, which is entry 4
    let closed_at = after(303).to_string();
    let place = |needle: &[u8]| sound.windows(needle.len()).position(|window| window == needle).unwrap();
    let at = place(closed_at.as_bytes());
    for bit in [at + 18, at + closed_at.len() + 5] {
        let mut turned = sound.clone();
        turned[bit] ^= 1;
        let refusal = fault(Parcel::of_pipe(&turned).unwrap_err());
        assert!(matches!(&refusal, ParcelFault::Altered { whose, number: 4 } if whose == "lane3"), "{refusal}");
    }
}

#[test]
fn what_is_cut_short_or_no_parcel_is_refused() {
    let seats = Seats::new();
    let [one, ..] = four_parcels(&seats);
    let sound = fs::read(&one).unwrap();
    for length in [100, 4096, sound.len() / 2, sound.len() - 160, sound.len() - 48, sound.len() - 1] {
        let refusal = fault(Parcel::of_pipe(&sound[..length]).unwrap_err());
        assert!(matches!(refusal, ParcelFault::NotAsWritten), "{length}: {refusal}");
    }
    for other in [&b""[..], b"lens,power\n", &sound[..50]] {
        let refusal = fault(Parcel::of_pipe(other).unwrap_err());
        assert!(matches!(refusal, ParcelFault::NotAParcel), "{refusal}");
    }
    let refusal = Logbook::open(&one).unwrap_err();
    assert!(refusal.found_instead().is_some(), "a parcel is not gone on with as a logbook: {refusal}");
}

#[test]
fn a_logbook_that_was_copied_and_parted_is_refused_by_number() {
    let seats = Seats::new();
    let mut lane3 = seats.open("lane3");
    closed(&mut lane3, "A.", 0);
    fs::create_dir_all(seats.path("copy").parent().unwrap()).unwrap();
    lane3.copy_to(&seats.path("copy")).unwrap();
    let mut copy = seats.open("copy");
    closed(&mut lane3, "B.", 100);
    closed(&mut copy, "C.", 200);
    let (original, parted) = (seats.write("lane3", "a", None), seats.write("copy", "c", None));
    seats.read("teamB", &[&original]).unwrap();
    for refusal in [
        seats.read("teamB", &[&parted]).unwrap_err(),
        seats.read("other", &[&original, &parted]).unwrap_err(),
        seats.read("lane3", &[&parted]).unwrap_err(),
    ] {
        let refusal = fault(refusal);
        assert!(matches!(refusal, ParcelFault::Parted { number: 2, .. }), "{refusal}");
        assert!(refusal.to_string().contains("entry 2 of lane3"), "{refusal}");
    }
    // what an older copy does not have of itself is not taken for another's
    closed(&mut copy, "D.", 300);
    lane3.copy_to(&seats.0.path().join("old.db")).unwrap();
    closed(&mut lane3, "E.", 400);
    let newer = seats.write("lane3", "e", None);
    let refusal = take_in(&seats.0.path().join("old.db"), &[Parcel::read(&newer).unwrap()], trusting()).unwrap_err();
    assert!(matches!(fault(refusal), ParcelFault::Ahead { number: 3 }));
}

#[test]
fn two_seats_of_one_name_are_refused() {
    let seats = Seats::new();
    for (place, seconds) in [("lane3", 0), ("twin", 100)] {
        let mut logbook = Logbook::open(&seats.path(place)).unwrap();
        logbook.name_seat("lane3").unwrap();
        closed(&mut logbook, "A.", seconds);
    }
    let (one, two) = (seats.write("lane3", "a", None), seats.write("twin", "b", None));
    for refusal in [seats.read("lane3", &[&two]).unwrap_err(), seats.read("teamB", &[&one, &two]).unwrap_err()] {
        assert!(matches!(fault(refusal), ParcelFault::SeatTwice { .. }));
    }
    seats.open("twin").name_seat("lane4").unwrap();
    let renamed = seats.write("twin", "c", None);
    seats.read("teamB", &[&one, &renamed]).unwrap();
    assert_eq!(names(&seats.state("teamB")), ["lane3-1", "lane4-1"]);
}

#[test]
fn changes_of_a_box_elsewhere_change_no_box_here() {
    let seats = Seats::new();
    let parcels = four_parcels(&seats);
    let here = seats.open("teamB");
    seats.read("teamB", &parcels.iter().collect::<Vec<_>>()).unwrap();
    let key = BoxKey::of_name("Hillside");
    assert_eq!(here.box_changes(&key).unwrap(), []);
    let kept = Logbook::open_read_only(&others_of(&seats.path("teamB"))).unwrap();
    assert_eq!(kept.box_changes(&key).unwrap().len(), 1, "it is kept all the same");
}

#[test]
fn a_seat_without_a_name_and_one_with_a_bad_one_write_nothing() {
    let seats = Seats::new();
    let mut logbook = Logbook::open(&seats.path("nameless")).unwrap();
    closed(&mut logbook, "A.", 0);
    let key = key_of(logbook.path()).unwrap();
    assert!(matches!(logbook.parcel(None, &key), Err(ParcelError::NoSeat)));
    for bad in ["", "3lane", "lane-3", "lane 3", "lané", "thirteenchars"] {
        assert!(matches!(logbook.name_seat(bad), Err(ParcelError::NotASeat(_))), "{bad}");
    }
    logbook.name_seat("twelvechars1").unwrap();
    logbook.parcel(None, &key).unwrap();
}
