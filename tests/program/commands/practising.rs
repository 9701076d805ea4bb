//! Practice eyes on the screen: apart from everything that is kept of people, gone on with, and said to be practice everywhere.

use std::error::Error;
use std::fs;

use dioptray::exam::Sitter;
use dioptray::practice::draws::Draws;
use dioptray::practice::drills::Level;
use dioptray::practice::seat::{Seat, Who};
use dioptray::practice::{Care, Law};
use serde_json::Value;

use super::room::{Room, Tested};

/// What a person may press in practice: lenses, turning, the guide, the eye's answers, undo, choosing, ending, leaving, and keys
/// of rooms that practice must not touch.
const STROKES: [&str; 26] = [
    "-1.25<enter>",
    "+0.50<enter>",
    "-0.75x90<enter>",
    "g",
    "z",
    "z",
    "z",
    "1",
    "2",
    "u",
    "r",
    "<esc>",
    "<tab>",
    "x",
    "X",
    "]",
    "a",
    "h+0.25<enter>",
    "l",
    "Z",
    "<down>",
    "<enter>",
    "y",
    "Bx",
    "D",
    "N",
];

fn walk(seed: u64, strokes: usize) -> String {
    let mut draws = Draws::new(seed, 0);
    (0..strokes).map(|_| STROKES[(draws.share() * STROKES.len() as f64) as usize]).collect()
}

/// A room in which a person was examined and something happened to the box.
fn room_with_records() -> Result<Room, Box<dyn Error>> {
    let room = Room::new()?;
    for keys in ["-1.25<enter>ai<enter>K.M.<enter><esc>Cy", "-2.00<enter>"] {
        let said = room.say(&["--box", "kits/boxes/full.yaml", "--print", "--keys", keys])?;
        assert_eq!(said.code, Some(0), "{}", said.err);
    }
    let said = room.say(&["box", "change", "lost", "-3.00 sphere", "--yes"])?;
    assert_eq!(said.code, Some(0), "{}", said.err);
    Ok(room)
}

/// All that the records, the box, its loans and the day say.
fn kept(room: &Room) -> Result<Vec<Value>, Box<dyn Error>> {
    let asked: [&[&str]; 5] = [
        &["exam", "list"],
        &["exam", "export", "1", "--as", "json"],
        &["boxes"],
        &["box", "loans"],
        &["box", "history", "-3.00 sphere"],
    ];
    asked.into_iter().map(|arguments| room.json(arguments)).collect()
}

#[test]
fn whatever_is_pressed_in_practice_nothing_that_is_kept_of_people_and_boxes_changes() -> Tested {
    let room = room_with_records()?;
    let before = kept(&room)?;
    let files = || -> Result<Vec<Vec<u8>>, std::io::Error> {
        ["logbook.db"].into_iter().map(|name| fs::read(room.file(name))).collect()
    };
    let bytes = files()?;
    for seed in 0..8 {
        // begun on the command line, the real logbook is not even opened
        let said = room.say(&["practice", "--level", "2", "--seed", "7", "--print", "--keys", &walk(seed, 40)])?;
        assert_eq!(said.code, Some(0), "{}", said.err);
        assert_eq!(files()?, bytes, "seed {seed}");
    }
    for seed in 8..16 {
        let keys = format!("Z{}{}", 1 + seed % 4, walk(seed, 40));
        let said = room.say(&["--print", "--keys", &keys])?;
        assert_eq!(said.code, Some(0), "{}", said.err);
        let now = kept(&room)?;
        if said.out.contains("PRACTICE") {
            assert_eq!(now, before, "{keys}");
        } else {
            // practice was left by a key of the walk, and what came after it was an exam again
            assert_eq!(now[2..], before[2..], "{keys}");
        }
    }
    Ok(())
}

#[test]
fn a_person_waits_as_they_were_while_a_practice_eye_is_examined() -> Tested {
    let room = Room::new()?;
    let said = room.say(&["--print", "--keys", "-1.25<enter>Z1-3.50<enter>"])?;
    assert!(said.out.contains("PRACTICE eye 1 of 1") && said.out.contains("-3.50"), "{}", said.out);
    let said = room.say(&["--print", "--keys", "Z"])?;
    assert!(said.out.contains("the eye that was left"), "{}", said.out);
    let said = room.say(&["--print", "--keys", "Z1"])?;
    assert!(said.out.contains("PRACTICE eye 1 of 1") && said.out.contains("-3.50"), "{}", said.out);
    let said = room.say(&["--print", "--keys", "Z1Z4"])?;
    assert!(
        !said.out.contains("PRACTICE") && said.out.contains("-1.25") && said.out.contains("back in Exam 1"),
        "{}",
        said.out
    );
    // begun from the command line, what was left goes on too
    let said = room.say(&["practice", "--print"])?;
    assert!(said.out.contains("PRACTICE eye 1 of 1") && said.out.contains("-3.50"), "{}", said.out);
    let list = room.json(&["exam", "list"])?;
    assert_eq!(list["exams"].as_array().map(Vec::len), Some(1), "{list}");
    Ok(())
}

/// The person of a seat by the text that is kept.
fn person_of(who: &Who) -> Result<[f64; 6], Box<dyn Error>> {
    let seat = Seat::again(&Sitter { who: who.to_string(), number: 1, of: 1 })?;
    let needs = seat.person.needs();
    Ok([needs.right.m, needs.right.j0, needs.right.j45, needs.left.m, needs.left.j0, needs.left.j45])
}

#[test]
fn what_the_eye_needs_cannot_be_read_in_what_is_kept() -> Tested {
    let room = Room::new()?;
    for seed in 1..6_u64 {
        let said = room.say(&[
            "practice",
            "--level",
            "2",
            "--seed",
            &seed.to_string(),
            "--print",
            "--keys",
            "g1nnnn-2.00<enter>",
        ])?;
        assert_eq!(said.code, Some(0), "{}", said.err);
        let who = Who::Drawn { level: Level::Two, care: Care::Typical, law: Law::Written, seed };
        for figure in person_of(&who)? {
            let written = format!("{:.3}", figure.abs());
            for name in ["practice-logbook.db", "practice-logbook.db-wal"] {
                let Ok(bytes) = fs::read(room.file(name)) else { continue };
                let kept = String::from_utf8_lossy(&bytes);
                // the seconds of a time end so too: 07:30.408
                let stands = kept
                    .match_indices(&written)
                    .any(|(at, _)| !kept[..at].ends_with(|before: char| before.is_ascii_digit()));
                assert!(!stands, "{written} stands in {name}");
            }
        }
    }
    Ok(())
}

#[test]
fn a_practice_exam_is_said_to_be_one_wherever_it_is_read() -> Tested {
    let room = Room::new()?;
    let keys = "-1.25<enter>a<tab>-1.00<enter>aCy";
    let said = room.say(&["practice", "--level", "1", "--seed", "3", "--print", "--keys", keys])?;
    assert!(said.out.contains("PRACTICE"), "{}", said.out);
    let practice = room.file("practice-logbook.db");
    let of = |arguments: &[&str]| {
        let path = practice.to_string_lossy().into_owned();
        room.say(&[&["--logbook", &path][..], arguments].concat())
    };
    assert!(of(&["exam", "list"])?.out.contains("PRACTICE"));
    for form in ["card", "markdown"] {
        let said = of(&["exam", "export", "1", "--as", form])?;
        let lines = said.out.lines().count();
        assert!(said.out.matches("PRACTICE").count() >= 2 && lines > 10, "{form}: {}", said.out);
        assert!(!said.out.contains("prescribed by (licensed"), "nobody signs: {}", said.out);
    }
    assert!(of(&["exam", "export", "1", "--as", "csv"])?.out.contains("PRACTICE"));
    let json: Value = serde_json::from_str(&of(&["exam", "export", "1", "--as", "json"])?.out)?;
    assert_eq!(json["practice"], true);
    for form in ["fhir", "fhir-r4b", "dicom"] {
        let said = of(&["exam", "export", "1", "--as", form])?;
        assert_eq!(said.code, Some(1), "{form}");
        assert!(said.out.is_empty() && said.err.contains("practice"), "{form}: {}", said.err);
    }
    Ok(())
}
