//! `box check`, `box list` and `box change`.

use std::error::Error;
use std::fs;
use std::path::Path;
use std::process::Stdio;

use dioptray::logbook::{Logbook, NamedBox};
use serde_json::{Value, json};

use super::room::{Room, SMALL_BOX, Said, Tested, said};

#[test]
fn a_box_is_checked_with_every_fault_at_its_place() -> Tested {
    let room = Room::new()?;
    let small_box = room.small_box()?;
    assert_eq!(room.json(&["box", "check", &small_box])?, json!({"box": "Invented", "lenses": 6, "pieces": 6}));
    let bad =
        room.write("bad.yaml", "box: Bad\nlenses:\n  - kind: sfere\n    each: 1\n  - kind: occluder\n    each: 0\n")?;
    let said = room.say(&["box", "check", &bad])?;
    assert_eq!((said.code, said.out.as_str()), (Some(1), ""));
    let places: Vec<&str> = said.err.lines().collect();
    assert_eq!(places.len(), 2, "{}", said.err);
    assert!(
        places[0].starts_with(&format!("{bad}:3:11: ")) && places[1].starts_with(&format!("{bad}:6:11: ")),
        "{}",
        said.err
    );
    Ok(())
}

#[test]
fn every_shipped_box_is_in_order() -> Tested {
    let room = Room::new()?;
    let mut checked = 0;
    for entry in fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("kits/boxes"))? {
        let path = entry?.path();
        let said = room.say(&["box", "check", path.to_str().ok_or("odd path")?])?;
        assert_eq!((said.code, said.err.as_str()), (Some(0), ""), "{}", path.display());
        checked += 1;
    }
    assert!(checked >= 4, "only {checked} boxes are shipped");
    Ok(())
}

#[test]
fn what_happened_to_a_lens_is_kept_and_counted() -> Tested {
    let room = Room::new()?;
    let small_box = room.small_box()?;
    let change = |words: &[&str]| room.json(&[&["box", "change", "--box", &small_box], words].concat());
    let count = |lens: &str| -> Result<Value, Box<dyn Error>> {
        let list = room.json(&["box", "list", "--box", &small_box])?;
        assert_eq!(list["box"], "Invented");
        let lenses = list["lenses"].as_array().ok_or("no lenses")?.clone();
        lenses.into_iter().find(|count| count["lens"] == lens).ok_or_else(|| format!("no {lens}").into())
    };
    let counted = |free, lost, lent, damaged, declared| json!({"lens": "-3.00 sphere", "declared": declared, "free": free, "lost": lost, "lent": lent, "damaged": damaged, "in_frame": 0});
    assert_eq!(count("-3.00 sphere")?, counted(1, 0, 0, 0, 1));
    assert!(!room.file("logbook.db").exists(), "listing made a logbook");
    assert_eq!(
        change(&["lost", "-3.00 sphere"])?,
        json!({"box": "Invented", "change": "lost", "piece": "-3.00 sphere #1"})
    );
    assert_eq!(count("-3.00 sphere")?, counted(0, 1, 0, 0, 1));
    // what is lost is not proposed
    let best = &room.json(&["stack", "--box", &small_box, "--right", "-3.00"])?["right"][0];
    assert_eq!(best["lenses"], 2);
    change(&["found", "-3.00", "sphere"])?;
    change(&["damaged", "-3.00 sphere #1"])?;
    assert_eq!(count("-3.00 sphere")?, counted(0, 0, 0, 1, 1));
    change(&["mended", "-3.00 sphere"])?;
    change(&["lent", "-3.00 sphere", "--to", "K.M."])?;
    assert_eq!(count("-3.00 sphere")?, counted(0, 0, 1, 0, 1));
    change(&["returned", "-3.00 sphere"])?;
    change(&["measured", "-3.00 sphere", "-2.87"])?;
    assert_eq!(change(&["added", "-3.00 sphere"])?["piece"], "-3.00 sphere #2");
    change(&["retired", "-3.00 sphere #1"])?;
    assert_eq!(count("-3.00 sphere")?, counted(1, 0, 0, 0, 1));
    let said = room.say(&["box", "change", "--box", &small_box, "lost", "-3.00 sphere #1"])?;
    assert_eq!((said.code, said.out.as_str()), (Some(1), ""));
    Ok(())
}

/// A change of each kind, with all that can be said of it; each can follow those before it.
const EVERY_CHANGE: [&[&str]; 13] = [
    &["lost", "-3.00 sphere"],
    &["found", "-3.00 sphere"],
    &["lent", "-3.00 sphere", "--to", "K.M.", "--until", "2026-12-24"],
    &["returned", "-3.00 sphere"],
    &["damaged", "-3.00 sphere", "--note", "chipped"],
    &["mended", "-3.00 sphere"],
    &[
        "measured",
        "-3.00 sphere",
        "-2.87",
        "--axis-off",
        "2.5",
        "--prism",
        "0.25",
        "--on",
        "2026-03-01",
        "--instrument",
        "lensmeter",
    ],
    &["marked", "-3.00 sphere", "white dot"],
    &["note", "-3.00 sphere", "--note", "scratched rim"],
    &["added", "-3.00 sphere"],
    &["retired", "-3.00 sphere"],
    &["added", "-3.00 sphere"],
    &["moved", "-3.00 sphere", "--to", "school-1"],
];

/// Options that a change has in common with other commands, or that say who reports it.
const NOT_OF_THE_CHANGE: [&str; 8] = ["--box", "--yes", "--from", "--by", "--sure", "--logbook", "--json", "--help"];

#[test]
fn every_change_is_kept_with_what_was_said_of_it() -> Tested {
    let room = Room::new()?;
    let small_box = room.small_box()?;
    let school =
        room.write("school.yaml", &SMALL_BOX.replace("invented-1", "school-1").replace("Invented", "School"))?;
    // the logbook knows the other box
    room.json(&["box", "change", "--box", &school, "lost", "-1.00 sphere"])?;
    for words in EVERY_CHANGE {
        room.json(&[&["box", "change", "--box", &small_box, "--sure"], words].concat())?;
    }
    let logbook = Logbook::open(&room.file("logbook.db"))?;
    let kept = logbook.box_changes(&NamedBox::new(Some("invented-1"), "Invented").key)?;
    assert_eq!(kept.len(), EVERY_CHANGE.len());
    for (words, kept) in EVERY_CHANGE.iter().zip(kept) {
        let row = serde_json::to_string(&kept.change)?;
        let said = words.iter().enumerate().filter(|(place, word)| *place != 1 && !word.starts_with("--"));
        for (_, word) in said {
            assert!(row.contains(word), "{words:?} is kept as {row}, without {word}");
        }
    }
    let help = room.say(&["box", "change", "--help"])?.out;
    let lines = help.lines().map(str::trim_start);
    let of_help = lines.filter_map(|line| match line.strip_prefix("- ") {
        Some(change) => change.split_once(':').map(|(word, _)| word),
        None => line.split_whitespace().find(|word| word.starts_with("--")).filter(|_| line.starts_with('-')),
    });
    for word in of_help.filter(|word| !NOT_OF_THE_CHANGE.contains(word)) {
        assert!(EVERY_CHANGE.iter().any(|words| words.contains(&word)), "no change here with `{word}`");
    }
    Ok(())
}

fn room_with_box() -> Result<(Room, String), Box<dyn Error>> {
    let room = Room::new()?;
    let two = SMALL_BOX.replace("each: 1", "each: 2");
    let file = room.write("box.yaml", &two)?;
    Ok((room, file))
}

fn refused(said: &Said) -> (Option<i32>, &str, &str) {
    (said.code, said.out.as_str(), said.err.trim_end())
}

#[test]
fn several_lenses_are_noted_in_one_entry_all_or_none() -> Tested {
    let (room, file) = room_with_box()?;
    let change = |words: &[&str]| room.say(&[&["box", "change", "--box", &file], words].concat());
    let said = change(&["lost", "-3.00 sphere x2", "-1.00", "sphere", "occluder", "#2", "-3.00 sphere #1"])?;
    assert_eq!(refused(&said), (Some(1), "", "error: -3.00 sphere #1 is lost, so it cannot be lost"));
    assert_eq!(room.json(&["box", "history", "--box", &file])?, json!({"history": []}));
    let said = change(&["lost", "-3.00 sphere x2", "-1.00", "sphere", "occluder", "#2"])?;
    let expected = "Invented: lost: -3.00 sphere #1\nInvented: lost: -3.00 sphere #2\nInvented: lost: -1.00 sphere #1\n\
                    Invented: lost: occluder #2\n";
    assert_eq!((said.code, said.out.as_str()), (Some(0), expected), "{}", said.err);
    let said = change(&["lost", "-3.00 sphere x2"])?;
    assert_eq!(refused(&said), (Some(1), "", "error: of -3.00 sphere, the box Invented has 0 that can be lost, not 2"));
    let said = change(&["lent", "-2.00 to -4.00 by 2 sphere", "--to", "Clinic 3", "--until", "2020-02-01"])?;
    assert_eq!(
        said.out,
        "Invented: lent: -2.00 sphere #1: to Clinic 3 until 2020-02-01\nInvented: lent: -4.00 sphere #1: to Clinic 3 until 2020-02-01\n"
    );
    let said = change(&["damaged", "row cylinders"])?;
    assert_eq!(refused(&said), (Some(1), "", "error: the tray has no row `cylinders`: `box list --rows` names them"));
    let said = change(&["damaged", "row cylinders -", "--note", "scratched"])?;
    assert_eq!(
        said.out,
        "Invented: damaged: -0.75 cylinder #1: scratched\nInvented: damaged: -0.75 cylinder #2: scratched\n"
    );
    for (words, expected) in [
        (&["lent", "-2.00 sphere"][..], "error: to whom is it lent? Say it with --to NAME"),
        (&["lent", "-2.00 sphere", "--to", ""], "error: --to: nothing stands there: say it, or leave it out"),
        (&["moved", "-2.00 sphere"], "error: to which box? Say it with --to ID"),
        (
            &["moved", "-2.00 sphere", "--to", "nowhere"],
            "error: --to: no box is known by the id `nowhere`: name the id or the file of one",
        ),
        (&["added", "ocluder"], "error: `ocluder` is too like the accessory `occluder`: did you mean `occluder`?"),
        (&["added", "Occluder"], "error: `Occluder` is too like the accessory `occluder`: did you mean `occluder`?"),
        (&["damaged", "-0.75 cylinder #1"], "error: -0.75 cylinder #1 is damaged already"),
        (&["note", "-2.00 sphere #2"], "error: what is to be noted? Say it with --note"),
        (
            &["measured", "-2.00 sphere #2", "+2.00"],
            "error: -2.00 sphere #2: marked -2.00, measured +2.00, +4.00 off: of the other sign. Measure it again; if it is so, say that \
             you are sure: --sure",
        ),
    ] {
        assert_eq!(refused(&change(words)?), (Some(1), "", expected), "{words:?}");
    }
    let said = change(&["measured", "-2.00 sphere #2", "+2.00", "--sure"])?;
    assert_eq!(said.out, "Invented: measured: -2.00 sphere #2: marked -2.00, measured +2.00, +4.00 off\n");
    Ok(())
}

#[test]
fn a_sheet_is_noted_whole_or_every_line_at_fault_is_said() -> Tested {
    let (room, file) = room_with_box()?;
    let sheet = room.write(
        "sheet.csv",
        "event,lens,to,until,power,note\nlost,-3.00 sphere x2,,,,\n,-1.00 sphere,,,,\nlent,-1.00 sphere,Clinic 3,2026-12-24,,for Anna\n\
         measured,-2.00 sphere #1,,,-1.87,\ndamaged,occluder,,,,chipped\n",
    )?;
    let said = room.say(&["box", "change", "--box", &file, "--from", &sheet, "--by", "K.M."])?;
    assert_eq!(said.code, Some(0), "{}", said.err);
    let history = room.json(&["box", "history", "--box", &file])?;
    let lines = history["history"].as_array().ok_or("no history")?;
    let events: Vec<&str> = lines.iter().filter_map(|line| line["event"].as_str()).collect();
    assert_eq!(events, ["lost", "lost", "lent", "note", "measured", "damaged"]);
    assert!(lines.iter().all(|line| line["entry"] == 1 && line["by"] == "K.M."), "{history}");
    assert_eq!(lines[3]["note"], "for Anna");
    let bad = room.write(
        "bad.csv",
        "event;lens;to;until;power;note\nlost;-3.00 sphere;;;;\neaten;-1.00 sphere;;;;\nlent;-2.00 sphere;;;;\nfound;-4.00 sphere;K;;;\n\
         lent;-2.00 sphere;K;tomorrow;;\nlost;;;;;\nlost;-4.00 sphere x2;;;;\nlost;-4.00 sphere;;;;\n",
    )?;
    let said = room.say(&["box", "change", "--box", &file, "--from", &bad])?;
    let expected = format!(
        "{bad}:2: -3.00 sphere #1 is lost, so it cannot be lost
{bad}:3: there is no event `eaten`: lost, found, lent, returned, damaged, mended, measured, added, retired, moved, marked or note
{bad}:4: to whom is it lent? Say it with --to NAME
{bad}:5: `to` does not belong to `found`: leave it empty
{bad}:6: `tomorrow` is not a day: write it like 2026-12-24
{bad}:7: the lens is not said
{bad}:9: -4.00 sphere #1 is lost, so it cannot be lost"
    );
    assert_eq!(refused(&said), (Some(1), "", expected.as_str()));
    let head = room.write("head.csv", "event,lense\nlost,-1.00 sphere\n")?;
    let said = room.say(&["box", "change", "--box", &file, "--from", &head])?;
    let expected = format!(
        "{head}:1: there is no column `lense`: they are `event`, `lens`, `to`, `until`, `power` and `note`; did you mean `lens`?
{head}:1: the column `lens` is not there: the first line is `event`, `lens`, `to`, `until`, `power` and `note`"
    );
    assert_eq!(refused(&said), (Some(1), "", expected.as_str()));
    assert_eq!(room.json(&["box", "history", "--box", &file])?["history"].as_array().map(Vec::len), Some(6));
    Ok(())
}

#[test]
fn without_a_box_the_one_used_last_is_meant_and_noting_wants_a_yes() -> Tested {
    let (room, file) = room_with_box()?;
    let said = room.say(&["box", "history"])?;
    let expected = "error: no box has been used yet: name one with --box FILE";
    assert_eq!((said.code, said.err.lines().next()), (Some(2), Some(expected)));
    room.json(&["box", "change", "--box", &file, "lent", "-3.00 sphere", "--to", "Clinic 3", "--until", "2020-02-01"])?;
    let loans = room.json(&["box", "loans"])?;
    let loan = &loans["loans"][0];
    let of = |field: &str| loan[field].as_str().unwrap_or_default().to_owned();
    assert_eq!(["lens", "to", "until"].map(of), ["-3.00 sphere", "Clinic 3", "2020-02-01"]);
    assert_eq!(loan["overdue"], true);
    assert_eq!(room.json(&["box", "loans", "--on", "2020-02-01"])?["loans"][0]["overdue"], false);
    assert_eq!(room.json(&["stack", "--right", "-3.00"])?["right"][0]["lenses"], 1);
    let said = room.say(&["box", "change", "lost", "-1.00 sphere"])?;
    let expected =
        format!("error: the box used last is Invented ({file}): name a box with --box FILE, or say --yes for this one");
    assert_eq!((said.code, said.err.lines().next()), (Some(2), Some(expected.as_str())));
    assert_eq!(room.json(&["box", "change", "--yes", "lost", "-1.00 sphere"])?["piece"], "-1.00 sphere #1");
    let boxes = room.json(&["boxes"])?;
    assert_eq!(boxes, json!({"boxes": [{"box": "Invented", "id": "invented-1", "file": file, "pieces": 12}]}));
    Ok(())
}

#[test]
fn what_was_noted_is_taken_back_and_stays_a_slip() -> Tested {
    let (room, file) = room_with_box()?;
    let school =
        room.write("school.yaml", &SMALL_BOX.replace("invented-1", "school-1").replace("Invented", "School"))?;
    room.json(&["box", "change", "--box", &file, "moved", "-3.00 sphere x2", "--to", &school])?;
    let pieces = |file: &str| -> Result<Value, Box<dyn Error>> {
        let list = room.json(&["box", "list", "--box", file])?;
        let lenses = list["lenses"].as_array().ok_or("no lenses")?.clone();
        Ok(lenses
            .into_iter()
            .find(|lens| lens["lens"] == "-3.00 sphere")
            .map_or(json!(0), |lens| lens["declared"].clone()))
    };
    assert_eq!((pieces(&file)?, pieces(&school)?), (json!(0), json!(3)));
    room.json(&["box", "change", "--box", &school, "lost", "-3.00 sphere #2"])?;
    let said = room.say(&["box", "undo", "--box", &file])?;
    assert!(
        said.err.starts_with("error: this cannot be taken back: \"lost: -3.00 sphere #2\", noted later at "),
        "{}",
        said.err
    );
    assert_eq!(
        room.json(&["box", "undo", "--box", &school])?["undone"],
        json!([{"change": "lost", "piece": "-3.00 sphere #2"}])
    );
    let undone = room.json(&["box", "undo", "--box", &file, "--entry", "1"])?;
    assert_eq!(undone["undone"].as_array().map(Vec::len), Some(2));
    assert_eq!((pieces(&file)?, pieces(&school)?), (json!(2), json!(1)));
    let history = room.json(&["box", "history", "--box", &school, "-3.00 sphere"])?;
    let lines = history["history"].as_array().ok_or("no history")?;
    let events: Vec<(&str, bool)> =
        lines.iter().filter_map(|line| Some((line["event"].as_str()?, line["slip"].as_bool()?))).collect();
    let expected =
        [("moved", true), ("moved", true), ("lost", true), ("undone", false), ("undone", false), ("undone", false)];
    assert_eq!(events, expected);
    Ok(())
}

#[test]
fn a_stock_take_on_paper_is_noted_in_one_entry() -> Tested {
    let (room, file) = room_with_box()?;
    let sheet =
        room.write("counted.csv", "lens,here,damaged,more\n-3.00 sphere,1,,\n-1.00 sphere,1,1,0\noccluder,2,0,1\n")?;
    let take = |more: &[&str]| room.json(&[&["box", "stock-take", "--box", &file, "--rows", &sheet], more].concat());
    let changes = json!([
        {"change": "damaged", "piece": "-1.00 sphere #2"},
        {"change": "lost", "piece": "-3.00 sphere #2"},
        {"change": "added", "piece": "occluder"},
    ]);
    let tried = take(&["--dry-run"])?;
    assert_eq!((&tried["noted"], &tried["changes"]), (&json!(false), &changes));
    let taken = take(&["--by", "K.M."])?;
    assert_eq!(taken["noted"], true);
    assert_eq!(taken["changes"][2], json!({"change": "added", "piece": "occluder #3"}));
    let again =
        room.write("again.csv", "lens,here,damaged,more\n-3.00 sphere,2,,\n-1.00 sphere,1,1,\noccluder,3,,\n")?;
    let said = room.json(&["box", "stock-take", "--box", &file, "--rows", &again])?;
    assert_eq!(said["changes"], json!([{"change": "found", "piece": "-3.00 sphere #2"}]));
    assert_eq!(said["differences"].as_array().map(Vec::len), Some(2));
    let bad = room.write("bad.csv", "lens,here,damaged,more\n-3.00 sphere,2,1,\n-9.00 sphere,1,,\n-1.00 sphere,,,\n-2.00 sphere,many,,\n-4.00 sphere,1,,\n-4.00 sphere,1,,\n")?;
    let said = room.say(&["box", "stock-take", "--box", &file, "--rows", &bad])?;
    let expected = format!(
        "{bad}:2: 2 whole and 1 damaged of -3.00 sphere are more than the 2 of the box: `here` counts whole ones alone, and what is beyond \
         the box goes under `more`
{bad}:3: 1 whole and 0 damaged of -9.00 sphere are more than the 0 of the box: `here` counts whole ones alone, and what is beyond the box \
         goes under `more`
{bad}:4: `here` is empty: write how many lie there, 0 if none
{bad}:5: `here` `many`: write how many, from 0 to 99
{bad}:7: -4.00 sphere is counted a second time: the first is on line 6"
    );
    assert_eq!(refused(&said), (Some(1), "", expected.as_str()));
    Ok(())
}

#[test]
fn a_mark_of_its_own_is_said_wherever_the_piece_is() -> Tested {
    let (room, file) = room_with_box()?;
    let change = |words: &[&str]| room.say(&[&["box", "change", "--box", &file], words].concat());
    let said = change(&["marked", "-3.00 sphere #2", "white dot"])?;
    assert_eq!((said.code, said.out.as_str()), (Some(0), "Invented: marked: -3.00 sphere #2: white dot\n"));
    for (words, expected) in [
        (&["marked", "-3.00 sphere #2"][..], "error: after the lens comes its mark: \"-3.00 sphere #2\" \"white dot\""),
        (&["marked", "-3.00 sphere #2", ""], "error: mark: nothing stands there: say it, or leave it out"),
        (&["marked", "-3.00 sphere #9", "red"], "error: -3.00 sphere #9 is not a piece of this box"),
        (
            &["marked", "-3.00 sphere #2", "a white dot beside the handle, made with paint"],
            "error: mark: a name has at most 30 characters, and this one has 46",
        ),
    ] {
        assert_eq!(refused(&change(words)?), (Some(1), "", expected), "{words:?}");
    }
    // of two alike it has to be said which
    let said = change(&["marked", "-3.00 sphere", "red"])?;
    assert_eq!(said.code, Some(1), "{}", said.out);
    let text = room.say(&["box", "list", "--box", &file])?.out;
    assert!(text.ends_with("\n-3.00 sphere #2 is marked: white dot\n"), "{text}");
    let history = room.json(&["box", "history", "--box", &file, "-3.00 sphere #2"])?;
    let line = &history["history"][0];
    assert_eq!((&line["event"], &line["says"]), (&json!("marked"), &json!("white dot")));
    change(&["lent", "-3.00 sphere #2", "--to", "Ann"])?;
    let loans = room.say(&["box", "sheet", "loans", "--box", &file])?.out;
    assert!(loans.contains("white dot"), "{loans}");
    change(&["returned", "-3.00 sphere #2"])?;
    let sheet = room.say(&["box", "sheet", "verify", "--box", &file, "--as", "csv"])?.out;
    let line = sheet.lines().find(|line| line.contains("-3.00 sphere #2")).ok_or("the piece is not listed")?;
    assert!(line.contains("white dot"), "{sheet}");
    let pick = room.say(&["box", "sheet", "pick", "--box", &file, "-3.00 sphere x2"])?.out;
    let line = pick.lines().find(|line| line.contains("-3.00 sphere #2")).ok_or("it is not to be taken")?;
    assert!(line.contains("white dot"), "{pick}");
    // a sheet says it under `note`, and a mark that is gone is said nowhere
    let rows =
        room.write("marks.csv", "event,lens,note\nmarked,-3.00 sphere #2,none\nmarked,-3.00 sphere #1,notch\n")?;
    room.json(&["box", "change", "--box", &file, "--from", &rows])?;
    let list = room.json(&["box", "list", "--box", &file])?;
    assert_eq!(list["marked"], json!([{"piece": "-3.00 sphere #1", "mark": "notch"}]));
    let bad = room.write("bad.csv", "event,lens,note\nmarked,-3.00 sphere #2,\n")?;
    let expected =
        format!("{bad}:2: how is -3.00 sphere #2 marked? Say it in a word or two, or `none` where the mark is gone");
    assert_eq!(
        refused(&room.say(&["box", "change", "--box", &file, "--from", &bad])?),
        (Some(1), "", expected.as_str())
    );
    // the slip is taken back, and the mark is there again
    room.json(&["box", "undo", "--box", &file])?;
    assert_eq!(room.json(&["box", "list", "--box", &file])?["marked"][0]["mark"], "white dot");
    Ok(())
}

#[test]
fn of_pieces_in_different_places_it_is_asked_which_one() -> Tested {
    let (room, file) = room_with_box()?;
    let change = |words: &[&str]| room.say(&[&["box", "change", "--box", &file], words].concat());
    change(&["lost", "-3.00 sphere #1"])?;
    let said = change(&["retired", "-3.00 sphere"])?;
    let expected = "error: -3.00 sphere #1 is lost and -3.00 sphere #2 is in the box: name the one that is retired";
    assert_eq!(refused(&said), (Some(1), "", expected));
    assert_eq!(change(&["retired", "-3.00 sphere x2"])?.code, Some(0), "both are meant");
    change(&["lent", "-2.00 sphere #1", "--to", "Ann"])?;
    change(&["lent", "-2.00 sphere #2", "--to", "Bob"])?;
    let said = change(&["returned", "-2.00 sphere"])?;
    let expected =
        "error: -2.00 sphere #1 is lent to Ann and -2.00 sphere #2 is lent to Bob: name the one that is returned";
    assert_eq!(refused(&said), (Some(1), "", expected));
    assert_eq!(change(&["returned", "-2.00 sphere #2"])?.code, Some(0));
    // the other one is with Ann still, and only it can be meant
    assert_eq!(change(&["returned", "-2.00 sphere", "--sure"])?.out, "Invented: returned: -2.00 sphere #1\n");
    Ok(())
}

#[test]
fn a_lens_of_which_no_piece_is_in_the_set_is_not_in_the_fresh_file() -> Tested {
    let (room, file) = room_with_box()?;
    room.json(&["box", "change", "--box", &file, "retired", "-3.00 sphere x2"])?;
    let out = room.file("fresh.yaml");
    let out = out.to_str().ok_or("odd path")?;
    let said = room.say(&["box", "write", out, "--box", &file])?.out;
    assert!(said.contains("-3.00 sphere: 2 declared, 0 missing; now 0 declared, 0 missing"), "{said}");
    let checked = room.say(&["box", "check", out])?;
    assert_eq!(checked.code, Some(0), "{}", checked.err);
    assert!(!fs::read_to_string(out)?.contains("-3.00"));
    Ok(())
}

#[test]
fn a_fresh_file_says_what_is_there_and_what_it_cannot_say_goes_over_with_it() -> Tested {
    let (room, file) = room_with_box()?;
    let change = |words: &[&str]| room.json(&[&["box", "change", "--box", &file], words].concat());
    change(&["lost", "-3.00 sphere #1"])?;
    change(&["retired", "-4.00 sphere #1"])?;
    change(&["lent", "-3.00 sphere #2", "--to", "Clinic 3", "--until", "2030-01-01"])?;
    change(&["damaged", "-4.00 sphere #2", "--note", "chipped"])?;
    change(&["measured", "-2.00 sphere #1", "-1.87"])?;
    change(&["added", "+7.00 sphere"])?;
    change(&["marked", "-3.00 sphere #2", "white dot"])?;
    let out = room.file("fresh.yaml");
    let out = out.to_str().ok_or("odd path")?;
    let written = room.json(&["box", "write", out, "--box", &file])?;
    assert_eq!(written["carried_over"], 3);
    let marked = room.json(&["box", "list", "--box", out])?["marked"].clone();
    assert_eq!(marked, json!([{"piece": "-3.00 sphere #1", "mark": "white dot"}]), "it has another number there");
    let counts = |file: &str| -> Result<Vec<Value>, Box<dyn Error>> {
        let list = room.json(&["box", "list", "--box", file])?;
        let mut lenses = list["lenses"].as_array().ok_or("no lenses")?.clone();
        lenses.sort_by_key(|lens| lens["lens"].to_string());
        Ok(lenses)
    };
    assert_eq!(counts(out)?, counts(&file)?);
    let loans = room.json(&["box", "loans", "--box", out])?;
    assert_eq!(
        (&loans["loans"][0]["piece"], &loans["loans"][0]["until"]),
        (&json!("-3.00 sphere #1"), &json!("2030-01-01"))
    );
    let history = room.json(&["box", "history", "--box", out, "-4.00 sphere"])?;
    assert_eq!(
        (&history["history"][0]["says"], &history["history"][0]["note"]),
        (&json!("chipped"), &json!("carried over from invented-1"))
    );
    let text = fs::read_to_string(out)?;
    assert!(text.contains("measured:\n  - {lens: \"-2.00 sphere #1\", power: -1.87}"), "{text}");
    let said = room.say(&["box", "write", out, "--box", &file])?;
    assert_eq!(
        (said.code, said.err.trim_end()),
        (Some(1), format!("error: {out}: there is such a file already: --force replaces it").as_str())
    );
    Ok(())
}

#[test]
fn a_box_gets_another_name_and_what_is_known_goes_with_it() -> Tested {
    let room = Room::new()?;
    let file = room.write("box.yaml", &SMALL_BOX.replace("id: invented-1\n", ""))?;
    room.say(&["box", "change", "--box", &file, "lost", "-3.00 sphere"])?;
    let said = room.say(&["box", "rename", &file, "Second bag"])?;
    assert_eq!(
        (said.code, said.out.as_str()),
        (Some(0), format!("{file}: Invented is now Second bag\n").as_str()),
        "{}",
        said.err
    );
    let said = room.say(&["box", "list", "--box", &file, "--json"])?;
    let list: Value = serde_json::from_str(&said.out)?;
    assert_eq!(list["box"], "Second bag");
    let lens = list["lenses"]
        .as_array()
        .ok_or("no lenses")?
        .iter()
        .find(|lens| lens["lens"] == "-3.00 sphere")
        .ok_or("no lens")?;
    assert_eq!(lens["lost"], 1);
    let said = room.say(&["box", "rename", &file, "Second bag"])?;
    assert_eq!(said.err.trim_end(), format!("error: {file}: the box is called Second bag already"));
    Ok(())
}

#[test]
fn a_keepers_spreadsheet_becomes_a_box() -> Tested {
    let room = Room::new()?;
    let sheet = room.write(
        "keeper.csv",
        "\u{feff}Glas;Pieces;Price;missing;measured\n-1.50 sphere;2;3.40;1;-1.62\n+0,75 cylinder;2;;;\noccluder;1;;;\n-2.00 sphere;0;;;\n",
    )?;
    let out = room.file("made.yaml");
    let out = out.to_str().ok_or("odd path")?;
    let said =
        room.say(&["box", "from-csv", &sheet, "--name", "Hillside", "--column", "lens=Glas", "--out", out, "--json"])?;
    assert_eq!(said.err, format!("note: {sheet}: columns that are passed over: `price`\n"));
    let made: Value = serde_json::from_str(&said.out)?;
    assert_eq!((&made["lenses"], &made["pieces"]), (&json!(3), &json!(5)));
    let checked = room.json(&["box", "check", out])?;
    assert_eq!(checked, json!({"box": "Hillside", "lenses": 3, "pieces": 5}));
    let kinds = room.write(
        "kinds.csv",
        "kind,power,pieces\nSpheres,-1.00,2\nsphere,1.00,2\nprism,3,one\n,,1\nsphere,-1.00,1\npinhole,,1\nocluder,,1\n",
    )?;
    let said = room.say(&["box", "from-csv", &kinds, "--name", "B"])?;
    let expected = format!(
        "{kinds}:3: `1.00 sphere` has no sign: write +1.00 sphere or -1.00 sphere
{kinds}:4: `pieces` `one`: write how many, from 0 to 99
{kinds}:5: no lens is named: fill in `lens`, or `kind` and `power`
{kinds}:6: -1.00 sphere stands here a second time: the first is on line 2
{kinds}:8: `ocluder` is too like the accessory `occluder`: did you mean `occluder`?"
    );
    assert_eq!(refused(&said), (Some(1), "", expected.as_str()));
    Ok(())
}

#[test]
fn of_several_keepers_at_once_one_loses_the_lens_and_the_others_are_told() -> Tested {
    let (room, file) = room_with_box()?;
    let words = ["box", "change", "--box", &file, "lost", "-3.00 sphere #1"];
    let keepers: Vec<_> = (0..6)
        .map(|_| room.command(&words).stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn())
        .collect::<Result<_, _>>()?;
    let mut done = 0;
    for keeper in keepers {
        let keeper = said(keeper.wait_with_output()?)?;
        if keeper.code == Some(0) {
            done += 1;
        } else {
            assert_eq!(keeper.err.trim_end(), "error: -3.00 sphere #1 is lost, so it cannot be lost");
        }
    }
    assert_eq!(done, 1);
    assert_eq!(room.json(&["box", "history", "--box", &file])?["history"].as_array().map(Vec::len), Some(1));
    Logbook::open(&room.file("logbook.db"))?.check()?;
    Ok(())
}
