//! The order for glasses and glasses that came back, as commands.

use std::error::Error;

use serde_json::{Value, json};

use super::room::{Room, Tested};

/// Takes keys on the screen into the logbook of the room.
fn keys(room: &Room, more: &[&str], keys: &str) -> Tested {
    let said = room.say(&[&["--print", "--keys", keys], more].concat())?;
    assert_eq!(said.code, Some(0), "{}", said.err);
    assert!(!said.out.lines().any(|line| line.contains("! ")), "{}", said.out);
    Ok(())
}

/// Exam 1 with both powers, 2 closed without any, 3 still open.
fn room_with_exams() -> Result<Room, Box<dyn Error>> {
    let room = Room::new()?;
    keys(&room, &[], "v14<enter>-4<enter>-0.75x30<enter>a<tab>-2.50<enter>aCy")?;
    keys(&room, &["--new"], "-1<enter>Cy")?;
    keys(&room, &["--new"], "-1<enter>a")?;
    Ok(room)
}

/// What a refused command says, and that it has nothing on stdout.
fn refused(room: &Room, arguments: &[&str]) -> Result<String, Box<dyn Error>> {
    let said = room.say(arguments)?;
    assert_eq!((said.code, said.out.as_str()), (Some(1), ""), "{arguments:?}: {}", said.err);
    Ok(said.err)
}

#[test]
fn an_order_has_powers_and_says_what_is_missing() -> Tested {
    let room = room_with_exams()?;
    let text = room.say(&["exam", "order", "1"])?.out;
    assert!(text.contains("Glasses to order") && text.contains("-0.75") && text.contains("14.0"), "{text}");
    assert!(text.contains("Nobody entered the pupillary distance of the right eye"), "{text}");
    assert!(!text.contains("Nobody entered at which vertex distance"), "{text}");
    let table = room.json(&["exam", "order", "1"])?;
    assert_eq!(table["sheet"], "order");
    let rows = table["rows"].as_array().ok_or("no rows")?;
    let lens = |row: &Value| json!([row["eye"], row["sphere_d"], row["cylinder_d"], row["axis"], row["vertex_mm"]]);
    assert_eq!(lens(&rows[0]), json!(["right", -4.0, -0.75, 30, 14.0]));
    assert_eq!(lens(&rows[1]), json!(["left", -2.5, null, null, 14.0]));
    let csv = room.say(&["exam", "order", "1", "--as", "csv"])?.out;
    assert!(csv.contains("centre_mm"), "{csv}");
    let file = room.file("order.pdf");
    let file = file.to_str().ok_or("no name")?;
    assert_eq!(room.say(&["exam", "order", "1", "--out", file])?.code, Some(0));
    assert!(std::fs::read(file)?.starts_with(b"%PDF"));
    // the record has it too
    let record = room.json(&["exam", "export", "1", "--as", "json"])?;
    assert_eq!(record["order"]["right"]["far"]["power"]["sphere"], -4.0);
    assert_eq!(record["order"]["lacking"][0]["pupillary_distance"], "right");
    Ok(())
}

#[test]
fn an_order_is_refused_where_there_is_none() -> Tested {
    let room = room_with_exams()?;
    assert!(refused(&room, &["exam", "order", "9"])?.contains("there is no exam 9: it has exams 1 to 3"));
    assert!(refused(&room, &["exam", "order", "2"])?.contains("exam 2 has no written power for either eye"));
    assert!(refused(&room, &["exam", "order", "3"])?.contains("exam 3 is not closed"));
    assert!(refused(&Room::new()?, &["exam", "order", "1"])?.contains("there is no such logbook"));
    Ok(())
}

#[test]
fn glasses_that_came_back_are_noted_compared_and_taken_back() -> Tested {
    let room = room_with_exams()?;
    let command = ["exam", "came-back", "1", "--right", "-4.00/-0.75x150", "--left", "-2.50", "--vertex", "16"];
    let more = ["--heights", "-2", "0", "--complaint", "it swims", "--by", "A. B."];
    let said = room.json(&[&command[..], &more[..]].concat())?;
    assert_eq!((&said["exam"], &said["by"]), (&json!(1), &json!("A. B.")));
    assert_eq!(said["compared"]["slips"], json!([{"slip": "axis_mirrored", "eye": "right"}]));
    let differences = said["compared"]["differences"].as_array().ok_or("no differences")?;
    let what: Vec<&Value> = differences.iter().map(|difference| &difference["what"]).collect();
    assert_eq!(what, ["axis", "heights", "vertex", "vertex"]);
    // 2 mm below −4.66 along 90, from −4.00/−0.75×150: base up of a minus lens that stands low
    assert_eq!(differences[1]["prism"][0]["base"], "up");
    let text = room.say(&["exam", "came-back", "1", "--right", "-4.25/-0.75x30"])?.out;
    assert!(text.contains("Likeliest: Right eye, sphere −4.25 found, −4.00 ordered: 0.25 D of miss"), "{text}");
    assert!(text.contains("Nothing measured differs by more than repeats do: refract again."), "{text}");
    let record = room.json(&["exam", "export", "1", "--as", "json"])?;
    assert_eq!(record["came_back"].as_array().map(Vec::len), Some(2));
    assert_eq!(room.say(&["exam", "came-back", "1", "--undo"])?.code, Some(0));
    let record = room.json(&["exam", "export", "1", "--as", "json"])?;
    assert!(record["came_back"][1]["taken_back"]["at"].is_string(), "{record}");
    assert!(record["came_back"][0]["taken_back"].is_null() && record["came_back"][1]["compared"].is_null());
    assert_eq!(room.say(&["exam", "came-back", "1", "--undo"])?.code, Some(0));
    assert!(refused(&room, &["exam", "came-back", "1", "--undo"])?.contains("there is nothing to take back"));
    for form in ["markdown", "card"] {
        let text = room.say(&["exam", "export", "1", "--as", form])?.out;
        assert!(text.contains("it swims") && text.contains("Taken back"), "{text}");
    }
    Ok(())
}

#[test]
fn a_later_exam_is_what_was_refracted_again() -> Tested {
    let room = room_with_exams()?;
    keys(&room, &[], "Cy")?;
    keys(&room, &["--new"], "v14<enter>-5<enter>-0.75x30<enter>a<tab>-2.50<enter>aCy")?;
    let said = room.json(&["exam", "came-back", "1", "--against", "4"])?;
    assert_eq!(said["refracted_again"]["exam"], 4);
    assert_eq!(said["compared"]["differences"][0]["what"], "refracted_again");
    assert_eq!(said["compared"]["no_more_than_repeats"], false);
    assert!(refused(&room, &["exam", "came-back", "1", "--against", "1"])?.contains("name the later one"));
    assert!(refused(&room, &["exam", "came-back", "1", "--against", "2"])?.contains("exam 2 has no written power"));
    assert!(refused(&room, &["exam", "came-back", "1", "--against", "9"])?.contains("there is no exam 9"));
    Ok(())
}

#[test]
fn what_came_back_is_refused_where_it_cannot_be() -> Tested {
    let room = room_with_exams()?;
    let back = |more: &[&str]| refused(&room, &[&["exam", "came-back"], more].concat());
    assert!(back(&["9", "--right", "-4"])?.contains("there is no exam 9"));
    assert!(back(&["2", "--right", "-4"])?.contains("exam 2 has no written power"));
    assert!(back(&["3", "--right", "-4"])?.contains("exam 3 is not closed"));
    assert!(back(&["1"])?.contains("nothing was measured"));
    assert!(back(&["1", "--complaint", "swims"])?.contains("nothing was measured"));
    let cylinder = back(&["1", "--right", "-4/-0.75"])?;
    assert!(cylinder.contains("--right: ") && cylinder.contains("\n  -4/-0.75\n"), "{cylinder}");
    assert!(back(&["1", "--centres", "31", "99"])?.contains("99 mm is outside 15 to 45 mm\n  31 99\n     ^"));
    assert!(back(&["1", "--vertex", "60"])?.contains("outside 0 to 40 mm"));
    assert_eq!(room.say(&["exam", "came-back", "1", "--centres", "31"])?.code, Some(2));
    assert_eq!(room.say(&["exam", "came-back", "1", "--undo", "--right", "-4"])?.code, Some(2));
    // nothing of all that was added
    let record = room.json(&["exam", "export", "1", "--as", "json"])?;
    assert!(record["came_back"].is_null(), "{record}");
    Ok(())
}

#[test]
fn a_day_has_the_orders_of_everybody_to_whom_glasses_are_given() -> Tested {
    let room = Room::new()?;
    room.json(&["day", "start", "--place", "School at Ford"])?;
    keys(&room, &[], "DNAnna 9<enter>-1<enter>a<tab>-2<enter>aO2<enter>")?;
    keys(&room, &[], "DNBen 9<enter>-2<enter>aO1<enter>")?;
    let orders = room.json(&["day", "orders"])?;
    let rows = orders["rows"].as_array().ok_or("no rows")?;
    let spheres: Vec<&Value> = rows.iter().map(|row| &row["sphere_d"]).collect();
    assert_eq!(spheres, [-1.0, -2.0], "{orders}");
    let text = room.say(&["day", "orders"])?.out;
    assert!(text.contains("number 1, exam") && !text.contains("Anna") && !text.contains("Ben"), "{text}");
    assert!(refused(&room, &["day", "orders", "--day", "4"])?.contains("there is no day 4"));
    assert!(refused(&Room::new()?, &["day", "orders"])?.contains("there is no such logbook"));
    Ok(())
}
