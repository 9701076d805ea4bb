//! `box check`, `box list` and `box change`.

use std::error::Error;
use std::fs;
use std::path::Path;

use dioptray::logbook::{Logbook, NamedBox};
use serde_json::{Value, json};

use super::room::{Room, Tested};

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
const EVERY_CHANGE: [&[&str]; 9] = [
    &["lost", "-3.00 sphere"],
    &["found", "-3.00 sphere"],
    &["lent", "-3.00 sphere", "--to", "K.M."],
    &["returned", "-3.00 sphere"],
    &["damaged", "-3.00 sphere"],
    &["mended", "-3.00 sphere"],
    &["measured", "-3.00 sphere", "-2.87"],
    &["added", "-3.00 sphere"],
    &["retired", "-3.00 sphere"],
];

/// Options that a change has in common with other commands, or that say who reports it.
const NOT_OF_THE_CHANGE: [&str; 6] = ["--box", "--by", "--sure", "--logbook", "--json", "--help"];

#[test]
fn every_change_is_kept_with_what_was_said_of_it() -> Tested {
    let room = Room::new()?;
    let small_box = room.small_box()?;
    for words in EVERY_CHANGE {
        room.json(&[&["box", "change", "--box", &small_box], words].concat())?;
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
