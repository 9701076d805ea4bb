//! A logbook that was copied, and an old copy put back: found out before anything is sent, and nothing of it lost.

use super::seat::Seat;
use super::server::SharedRoom;
use super::{Failure, Tested};

fn labels(seat: &Seat) -> Result<Vec<(Option<String>, String)>, Failure> {
    Ok(seat.exams()?.into_iter().map(|(seat, _, label)| (seat, label)).collect())
}

fn as_new(seat: &Seat, room: &SharedRoom, name: &str) -> Result<String, Failure> {
    let said = seat.say(&["room", "join", &room.address("a")?, "--seat", name, "--as-new"])?;
    assert_eq!(said.code, Some(0), "{said:?}");
    Ok(said.out)
}

fn of(seat: Option<&str>, label: &str) -> (Option<String>, String) {
    (seat.map(str::to_owned), label.to_owned())
}

/// What is kept of a lens at a seat: in the box, lost, damaged.
fn history(seat: &Seat, lens: &str) -> Result<String, Failure> {
    let said = seat.say(&["box", "list", "--box", Seat::path(&seat.file("box.yaml"))?])?;
    assert_eq!(said.code, Some(0), "{said:?}");
    let line = said.out.lines().find(|line| line.contains(lens)).ok_or("no such lens")?;
    Ok(line.split_whitespace().collect::<Vec<_>>().join(" "))
}

#[test]
fn what_a_copy_wrote_after_the_parting_is_sent_as_its_own() -> Tested {
    let room = SharedRoom::new("copied", &[])?;
    let seat = Seat::joined("lane1", &room.login("a"), &room.address("a")?)?;
    let reader = Seat::joined("lane9", &room.login("b"), &room.address("b")?)?;
    seat.close_an_exam("one")?;
    seat.round()?;
    let copy = seat.copied()?;
    seat.close_an_exam("two")?;
    let in_box = copy.file("box.yaml");
    let in_box = Seat::path(&in_box)?;
    let note = |what: &[&str]| {
        let said = copy.say(&[&["box", "change", "--box", in_box], what].concat())?;
        assert_eq!(said.code, Some(0), "{said:?}");
        Ok::<(), Failure>(())
    };
    copy.close_an_exam("another two")?;
    note(&["lost", "-2.00 sphere"])?;
    note(&["damaged", "+1.00 sphere"])?;
    let undone = copy.say(&["box", "undo", "--box", in_box])?;
    assert_eq!(undone.code, Some(0), "{undone:?}");
    let before = (history(&copy, "-2.00 sphere")?, history(&copy, "+1.00 sphere")?);
    seat.round()?;
    let said = copy.say(&["room"])?;
    assert!(
        said.code == Some(1) && said.err.contains("another entry 2") && said.err.contains("was copied"),
        "{said:?}"
    );
    // it goes on as one of its own: an exam, two changes and the slip are sent, and what the other one did comes
    let said = as_new(&copy, &room, "lane1b")?;
    assert!(said.contains("4 entries sent, 1 new here"), "{said}");
    assert_eq!(labels(&copy)?, [of(None, "one"), of(None, "another two"), of(Some("lane1"), "two")]);
    assert_eq!((history(&copy, "-2.00 sphere")?, history(&copy, "+1.00 sphere")?), before, "nothing counts twice here");
    assert_eq!(copy.round()?["unsent"], 0);
    // and elsewhere all of it stands once
    reader.round()?;
    assert_eq!(
        labels(&reader)?,
        [of(Some("lane1"), "one"), of(Some("lane1"), "two"), of(Some("lane1b"), "another two")]
    );
    assert_eq!((history(&reader, "-2.00 sphere")?, history(&reader, "+1.00 sphere")?), before);
    // of two one is lost, and none is damaged
    assert_eq!(before, ("-2.00 sphere 2 1 1 0 0 0".to_owned(), "+1.00 sphere 2 2 0 0 0 0".to_owned()));
    // what is noted from now on goes as any other; and the logbook is sound
    copy.close_an_exam("three of the copy")?;
    assert!(copy.say(&["room"])?.out.contains("1 entry sent, 0 new here; 0 not sent yet"));
    for seat in [&copy, &seat, &reader] {
        let said = seat.say(&["logbook", "check"])?;
        assert_eq!(said.code, Some(0), "{said:?}");
        seat.round()?;
    }
    assert_eq!(labels(&seat)?.len(), 4);
    Ok(())
}

#[test]
fn an_old_copy_that_is_put_back_has_what_it_had_and_sends_what_it_did_since() -> Tested {
    let room = SharedRoom::new("old_copy", &[])?;
    let seat = Seat::joined("lane1", &room.login("a"), &room.address("a")?)?;
    seat.close_an_exam("one")?;
    seat.round()?;
    let [first, second] = [seat.copied()?, seat.copied()?];
    seat.close_an_exam("two")?;
    seat.round()?;
    // put back, and nothing done with it yet
    let said = first.say(&["room"])?;
    assert!(said.code == Some(1) && said.err.contains("another entry 2"), "{said:?}");
    let said = as_new(&first, &room, "lane1b")?;
    assert!(said.contains("0 entries sent, 1 new here"), "{said}");
    assert_eq!(labels(&first)?, [of(None, "one"), of(Some("lane1"), "two")]);
    // put back, and worked with before anybody saw
    second.close_an_exam("two again")?;
    let said = as_new(&second, &room, "lane1c")?;
    assert!(said.contains("1 entry sent"), "{said}");
    assert_eq!(labels(&second)?, [of(None, "one"), of(None, "two again"), of(Some("lane1"), "two")]);
    // once more under another name: nothing is sent twice
    let again = as_new(&second, &room, "lane1d")?;
    assert!(again.contains("0 entries sent, 0 new here"), "{again}");
    first.round()?;
    let all = [of(None, "one"), of(Some("lane1"), "two"), of(Some("lane1c"), "two again")];
    assert_eq!(labels(&first)?, all);
    let rows = room.owner()?.call("SELECT count(*) FROM room.entry", &[])?;
    assert_eq!(rows[0].get::<_, i64>(0), 3);
    Ok(())
}
