//! Commands and the screen where something outside is at fault: settings, names, outputs that take nothing, a missing terminal.

use std::error::Error;
use std::fs::{self, OpenOptions};
use std::path::Path;
use std::process::Stdio;

use dioptray::exam::Event;
use dioptray::logbook::{ExamNumber, Logbook};
use dioptray::sharing::body::deflate;
use dioptray::sharing::{Entry, EntryKind, Hash, WriterId};
use serde_json::Value;
use uuid::Uuid;

use super::room::{Room, Said, Tested, said};

/// Something that takes no output at all.
fn full() -> Result<Stdio, Box<dyn Error>> {
    Ok(OpenOptions::new().write(true).open("/dev/full")?.into())
}

fn walk(room: &Room, more: &[&str], keys: &str) -> Result<Said, Box<dyn Error>> {
    let small_box = room.small_box()?;
    let mut command = room.command(&["--box", &small_box, "--print", "--size", "200x40", "--keys", keys]);
    command.args(more).env("TZ", "UTC");
    said(command.output()?)
}

#[test]
fn settings_that_are_too_large_are_refused_with_their_size_and_the_limit() -> Tested {
    let room = Room::new()?;
    let padded = |bytes: usize| format!("theme: daylight\n#{}", "x".repeat(bytes - "theme: daylight\n#".len()));
    fs::create_dir_all(room.file("config/dioptray"))?;
    let print = ["--keys", "-4<enter>", "--print"];
    room.write("config/dioptray/settings.yaml", &padded(65_536))?;
    assert_eq!(room.say(&print)?.code, Some(0));
    room.write("config/dioptray/settings.yaml", &padded(65_537))?;
    let said = room.say(&print)?;
    assert_eq!((said.code, said.out.as_str()), (Some(1), ""));
    let limit = "the file has 65537 bytes: a file of this kind is read up to 65536 bytes (64 kB)";
    assert!(said.err.contains(limit), "{}", said.err);
    Ok(())
}

#[test]
fn settings_that_cannot_be_reached_are_a_fault_and_not_none() -> Tested {
    let room = Room::new()?;
    let folder = room.file("config").join("dioptray");
    let settings = folder.join("settings.yaml");
    // none at all is none
    assert_eq!(room.say(&["acuity", "6/12"])?.code, Some(0));
    fs::create_dir_all(&folder)?;
    assert_eq!(room.say(&["acuity", "6/12"])?.code, Some(0));
    let faulty = |room: &Room| -> Tested {
        let said = room.say(&["acuity", "6/12"])?;
        assert_eq!((said.code, said.out.as_str()), (Some(1), ""), "{}", said.err);
        assert!(said.err.contains("settings.yaml"), "{}", said.err);
        Ok(())
    };
    std::os::unix::fs::symlink("nowhere", &settings)?;
    faulty(&room)?;
    fs::remove_file(&settings)?;
    fs::create_dir(&settings)?;
    faulty(&room)?;
    fs::remove_dir(&settings)?;
    fs::remove_dir(&folder)?;
    std::os::unix::fs::symlink("nowhere", &folder)?;
    faulty(&room)?;
    fs::remove_file(&folder)?;
    fs::remove_dir(room.file("config"))?;
    fs::write(room.file("config"), "a file in place of the folder")?;
    faulty(&room)
}

#[test]
fn a_variable_that_names_no_file_is_not_a_name() -> Tested {
    let room = Room::new()?;
    let mut command = room.command(&["exam", "list"]);
    command.env("DIOPTRAY_LOGBOOK", "").env("XDG_DATA_HOME", room.file("data"));
    let none = said(command.output()?)?;
    assert_eq!((none.code, none.out.as_str()), (Some(0), "no exams yet\n"), "{}", none.err);
    let mut command = room.command(&["exam", "list", "--logbook", ""]);
    command.env("XDG_DATA_HOME", room.file("data"));
    let refused = said(command.output()?)?;
    assert_eq!((refused.code, refused.out.as_str()), (Some(2), ""));
    assert!(refused.err.contains("--logbook names no file"), "{}", refused.err);
    Ok(())
}

#[test]
fn a_byte_order_mark_is_no_part_of_the_first_line() -> Tested {
    let room = Room::new()?;
    let small_box = room.small_box()?;
    let answered =
        room.say_with_input(&["stack", "--box", &small_box, "--lines", "-"], "\u{feff}-1.00\r\n-2.00\r\n")?;
    assert_eq!(answered.code, Some(0), "{}{}", answered.out, answered.err);
    let first: Value = serde_json::from_str(answered.out.lines().next().ok_or("no line")?)?;
    assert_eq!(first["rx"], "-1.00");
    // one in a later line is at fault as before
    let refused = room.say_with_input(&["stack", "--box", &small_box, "--lines", "-"], "-1.00\n\u{feff}-2.00\n")?;
    assert_eq!(refused.code, Some(1));
    Ok(())
}

#[test]
fn out_to_a_dash_is_standard_output() -> Tested {
    let room = Room::new()?;
    walk(&room, &[], "-1<enter>")?;
    let plain = room.say(&["exam", "export", "1", "--as", "csv"])?;
    let mut command = room.command(&["exam", "export", "1", "--as", "csv", "--out", "-"]);
    command.current_dir(room.file(""));
    let dashed = said(command.output()?)?;
    assert_eq!((dashed.code, dashed.out), (Some(0), plain.out));
    assert!(!room.file("-").exists());
    Ok(())
}

#[test]
fn what_was_done_is_said_to_be_done_although_its_answer_goes_nowhere() -> Tested {
    let room = Room::new()?;
    let box_file = room.write("two.yaml", &super::room::SMALL_BOX.replace("each: 1", "each: 2"))?;
    let lost = |more: &[&str], to: Stdio| -> Result<Said, Box<dyn Error>> {
        let mut command =
            room.command(&[&["box", "change", "--box", &box_file, "lost", "-2.00 sphere"], more].concat());
        said(command.stdout(to).stderr(Stdio::piped()).spawn()?.wait_with_output()?)
    };
    let count = || -> Result<Value, Box<dyn Error>> {
        let list = room.json(&["box", "list", "--box", &box_file])?;
        let lenses = list["lenses"].as_array().ok_or("no lenses")?;
        Ok(lenses.iter().find(|lens| lens["lens"] == "-2.00 sphere").ok_or("no such lens")?["lost"].clone())
    };
    for json in [&[][..], &["--json"]] {
        let untold = lost(&[json, &["--sure"]].concat(), full()?)?;
        assert_eq!(untold.code, Some(0), "{}", untold.err);
        assert!(untold.err.contains("this was done") && untold.err.contains("lost: -2.00 sphere #"), "{}", untold.err);
        if json.is_empty() {
            // whoever saw no answer gives it again
            let again = lost(&[], Stdio::piped())?;
            assert_eq!((again.code, again.out.as_str()), (Some(1), ""));
            assert!(again.err.contains("the same was noted") && again.err.contains("--sure"), "{}", again.err);
            assert_eq!(count()?, 1);
        }
    }
    assert_eq!(count()?, 2);
    Ok(())
}

#[test]
fn a_refusal_that_cannot_be_written_has_its_exit_code_all_the_same() -> Tested {
    let room = Room::new()?;
    let mut command = room.command(&["net", "bogus"]);
    assert_eq!(command.stderr(full()?).stdout(Stdio::null()).status()?.code(), Some(1));
    // notes beside an answer neither
    let mut command = room.command(&["stack", "--box", "kits/boxes/outreach.yaml", "--right", "-1"]);
    walk(&room, &[], "-1<enter>")?;
    let answered = said(command.stderr(full()?).stdout(Stdio::piped()).spawn()?.wait_with_output()?)?;
    assert_eq!(answered.code, Some(0));
    assert!(answered.out.contains("-1.00"), "{}", answered.out);
    Ok(())
}

#[test]
fn nothing_that_was_given_reaches_a_terminal_as_an_order() -> Tested {
    let room = Room::new()?;
    let (small_box, orders) = (room.small_box()?, "a\u{1b}[31mred\u{1b}]0;title\u{7}\u{202e}");
    let long = "N".repeat(61);
    for arguments in [
        vec!["box", "change", "--box", &small_box, "lent", "-2.00 sphere", "--to", orders],
        vec!["box", "change", "--box", &small_box, "lent", "-2.00 sphere", "--to", &long],
        vec!["box", "list", "--box", orders],
        vec!["net", orders],
        vec!["exam", "list", "--logbook", orders],
    ] {
        let said = room.say(&arguments)?;
        assert_eq!((said.code, said.out.as_str()), (Some(1), ""), "{arguments:?}");
        let obeyed = |c: char| c != '\n' && (c.is_control() || c == '\u{202e}');
        assert!(!said.err.is_empty() && !said.err.contains(obeyed), "{:?}", said.err);
    }
    Ok(())
}

#[test]
fn a_start_without_a_terminal_leaves_the_open_exam_as_it_is() -> Tested {
    let room = Room::new()?;
    walk(&room, &[], "-1<enter>")?;
    let small_box = room.small_box()?;
    let refused = room.say(&["--box", &small_box, "--new"])?;
    assert_eq!(refused.code, Some(1));
    assert!(refused.err.contains("needs a terminal"), "{}", refused.err);
    let goes_on = walk(&room, &[], "")?.out;
    assert!(goes_on.lines().next().is_some_and(|top| top.contains("Exam 1")), "{goes_on}");
    Ok(())
}

#[test]
fn a_lens_that_went_away_meanwhile_is_not_offered_when_the_exam_goes_on() -> Tested {
    let room = Room::new()?;
    walk(&room, &[], "-1<enter>")?;
    let small_box = room.small_box()?;
    let refused = room.say(&["box", "change", "--box", &small_box, "lost", "-1.00 sphere"])?;
    let expected =
        "error: -1.00 sphere #1 is in cell 1 of the right eye in exam 1, which is open: take it out there first";
    assert_eq!((refused.code, refused.err.trim_end()), (Some(1), expected));
    walk(&room, &[], "x")?;
    for lens in ["-1.00 sphere", "-3.00 sphere"] {
        assert_eq!(room.say(&["box", "change", "--box", &small_box, "lost", lens])?.code, Some(0));
    }
    let proposed = walk(&room, &[], "<tab>w-3<enter>")?;
    assert!(proposed.out.contains("Exam 1") && proposed.out.contains("-2.00"), "{}", proposed.out);
    let offered = proposed.out.lines().any(|line| line.contains("1 lens") && line.contains("-3.00"));
    assert!(!offered, "{}", proposed.out);
    assert!(proposed.err.contains("-1.00 sphere #1 has been used in exam 1"), "{}", proposed.err);
    let taken = walk(&room, &[], "<tab>-3<enter>")?.out;
    assert!(taken.contains("lost"), "{taken}");
    // the exam reads as it was kept, and its record with it
    let logbook = Logbook::open_read_only(&room.file("logbook.db"))?;
    assert!(logbook.read_exam(ExamNumber(1)).is_ok());
    // once found it is there again
    assert_eq!(room.say(&["box", "change", "--box", &small_box, "found", "-3.00 sphere"])?.code, Some(0));
    let taken = walk(&room, &[], "<tab>-3<enter>")?.out;
    assert!(taken.contains("3.00 in left 1"), "{taken}");
    Ok(())
}

#[test]
fn an_exam_that_cannot_be_read_is_named_and_another_begins() -> Tested {
    let room = Room::new()?;
    walk(&room, &[], "-1<enter>")?;
    let kept = rusqlite::Connection::open(room.file("logbook.db"))?;
    kept.execute(
        "INSERT INTO step (exam, number, at, format, events) VALUES (1, 2, '2026-03-01T09:30:00Z', 1, '[{\"newer\":1}]')",
        [],
    )?;
    drop(kept);
    let begins = walk(&room, &[], "")?;
    assert_eq!(begins.code, Some(0), "{}", begins.err);
    assert!(begins.out.lines().next().is_some_and(|top| top.contains("Exam 2")), "{}", begins.out);
    assert!(
        begins.err.contains("exam 1 was not closed and is not offered") && begins.err.contains("`newer`"),
        "{}",
        begins.err
    );
    let checked = room.say(&["logbook", "check"])?;
    assert_eq!(checked.code, Some(1));
    assert!(checked.err.contains("exam 1:") && checked.err.contains("`newer`"), "{}", checked.err);
    Ok(())
}

/// As a newer program adds it: an entry of its own kind, in its place.
fn add_in_a_newer_way(path: &Path) -> Tested {
    let kept = rusqlite::Connection::open(path)?;
    let (about, writer): (Vec<u8>, Uuid) =
        kept.query_row("SELECT exam.id, writer FROM exam, me", [], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let (last, hash): (i64, Vec<u8>) =
        kept.query_row("SELECT number, hash FROM entry ORDER BY number DESC LIMIT 1", [], |row| {
            Ok((row.get(0)?, row.get(1)?))
        })?;
    let text = r#"[{"measured_again":[1,2]}]"#.as_bytes();
    let entry = Entry {
        kind: EntryKind::Amendment,
        about,
        by: None,
        at: "2026-03-01T09:30:00Z".to_owned(),
        after: None,
        format: 1,
        body_hash: Hash::of(text),
    };
    let sealed = entry.seal(WriterId::new(writer), last, Hash::from_bytes(&hash).ok_or("no hash")?);
    kept.execute(
        "INSERT INTO entry (writer, number, kind, about, at, format, body_hash, hash, body) VALUES (?1, ?2, ?3, ?4, ?5, 1, ?6, ?7, ?8)",
        (
            writer,
            sealed.number,
            sealed.entry.kind.name(),
            sealed.entry.about,
            sealed.entry.at,
            sealed.entry.body_hash.as_bytes().as_slice(),
            sealed.hash.as_bytes().as_slice(),
            deflate(text)?,
        ),
    )?;
    Ok(())
}

#[test]
fn an_addition_that_cannot_be_read_hides_no_exam() -> Tested {
    let room = Room::new()?;
    walk(&room, &[], "-1<enter>aCy")?;
    add_in_a_newer_way(&room.file("logbook.db"))?;
    // what is added after it is there all the same
    walk(&room, &["--new"], "e<down><enter>aseen again<enter>")?;
    let why = "amendment 1 of exam 1 cannot be read: unknown variant `measured_again`";
    let shown = room.say(&["exam", "show", "1"])?;
    assert_eq!(shown.code, Some(0), "{}", shown.err);
    assert!(shown.out.contains("1.00") && shown.out.contains("seen again"), "{}", shown.out);
    assert!(shown.out.contains("could not be read here (1)"), "{}", shown.out);
    assert!(shown.err.contains(why), "{}", shown.err);
    let exported = room.say(&["exam", "export", "1", "--as", "json"])?;
    assert!(exported.out.contains("could not be read here (1)") && exported.err.contains(why), "{}", exported.err);
    let listed = room.say(&["exam", "list"])?.out;
    assert!(listed.lines().any(|line| line.starts_with("1 ") && line.contains("closed")), "{listed}");
    let opened = walk(&room, &["--new"], "e<down><down><enter><pagedown><pagedown>")?.out;
    assert!(opened.contains("exam 1, closed") && opened.contains("`measured_again`"), "{opened}");
    let checked = room.say(&["logbook", "check"])?;
    assert_eq!(checked.code, Some(1));
    assert!(checked.err.contains("exam 1:") && checked.err.contains(why), "{}", checked.err);
    Ok(())
}

/// What cannot be read of the choices is said and stays as it is; the settings hold.
#[test]
fn choices_that_cannot_be_read_are_said_and_stay() -> Tested {
    let room = Room::new()?;
    let choices = room.file("choices.yaml");
    let start = |lines: &str| -> Result<Said, Box<dyn Error>> {
        let small_box = room.small_box()?;
        room.say_with_input(&["--box", &small_box, "--plain-lines"], lines)
    };
    let told = "what was chosen on the screen cannot be read, so the settings hold";
    assert!(!start("")?.out.contains(told));
    fs::create_dir(&choices)?;
    let said = start("T\n")?;
    assert!(said.code == Some(0) && said.out.contains(told) && said.out.contains("this is a folder"), "{}", said.out);
    assert!(said.out.contains("this choice is not saved: "), "{}", said.out);
    fs::remove_dir(&choices)?;
    std::os::unix::fs::symlink("nowhere", &choices)?;
    assert!(start("T\n")?.out.contains(told));
    assert!(!room.file("nowhere").exists());
    fs::remove_file(&choices)?;
    for text in ["theme: [", "theme: dark", "\u{7}"] {
        fs::write(&choices, text)?;
        assert!(start("T\n")?.out.contains(told), "{text}");
        assert_eq!(fs::read_to_string(&choices)?, text);
    }
    // a word of a newer program: nothing else is held up by it
    fs::write(&choices, "theme: {settings: dark, chosen: neon}\n")?;
    let said = start("t\n")?.out;
    assert!(said.contains("`neon` is no theme here") && !said.contains("not saved"), "{said}");
    assert!(fs::read_to_string(&choices)?.contains("neon"));
    fs::write(&choices, "")?;
    assert!(!start("")?.out.contains("settings hold"));
    Ok(())
}

#[test]
fn a_longer_line_than_is_taken_is_not_taken_for_the_whole() -> Tested {
    let room = Room::new()?;
    let small_box = room.small_box()?;
    let (label, rest) = ("N".repeat(60), "more");
    let typed = format!("i<enter>{label}{rest}");
    let frame = walk(&room, &["--new"], &typed)?.out;
    assert!(frame.contains("at most 60 characters"), "{frame}");
    let top = |frame: &str| frame.lines().next().unwrap_or_default().to_owned();
    let frame = walk(&room, &["--new"], &format!("{typed}<enter>"))?.out;
    assert!(frame.contains("only the first 60 characters") && !top(&frame).contains("NNN"), "{frame}");
    let frame = walk(&room, &["--new"], &format!("{typed}<enter><enter>"))?.out;
    assert!(top(&frame).contains(&label), "{frame}");
    let lines = format!("{typed}\ni\nq\n");
    let said = room.say_with_input(&["--box", &small_box, "--new", "--plain-lines"], &lines)?.out;
    assert!(
        said.contains("at most 60 characters") && !said.contains(&format!("label or initials {label}\n")),
        "{said}"
    );
    Ok(())
}

#[test]
fn where_no_power_stands_none_is_compared() -> Tested {
    let room = Room::new()?;
    let box_file = room.write(
        "forty.yaml",
        "box: Forty\nid: forty\nlenses:\n  - {kind: sphere, powers: [\"+1.00 to +40.00 by 1\"], each: 2}\n",
    )?;
    let frame = super::room::TWO_CELLS.replace("gap_mm: 7.5", "gap_mm: 25");
    let frame_file = room.write("gaps.yaml", &frame)?;
    let lines = "<right>\n+40\nw-1\n<esc>\ng\n1\nq\n";
    let said = room.say_with_input(&["--box", &box_file, "--frame", &frame_file, "--plain-lines"], lines)?;
    assert!(
        said.out.contains("wanted -1.00") && said.out.contains("take +40.00 sphere out of 2 first"),
        "{}",
        said.out
    );
    assert!(!said.out.contains("NaN"), "{}", said.out);
    Ok(())
}

#[test]
fn a_logbook_is_looked_through_on_request() -> Tested {
    let room = Room::new()?;
    walk(&room, &[], "-1<enter>Cy")?;
    let path = room.file("logbook.db");
    let sound = room.say(&["logbook", "check"])?;
    assert_eq!(
        (sound.code, sound.out),
        (Some(0), format!("{}: sound; 1 exam as it was kept\n", path.canonicalize()?.display()))
    );
    let json = room.json(&["logbook", "check"])?;
    assert_eq!((&json["exams"], &json["unreadable"]), (&Value::from(1), &Value::Array(Vec::new())));
    let kept = rusqlite::Connection::open(&path)?;
    kept.execute_batch("DROP TRIGGER step_is_kept; UPDATE step SET at = '2026-03-01T09:30:00Z' WHERE number = 1")?;
    drop(kept);
    let altered = room.say(&["logbook", "check"])?;
    assert_eq!((altered.code, altered.out.as_str()), (Some(1), ""));
    assert!(altered.err.contains("exam 1 is not as it was closed"), "{}", altered.err);
    Ok(())
}

#[test]
fn a_table_that_could_not_be_written_is_refused_before_the_work() -> Tested {
    let room = Room::new()?;
    let file = room.file("missing").join("eyes.csv");
    // as many eyes as take hours
    let arguments = ["practice", "evaluate", "--eyes", "10000000", "--csv", file.to_str().ok_or("odd path")?];
    let refused = room.say(&arguments)?;
    assert_eq!((refused.code, refused.out.as_str()), (Some(1), ""));
    assert!(refused.err.contains("there is no folder"), "{}", refused.err);
    Ok(())
}

#[test]
fn exams_are_found_by_label_number_and_date() -> Tested {
    let room = Room::new()?;
    let path = room.file("logbook.db");
    for label in ["Élodie", "B.C.", "élan"] {
        walk(&room, &[], &format!("-1<enter>i<enter>{label}<enter><esc>Cy"))?;
    }
    let kept = rusqlite::Connection::open(&path)?;
    kept.execute_batch(
        "DROP TRIGGER exam_is_kept; UPDATE exam SET opened = '2025-07-0' || number || 'T09:30:00Z' WHERE number < 3",
    )?;
    drop(kept);
    let listed = |keys: &str| -> Result<(String, Vec<String>), Box<dyn Error>> {
        let frame = walk(&room, &["--new"], &format!("e{keys}"))?.out;
        let (top, labels) = (frame.clone(), ["Élodie", "B.C.", "élan"]);
        let there = labels
            .into_iter()
            .filter(|label| frame.lines().any(|line| line.contains(label) && line.contains("closed")));
        Ok((top, there.map(str::to_owned).collect()))
    };
    assert_eq!(listed("")?.1, ["Élodie", "B.C.", "élan"]);
    let (frame, found) = listed("/ÉL<enter>")?;
    assert_eq!(found, ["Élodie", "élan"], "{frame}");
    assert!(frame.contains("2 of ") && frame.contains("with ÉL"), "{frame}");
    assert_eq!(listed("/2<enter>")?.1, ["B.C."]);
    assert_eq!(listed("/2025-07<enter>")?.1, ["Élodie", "B.C."]);
    assert_eq!(listed("/2025-07 b.c<enter>")?.1, ["B.C."]);
    // back lists all again, and what is not there is said and changes nothing
    assert_eq!(listed("/2<enter><esc>")?.1.len(), 3);
    let (frame, found) = listed("/nobody<enter>")?;
    assert!(frame.contains("no exam has `nobody`") && found.len() == 3, "{frame}");
    // the one in focus is the one that is read
    let (frame, _) = listed("/B.C.<enter><enter>")?;
    assert!(frame.contains("exam 2, closed"), "{frame}");
    Ok(())
}

/// What nobody finds any more is not told as kept, nor lost.
#[test]
fn a_logbook_removed_while_the_screen_is_open_is_said_there() -> Tested {
    let room = Room::new()?;
    let path = room.file("logbook.db");
    let mut logbook = Logbook::open(&path)?;
    let mut exam = crate::kept_exam::begin(&mut logbook, "Hillside", "2026-03-01T09:30:00Z".parse()?)?;
    fs::remove_file(&path)?;
    let note = [Event::Note("goes nowhere".to_owned())];
    let refused = crate::kept_exam::append(&mut logbook, &mut exam, &note, "2026-03-01T09:30:00Z".parse()?);
    let said = refused.err().ok_or("it was kept")?.to_string();
    assert!(said.contains("removed or replaced while it was open") && said.contains(".rescued-1"), "{said}");
    assert!(room.file("logbook.db.rescued-1").exists());
    Ok(())
}

/// Times in a zone that nobody knows are in UTC and said to be; one that is a pipe is not waited for.
#[test]
fn a_time_zone_that_is_none_is_said() -> Tested {
    let room = Room::new()?;
    walk(&room, &[], "-1<enter>")?;
    let pipe = room.file("pipe");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status()?;
    assert!(made.success());
    for zone in ["Nowhere/Bad", pipe.to_str().ok_or("odd path")?] {
        let mut command = room.command(&["exam", "list"]);
        let listed = said(command.env("TZ", zone).output()?)?;
        assert_eq!(listed.code, Some(0), "{}", listed.err);
        assert!(listed.err.contains("times are in UTC"), "{zone}: {}", listed.err);
    }
    let mut command = room.command(&["exam", "list"]);
    let listed = said(command.env("TZ", "Europe/Vienna").output()?)?;
    assert!(!listed.err.contains("UTC"), "{}", listed.err);
    Ok(())
}
