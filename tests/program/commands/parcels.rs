//! Parcels as commands: two rooms that exchange them.

use std::fs;

use rusqlite::Connection;
use serde_json::Value;

use super::room::{Room, Tested};

/// A room with one closed exam.
fn room(of: &str) -> Result<Room, Box<dyn std::error::Error>> {
    let room = Room::new()?;
    let keys = format!("-4<enter>-0.75x30<enter>ai<enter>{of}<enter><esc>Cy");
    let said = room.say(&["--box", "kits/boxes/outreach.yaml", "--print", "--keys", &keys])?;
    assert_eq!(said.code, Some(0), "{}", said.err);
    Ok(room)
}

fn path(room: &Room, name: &str) -> Result<String, Box<dyn std::error::Error>> {
    Ok(room.file(name).to_str().ok_or("odd path")?.to_owned())
}

#[test]
fn two_rooms_exchange_what_they_closed() -> Tested {
    let (lane3, team) = (room("K.M.")?, room("Z.")?);
    let file = path(&lane3, "monday.parcel")?;
    let refused = lane3.say(&["parcel", "write", &file])?;
    assert_eq!((refused.code, refused.out.as_str()), (Some(1), ""));
    assert!(refused.err.contains("no seat name yet") && refused.err.contains("--seat"), "{}", refused.err);
    let written = lane3.json(&["parcel", "write", &file, "--seat", "lane3"])?;
    assert_eq!(written, serde_json::json!({"entries": 1, "new": 1, "known": 0, "writers": 1}));
    let tuesday = path(&lane3, "tuesday.parcel")?;
    let since = lane3.json(&["parcel", "write", &tuesday, "--since", &file])?;
    assert_eq!(since, serde_json::json!({"entries": 0, "new": 0, "known": 1, "writers": 0}));

    let would = team.json(&["parcel", "read", &file, "--dry-run"])?;
    let read = team.json(&["parcel", "read", &file])?;
    assert_eq!((&would, &read), (&written, &written));
    let again = team.json(&["parcel", "read", &file, &tuesday, &file])?;
    assert_eq!(again, serde_json::json!({"entries": 1, "new": 0, "known": 1, "writers": 1}));

    let list = team.json(&["exam", "list"])?;
    let exams = list["exams"].as_array().ok_or("no exams")?;
    let of = |name: &str| exams.iter().map(|exam| exam[name].clone()).collect::<Vec<_>>();
    assert_eq!(of("seat"), [Value::Null, "lane3".into()]);
    assert_eq!((of("number"), of("label")), (vec![1.into(), 1.into()], vec!["Z.".into(), "K.M.".into()]));
    let text = team.say(&["exam", "list"])?.out;
    assert!(text.lines().any(|line| line.starts_with("lane3-1 ") && line.contains("K.M.")), "{text}");

    let own = team.say(&["exam", "show", "1"])?.out;
    let others = team.say(&["exam", "show", "lane3-1"])?.out;
    assert!(own.contains("Z.") && !own.contains("lane3"), "{own}");
    assert!(others.starts_with("Exam lane3-1:") && others.contains("K.M."), "{others}");
    assert!(others.contains("−4.00/−0.75×30"), "{others}");
    // who only reads has no logbook of one's own
    let teacher = Room::new()?;
    teacher.json(&["parcel", "read", &file])?;
    let listed = teacher.json(&["exam", "list"])?;
    assert_eq!((&listed["exams"][0]["seat"], listed["exams"].as_array().map(Vec::len)), (&"lane3".into(), Some(1)));
    // the same record as at home
    let home = lane3.json(&["exam", "show", "1"])?;
    let mut there = team.json(&["exam", "show", "lane3-1"])?;
    assert_eq!(there.as_object_mut().and_then(|record| record.remove("seat")), Some("lane3".into()));
    assert_eq!(there, home);
    for (name, words) in [("lane3-2", "there is no exam lane3-2"), ("lane4-1", "there is no exam lane4-1")] {
        let refused = team.say(&["exam", "show", name])?;
        assert_eq!((refused.code, refused.out.as_str()), (Some(1), ""));
        assert!(refused.err.contains(words), "{}", refused.err);
    }
    Ok(())
}

#[test]
fn a_damaged_file_of_others_keeps_nobody_from_ones_own() -> Tested {
    let room = room("K.M.")?;
    fs::write(room.file("others-logbook.db"), "not a logbook")?;
    let said = room.say(&["exam", "list"])?;
    assert_eq!(said.code, Some(0));
    assert!(said.out.contains("K.M.") && said.beside().contains("exams of other seats are left out"), "{}", said.err);
    Ok(())
}

#[test]
fn days_and_open_exams_stay_at_home() -> Tested {
    let room = room("K.M.")?;
    room.say(&["day", "start", "--place", "Hill school", "--box", "kits/boxes/outreach.yaml"])?;
    let begun = room.say(&["--new", "--box", "kits/boxes/outreach.yaml", "--print", "--keys", "-1<enter>"])?;
    assert_eq!(begun.code, Some(0));
    let file = path(&room, "a.parcel")?;
    room.json(&["parcel", "write", &file, "--seat", "lane3"])?;
    let parcel = Connection::open(&file)?;
    let sent = |sql: &str| parcel.query_row(sql, [], |row| row.get::<_, i64>(0));
    assert_eq!(sent("SELECT count(*) FROM entry WHERE kind = 'exam' AND body IS NOT NULL")?, 1);
    assert!(sent("SELECT count(*) FROM entry WHERE kind = 'day'")? > 0);
    assert_eq!(sent("SELECT count(*) FROM entry WHERE kind = 'day' AND body IS NOT NULL")?, 0);
    for table in ["exam", "step", "opening", "claim", "last_used", "in_use", "stock_take", "me"] {
        assert_eq!(sent(&format!("SELECT count(*) FROM {table}"))?, 0, "{table}");
    }
    assert_eq!(sent("SELECT count(*) FROM writer WHERE machine <> ''")?, 0);
    Ok(())
}

#[test]
fn a_practice_logbook_neither_writes_nor_reads() -> Tested {
    let room = room("K.M.")?;
    let file = path(&room, "a.parcel")?;
    room.json(&["parcel", "write", &file, "--seat", "lane3"])?;
    let practice = path(&room, "practice-logbook.db")?;
    for arguments in [["parcel", "write", "b.parcel"], ["parcel", "read", &file]] {
        let refused = room.say(&[&["--logbook", &practice][..], &arguments].concat())?;
        assert_eq!((refused.code, refused.out.as_str()), (Some(1), ""));
        assert!(refused.err.contains("has no parcels"), "{}", refused.err);
    }
    Ok(())
}

#[test]
fn a_parcel_goes_through_a_pipe_and_an_altered_one_does_not() -> Tested {
    let (lane3, team) = (room("K.M.")?, room("Z.")?);
    let out = lane3.command(&["parcel", "write", "-", "--seat", "lane3"]).output()?;
    assert_eq!(out.status.code(), Some(0));
    let file = path(&team, "piped.parcel")?;
    fs::write(&file, &out.stdout)?;
    let through = |file: &str| team.command(&["parcel", "read", "-"]).stdin(fs::File::open(file)?).output();
    let read = through(&file)?;
    assert_eq!(String::from_utf8(read.stdout)?, "1 entry of 1 writer: 1 new, 0 known\n");
    let mut turned = out.stdout;
    let middle = turned.len() / 2;
    turned[middle] ^= 1;
    fs::write(&file, turned)?;
    let refused = through(&file)?;
    assert_eq!((refused.status.code(), refused.stdout.as_slice()), (Some(1), &b""[..]));
    Ok(())
}
