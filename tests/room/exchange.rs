//! Every entry arrives once, whoever asks how often.

use dioptray::logbook::EntryRow;
use dioptray::room::calls::ship;
use dioptray::room::link::Link;
use dioptray::room::prepare::Role;
use dioptray::sharing::body::deflate;
use dioptray::sharing::{Entry, EntryKind, Hash, WriterId};
use uuid::Uuid;

use super::seat::Seat;
use super::server::SharedRoom;
use super::{Failure, Tested};

fn two(database: &'static str) -> Result<(SharedRoom, Seat, Seat), Failure> {
    let room = SharedRoom::new(database, &[])?;
    let a = Seat::joined("lane1", &room.login("a"), &room.address("a")?)?;
    let b = Seat::joined("lane2", &room.login("b"), &room.address("b")?)?;
    Ok((room, a, b))
}

fn own(number: i64, label: &str) -> (Option<String>, i64, String) {
    (None, number, label.to_owned())
}

fn of(seat: &str, number: i64, label: &str) -> (Option<String>, i64, String) {
    (Some(seat.to_owned()), number, label.to_owned())
}

#[test]
fn what_two_seats_closed_is_listed_at_both_and_arrives_once() -> Tested {
    let (room, a, b) = two("exchange")?;
    a.close_an_exam("K.M.")?;
    a.close_an_exam("L.")?;
    b.close_an_exam("Z.")?;
    let there = a.round()?;
    assert_eq!((&there["there"], &there["unsent"]), (&true.into(), &0.into()));
    b.round()?;
    let said = a.say(&["room"])?;
    assert!(said.out.contains("0 entries sent, 1 new here; 0 not sent yet"), "{said:?}");
    assert_eq!(a.exams()?, [own(1, "K.M."), own(2, "L."), of("lane2", 1, "Z.")]);
    assert_eq!(b.exams()?, [own(1, "Z."), of("lane1", 1, "K.M."), of("lane1", 2, "L.")]);
    // the same record at both, with every step
    let (here, mut there) = (a.json(&["exam", "show", "2"])?, b.json(&["exam", "show", "lane1-2"])?);
    assert_eq!(there.as_object_mut().ok_or("no record")?.remove("seat"), Some("lane1".into()));
    assert_eq!(here, there);
    assert_eq!(here["right"]["written"]["sphere"], -4.0);
    for _ in 0..3 {
        for seat in [&a, &b] {
            let said = seat.say(&["room"])?;
            assert!(said.out.contains("0 entries sent, 0 new here"), "{said:?}");
        }
    }
    let rows = room.owner()?.call("SELECT count(*), count(DISTINCT (writer, number)) FROM room.entry", &[])?;
    assert_eq!((rows[0].get::<_, i64>(0), rows[0].get::<_, i64>(1)), (3, 3));
    // a third one that comes late has all of it at once
    room.owner()?.run("CREATE ROLE late LOGIN PASSWORD 'late'")?;
    dioptray::room::prepare::allow(&room.owner()?, "late", Role::Reader, None)?;
    let late = room.address("a")?.replace(&room.login("a"), "late");
    let c = Seat::joined("teacher", "late", &late)?;
    assert_eq!(c.exams()?, [of("lane1", 1, "K.M."), of("lane1", 2, "L."), of("lane2", 1, "Z.")]);
    Ok(())
}

#[test]
fn a_seat_keeps_its_name_and_no_name_is_given_twice() -> Tested {
    let (room, a, b) = two("names")?;
    let taken = Seat::new("lane1", &room.login("b"))?;
    let said = taken.say(&["room", "join", &room.address("b")?, "--seat", "lane1"])?;
    assert!(said.code == Some(1) && said.err.contains("the seat lane1 is taken"), "{said:?}");
    let said = b.say(&["room", "join", &room.address("b")?, "--seat", "other"])?;
    assert!(said.code == Some(1) && said.err.contains("this logbook is lane2 in the room"), "{said:?}");
    // who has left may come back under the name, and nobody else may have it
    a.close_an_exam("K.M.")?;
    let said = a.say(&["room", "leave"])?;
    assert!(said.code == Some(0) && said.out.contains("1 entry sent"), "{said:?}");
    assert!(a.say(&["room"])?.err.contains("has joined no room"));
    let said = taken.say(&["room", "join", &room.address("b")?, "--seat", "lane1"])?;
    assert!(said.err.contains("the seat lane1 is taken"), "{said:?}");
    let said = a.say(&["room", "join", &room.address("a")?, "--seat", "lane1"])?;
    assert!(said.code == Some(0) && said.out.contains("0 entries sent"), "{said:?}");
    Ok(())
}

#[test]
fn a_newer_room_is_left_alone_and_a_newer_entry_is_kept() -> Tested {
    let (room, a, b) = two("newer")?;
    a.close_an_exam("K.M.")?;
    a.round()?;
    // as a newer program at the other seat would have sent it: an entry of a kind that nobody knows here
    b.close_an_exam("Z.")?;
    b.round()?;
    let body = br#"{"consulted":"by telephone"}"#;
    let entry = Entry {
        kind: EntryKind::from_name("consultation"),
        about: b"whatever".to_vec(),
        by: None,
        at: "2026-11-27T08:00:00Z".to_owned(),
        after: None,
        format: 9,
        body_hash: Hash::of(body),
    };
    let link = Link::connect(&room.address("b")?.parse()?, Some(&room.login("b")), None)?;
    let home = room.owner()?.call("SELECT home FROM room.seat WHERE name = 'lane2'", &[])?[0].get(0);
    let writer = WriterId::new(Uuid::new_v4());
    let newer = EntryRow { sealed: entry.seal(writer, 0, Hash::NONE), body: Some(deflate(body)?) };
    assert!(ship(&link, WriterId::new(home), (0, Hash::NONE), &[newer], &[])?);
    let said = a.say(&["room"])?;
    assert!(said.code == Some(0) && said.out.contains("2 new here"), "{said:?}");
    let kept = rusqlite::Connection::open(a.file("others-logbook.db"))?;
    let kept: String = kept.query_row("SELECT kind FROM entry WHERE format = 9", [], |row| row.get(0))?;
    assert_eq!(kept, "consultation");
    assert!(a.say(&["room"])?.out.contains("0 new here"));
    room.owner()?.run("UPDATE room.about SET form = 9")?;
    a.close_an_exam("L.")?;
    let said = a.say(&["room"])?;
    assert!(said.code == Some(1) && said.err.contains("form 9") && said.err.contains("update Dioptray"), "{said:?}");
    assert!(a.exams()?.contains(&own(2, "L.")));
    let said = a.say(&["room", "prepare", &room.address("a")?])?;
    assert!(said.code == Some(1), "{said:?}");
    room.owner()?.run("UPDATE room.about SET form = 1")?;
    assert_eq!(a.round()?["unsent"], 0);
    Ok(())
}
