//! `box sheet`: each sheet in each form, its file, and what is read back of it.

use std::fs;

use dioptray::sheets::SheetKind;
use serde_json::{Value, json};

use super::room::{Room, Tested};

const BOX: &str = "box: Sheets\nid: sheets-1\nlenses:\n  - {kind: sphere, powers: [\"±0.25 to ±1.50 by 0.25\"], each: 2}\n  - {kind: cylinder, powers: [\"-0.25 to -1.00 by 0.25\"], each: 2}\n  - {kind: occluder, each: 2}\nmissing: [\"-1.50 sphere x2\"]\n";

fn room_with_box() -> Result<(Room, String), Box<dyn std::error::Error>> {
    let room = Room::new()?;
    let file = room.write("sheets.yaml", BOX)?;
    room.json(&["box", "change", "--box", &file, "lent", "+1.00 sphere", "occluder", "--to", "Clinic 3"])?;
    Ok((room, file))
}

/// Each sheet with what it is asked for beside its box.
const EVERY: [(&str, &[&str]); 8] = [
    ("order", &["--pieces", "2"]),
    ("pick", &["+0.50 sphere x2", "occluder"]),
    ("check-in", &["--borrower", "Clinic 3"]),
    ("loans", &[]),
    ("labels", &[]),
    ("verify", &["--within", "0.12", "--every", "12"]),
    ("stock-take", &[]),
    ("keeper", &[]),
];

#[test]
fn every_sheet_is_written_in_every_form() -> Tested {
    assert_eq!(EVERY.map(|(name, _)| name), SheetKind::ALL.map(SheetKind::name));
    let (room, file) = room_with_box()?;
    for (name, more) in EVERY {
        let asked = [&["box", "sheet", name, "--box", &file][..], more].concat();
        let text = room.say(&asked)?;
        assert_eq!((text.code, text.beside().as_str()), (Some(0), ""), "{name}");
        assert!(text.out.contains("not a medical device"), "{}", text.out);
        let csv = room.say(&[&asked[..], &["--as", "csv"]].concat())?.out;
        assert!(csv.starts_with('\u{feff}') && csv.contains(",notes,notice\r\n"), "{name}: {csv}");
        assert!(csv.contains("not a medical device"), "{name}");
        let rows = room.json(&asked)?;
        assert_eq!((&rows["sheet"], &rows["box"]), (&json!(name), &json!("Sheets")));
        // as many rows as the CSV has below its head
        let below = csv::Reader::from_reader(csv.as_bytes()).records().count();
        assert_eq!(rows["rows"].as_array().map(Vec::len), Some(below), "{name}");
        for ending in ["txt", "csv", "pdf"] {
            let path = room.file(&format!("{name}.{ending}"));
            let path = path.to_str().ok_or("odd path")?;
            let said = room.say(&[&asked[..], &["--out", path]].concat())?;
            let form = if ending == "txt" { "text" } else { ending };
            assert_eq!((said.code, said.out), (Some(0), format!("Sheets: {name} as {form}: {path}\n")));
            let bytes = fs::read(path)?;
            match ending {
                "txt" => assert_eq!(bytes, text.out.as_bytes()),
                "csv" => assert_eq!(bytes, csv.as_bytes()),
                _ => assert!(bytes.starts_with(b"%PDF-")),
            }
            // it stays, unless somebody says otherwise
            fs::write(path, "mine")?;
            let refused = room.say(&[&asked[..], &["--out", path]].concat())?;
            assert_eq!((refused.code, fs::read(path)?), (Some(1), b"mine".to_vec()), "{name}");
            let forced = room.say(&[&asked[..], &["--out", path, "--force"]].concat())?;
            assert_eq!((forced.code, fs::read(path)?), (Some(0), bytes), "{name}");
        }
    }
    Ok(())
}

#[test]
fn a_count_that_was_filled_in_is_read_back() -> Tested {
    let (room, file) = room_with_box()?;
    let path = room.file("count.csv");
    let path = path.to_str().ok_or("odd path")?;
    room.json(&["box", "sheet", "stock-take", "--box", &file, "--out", path])?;
    let unfilled = room.say(&["box", "stock-take", "--box", &file, "--rows", path, "--dry-run"])?;
    assert!(unfilled.code == Some(1) && unfilled.err.contains(":2: `here` is empty"), "{}", unfilled.err);
    // filled in as a spreadsheet does it: what is there, with two exceptions
    let written = fs::read_to_string(path)?;
    let mut reader = csv::Reader::from_reader(written.trim_start_matches('\u{feff}').as_bytes());
    let mut writer = csv::Writer::from_path(path)?;
    let head = reader.headers()?.clone();
    writer.write_record(&head)?;
    let at = |name: &str| head.iter().position(|column| column == name).ok_or("no such column");
    let (lens, here, damaged, known) = (at("lens")?, at("here")?, at("damaged")?, at("known")?);
    for record in reader.records() {
        let record = record?;
        let mut cells: Vec<String> = record.iter().map(str::to_owned).collect();
        cells[here] = cells[known].chars().take(1).collect();
        match cells[lens].trim_start_matches('\'') {
            "-0.50 sphere" => cells[here] = "1".to_owned(),
            "+0.50 sphere" => (cells[here], cells[damaged]) = ("1".to_owned(), "1".to_owned()),
            _ => {}
        }
        writer.write_record(&cells)?;
    }
    writer.flush()?;
    let taken = room.json(&["box", "stock-take", "--box", &file, "--rows", path])?;
    let expected = json!([
        {"change": "lost", "piece": "-0.50 sphere #2"},
        {"change": "damaged", "piece": "+0.50 sphere #2"},
    ]);
    assert_eq!((&taken["noted"], &taken["changes"]), (&json!(true), &expected));
    let kept = room.json(&["box", "sheet", "keeper", "--box", &file])?;
    let rows = kept["rows"].as_array().ok_or("no rows")?;
    let lost: Vec<&Value> = rows.iter().filter(|row| row["part"] == "Lost").map(|row| &row["what"]).collect();
    assert_eq!(lost, ["-0.50 sphere #2", "-1.50 sphere #1", "-1.50 sphere #2"]);
    Ok(())
}

#[test]
fn a_bag_is_picked_and_checked_in() -> Tested {
    let (room, file) = room_with_box()?;
    let picked = room.say(&["box", "sheet", "pick", "--box", &file, "--pieces", "14", "--as", "csv"])?;
    assert_eq!((picked.code, csv::Reader::from_reader(picked.out.as_bytes()).records().count()), (Some(0), 14));
    // what the box lacks is said beside the sheet
    assert!(picked.err.contains("too few of what the hand needs: 0.25 cross cylinder"), "{}", picked.err);
    let packed = room.json(&[
        "box",
        "pack",
        "--box",
        &file,
        "--pieces",
        "3",
        "--always",
        "none",
        "--check-out",
        "--to",
        "Ford",
    ])?;
    let bag = packed["checked_out"]["id"].as_str().ok_or("no bag")?;
    let away = room.json(&["box", "sheet", "check-in", "--box", &file, bag])?;
    assert_eq!(away["rows"].as_array().map(Vec::len), Some(3));
    let first = away["rows"][0]["piece"].as_str().ok_or("no piece")?.to_owned();
    room.json(&["box", "change", "--box", &file, "returned", &first])?;
    let left = room.say(&["box", "sheet", "check-in", "--box", &file, bag])?;
    assert!(
        left.code == Some(0) && !left.out.contains(&first) && left.out.contains("2 pieces are away"),
        "{}",
        left.out
    );
    Ok(())
}

#[test]
fn what_is_not_there_is_not_put_on_a_pick_list() -> Tested {
    let (room, file) = room_with_box()?;
    for (lens, why) in [
        ("-1.50 sphere", "error: -1.50 sphere #1 is lost, so it cannot be taken out\n"),
        ("+1.00 sphere #1", "error: +1.00 sphere #1 is lent to Clinic 3, so it cannot be taken out\n"),
        ("+1.00 sphere x2", "error: of +1.00 sphere, the box Sheets has 1 that can be taken out, not 2\n"),
        ("-7.00 sphere", "error: the box Sheets has no -7.00 sphere\n"),
    ] {
        let said = room.say(&["box", "sheet", "pick", "--box", &file, lens])?;
        assert_eq!((said.code, said.err.as_str()), (Some(1), why));
    }
    let said = room.say(&["box", "sheet", "pick", "--box", &file])?;
    assert_eq!(said.code, Some(2));
    Ok(())
}
