//! `practice drill` and `practice progress`.

use std::collections::BTreeSet;

use serde_json::Value;

use super::room::{Room, Tested};

const NAMES: &str = "net stack transposition equivalent effective crossed axis meridian retinoscopy first-lens step clock \
                     cross-cylinder with-against addition order prentice acuity fault refer";

fn items(room: &Room, arguments: &[&str]) -> Result<Vec<Value>, Box<dyn std::error::Error>> {
    let said = room.json(&[&["practice", "drill"], arguments].concat())?;
    Ok(said["items"].as_array().ok_or("no items")?.clone())
}

#[test]
fn the_twenty_are_listed_and_each_gives_items_that_say_what_is_right() -> Tested {
    let room = Room::new()?;
    let listed = room.json(&["practice", "drill", "--list"])?;
    let names: Vec<&str> = listed["drills"].as_array().ok_or("no drills")?.iter().filter_map(Value::as_str).collect();
    assert_eq!(names.join(" "), NAMES);
    let said = room.say(&["practice", "drill", "--list"])?;
    assert_eq!(said.out.lines().count(), 20);
    for name in names {
        let three = items(&room, &[name, "--items", "3", "--seed", "5", "--level", "2"])?;
        assert_eq!(three.len(), 3);
        for item in three {
            let fields: BTreeSet<&str> = item.as_object().ok_or("no item")?.keys().map(String::as_str).collect();
            assert_eq!(fields, BTreeSet::from(["ask", "given", "answer", "also", "within", "working"]), "{name}");
            assert!(item["ask"].is_string() && item["answer"].is_string() && item["working"].is_string(), "{item}");
            assert!(item["given"].is_object() && item["also"].is_array() && item["within"].is_number(), "{item}");
        }
    }
    assert!(!room.file("logbook.db").exists(), "items for a program are kept nowhere");
    Ok(())
}

#[test]
fn the_same_seed_gives_the_same_items_and_another_others() -> Tested {
    let room = Room::new()?;
    let of = |seed: &str, level: &str| items(&room, &["crossed", "--items", "20", "--seed", seed, "--level", level]);
    assert_eq!(of("7", "2")?, of("7", "2")?);
    assert_ne!(of("7", "2")?, of("8", "2")?);
    assert_ne!(of("7", "2")?, of("7", "3")?);
    for wrong in
        [&["nothing"][..], &["net", "--level", "4"], &["net", "--items", "0"], &["--level", "2"], &["--list", "net"]]
    {
        let said = room.say(&[&["practice", "drill"], wrong].concat())?;
        assert_eq!((said.code, said.out.as_str()), (Some(2), ""), "{wrong:?}");
    }
    Ok(())
}

#[test]
fn away_from_a_terminal_it_is_a_sheet_with_its_answers_at_the_end() -> Tested {
    let room = Room::new()?;
    let said = room.say(&["practice", "drill", "equivalent", "--items", "4", "--seed", "9"])?;
    assert_eq!((said.code, said.err.as_str()), (Some(0), ""));
    let (questions, answers) = said.out.split_once("\nAnswers: ").ok_or("no answers")?;
    for item in items(&room, &["equivalent", "--items", "4", "--seed", "9"])? {
        let (ask, answer) = (item["ask"].as_str().ok_or("no ask")?, item["answer"].as_str().ok_or("no answer")?);
        assert!(questions.contains(ask) && !answers.contains(ask), "{ask}");
        assert!(answers.contains(&format!(". {answer}\n")), "{answer}");
    }
    assert!(!room.file("logbook.db").exists());
    Ok(())
}

#[test]
fn asked_line_by_line_each_answer_is_marked_at_once_and_kept() -> Tested {
    let room = Room::new()?;
    let three = items(&room, &["equivalent", "--items", "3", "--seed", "9"])?;
    let right: Vec<&str> = three.iter().filter_map(|item| item["answer"].as_str()).collect();
    let turned = right[1].replace(['+', '-'], if right[1].starts_with('-') { "+" } else { "-" });
    let ask = ["practice", "drill", "equivalent", "--items", "3", "--seed", "9", "--ask"];
    // one right, one that cannot be read and then one of the wrong sign; then the lines end
    let said = room.say_with_input(&ask, &format!("{}\n\nvery little\n{turned}\n", right[0]))?;
    assert_eq!((said.code, said.err.as_str()), (Some(0), ""), "{}", said.out);
    assert!(said.out.contains(&format!("Right: {}.", right[0])), "{}", said.out);
    assert!(said.out.contains("Type an answer") && said.out.contains("very little"), "{}", said.out);
    assert!(said.out.contains(&format!("It is {}.", right[1])), "{}", said.out);
    assert!(said.out.contains("1 of 2 right.") && said.out.contains("Due again on "), "{}", said.out);

    let progress = room.json(&["practice", "progress"])?;
    let skill = &progress["skills"][0];
    assert_eq!((&skill["drill"], &skill["level"]), (&Value::from("equivalent"), &Value::from(1)));
    assert_eq!((&skill["last_right"], &skill["last_answered"]), (&Value::from(1), &Value::from(2)));
    let drawn = room.say(&["practice", "progress"])?;
    let line = drawn.out.lines().find(|line| line.starts_with("equivalent ")).ok_or("not drawn")?;
    assert!(line.contains(" #####..... "), "{line}");
    assert!(drawn.out.contains("Due, what hurts most first: "), "{}", drawn.out);

    // it is nobody's exam, and the logbook with it is sound
    assert_eq!(room.json(&["exam", "list"])?["exams"], Value::Array(Vec::new()));
    let checked = room.say(&["logbook", "check"])?;
    assert_eq!((checked.code, checked.err.as_str()), (Some(0), ""), "{}", checked.out);
    Ok(())
}

#[test]
fn without_a_name_it_asks_what_is_due_and_what_hurts_most_comes_first() -> Tested {
    let room = Room::new()?;
    let first = |room: &Room| -> Result<String, Box<dyn std::error::Error>> {
        let said = room.say_with_input(&["practice", "drill", "--items", "1", "--ask"], "")?;
        assert!(said.out.contains("Nothing was answered, and nothing is kept."), "{}", said.out);
        Ok(said.out.lines().next().unwrap_or_default().to_owned())
    };
    assert!(first(&room)?.starts_with("stack, level 1:"), "a sign is what hurts most");
    let one = items(&room, &["stack", "--items", "1", "--seed", "1"])?;
    let right = one[0]["answer"].as_str().ok_or("no answer")?.to_owned();
    let said =
        room.say_with_input(&["practice", "drill", "--items", "1", "--seed", "1", "--ask"], &format!("{right}\n"))?;
    assert!(said.out.contains("1 of 1 right."), "{}", said.out);
    assert!(first(&room)?.starts_with("stack, level 2:"), "the next level is open, and new");
    Ok(())
}
