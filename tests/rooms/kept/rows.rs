//! What is kept as text beside the steps: how an exam began, who examined, what was found, and every kind of entry.
//!
//! The text in `rows.txt` is what stands in the file, to the letter, but for identities that come about by chance: those
//! stand there as `WRITER` and `EXAM`. Like `form2.jsonl` it changes only together with a way to read what it was before.

use std::fmt::Write as _;

use dioptray::exam::{Accepted, Answer, Detail, Event, Exam, GuideEvent, Shown};
use dioptray::kit::BoxChange;
use dioptray::logbook::{BeganWith, Logbook};
use dioptray::optics::{Eye, Eyes, Power};
use dioptray::sharing::body::inflate;
use dioptray::sharing::{EntryKind, Heads, WriterId};
use rusqlite::Connection;
use uuid::Uuid;

use crate::invented::{declared_box, opening};
use crate::kept_exam::{Kept, append, named};

const ROWS: &str = include_str!("rows.txt");

/// A logbook with an exam that was closed and amended, and with two changes of one piece.
fn write(path: &std::path::Path) -> Kept {
    let mut logbook = Logbook::open(path).unwrap();
    let at = "2026-03-01T09:30:00Z".parse().unwrap();
    let mut applied = Heads::default();
    applied.learn(WriterId::new(Uuid::from_u128(1)), 7);
    let by = || Some("A. B.".to_owned());
    let with = BeganWith { in_box: named("Hillside"), applied, by: by(), procedures_version: 5 };
    let open = logbook.begin_exam(&opening("Hillside"), &with, at).unwrap();
    let mut kept = Kept { open, exam: Exam::open(opening("Hillside")), steps: Vec::new() };
    let found = [
        Event::Detail(Detail::Label("K.M.".to_owned())),
        Event::Accepted(Accepted::Retinoscopy(Eye::Right, Some(Power { m: -2.0, j0: 0.25, j45: -0.5 }))),
        Event::Accepted(Accepted::Refraction(Eye::Right, Some(Power { m: -2.25, j0: 0.25, j45: 0.0 }))),
        Event::Accepted(Accepted::Addition(Some(1.25))),
    ];
    let both = |m: f64| Eyes::both(Power { m, j0: 0.25, j45: 0.1 });
    let shown = Shown { from: both(-2.0), to: both(-2.25), cells: both(-2.0), mark_in_hand: Eyes::both(None) };
    let in_hand =
        Shown { mark_in_hand: Eyes { right: Some(Power { m: -0.25, j0: 0.0, j45: 0.0 }), left: None }, ..shown };
    let set_out = [Event::Guide(GuideEvent::SetOut(shown))];
    let answered = |shown| Event::Guide(GuideEvent::Answered { answer: Answer::Same, shown });
    let asked = [answered(shown), Event::Guide(GuideEvent::SetOut(in_hand))];
    for step in [
        &found[..],
        &set_out,
        &asked,
        &[answered(in_hand)],
        &[Event::Finished],
        &[Event::Amended("seen again".to_owned())],
    ] {
        append(&mut logbook, &mut kept, step, at).unwrap();
    }
    let piece = || "-2.00 sphere #1".parse().unwrap();
    for change in [BoxChange::Lost(piece()), BoxChange::Found(piece())] {
        logbook.change_box(&named("Hillside"), &declared_box("Hillside"), &change, Some("A. B."), at).unwrap();
    }
    kept
}

/// The rows of a logbook as text, one a line; a body as it was before it was deflated.
fn rows(path: &std::path::Path, exam: Uuid) -> String {
    let connection = Connection::open(path).unwrap();
    let one = |sql: &str| connection.query_row(sql, [], |row| row.get::<_, Option<String>>(0)).unwrap();
    let mut text = String::new();
    for (name, sql) in [
        ("opening", "SELECT format || ' ' || opening FROM opening"),
        ("by", "SELECT \"by\" FROM exam"),
        ("label", "SELECT label FROM exam"),
        ("opened", "SELECT opened FROM exam"),
        ("finished", "SELECT finished FROM exam"),
        ("found", "SELECT found FROM exam"),
    ] {
        writeln!(text, "{name}: {}", one(sql).unwrap()).unwrap();
    }
    let mut steps =
        connection.prepare("SELECT number || ' ' || format || ' ' || events FROM step ORDER BY number").unwrap();
    for step in steps.query_map([], |row| row.get::<_, String>(0)).unwrap() {
        writeln!(text, "step {}", step.unwrap()).unwrap();
    }
    let columns = "number || ' ' || kind || ' by ' || coalesce(\"by\", '-') || ' at ' || at || ' after ' \
                   || coalesce(after, '-') || ' format ' || format";
    let mut select = connection.prepare(&format!("SELECT {columns}, about, body FROM entry ORDER BY number")).unwrap();
    let entries = select.query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?))).unwrap();
    for entry in entries {
        let (line, about, body): (String, Vec<u8>, Option<Vec<u8>>) = entry.unwrap();
        let about = if about == exam.as_bytes() { "EXAM".to_owned() } else { String::from_utf8(about).unwrap() };
        let body =
            body.map_or_else(|| "-".to_owned(), |kept| String::from_utf8(inflate(&kept, 1 << 20).unwrap()).unwrap());
        writeln!(text, "entry {line} about {about}: {body}").unwrap();
    }
    let writer: Vec<u8> = connection.query_row("SELECT writer FROM me", [], |row| row.get(0)).unwrap();
    text.replace(&Uuid::from_slice(&writer).unwrap().to_string(), "WRITER").replace(&exam.to_string(), "EXAM")
}

#[test]
fn rows_beside_the_steps_are_written_as_they_are_pinned() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("logbook.db");
    let kept = write(&path);
    let written = rows(&path, kept.open.id().uuid());
    assert_eq!(written, ROWS, "\n{written}");
}

#[test]
fn every_kind_of_entry_has_its_kept_name() {
    let next = |kind: &EntryKind| match kind {
        EntryKind::Exam => Some((EntryKind::Amendment, "amendment")),
        EntryKind::Amendment => Some((EntryKind::BoxChange, "box_change")),
        EntryKind::BoxChange => Some((EntryKind::Day, "day")),
        EntryKind::Day => Some((EntryKind::Drill, "drill")),
        EntryKind::Drill => Some((EntryKind::Newer("later".to_owned()), "later")),
        EntryKind::Newer(_) => None,
    };
    let kinds = std::iter::successors(Some((EntryKind::Exam, "exam")), |(kind, _)| next(kind));
    for (kind, name) in kinds {
        assert_eq!(kind.name(), name);
        assert_eq!(EntryKind::from_name(name), kind);
    }
}
