//! Erasing an exam for good: two logins, and no byte of it left at either seat or in the room.

use std::fs;
use std::thread;
use std::time::Duration;

use dioptray::room::erasing::note_what_was_erased;
use dioptray::room::link::Link;
use dioptray::room::prepare::Role;
use dioptray::sharing::body::inflate;
use uuid::Uuid;

use super::seat::{Said, Seat};
use super::server::{SharedRoom, until};
use super::{Failure, Tested};

const WHY: &str = "entered for the wrong person";

/// A room with two examiners, a keeper and a reader of all sites, and an examiner of another site.
fn room(database: &'static str) -> Result<(SharedRoom, Seat, Seat, Seat), Failure> {
    let others = [("k", Role::Keeper, None), ("r", Role::Reader, None), ("v", Role::Examiner, Some("valley"))];
    let room = SharedRoom::new(database, &others)?;
    let a = Seat::joined("lane1", &room.login("a"), &room.address("a")?)?;
    let b = Seat::joined("lane2", &room.login("b"), &room.address("b")?)?;
    let k = Seat::joined("desk", &room.login("k"), &room.address("k")?)?;
    Ok((room, a, b, k))
}

fn asks(k: &Seat, exam: &str) -> Tested {
    let said = k.say(&["room", "erase", exam, "--why", WHY])?;
    assert!(said.code == Some(0) && said.out.contains("Nothing is erased yet"), "{said:?}");
    Ok(())
}

fn agrees(seat: &Seat, exam: &str) -> Result<Said, Failure> {
    seat.say(&["room", "erase", exam, "--agree", "--yes"])
}

/// How many entries and bodies the room has.
fn entries(room: &SharedRoom) -> Result<(i64, i64), Failure> {
    let rows = room.owner()?.call("SELECT count(*), count(body) FROM room.entry", &[])?;
    Ok((rows[0].get(0), rows[0].get(1)))
}

/// Whether some bytes stand in any file of a seat.
pub fn holds(seat: &Seat, bytes: &[u8]) -> Result<bool, Failure> {
    for entry in fs::read_dir(seat.folder.path())? {
        let path = entry?.path();
        if path.is_file() && fs::read(&path)?.windows(bytes.len()).any(|window| window == bytes) {
            return Ok(true);
        }
    }
    Ok(false)
}

/// What a screen shows of a seat after these keys.
pub fn on_screen(seat: &Seat, keys: &str) -> Result<String, Failure> {
    let file = seat.file("box.yaml");
    let asked = ["--box", Seat::path(&file)?, "--new", "--print", "--size", "160x36", "--keys", keys];
    let said = seat.say(&asked)?;
    assert_eq!(said.code, Some(0), "{said:?}");
    Ok(said.out)
}

fn refused(said: &Said, words: &str) {
    assert!(said.code == Some(1) && said.err.contains(words), "{words}: {said:?}");
}

#[test]
fn one_person_alone_erases_nothing_and_another_site_does_not_either() -> Tested {
    let (room, a, b, k) = room("alone")?;
    a.close_an_exam("K.M.")?;
    a.round()?;
    // nobody but a keeper asks, and only for what is there
    refused(&a.say(&["room", "erase", "1", "--why", WHY])?, "the role examiner may not do this");
    refused(&k.say(&["room", "erase", "lane1-9", "--why", WHY])?, "no closed exam lane1-9");
    refused(&k.say(&["room", "erase", "lane1-1", "--why", "  "])?, "say why with --why TEXT");
    assert_eq!(k.say(&["room", "erase", "lane1-1"])?.code, Some(2));
    refused(&agrees(&b, "lane1-1")?, "nobody asks that this exam be erased");
    asks(&k, "lane1-1")?;
    refused(&k.say(&["room", "erase", "lane1-1", "--why", WHY])?, "has asked for that already");
    refused(&agrees(&k, "lane1-1")?, "another login has to agree");
    let valley = Seat::joined("lane9", &room.login("v"), &room.address("v")?)?;
    refused(&agrees(&valley, "lane1-1")?, "nobody asks that this exam be erased");
    // whoever knows its identity gets no further
    let link = Link::connect(&room.address("v")?.parse()?, Some(&room.login("v")), None)?;
    let owner = room.owner()?;
    let exam: Uuid = owner.call("SELECT id FROM room.exam", &[])?[0].get(0);
    let home: Uuid = owner.call("SELECT home FROM room.seat WHERE name = 'lane9'", &[])?[0].get(0);
    assert!(link.call("SELECT room.erase_agree($1, $2)", &[&home, &exam]).is_err());
    let reader = Seat::joined("office", &room.login("r"), &room.address("r")?)?;
    refused(&agrees(&reader, "lane1-1")?, "the role reader may not do this");
    let said = b.say(&["room", "erase", "lane1-1", "--agree"])?;
    refused(&said, "say --yes too");
    assert!(said.err.contains("exam lane1-1, closed ") && said.err.contains(WHY), "{said:?}");
    assert_eq!(entries(&room)?, (1, 1));
    // it is listed until it is taken back, which whoever asked does alone
    let listed = b.round()?;
    let asked = &listed["erasures"][0];
    assert_eq!((&asked["exam"], &asked["why"], &asked["agreed"]), (&"lane1-1".into(), &WHY.into(), &().into()));
    let said = b.say(&["room"])?;
    assert!(said.out.contains("to be erased: lane1-1, closed ") && said.out.contains("room erase lane1-1 --agree"));
    refused(&b.say(&["room", "erase", "lane1-1", "--take-back"])?, "the role examiner may not do this");
    let said = k.say(&["room", "erase", "lane1-1", "--take-back"])?;
    assert!(said.code == Some(0) && said.out.contains("lane1-1 stays"), "{said:?}");
    refused(&agrees(&b, "lane1-1")?, "nobody asks that this exam be erased");
    assert_eq!(entries(&room)?, (1, 1));
    assert_eq!(b.exams()?.len(), 1);
    Ok(())
}

#[test]
fn no_byte_of_it_is_left_at_either_seat_nor_in_the_entries_and_all_else_stands() -> Tested {
    let (room, a, b, k) = room("bytes")?;
    for nth in 1..=9 {
        a.close_an_exam(&format!("Label{nth}"))?;
    }
    let complaint = "doubles when reading, and says so";
    assert_eq!(a.say(&["exam", "came-back", "4", "--right", "-4.00", "--complaint", complaint])?.code, Some(0));
    for seat in [&a, &b] {
        seat.round()?;
    }
    let owner = room.owner()?;
    let of_it = "SELECT body FROM room.entry WHERE about = (SELECT about FROM room.entry WHERE spoken = 4)
                 ORDER BY number";
    let bodies: Vec<Vec<u8>> = owner.call(of_it, &[])?.iter().map(|row| row.get(0)).collect();
    assert_eq!(bodies.len(), 2);
    // a step of it, whole as it stands in files; the exam's own text is one line of its body
    let text = String::from_utf8(inflate(&bodies[0], 1 << 20)?)?;
    let step = text.lines().find(|line| line.contains("Label4")).ok_or("no step with the label")?.to_owned();
    for seat in [&a, &b] {
        assert!(holds(seat, b"Label4")? && holds(seat, step.as_bytes())? && holds(seat, &bodies[1])?, "{}", seat.name);
    }
    let before: Vec<_> = b.exams()?.into_iter().filter(|(_, number, _)| *number != 4).collect();
    let same = a.json(&["exam", "show", "5"])?;

    asks(&k, "lane1-4")?;
    let said = agrees(&a, "4")?;
    assert!(said.code == Some(0) && said.out.contains("erased: lane1-4, closed "), "{said:?}");
    assert!(said.err.contains("exam 4 was erased: entered for the wrong person"), "{said:?}");
    b.round()?;
    assert_eq!(entries(&room)?, (10, 8));
    let erased: Vec<Option<Vec<u8>>> = owner.call(of_it, &[])?.iter().map(|row| row.get(0)).collect();
    assert_eq!(erased, [None, None]);
    for seat in [&a, &b] {
        for bytes in [b"Label4".as_slice(), step.as_bytes(), complaint.as_bytes(), &bodies[0], &bodies[1]] {
            assert!(!holds(seat, bytes)?, "{}: {}", seat.name, String::from_utf8_lossy(bytes));
        }
        assert!(holds(seat, b"Label5")?);
    }
    // the list says so, and what asks for the record is told
    let list = a.say(&["exam", "list"])?.out;
    let line = list.lines().find(|line| line.starts_with("4 ")).ok_or("no line")?;
    assert!(line.contains("erased") && line.contains(WHY) && line.contains("closed"), "{line}");
    let list = b.json(&["exam", "list"])?;
    let of_other =
        list["exams"].as_array().ok_or("no list")?.iter().find(|exam| exam["number"] == 4).ok_or("no line")?;
    assert!(of_other["erased"].as_str().is_some_and(|why| why.starts_with(WHY)), "{of_other}");
    let there = a.say(&["room", "exams", "lane1-4"])?.out;
    assert!(there.lines().any(|line| line.starts_with("lane1-4") && line.contains("(erased)")), "{there}");
    let there = a.json(&["room", "exams", "lane1-4"])?;
    let line = &there["exams"][0];
    assert_eq!((&line["erased"], &line["kept"], &line["label"]), (&true.into(), &false.into(), &().into()));
    for [asked, form] in [["show", "--plus"], ["export", "--as=json"], ["order", "--as=text"]] {
        let said = a.say(&["exam", asked, "4", form])?;
        refused(&said, "exam 4 was erased: entered for the wrong person (asked for by bytes_k, agreed to by bytes_a");
        refused(&b.say(&["exam", asked, "lane1-4", form])?, "lane1-4 was erased: entered for the wrong person");
    }
    refused(&a.say(&["exam", "came-back", "4", "--right", "-4.00"])?, "exam 4 was erased");
    // everything else stands: chain, records, parcels
    let checked = a.say(&["logbook", "check"])?;
    assert!(checked.code == Some(0) && checked.out.contains("8 exams as it was kept; 1 exam erased"), "{checked:?}");
    assert_eq!(a.json(&["exam", "show", "5"])?, same);
    let now: Vec<_> = before.iter().filter(|exam| b.exams().is_ok_and(|all| all.contains(exam))).collect();
    assert_eq!(now.len(), 8);
    let parcel = a.file("parcel");
    assert_eq!(a.say(&["parcel", "write", Seat::path(&parcel)?])?.code, Some(0));
    let c = Seat::new("teamC", "")?;
    let read = c.json(&["parcel", "read", Seat::path(&parcel)?, "--trust"])?;
    assert_eq!((&read["entries"], &read["new"]), (&10.into(), &10.into()));
    assert_eq!(c.exams()?.len(), 8);
    for seat in [&a, &b, &k] {
        let said = seat.say(&["room"])?;
        assert!(said.out.contains("0 entries sent, 0 new here") && said.out.contains("1 exam was erased"), "{said:?}");
    }
    refused(&k.say(&["room", "erase", "lane1-4", "--why", WHY])?, "lane1-4 is erased already");
    refused(&agrees(&b, "lane1-4")?, "nobody asks that this exam be erased");
    Ok(())
}

#[test]
fn who_comes_late_or_adds_to_it_late_has_no_body_of_it() -> Tested {
    let (room, a, b, k) = room("later")?;
    for label in ["Label1", "Label2"] {
        a.close_an_exam(label)?;
    }
    a.round()?;
    asks(&k, "lane1-1")?;
    // lane1 is not asked in this: it still has the exam, and adds to it
    assert_eq!(agrees(&b, "lane1-1")?.code, Some(0));
    assert_eq!(a.say(&["exam", "came-back", "1", "--right", "-4.00", "--complaint", "added late"])?.code, Some(0));
    let said = a.say(&["room"])?;
    assert!(said.out.contains("1 entry sent") && said.err.contains("exam 1 was erased"), "{said:?}");
    assert_eq!(entries(&room)?, (3, 1));
    assert!(!holds(&a, b"Label1")? && !holds(&a, b"added late")? && holds(&a, b"Label2")?);
    let late = Seat::joined("office", &room.login("r"), &room.address("r")?)?;
    b.round()?;
    for seat in [&late, &b] {
        assert_eq!(seat.exams()?, [(Some("lane1".to_owned()), 2, "Label2".to_owned())]);
        // whoever never had it has a line of it all the same: who asked, who agreed, why, and no label
        let list = seat.say(&["exam", "list"])?.out;
        let line = list.lines().find(|line| line.starts_with("lane1-1 ")).ok_or("no line")?;
        let why = "entered for the wrong person (asked for by later_k, agreed to by later_b, ";
        assert!(line.contains(" erased ") && line.contains(why) && line.contains(" closed "), "{list}");
        let list = seat.json(&["exam", "list", "--seat", "lane1"])?;
        let line = &list["exams"][1];
        assert_eq!((&line["number"], &line["seat"], &line["label"]), (&1.into(), &"lane1".into(), &().into()));
        assert!(
            line["closed"].is_string() && line["erased"].as_str().is_some_and(|said| said.starts_with(why)),
            "{list}"
        );
        let shown = on_screen(seat, "e/lane1-1<enter><enter>")?;
        assert!(shown.contains("lane1-1 was erased: entered for the wrong person"), "{shown}");
        let shown = on_screen(seat, "e")?;
        let line = shown.lines().find(|line| line.contains("lane1-1 ")).ok_or("no line")?;
        assert!(line.contains("erased") && line.contains("entered for") && !shown.contains("Label1"), "{shown}");
        let file = rusqlite::Connection::open(seat.file("others-logbook.db"))?;
        let count = "SELECT count(*), count(body) FROM entry WHERE kind = 'amendment'";
        let rows: (i64, i64) = file.query_row(count, [], |row| Ok((row.get(0)?, row.get(1)?)))?;
        assert_eq!(rows, (1, 0));
        assert!(!holds(seat, b"Label1")?);
        refused(&seat.say(&["exam", "show", "lane1-1"])?, "lane1-1 was erased");
    }
    Ok(())
}

#[test]
fn a_seat_that_was_away_erases_at_its_next_start_also_where_it_was_killed_before() -> Tested {
    let (room, a, b, k) = room("away")?;
    for label in ["Label1", "Label2"] {
        a.close_an_exam(label)?;
    }
    a.round()?;
    asks(&k, "lane1-1")?;
    assert_eq!(agrees(&b, "lane1-1")?.code, Some(0));
    // the thread of a screen notes it and is killed with the screen: the logbook is as it was
    let link = Link::connect(&room.address("a")?.parse()?, Some(&room.login("a")), None)?;
    note_what_was_erased(&a.logbook(), &link)?;
    drop(link);
    assert!(holds(&a, b"Label1")?);
    assert_eq!(a.exams()?.len(), 2);
    // the next start, with the room away: another exam is closed in it
    let password = fs::read_to_string(a.file("password"))?;
    a.keep_password("another")?;
    a.close_an_exam("Label3")?;
    a.keep_password(&password)?;
    assert!(!holds(&a, b"Label1")? && holds(&a, b"Label2")?);
    refused(&a.say(&["exam", "show", "1"])?, "exam 1 was erased");
    assert_eq!(a.say(&["logbook", "check"])?.code, Some(0));
    a.round()?;
    assert_eq!(entries(&room)?, (3, 2));
    Ok(())
}

#[test]
fn what_is_shipped_while_somebody_agrees_waits_and_comes_without_a_body() -> Tested {
    let (room, a, _b, k) = room("atonce")?;
    a.close_an_exam("Label1")?;
    a.round()?;
    asks(&k, "lane1-1")?;
    assert_eq!(a.say(&["exam", "came-back", "1", "--right", "-4.00", "--complaint", "at once"])?.code, Some(0));
    // as the function that agrees does it, slowly
    let owner = room.owner()?;
    owner.run("BEGIN; LOCK TABLE room.erasure IN EXCLUSIVE MODE; UPDATE room.entry SET body = NULL")?;
    owner.run("UPDATE room.erasure SET agreed_by = 'someone', agreed = now(), place = 1")?;
    thread::scope(|scope| {
        let shipping = scope.spawn(|| a.say(&["room"]).map_err(|error| error.to_string()));
        let waits = "SELECT count(*) FROM pg_locks AS l JOIN pg_database AS d ON d.oid = l.database
                     WHERE NOT l.granted AND d.datname = 'atonce'";
        let looks = room.owner()?;
        until("the shipping waits", || Ok(looks.call(waits, &[])?[0].get::<_, i64>(0) > 0))?;
        thread::sleep(Duration::from_millis(200));
        assert!(!shipping.is_finished());
        owner.run("COMMIT")?;
        let said = shipping.join().map_err(|_| "it panicked")??;
        assert!(said.out.contains("1 entry sent"), "{said:?}");
        Ok::<(), Failure>(())
    })?;
    assert_eq!(entries(&room)?, (2, 0));
    Ok(())
}
