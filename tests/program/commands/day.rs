//! `day`: begun once, listed, ended, exported; people from a file.

use std::error::Error;

use serde_json::{Value, json};

use super::room::{Room, Tested};

/// Takes keys on the screen into the logbook of the room.
fn keys(room: &Room, keys: &str) -> Tested {
    let said = room.say(&["--print", "--keys", keys])?;
    assert_eq!(said.code, Some(0), "{}", said.err);
    assert!(!said.out.lines().any(|line| line.contains("! ")), "{}", said.out);
    Ok(())
}

fn room_with_a_day() -> Result<Room, Box<dyn Error>> {
    let room = Room::new()?;
    let started =
        room.json(&["day", "start", "--place", "School at Ford", "--chart", "3", "--near", "0.35", "--by", "K.M."])?;
    assert_eq!(started["place"], "School at Ford");
    assert_eq!(started["room"], json!(["chart at 3 m", "near at 35 cm"]));
    let sheet = room.write("class.csv", "label,age,note\n5B-1,8,\n5B-2,9,sits in front\n5B-3,,\n")?;
    assert_eq!(room.json(&["day", "add", "--from", &sheet])?["added"], json!([1, 2, 3]));
    Ok(room)
}

#[test]
fn the_list_has_the_fields_that_others_rely_on() -> Tested {
    let room = room_with_a_day()?;
    // one passes a screening, one is referred
    keys(&room, "D<enter>Ds77221<enter>")?;
    keys(&room, "D<enter>O4a white pupil<enter>1<enter>")?;
    let list = room.json(&["day", "list"])?;
    let people = list["people"].as_array().ok_or("no people")?;
    let short: Vec<Value> = people
        .iter()
        .map(|person| json!([person["number"], person["label"], person["state"], person["outcome"]]))
        .collect();
    let expected =
        json!([[1, "5B-1", "done", "no_glasses"], [2, "5B-2", "refer", "refer"], [3, "5B-3", "waits", null]]);
    assert_eq!(json!(short), expected);
    assert_eq!(list["seen"], 2);
    assert!(people[0]["minutes"].as_f64().ok_or("no minutes")? < 1.0);
    // what was set once stands in each exam
    for exam in ["1", "2", "3"] {
        let record = room.json(&["exam", "export", exam, "--as", "json"]);
        if let Ok(record) = record
            && record["label"].is_string()
        {
            assert_eq!(record["chart_metres"], 3.0, "{exam}");
        }
    }
    Ok(())
}

#[test]
fn a_second_day_waits_for_the_end_of_the_first() -> Tested {
    let room = room_with_a_day()?;
    let refused = room.say(&["day", "start"])?;
    assert_eq!(refused.code, Some(1));
    assert!(refused.err.contains("the day at School at Ford that began at "), "{}", refused.err);
    assert!(refused.err.trim_end().ends_with("has not ended: end it first"), "{}", refused.err);
    let early = room.say(&["day", "end"])?;
    assert_eq!(early.code, Some(1));
    assert_eq!(early.err, "error: not seen yet: 1, 2 and 3; end the day all the same with --sure\n");
    assert_eq!(room.json(&["day", "end", "--sure"])?["not_seen"], json!([1, 2, 3]));
    let late = room.say(&["day", "add", "5B-4"])?;
    assert_eq!(
        (late.code, late.err.as_str()),
        (Some(1), "error: no day is open: begin one with `dioptray day start`\n")
    );
    // the end was a slip
    assert_eq!(room.json(&["day", "undo"])?["taken_back"], json!(["ended"]));
    assert_eq!(room.json(&["day", "add", "5B-4", "--age", "10"])?["added"], json!([4]));
    Ok(())
}

#[test]
fn a_file_with_faults_adds_nobody_and_names_each_line() -> Tested {
    let room = room_with_a_day()?;
    let file = room.write("faults.csv", "label,age,note\n5C-1,8,\n5C-2,eight,\n5C-3,200,\n")?;
    let refused = room.say(&["day", "add", "--from", &file])?;
    assert_eq!((refused.code, refused.out.as_str()), (Some(1), ""));
    let lines: Vec<&str> = refused.err.lines().collect();
    assert_eq!(lines.len(), 2, "{}", refused.err);
    assert!(lines[0].contains("faults.csv:3: "), "{}", refused.err);
    assert!(lines[1].contains("faults.csv:4: ") && lines[1].contains("1 to 120"), "{}", refused.err);
    let unknown = room.write("head.csv", "lable,age\n5C-1,8\n")?;
    let refused = room.say(&["day", "add", "--from", &unknown])?;
    assert!(refused.err.contains("did you mean `label`?"), "{}", refused.err);
    assert_eq!(room.json(&["day", "list"])?["people"].as_array().ok_or("no people")?.len(), 3);
    Ok(())
}

#[test]
fn the_page_names_nobody_and_its_figures_follow_from_the_csv() -> Tested {
    let room = room_with_a_day()?;
    keys(&room, "D<enter>Ds77221<enter>")?;
    keys(&room, "D<enter>-2<enter>-0.50x90<enter>a<tab>-1.50<enter>aO2<enter>")?;
    keys(&room, "D<enter>O4a white pupil<enter>2<enter>")?;
    let page = room.say(&["day", "export"])?;
    assert_eq!(page.code, Some(0), "{}", page.err);
    assert!(!page.out.contains("5B-") && page.out.contains("School at Ford"), "{}", page.out);
    assert!(page.out.contains("3 seen, "), "{}", page.out);
    assert!(page.out.contains("Of those seen: 1 no glasses needed, 1 glasses, 1 refer."), "{}", page.out);
    let csv = room.say(&["day", "export", "--as", "csv"])?.out;
    assert!(!csv.contains("5B-"), "{csv}");
    let mut reader =
        csv::ReaderBuilder::new().flexible(true).from_reader(csv.trim_start_matches('\u{feff}').as_bytes());
    let head = reader.headers()?.clone();
    let at = |name: &str| head.iter().position(|column| column == name).ok_or(format!("no {name} in {head:?}"));
    let (outcome, seconds, sphere, axis) = (at("outcome")?, at("seconds")?, at("right_sphere_d")?, at("right_axis")?);
    let rows: Vec<csv::StringRecord> = reader.records().collect::<Result<_, _>>()?;
    let people: Vec<&csv::StringRecord> = rows.iter().filter(|row| !row[seconds].is_empty()).collect();
    assert_eq!(people.len(), 3, "{csv}");
    let glasses: Vec<_> = people.iter().filter(|row| &row[outcome] == "glasses").collect();
    assert_eq!((&glasses[0][sphere], &glasses[0][axis]), ("-2.00", "90"));
    // the mean is that of the page
    let all: f64 = people.iter().map(|row| row[seconds].parse::<f64>()).sum::<Result<_, _>>()?;
    let mean = (all / 3.0) as i64;
    let said = |seconds: i64| format!("3 seen, {}:{:02} min each", seconds / 60, seconds % 60);
    assert!((mean - 1..=mean + 1).any(|mean| page.out.contains(&said(mean))), "{}\n{csv}", page.out);
    Ok(())
}

#[test]
fn the_box_that_is_named_for_the_day_is_that_of_its_exams() -> Tested {
    let room = Room::new()?;
    let file = room.small_box()?;
    let started = room.json(&["day", "start", "--box", &file])?;
    keys(&room, "DN9<enter>O1<enter>")?;
    let exams = room.json(&["exam", "list"])?;
    assert_eq!(exams["exams"][0]["box"], started["box"]);
    Ok(())
}

#[test]
fn exams_are_searched_by_outcome() -> Tested {
    let room = room_with_a_day()?;
    keys(&room, "D<enter>O1<enter>")?;
    keys(&room, "D<enter>O2<enter>")?;
    keys(&room, "D<enter>O4a white pupil<enter>1<enter>")?;
    let found = |search: &str| -> Result<Vec<Value>, Box<dyn Error>> {
        let listed = room.json(&["exam", "list", "--find", search])?;
        let exams = listed["exams"].as_array().ok_or("no exams")?.clone();
        // the screen finds as many
        let screen = room.say(&["--print", "--size", "120x36", "--keys", &format!("e/{search}<enter>")])?;
        let says = format!("{} of ", exams.len());
        assert!(exams.is_empty() || screen.out.contains(&says), "{search}: {}", screen.out);
        Ok(exams.iter().map(|exam| exam["label"].clone()).collect())
    };
    assert_eq!(found("refer")?, ["5B-3"]);
    assert_eq!(found("pupil")?, ["5B-3"]);
    assert_eq!(found("glasses")?, ["5B-2"], "nobody who needs none");
    assert_eq!(found("no glasses")?, ["5B-1"]);
    assert_eq!(found("5b-1 refer")?, Vec::<Value>::new());
    Ok(())
}

#[test]
fn a_shelf_is_counted_off_over_all_days_and_a_pair_comes_back() -> Tested {
    let room = Room::new()?;
    let line = "{for: distance, powers: [\"-2.00\"], centres_mm: [62], each: 2}";
    let file = room.write("shelf.yaml", &format!("shelf: Ours\npairs: [{line}]\n"))?;
    assert_eq!(room.json(&["day", "shelf", "--check", &file])?, json!({"shelf": "Ours", "kinds": 1, "pairs": 2}));
    let started = room.json(&["day", "start", "--shelf", &file, "--limits", "wider"])?;
    assert_eq!(started["shelf"], "Ours");
    keys(&room, "DN12 30<enter>-2<enter>a<tab>-2<enter>a<tab>O31<enter>")?;
    let shelf = room.json(&["day", "shelf"])?;
    assert_eq!((&shelf["limits"], &shelf["cylinder"], &shelf["apart"]), (&json!("wider"), &json!(1.25), &json!(1.5)));
    let pair = json!({"sphere": -2.0, "near": false, "centres_mm": 62.0, "declared": 2, "given": 1, "left": 1});
    assert_eq!(shelf["pairs"], json!([pair]));
    // in the list, in the record of the exam and in the table of the day
    let given = json!({"shelf": "Ours", "centres_mm": 62.0, "limits": "wider", "meets": false});
    let person = &room.json(&["day", "list"])?["people"][0];
    assert_eq!((&person["outcome"], &person["pair"]["given"]), (&json!("ready_made"), &given));
    let record = room.json(&["exam", "export", "2", "--as", "json"])?;
    assert_eq!(record["outcome"]["ready_made"]["given"], given);
    let csv = room.say(&["exam", "export", "2", "--as", "csv"])?.out;
    assert!(
        csv.contains("pair_sphere_d,pair_is_for,pair_centres_mm,pair_off_shelf,pair_limits,pair_meets_them"),
        "{csv}"
    );
    assert!(csv.contains(",-2.00,distance,62,Ours,"), "{csv}");
    let table = room.say(&["day", "export", "--as", "csv"])?.out;
    assert!(table.lines().any(|line| line.contains(",12.00,-2.00,62.00,")), "{table}");
    // the next day begins with what is left
    assert_eq!(room.say(&["day", "end", "--sure"])?.code, Some(0));
    room.json(&["day", "start", "--shelf", &file])?;
    assert_eq!(room.json(&["day", "shelf"])?["pairs"][0]["left"], 1);
    let none = room.say(&["day", "shelf", "--back", "1"])?;
    assert_eq!((none.code, none.err.as_str()), (Some(1), "error: number 1 has no pair off the shelf\n"));
    // one given today comes back
    keys(&room, "DN13 30<enter>-2<enter>a<tab>-2<enter>a<tab>O31<enter>")?;
    assert_eq!(room.json(&["day", "shelf"])?["pairs"][0]["left"], 0);
    assert_eq!(room.json(&["day", "shelf", "--back", "1"])?["pairs"][0]["left"], 1);
    let bad = room.write("bad.yaml", "shelf: Ours\npairs: []\n")?;
    let refused = room.say(&["day", "start", "--shelf", &bad])?;
    assert!(refused.code == Some(1) && refused.err.contains("bad.yaml:2:8: `pairs` is empty"), "{}", refused.err);
    Ok(())
}
