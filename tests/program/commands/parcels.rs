//! Parcels as commands: two rooms that exchange them.

use std::fs;

use rusqlite::Connection;
use serde_json::Value;

use super::room::{Room, Said, Tested};

/// A room with one closed exam.
fn room(of: &str) -> Result<Room, Box<dyn std::error::Error>> {
    let room = Room::new()?;
    let keys = format!("-4<enter>-0.75x30<enter>ai<enter>{of}<enter><esc>Cy");
    let said = room.say(&["--box", "kits/boxes/outreach.yaml", "--print", "--keys", &keys])?;
    assert_eq!(said.code, Some(0), "{}", said.err);
    Ok(room)
}

/// The figures of what was written or read.
fn figures(answer: &Value) -> Value {
    let of = |name: &str| answer[name].clone();
    serde_json::json!({"entries": of("entries"), "new": of("new"), "known": of("known"), "writers": of("writers")})
}

/// Names the seat and has it sign, which is said once.
fn signs_as(room: &Room, seat: &str) -> Tested {
    let said = room.command(&["parcel", "write", "-", "--seat", seat]).output()?;
    assert_eq!(said.status.code(), Some(0));
    Ok(())
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
    signs_as(&lane3, "lane3")?;
    let written = lane3.json(&["parcel", "write", &file])?;
    assert_eq!(figures(&written), serde_json::json!({"entries": 1, "new": 1, "known": 0, "writers": 1}));
    let tuesday = path(&lane3, "tuesday.parcel")?;
    let since = lane3.json(&["parcel", "write", &tuesday, "--since", &file])?;
    assert_eq!(figures(&since), serde_json::json!({"entries": 0, "new": 0, "known": 1, "writers": 0}));

    let read_by = |room: &Room, arguments: &[&str]| -> Result<Value, Box<dyn std::error::Error>> {
        let said = room.say(&[&["parcel", "read", "--json", &file], arguments].concat())?;
        assert_eq!(said.code, Some(0), "{}", said.err);
        Ok(serde_json::from_str(&said.out)?)
    };
    let (would, read) = (read_by(&team, &["--dry-run"])?, read_by(&team, &["--trust"])?);
    assert_eq!((figures(&would), figures(&read)), (figures(&written), figures(&written)));
    assert_eq!(read["signers"][0]["fingerprint"], written["signed_by"]);
    let again = team.json(&["parcel", "read", &file, &tuesday, &file])?;
    assert_eq!(figures(&again), serde_json::json!({"entries": 1, "new": 0, "known": 1, "writers": 1}));

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
    read_by(&teacher, &["--trust"])?;
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
    signs_as(&room, "lane3")?;
    room.json(&["parcel", "write", &file])?;
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
    signs_as(&room, "lane3")?;
    room.json(&["parcel", "write", &file])?;
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
    let through = |file: &str| team.command(&["parcel", "read", "-", "--trust"]).stdin(fs::File::open(file)?).output();
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

#[test]
fn a_key_is_trusted_once_and_a_changed_one_again() -> Tested {
    let (lane3, team) = (room("K.M.")?, room("Z.")?);
    let monday = path(&lane3, "monday.parcel")?;
    let written = lane3.say(&["parcel", "write", &monday, "--seat", "lane3"])?;
    assert_eq!(written.code, Some(0), "{}", written.err);
    let (_, fingerprint) = written.out.trim_end().split_once("lane3, signed ").ok_or("no fingerprint")?;
    assert!(written.err.contains("logbook.db.key") && written.err.contains(fingerprint), "{}", written.err);

    // no terminal, nobody to ask
    let refused = team.say(&["parcel", "read", &monday])?;
    assert_eq!((refused.code, refused.out.as_str()), (Some(1), ""));
    assert!(refused.err.contains("never seen") && refused.err.contains(fingerprint), "{}", refused.err);
    let would = team.say(&["parcel", "read", &monday, "--dry-run", "--json"])?;
    assert!(would.err.contains("it will be asked about") && would.err.contains(fingerprint), "{}", would.err);
    let signers = |said: &Said| Ok::<_, serde_json::Error>(serde_json::from_str::<Value>(&said.out)?["signers"].clone());
    let of_lane3 = |fingerprint: &str, standing: &str| {
        serde_json::json!([{"seat": "lane3", "fingerprint": fingerprint, "standing": standing}])
    };
    assert_eq!(signers(&would)?, of_lane3(fingerprint, "new"));
    assert!(!team.file("others-logbook.db").exists());
    let read = team.say(&["parcel", "read", &monday, "--trust", "--json"])?;
    assert_eq!((read.code, signers(&read)?), (Some(0), of_lane3(fingerprint, "new")));

    // another exam, signed by the same key: no word about it
    let next = ["--new", "--box", "kits/boxes/outreach.yaml", "--print", "--keys", "-1<enter>Cy"];
    assert_eq!(lane3.say(&next)?.code, Some(0));
    let tuesday = path(&lane3, "tuesday.parcel")?;
    lane3.json(&["parcel", "write", &tuesday, "--since", &monday])?;
    let read = team.json(&["parcel", "read", &tuesday])?;
    assert_eq!((&read["new"], &read["signers"]), (&1.into(), &of_lane3(fingerprint, "known")));

    // the key is lost
    fs::remove_file(lane3.file("logbook.db.key"))?;
    assert_eq!(lane3.say(&next)?.code, Some(0));
    let friday = path(&lane3, "friday.parcel")?;
    let written = lane3.say(&["parcel", "write", &friday, "--since", &tuesday])?;
    let (_, now) = written.out.trim_end().split_once("lane3, signed ").ok_or("no fingerprint")?;
    assert_ne!(now, fingerprint);
    assert!(written.err.contains("another key than before") && written.err.contains("--trust"), "{}", written.err);
    for asked in [&["parcel", "read", &friday][..], &["parcel", "read", &friday, "--dry-run"]] {
        let refused = team.say(asked)?;
        assert_eq!((refused.code, refused.out.as_str()), (Some(1), ""));
        assert!(refused.err.contains("lane3 had another key before") && refused.err.contains(now), "{}", refused.err);
    }
    let read = team.say(&["parcel", "read", &friday, "--trust"])?;
    assert_eq!(read.out, "1 entry of 1 writer: 1 new, 0 known\n");
    assert!(read.err.contains(now) && read.err.contains(fingerprint), "{}", read.err);
    Ok(())
}

#[cfg(unix)]
#[test]
fn a_key_that_others_can_read_signs_nothing() -> Tested {
    use std::os::unix::fs::PermissionsExt as _;
    let room = room("K.M.")?;
    let (one, two) = (path(&room, "1.parcel")?, path(&room, "2.parcel")?);
    room.say(&["parcel", "write", &one, "--seat", "lane3"])?;
    fs::set_permissions(room.file("logbook.db.key"), fs::Permissions::from_mode(0o644))?;
    let refused = room.say(&["parcel", "write", &two])?;
    assert_eq!((refused.code, refused.out.as_str()), (Some(1), ""));
    assert!(refused.err.contains("logbook.db.key") && refused.err.contains("chmod 600"), "{}", refused.err);
    assert!(!room.file("2.parcel").exists());
    Ok(())
}

#[test]
fn a_whole_logbook_is_read_and_said_to_be_not_signed() -> Tested {
    let (lane3, team) = (room("K.M.")?, room("Z.")?);
    let monday = path(&lane3, "monday.parcel")?;
    lane3.say(&["parcel", "write", &monday, "--seat", "lane3"])?;
    let whole = path(&lane3, "logbook.db")?;
    let read = team.say(&["parcel", "read", &whole, "--json"])?;
    assert_eq!(read.code, Some(0), "{}", read.err);
    let answer: Value = serde_json::from_str(&read.out)?;
    assert_eq!((&answer["new"], &answer["not_signed"]), (&1.into(), &serde_json::json!([whole])));
    assert!(read.err.contains("this is not signed"), "{}", read.err);
    Ok(())
}
