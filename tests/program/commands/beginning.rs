//! With which exam the program begins, and how another one follows.

use std::error::Error;

use dioptray::kit::{BoxChange, read_box};
use dioptray::logbook::{Logbook, NamedBox};
use serde_json::{Value, json};

use super::room::{Room, SMALL_BOX, Said, TWO_CELLS, Tested};

/// The program with the small box, a frame and a logbook, and the settings of nobody.
struct Desk {
    room: Room,
    box_file: String,
    frame_file: String,
}

impl Desk {
    fn new() -> Result<Self, Box<dyn Error>> {
        let room = Room::new()?;
        let (box_file, frame_file) = (room.small_box()?, room.write("frame.yaml", TWO_CELLS)?);
        Ok(Self { room, box_file, frame_file })
    }

    fn say(&self, arguments: &[&str]) -> Result<Said, Box<dyn Error>> {
        let mut command = self.room.command(arguments);
        command.arg("--logbook").arg(self.room.file("logbook.db"));
        command.env("XDG_CONFIG_HOME", self.room.file("config")).env("TZ", "UTC");
        super::room::said(command.output()?)
    }

    /// The last frame after some keys.
    fn walk(&self, keys: &str, more: &[&str]) -> Result<String, Box<dyn Error>> {
        let arguments = ["--box", &self.box_file, "--frame", &self.frame_file, "--print", "--size", "140x40"];
        let said = self.say(&[&arguments[..], &["--keys", keys], more].concat())?;
        assert_eq!(said.code, Some(0), "{}", said.err);
        Ok(said.out)
    }

    fn record(&self, exam: &str) -> Result<Value, Box<dyn Error>> {
        Ok(serde_json::from_str(&self.say(&["exam", "show", exam, "--json"])?.out)?)
    }
}

#[test]
fn an_exam_closes_and_another_begins_whatever_the_clock_said_of_the_box() -> Tested {
    let desk = Desk::new()?;
    let declared = read_box(desk.box_file.as_ref())?;
    let mut logbook = Logbook::open(&desk.room.file("logbook.db"))?;
    // noted by a clock that is a year ahead
    let ahead = jiff::Timestamp::now() + jiff::SignedDuration::from_hours(24 * 365);
    let lost = BoxChange::Lost("-3.00 sphere #1".parse()?);
    logbook.change_box(&NamedBox::new(Some("invented-1"), "Invented"), &declared, &lost, None, ahead)?;
    drop(logbook);
    let frame = desk.walk("-1<enter>NZ.Z.<enter>y", &[])?;
    assert!(frame.contains("Exam 2 begins") && frame.contains("Z.Z."), "{frame}");
    assert_eq!(desk.record("1")?["draft"], json!(false));
    assert_eq!(desk.record("2")?["draft"], json!(true));
    assert!(desk.walk("d", &[])?.lines().any(|line| line.contains("-3.00") && line.contains('–')));
    Ok(())
}

#[test]
fn no_exam_is_closed_for_the_sake_of_one_that_cannot_begin() -> Tested {
    let desk = Desk::new()?;
    desk.walk("-1<enter>", &[])?;
    let logbook = rusqlite::Connection::open(desk.room.file("logbook.db"))?;
    logbook
        .execute_batch("CREATE TRIGGER none_begins BEFORE INSERT ON exam BEGIN SELECT RAISE(ABORT, 'not now'); END;")?;
    let frame = desk.walk("NZ.Z.<enter>y", &[])?;
    assert!(frame.contains("not now"), "{frame}");
    assert_eq!(desk.record("1")?["draft"], json!(true), "it is still open");
    logbook.execute_batch("DROP TRIGGER none_begins; CREATE TRIGGER none_closes BEFORE INSERT ON step BEGIN SELECT RAISE(ABORT, 'not now'); END;")?;
    let frame = desk.walk("NZ.Z.<enter>y", &[])?;
    assert!(
        frame.contains("not saved, so not done") && frame.lines().next().is_some_and(|top| top.contains("Exam 1")),
        "{frame}"
    );
    logbook.execute_batch("DROP TRIGGER none_closes")?;
    let frame = desk.walk("", &[])?;
    assert!(frame.lines().next().is_some_and(|top| top.contains("Exam 1")), "it goes on: {frame}");
    Ok(())
}

#[test]
fn box_and_frame_are_read_again_for_the_next_exam() -> Tested {
    let desk = Desk::new()?;
    desk.walk("-1<enter>", &[])?;
    desk.room.write("box.yaml", &SMALL_BOX.replace("-1.00 to -4.00 by 1", "-1.00 to -6.00 by 1"))?;
    desk.room.write("frame.yaml", &TWO_CELLS.replace("vertex_mm: 12", "vertex_mm: 14"))?;
    // the open exam goes on as it is
    let same = ["--print", "--size", "140x40", "--keys"];
    let frame = desk.say(&[&same[..], &["d"]].concat())?.out;
    assert!(frame.contains("Exam 1") && frame.contains("vertex 12 mm") && !frame.contains("-6.00"), "{frame}");
    let frame = desk.say(&[&same[..], &["N<enter>yd<end>"]].concat())?.out;
    assert!(frame.contains("Exam 2") && frame.contains("vertex 14 mm"), "{frame}");
    let frame = desk.say(&[&same[..], &["-6<enter>"]].concat())?.out;
    assert!(frame.contains("-6.00"), "the lens is in the box now: {frame}");
    Ok(())
}

#[test]
fn a_file_that_cannot_be_read_again_is_said_and_the_next_exam_begins_all_the_same() -> Tested {
    let desk = Desk::new()?;
    desk.walk("-1<enter>", &[])?;
    desk.room.write("box.yaml", "box: Invented\nlenses: none\n")?;
    let frame = desk.say(&["--print", "--size", "200x40", "--keys", "N<enter>y"])?.out;
    assert!(frame.contains("Exam 2 begins; ") && frame.contains("box.yaml:2:"), "{frame}");
    Ok(())
}

#[test]
fn who_examines_is_kept_with_the_exam_and_nobody_is_invented() -> Tested {
    let desk = Desk::new()?;
    desk.walk("-1<enter>", &[])?;
    assert_eq!(desk.record("1")?.get("examiner"), None);
    desk.walk("-2<enter>NA.B.<enter>y", &["--new", "--by", "K. Miller"])?;
    for exam in ["2", "3"] {
        assert_eq!(desk.record(exam)?["examiner"], json!("K. Miller"), "exam {exam}");
    }
    std::fs::create_dir_all(desk.room.file("config/dioptray"))?;
    std::fs::write(desk.room.file("config/dioptray/settings.yaml"), "examiner: N. Other\n")?;
    desk.walk("-2<enter>", &["--new"])?;
    assert_eq!(desk.record("4")?["examiner"], json!("N. Other"));
    assert_eq!(desk.record("2")?["examiner"], json!("K. Miller"), "another does not take the place of who examined");
    let noted: Option<String> = rusqlite::Connection::open(desk.room.file("logbook.db"))?.query_row(
        "SELECT \"by\" FROM exam WHERE number = 1",
        [],
        |row| row.get(0),
    )?;
    assert_eq!(noted, None, "nobody was named when it began, and nobody is noted since");
    // the exam on the screen and an earlier one
    desk.walk("Cye<enter>aSeen again.<enter><esc><down><down><enter>aSo was this.<enter>", &["--by", "K. Miller"])?;
    let logbook = rusqlite::Connection::open(desk.room.file("logbook.db"))?;
    let mut rows = logbook.prepare("SELECT \"by\" FROM entry WHERE kind LIKE 'amend%'")?;
    let by: Vec<Option<String>> = rows.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    assert_eq!(by, [Some("K. Miller".to_owned()), Some("K. Miller".to_owned())]);
    Ok(())
}
