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
    let signers =
        |said: &Said| Ok::<_, serde_json::Error>(serde_json::from_str::<Value>(&said.out)?["signers"].clone());
    let of_lane3 = |fingerprint: &str, standing: &str| serde_json::json!([{"seat": "lane3", "fingerprint": fingerprint, "standing": standing}]);
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

/// A room that has an exam of lane3, beside one of its own.
fn with_an_exam_of_lane3(site: &[&str]) -> Result<(Room, Room), Box<dyn std::error::Error>> {
    let (lane3, team) = (room("K.M.")?, room("Z.")?);
    let file = path(&lane3, "a.parcel")?;
    let written = lane3.say(&[&["parcel", "write", &file, "--seat", "lane3"], site].concat())?;
    assert_eq!(written.code, Some(0), "{}", written.err);
    let read = team.say(&["parcel", "read", &file, "--trust"])?;
    assert_eq!(read.code, Some(0), "{}", read.err);
    Ok((lane3, team))
}

#[test]
fn what_reads_takes_an_exam_of_another_seat_and_what_writes_refuses_it() -> Tested {
    let (_lane3, team) = with_an_exam_of_lane3(&[])?;
    let forms = ["card", "markdown", "csv", "json", "fhir", "fhir-r4b"];
    for form in forms {
        let out = team.say(&["exam", "export", "lane3-1", "--as", form])?;
        assert_eq!(out.code, Some(0), "{form}: {}", out.err);
        assert!(out.out.contains("K.M."), "{form}: {}", out.out);
    }
    for form in ["pdf", "dicom"] {
        let file = path(&team, &format!("out.{form}"))?;
        let said = team.say(&["exam", "export", "lane3-1", "--as", form, "--out", &file, "--json"])?;
        let out: Value = serde_json::from_str(&said.out)?;
        assert_eq!((said.code, &out["seat"], &out["exam"]), (Some(0), &"lane3".into(), &1.into()), "{form}");
        assert!(fs::metadata(file)?.len() > 500, "{form}");
    }
    let order = team.say(&["exam", "order", "lane3-1"])?;
    assert_eq!(order.code, Some(0), "{}", order.err);
    assert!(order.out.contains("exam lane3-1"), "{}", order.out);
    let refused = team.say(&["exam", "came-back", "lane3-1", "--right", "-4.00"])?;
    assert_eq!((refused.code, refused.out.as_str()), (Some(1), ""));
    assert!(refused.err.contains("lane3-1 is an exam of the seat lane3, and can only be read here"), "{}", refused.err);
    for arguments in [&["export", "lane3-2", "--as", "card"][..], &["order", "lane3-2"]] {
        let refused = team.say(&[&["exam"], arguments].concat())?;
        assert_eq!(refused.code, Some(1));
        assert!(refused.err.contains("there is no exam lane3-2"), "{}", refused.err);
    }
    Ok(())
}

/// Everything under a name of this kind in some JSON, in order.
fn all_of(name: &str, value: &Value, found: &mut Vec<Value>) {
    match value {
        Value::Object(fields) => {
            for (key, of) in fields {
                if key == name {
                    found.push(of.clone());
                }
                all_of(name, of, found);
            }
        }
        Value::Array(values) => values.iter().for_each(|of| all_of(name, of, found)),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

#[test]
fn an_exam_that_is_exported_at_two_seats_is_one_to_other_programs() -> Tested {
    let (lane3, team) = with_an_exam_of_lane3(&[])?;
    // whoever examines at the other seat examined nobody here
    fs::create_dir_all(team.file("config/dioptray"))?;
    fs::write(team.file("config/dioptray/settings.yaml"), "examiner: A. Osei\n")?;
    for form in ["fhir", "fhir-r4b"] {
        let ids = |said: &str| -> Result<[Vec<Value>; 2], serde_json::Error> {
            let bundle: Value = serde_json::from_str(said)?;
            let (mut ids, mut urls) = (Vec::new(), Vec::new());
            all_of("id", &bundle, &mut ids);
            all_of("fullUrl", &bundle, &mut urls);
            Ok([ids, urls])
        };
        let at_home = lane3.say(&["exam", "export", "1", "--as", form])?;
        let there = team.say(&["exam", "export", "lane3-1", "--as", form])?;
        let [home_ids, home_urls] = ids(&at_home.out)?;
        assert!(home_ids.len() > 2 && home_urls.len() > 1, "{}", at_home.out);
        assert_eq!(ids(&there.out)?, [home_ids, home_urls], "{form}");
        assert!(!there.out.contains("A. Osei"), "{}", there.out);
        let own = team.say(&["exam", "export", "1", "--as", form])?;
        assert_ne!(ids(&own.out)?[1], ids(&there.out)?[1], "exam 1 here is another one");
    }
    let uids = |room: &Room, exam: &str| -> Result<Vec<String>, Box<dyn std::error::Error>> {
        let file = path(room, &format!("{exam}.dcm"))?;
        assert_eq!(room.say(&["exam", "export", exam, "--as", "dicom", "--out", &file])?.code, Some(0));
        let text = String::from_utf8_lossy(&fs::read(file)?).into_owned();
        // a UID of a UUID, as DICOM PS3.5 B.2 has it
        let uids = text.split("2.25.").skip(1).map(|rest| rest.chars().take_while(char::is_ascii_digit).collect());
        Ok(uids.collect())
    };
    let at_home = uids(&lane3, "1")?;
    assert!(at_home.len() >= 3, "{at_home:?}");
    assert_eq!(uids(&team, "lane3-1")?, at_home);
    assert_ne!(uids(&team, "1")?, at_home);
    Ok(())
}

#[test]
fn the_list_is_narrowed_by_seat_examiner_and_site() -> Tested {
    let (lane3, team) = with_an_exam_of_lane3(&["--site", "Hillside"])?;
    let labels = |room: &Room, arguments: &[&str]| -> Result<Vec<String>, Box<dyn std::error::Error>> {
        let list = room.json(&[&["exam", "list"], arguments].concat())?;
        let exams = list["exams"].as_array().ok_or("no exams")?;
        exams.iter().map(|exam| Ok(exam["label"].as_str().ok_or("no label")?.to_owned())).collect()
    };
    signs_as(&team, "teamB")?;
    assert_eq!(labels(&team, &[])?, ["Z.", "K.M."]);
    assert_eq!(labels(&team, &["--seat", "lane3"])?, ["K.M."]);
    assert_eq!(labels(&team, &["--seat", "teamb"])?, ["Z."], "this seat has a name too");
    assert_eq!(labels(&team, &["--site", "hillside"])?, ["K.M."]);
    assert_eq!(labels(&lane3, &["--site", "hillside"])?, ["K.M."]);
    assert!(labels(&team, &["--seat", "lane"])?.is_empty() && labels(&team, &["--site", "hill"])?.is_empty());
    assert_eq!(labels(&team, &["--find", "lane3"])?, ["K.M."]);
    // by whom
    let keys = [
        "--new",
        "--box",
        "kits/boxes/outreach.yaml",
        "--by",
        "A. Osei",
        "--print",
        "--keys",
        "-1<enter>ai<enter>B.<enter><esc>Cy",
    ];
    let said = lane3.say(&keys)?;
    assert_eq!(said.code, Some(0), "{}", said.err);
    let file = path(&lane3, "b.parcel")?;
    lane3.json(&["parcel", "write", &file])?;
    team.json(&["parcel", "read", &file])?;
    assert_eq!(labels(&team, &["--by", "a. osei"])?, ["B."]);
    assert!(labels(&team, &["--by", "Osei"])?.is_empty());
    let list = team.json(&["exam", "list", "--by", "A. Osei"])?;
    let exam = &list["exams"][0];
    assert_eq!((&exam["seat"], &exam["by"], &exam["site"]), (&"lane3".into(), &"A. Osei".into(), &"Hillside".into()));
    let none = team.say(&["exam", "list", "--seat", "lane9"])?;
    assert_eq!((none.code, none.out.as_str()), (Some(0), "no exam is of these\n"));
    let refused = team.say(&["parcel", "write", "-", "--site", "two\nlines"])?;
    assert_eq!(refused.code, Some(1));
    assert!(refused.err.contains("not the name of a site"), "{}", refused.err);
    Ok(())
}

#[test]
fn a_logbook_that_is_moved_says_where_its_key_stays() -> Tested {
    let room = room("K.M.")?;
    let without = room.say(&["logbook", "move", &path(&room, "without.db")?])?;
    assert_eq!((without.code, without.beside().as_str()), (Some(0), ""));
    signs_as(&room, "lane3")?;
    let copy = path(&room, "copy.db")?;
    let moved = room.say(&["logbook", "move", &copy])?;
    assert_eq!(moved.code, Some(0), "{}", moved.err);
    assert!(moved.err.contains("logbook.db.key") && moved.err.contains("copy.db.key"), "{}", moved.err);
    // where it is moved along, the copy signs as before
    fs::rename(room.file("logbook.db.key"), room.file("copy.db.key"))?;
    let written = room.say(&["--logbook", &copy, "parcel", "write", &path(&room, "a.parcel")?])?;
    assert_eq!((written.code, written.beside().as_str()), (Some(0), ""));
    Ok(())
}
