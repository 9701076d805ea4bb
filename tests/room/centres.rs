//! Many centres: exams that the room lists without their being fetched, and months that it lets go of.

use std::process::Stdio;

use dioptray::logbook::{EntryRow, ExamId, SpokenRow};
use dioptray::room::calls::{Named, ship};
use dioptray::room::link::Link;
use dioptray::room::prepare::{Role, allow};
use dioptray::sharing::body::deflate;
use dioptray::sharing::{Entry, EntryKind, Hash, WriterId};
use serde_json::Value;
use uuid::Uuid;

use super::erasing::on_screen;
use super::seat::Seat;
use super::server::{OWNER, Server, SharedRoom, until};
use super::{Failure, Tested};

/// The names in the order in which the room lists them.
fn listed(seat: &Seat, asked: &[&str]) -> Result<Vec<String>, Failure> {
    let answer = seat.json(&[&["room", "exams"], asked].concat())?;
    let exams = answer["exams"].as_array().ok_or("no exams")?;
    let name = |exam: &Value| Some(format!("{}-{}", exam["seat"].as_str()?, exam["number"].as_i64()?));
    exams.iter().map(name).collect::<Option<_>>().ok_or_else(|| "odd list".into())
}

/// As if all that came to a room had come so many months earlier: the partitions are made for what stands in none.
fn aged(owner: &Link, months: i32) -> Tested {
    Ok(owner.run(&format!(
        "BEGIN;
         UPDATE room.entry SET received = received - interval '{months} months', closed = closed - interval '{months} months';
         INSERT INTO room.month SELECT (month - interval '{months} months')::date, earliest - {months} * 31, latest, let_go FROM room.month;
         UPDATE room.written SET month = (month - interval '{months} months')::date;
         UPDATE room.examined SET month = (month - interval '{months} months')::date;
         DELETE FROM room.month AS m WHERE NOT EXISTS (SELECT FROM room.written AS w WHERE w.month = m.month);
         SELECT room.make_months();
         COMMIT"
    ))?)
}

/// Exams of a seat as it would have sent them, closed at these times: numbers from `first` on.
fn sent(link: &Link, home: Uuid, writer: WriterId, by: &str, closed: &[(i64, &str, ExamId)]) -> Tested {
    let (mut before, mut last) = (0, Hash::NONE);
    for (number, at, exam) in closed {
        let body = format!("exam {number} of {by}");
        let entry = Entry {
            kind: EntryKind::Exam,
            about: exam.uuid().as_bytes().to_vec(),
            by: Some(by.to_owned()),
            at: (*at).to_owned(),
            after: None,
            format: 1,
            body_hash: Hash::of(body.as_bytes()),
        };
        let row = EntryRow { sealed: entry.seal(writer, before, last), body: Some(deflate(body.as_bytes())?) };
        let spoken = SpokenRow { exam: *exam, writer, number: *number };
        let named = Named { spoken, label: Some(format!("L{number}")) };
        let next = row.sealed.hash;
        assert!(ship(link, WriterId::new(home), (before, last), &[row], &[named])?);
        (before, last) = (before + 1, next);
    }
    Ok(())
}

fn home_of(owner: &Link, seat: &str) -> Result<Uuid, Failure> {
    Ok(owner.call("SELECT home FROM room.seat WHERE name = $1", &[&seat])?[0].get(0))
}

#[test]
fn exams_are_found_by_seat_site_day_and_examiner_without_fetching_them() -> Tested {
    let logins = [("v", Role::Examiner, Some("valley")), ("r", Role::Reader, None), ("k", Role::Keeper, None)];
    let room = SharedRoom::new("listed", &logins)?;
    let owner = room.owner()?;
    let reader = Seat::joined("office", &room.login("r"), &room.address("r")?)?;
    let link =
        |name: &str| Link::connect(&room.address(name)?.parse()?, Some(&room.login(name)), None).map_err(Failure::from);
    for (seat, login) in [("lane1", "a"), ("lane9", "v")] {
        Seat::joined(seat, &room.login(login), &room.address(login)?)?;
    }
    let new = || ExamId::new(Uuid::new_v4());
    let (twice, home1, home9) = (new(), home_of(&owner, "lane1")?, home_of(&owner, "lane9")?);
    let (one, nine) = (WriterId::new(Uuid::new_v4()), WriterId::new(Uuid::new_v4()));
    // what came two months ago, with one exam whose seat had a clock that was wrong
    let early =
        [(1, "2026-03-01T09:00:00Z", new()), (2, "1999-01-01T00:00:00Z", new()), (3, "2026-03-01T23:30:00Z", twice)];
    sent(&link("a")?, home1, one, "A. Osei", &early)?;
    aged(&owner, 2)?;
    let late = [(7, "2026-05-04T10:00:00Z", new()), (8, "2026-05-04T12:00:00Z", new())];
    sent(&link("v")?, home9, nine, "B. Lind", &late)?;

    // the newest first: by the month in which they came, then by when they were closed
    let all = ["lane9-8", "lane9-7", "lane1-3", "lane1-1", "lane1-2"];
    assert_eq!(listed(&reader, &[])?, all);
    assert_eq!(listed(&reader, &["LANE1-3"])?, ["lane1-3"]);
    assert_eq!(listed(&reader, &["lane1-9"])?, [""; 0]);
    assert_eq!(listed(&reader, &["--seat", "lane1"])?, all[2..]);
    assert_eq!(listed(&reader, &["--site", "Valley"])?, all[..2]);
    assert_eq!(listed(&reader, &["--site", "nowhere"])?, [""; 0]);
    assert_eq!(listed(&reader, &["--by", "a. osei"])?, all[2..]);
    // ageing moved what the seat said too
    let day = "2026-01-01";
    assert_eq!(listed(&reader, &["--day", day])?, ["lane1-3", "lane1-1"]);
    assert_eq!(listed(&reader, &["--day", day, "--site", "valley"])?, [""; 0]);
    assert_eq!(listed(&reader, &["--day", "2026-05-04", "--by", "B. Lind", "--site", "valley"])?, all[..2]);
    assert_eq!(listed(&reader, &["--day", "1998-11-01"])?, ["lane1-2"]);

    // going on, one at a time, gives each once and in the same order
    let (mut one_by_one, mut after) = (Vec::new(), Vec::new());
    loop {
        let page = reader.json(
            &[&["room", "exams", "--most", "1"][..], &after.iter().map(String::as_str).collect::<Vec<_>>()].concat(),
        )?;
        one_by_one.push(format!("{}-{}", page["exams"][0]["seat"].as_str().ok_or("none")?, page["exams"][0]["number"]));
        match page["after"].as_str() {
            Some(last) => after = vec!["--after".to_owned(), last.to_owned()],
            None => break,
        }
    }
    assert_eq!(one_by_one, all);
    let said = reader.say(&["room", "exams", "--after", "lane1-99"])?;
    assert!(said.code == Some(1) && said.err.contains("has no exam lane1-99"), "{said:?}");

    // the same exam from a copy of that logbook is listed once, as of the first
    sent(&link("v")?, home9, WriterId::new(Uuid::new_v4()), "A. Osei", &[(3, "2026-05-05T09:00:00Z", twice)])?;
    assert_eq!(listed(&reader, &[])?, all);
    let rows = owner.call("SELECT count(*), count(spoken) FROM room.entry", &[])?;
    assert_eq!((rows[0].get::<_, i64>(0), rows[0].get::<_, i64>(1)), (6, 5));

    // words for people; nothing of it was fetched
    let said = reader.say(&["room", "exams", "--site", "valley", "--most", "1"])?;
    let lines: Vec<&str> = said.out.lines().collect();
    assert_eq!(
        lines,
        [
            "exam     closed            site    by       label",
            "lane9-8  2026-05-04 12:00  valley  B. Lind  L8",
            "there are more: the same with --after lane9-8"
        ]
    );
    assert_eq!(reader.exams()?, []);
    let said = reader.say(&["exam", "show", "lane9-8"])?;
    assert!(said.code == Some(1) && said.err.contains("`dioptray room` fetches what is new"), "{said:?}");
    Ok(())
}

#[test]
fn lists_have_the_rights_of_their_login() -> Tested {
    let logins =
        [("v", Role::Examiner, Some("valley")), ("k", Role::Keeper, None), ("t", Role::Teacher, Some("hillside"))];
    let room = SharedRoom::new("listrights", &logins)?;
    let hillside = Seat::joined("lane1", &room.login("a"), &room.address("a")?)?;
    let valley = Seat::joined("lane9", &room.login("v"), &room.address("v")?)?;
    hillside.close_an_exam("of the hillside")?;
    valley.close_an_exam("of the valley")?;
    hillside.round()?;
    valley.round()?;
    assert_eq!(listed(&hillside, &[])?, ["lane1-1"]);
    assert_eq!(listed(&valley, &[])?, ["lane9-1"]);
    for asked in [&["lane1-1"][..], &["--seat", "lane1"]] {
        assert_eq!(listed(&valley, asked)?, [""; 0], "{asked:?}");
    }
    let said = valley.say(&["room", "exams", "--after", "lane1-1"])?;
    assert!(said.err.contains("has no exam lane1-1 of a seat that this login sees"), "{said:?}");
    let said = valley.say(&["room", "exams", "--site", "hillside"])?;
    assert!(said.code == Some(1) && said.err.contains("belongs to the site valley"), "{said:?}");
    // without a logbook in the room, by its address
    let said = Seat::new("none", &room.login("t"))?.say(&["room", "exams", "--room", &room.address("t")?])?;
    assert!(said.code == Some(0) && said.out.contains("of the hillside") && !said.out.contains("valley"), "{said:?}");
    let said = Seat::new("desk", &room.login("k"))?.say(&["room", "exams", "--room", &room.address("k")?])?;
    assert!(said.code == Some(1) && said.err.contains("the role keeper may not do this"), "{said:?}");
    Ok(())
}

/// Runs `room keep` as the owner of a room.
fn keep(seat: &Seat, address: &str, asked: &[&str]) -> Result<super::seat::Said, Failure> {
    seat.say(&[&["room", "keep"], asked, &[address]].concat())
}

#[test]
fn a_month_that_is_let_go_of_leaves_chains_boxes_and_numbers() -> Tested {
    let server = Server::start("")?;
    server.room("room", &[("a", Role::Examiner, None), ("b", Role::Examiner, None), ("c", Role::Reader, None)])?;
    let (owner, of_owner) = (server.owner("room")?, server.address(OWNER, "room"));
    let a = Seat::joined("lane1", "a", &server.address("a", "room"))?;
    let b = Seat::joined("lane2", "b", &server.address("b", "room"))?;
    let label = "Quillfeather";
    a.close_an_exam(label)?;
    let box_file = a.file("box.yaml");
    let said = a.say(&["box", "change", "lost", "-2.00 sphere", "--box", Seat::path(&box_file)?])?;
    assert_eq!(said.code, Some(0), "{said:?}");
    let complaint = format!("{label} sees double");
    let said = a.say(&["exam", "came-back", "1", "--right", "-4.25/-0.75x30", "--complaint", &complaint])?;
    assert_eq!(said.code, Some(0), "{said:?}");
    a.round()?;
    b.round()?;
    assert!(b.exams()?.contains(&(Some("lane1".to_owned()), 1, label.to_owned())));
    aged(&owner, 30)?;
    a.close_an_exam("young")?;
    a.round()?;
    b.round()?;
    let bodies = "SELECT kind, body IS NOT NULL, label IS NOT NULL FROM room.entry ORDER BY writer, number";
    let kept = || -> Result<Vec<(String, bool, bool)>, Failure> {
        Ok(owner.call(bodies, &[])?.iter().map(|row| (row.get(0), row.get(1), row.get(2))).collect())
    };
    let before = kept()?;
    assert!(before.iter().all(|(_, has_body, _)| *has_body), "{before:?}");

    // what it would be, without doing it; below a year it is refused, here and by the room
    let said = keep(&a, &of_owner, &["2", "--dry-run"])?;
    assert!(said.code == Some(0) && said.out.ends_with(": 1 exam\n"), "{said:?}");
    let said = keep(&a, &of_owner, &["2"])?;
    assert!(said.code == Some(2) && said.err.contains("say --yes"), "{said:?}");
    assert_eq!(keep(&a, &of_owner, &["0", "--yes"])?.code, Some(2));
    let refused = owner.run("SELECT room.let_go((SELECT min(month) FROM room.month), 0)");
    assert!(refused.is_err_and(|error| error.to_string().contains("for a year at least")));
    let said = keep(&a, &of_owner, &["3", "--yes"])?;
    assert!(said.out.contains("keeps no whole month of exams older than 3 years"), "{said:?}");
    let said = keep(&a, &server.address("a", "room"), &["2", "--yes"])?;
    assert!(said.code == Some(1) && said.err.contains("a does not own the database room"), "{said:?}");
    assert_eq!(kept()?, before);

    let said = keep(&a, &of_owner, &["2", "--yes"])?;
    assert!(said.code == Some(0) && said.out.contains("let go of"), "{said:?}");
    let after = kept()?;
    assert_eq!(after.len(), before.len());
    for ((kind, has_body, has_label), was) in after[..after.len() - 1].iter().zip(&before) {
        let is_of_exam = kind == "exam" || kind == "amendment";
        assert_eq!((*has_body, *has_label), (was.1 && !is_of_exam, false), "{kind}");
    }
    assert_eq!(after[after.len() - 1], ("exam".to_owned(), true, true));
    let said = keep(&a, &of_owner, &["2", "--yes"])?;
    assert!(said.out.contains("keeps no whole month"), "{said:?}");

    // a seat that had fetched it lets go of it at its next call: not one byte of it is left there
    let bytes = |seat: &Seat| -> Result<bool, Failure> {
        let mut found = false;
        for name in ["others-logbook.db", "others-logbook.db-wal"] {
            let content = std::fs::read(seat.file(name)).unwrap_or_default();
            found |= content.windows(label.len()).any(|bytes| bytes == label.as_bytes());
        }
        Ok(found)
    };
    assert!(bytes(&b)?);
    b.round()?;
    assert!(!bytes(&b)?);
    let says_so = |seat: &Seat| -> Tested {
        let said = seat.say(&["exam", "show", "lane1-1"])?;
        assert!(said.code == Some(1) && said.err.contains("lane1-1 is kept no longer"), "{said:?}");
        let said = seat.say(&["exam", "list"])?;
        assert!(said.out.contains("lane1: 1 exam between lane1-1 and lane1-1 kept no longer"), "{said:?}");
        let young = (Some("lane1".to_owned()), 2, "young".to_owned());
        assert_eq!(seat.exams()?, [young]);
        let said = seat.say(&["logbook", "check"])?;
        assert_eq!(said.code, Some(0), "{said:?}");
        Ok(())
    };
    says_so(&b)?;
    // one that joins after has the same, and its chain holds
    let c = Seat::joined("office", "c", &server.address("c", "room"))?;
    says_so(&c)?;
    for seat in [&b, &c] {
        let file = seat.file("box.yaml");
        let said = seat.say(&["box", "list", "--box", Seat::path(&file)?])?;
        assert!(said.out.contains("lost"), "{said:?}");
    }
    // a parcel that was written before brings it back to nobody
    let parcel = a.file("all.parcel");
    let said = a.say(&["parcel", "write", Seat::path(&parcel)?])?;
    assert_eq!(said.code, Some(0), "{said:?}");
    let said = c.say(&["parcel", "read", Seat::path(&parcel)?, "--trust"])?;
    assert_eq!(said.code, Some(0), "{said:?}");
    says_so(&c)?;
    for seat in [&b, &c] {
        // the list on the screen has it by its name, and opening it says why there is no more of it
        let shown = on_screen(seat, "e")?;
        let line = shown.lines().find(|line| line.contains("lane1-1 ")).ok_or("no line")?;
        assert!(line.contains("not kept") && line.contains("kept no longer") && line.contains(" closed "), "{shown}");
        let shown = on_screen(seat, "e/lane1-1<enter><enter>")?;
        assert!(shown.contains("the record of exam lane1-1 is kept no longer"), "{shown}");
    }
    // the room's list says so, and the seat itself has its own exam
    let said = c.say(&["room", "exams"])?;
    assert!(said.out.contains("(the record is kept no longer)") && !said.out.contains(label), "{said:?}");
    assert_eq!(a.exams()?.len(), 2);
    assert_eq!(a.say(&["exam", "show", "1"])?.code, Some(0));
    Ok(())
}

#[test]
fn a_server_that_is_killed_while_it_lets_go_has_the_whole_month_or_none_of_it() -> Tested {
    let server = Server::start("")?;
    server.room("room", &[("a", Role::Examiner, None)])?;
    let of_owner = server.address(OWNER, "room");
    let a = Seat::joined("lane1", "a", &server.address("a", "room"))?;
    a.close_an_exam("one")?;
    a.close_an_exam("two")?;
    a.round()?;
    aged(&server.owner("room")?, 30)?;
    let counts = || -> Result<(i64, i64, i64), Failure> {
        let rows = server.owner("room")?.call(
            "SELECT count(*), count(body), (SELECT count(*) FROM pg_class WHERE relname LIKE '%slim') FROM room.entry",
            &[],
        )?;
        Ok((rows[0].get(0), rows[0].get(1), rows[0].get(2)))
    };
    // somebody looks at the room, and the month that is ready waits for its place
    let looks_on = server.owner("room")?;
    looks_on.run("BEGIN; LOCK TABLE room.entry IN ACCESS SHARE MODE")?;
    let mut keeping =
        a.command(&["room", "keep", "2", &of_owner, "--yes"]).stdout(Stdio::null()).stderr(Stdio::null()).spawn()?;
    until("it waits", || {
        let waits = "SELECT count(*) FROM pg_locks AS l JOIN pg_class AS c ON c.oid = l.relation
                     WHERE NOT l.granted AND c.relname = 'entry'";
        Ok(server.owner("room")?.call(waits, &[])?[0].get::<_, i64>(0) > 0)
    })?;
    server.kill()?;
    assert!(!keeping.wait()?.success());
    server.up()?;
    assert_eq!(counts()?, (2, 2, 0));
    let said = keep(&a, &of_owner, &["2", "--yes"])?;
    assert_eq!(said.code, Some(0), "{said:?}");
    assert_eq!(counts()?, (2, 0, 0));
    // who is allowed later, and what comes later, find all of it in its place
    allow(&server.owner("room")?, "a", Role::Examiner, None)?;
    a.close_an_exam("three")?;
    assert_eq!(a.round()?["unsent"], 0);
    assert_eq!(counts()?, (3, 1, 0));
    Ok(())
}
