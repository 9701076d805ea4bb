//! By what the logbook knows a box: its `id`, or its name where there is none.

use std::fs;

use dioptray::logbook::{Logbook, NamedBox};
use serde_json::{Value, json};

use super::room::{Room, SMALL_BOX, Tested};

/// A box without an `id`.
fn nameless(name: &str) -> String {
    SMALL_BOX
        .replace("box: Invented\nid: invented-1\n", &format!("# counted in spring\nbox: {name}   # as on its lid\n"))
}

fn with_id(text: &str, id: &str) -> String {
    text.replacen("# as on its lid\n", &format!("# as on its lid\nid: {id}\n"), 1)
}

/// How many pieces of a lens are lost, as `box list` has it; what is said beside goes by.
fn lost(room: &Room, file: &str, lens: &str) -> Result<u64, Box<dyn std::error::Error>> {
    let said = room.say(&["box", "list", "--box", file, "--json"])?;
    let list: Value = serde_json::from_str(&said.out).map_err(|error| format!("{error}: {}", said.err))?;
    let lenses = list["lenses"].as_array().ok_or("no lenses")?;
    let count = lenses.iter().find(|count| count["lens"] == lens).ok_or("no such lens")?;
    Ok(count["lost"].as_u64().ok_or("no count")?)
}

#[test]
fn an_id_is_written_below_the_name_and_the_rest_stays() -> Tested {
    let room = Room::new()?;
    for text in [nameless("Bag"), nameless("Bag").replace('\n', "\r\n"), nameless("Bag").trim_end().to_owned()] {
        let file = room.write("bag.yaml", &text)?;
        let answer = room.json(&["box", "id", &file, "hillside-bag-1"])?;
        let expected = json!({"box": "Bag", "id": "hillside-bag-1", "written": true, "carried_over": false});
        assert_eq!(answer, expected);
        let ending = if text.contains("\r\n") { "\r\n" } else { "\n" };
        let lid = format!("# as on its lid{ending}");
        assert_eq!(fs::read_to_string(&file)?, text.replacen(&lid, &format!("{lid}id: hillside-bag-1{ending}"), 1));
        assert!(!room.file("logbook.db").exists(), "no logbook is made for it");
        let again = room.say(&["box", "id", &file])?;
        assert_eq!((again.code, again.out.as_str()), (Some(1), ""));
        assert!(again.err.contains("this box has the id hillside-bag-1 already"), "{}", again.err);
    }
    Ok(())
}

#[test]
fn an_id_is_made_from_the_name_and_no_two_are_alike() -> Tested {
    let room = Room::new()?;
    let mut ids = Vec::new();
    for nth in 0..2 {
        let file = room.write(&format!("{nth}.yaml"), &nameless("Été à l'école N° 2"))?;
        let answer = room.json(&["box", "id", &file])?;
        ids.push(answer["id"].as_str().ok_or("no id")?.to_owned());
        assert_eq!(room.json(&["box", "check", &file])?["box"], "Été à l'école N° 2");
    }
    assert!(
        ids.iter().all(|id| id.starts_with("ete-a-l-ecole-n-2-") && id.len() == "ete-a-l-ecole-n-2-".len() + 6),
        "{ids:?}"
    );
    assert_ne!(ids[0], ids[1]);
    Ok(())
}

#[test]
fn a_file_in_which_no_line_can_stand_is_left_as_it_is() -> Tested {
    let room = Room::new()?;
    let text = "{box: Bag, lenses: [{kind: occluder, each: 2}]}\n";
    let file = room.write("bag.yaml", text)?;
    let said = room.say(&["box", "id", &file, "bag-1"])?;
    assert_eq!((said.code, said.out.as_str()), (Some(1), ""));
    assert!(said.err.contains("write `id: bag-1` into it"), "{}", said.err);
    assert_eq!(fs::read_to_string(&file)?, text);
    let wrong = room.say(&["box", "id", &room.write("bag.yaml", &nameless("Bag"))?, "bag 1"])?;
    assert!(wrong.err.contains("`bag 1` cannot be an id"), "{}", wrong.err);
    assert_eq!(fs::read_to_string(room.file("bag.yaml"))?, nameless("Bag"));
    Ok(())
}

#[test]
fn what_is_known_by_name_goes_over_to_the_id_once_that_is_asked_for() -> Tested {
    let room = Room::new()?;
    let file = room.write("bag.yaml", &nameless("Bag"))?;
    let changed = room.say(&["box", "change", "--box", &file, "lost", "-3.00 sphere"])?;
    assert_eq!(changed.code, Some(0), "{}", changed.err);
    assert_eq!(lost(&room, &file, "-3.00 sphere")?, 1);
    // the file gains an id by hand: it could be another box of that name
    let gained = with_id(&nameless("Bag"), "bag-1");
    room.write("bag.yaml", &gained)?;
    for arguments in [
        vec!["box", "list", "--box", &file],
        vec!["box", "change", "--box", &file, "found", "-3.00 sphere"],
        vec!["stack", "--box", &file, "--right", "-3.00"],
        vec!["--box", &file, "--print"],
    ] {
        let logbook = room.file("logbook.db");
        let said = room.say(&[&arguments[..], &["--logbook", logbook.to_str().ok_or("odd path")?]].concat())?;
        assert_eq!((said.code, said.out.as_str()), (Some(1), ""), "{arguments:?}");
        assert!(
            said.err.contains("the logbook knows a box by the name Bag") && said.err.contains("box id"),
            "{}",
            said.err
        );
    }
    let answer = room.json(&["box", "id", &file])?;
    assert_eq!(answer, json!({"box": "Bag", "id": "bag-1", "written": false, "carried_over": true}));
    assert_eq!(fs::read_to_string(&file)?, gained);
    assert_eq!(lost(&room, &file, "-3.00 sphere")?, 1);
    // from now on the name is free to change
    room.write("bag.yaml", &gained.replace("box: Bag", "box: Red bag"))?;
    assert_eq!(lost(&room, &file, "-3.00 sphere")?, 1);
    Ok(())
}

#[test]
fn a_box_of_the_same_name_can_have_a_record_of_its_own() -> Tested {
    let room = Room::new()?;
    let first = room.write("first.yaml", &nameless("Bag"))?;
    assert_eq!(room.say(&["box", "change", "--box", &first, "lost", "-3.00 sphere"])?.code, Some(0));
    let second = room.write("second.yaml", &nameless("Bag"))?;
    let answer = room.json(&["box", "id", &second, "bag-2", "--apart"])?;
    assert_eq!(answer["carried_over"], json!(false));
    assert_eq!(lost(&room, &second, "-3.00 sphere")?, 0);
    assert_eq!(lost(&room, &first, "-3.00 sphere")?, 1);
    Ok(())
}

#[test]
fn an_id_that_stands_for_another_box_is_not_given_again() -> Tested {
    let room = Room::new()?;
    let first = room.write("first.yaml", &with_id(&nameless("Bag"), "bag-1"))?;
    assert_eq!(room.json(&["box", "change", "--box", &first, "lost", "-3.00 sphere"])?["change"], "lost");
    let second = room.write("second.yaml", &nameless("Case"))?;
    let said = room.say(&["box", "id", &second, "bag-1"])?;
    assert_eq!(said.code, Some(1));
    assert!(said.err.contains("the logbook knows another box by the id bag-1"), "{}", said.err);
    assert_eq!(fs::read_to_string(&second)?, nameless("Case"));
    Ok(())
}

#[test]
fn two_files_with_one_id_are_reported() -> Tested {
    let room = Room::new()?;
    let text = with_id(&nameless("Bag"), "bag-1");
    let first = room.write("first.yaml", &text)?;
    let second = room.write("second.yaml", &text.replace("box: Bag", "box: Copied bag"))?;
    room.json(&["box", "change", "--box", &first, "lost", "-3.00 sphere"])?;
    let said = room.say(&["box", "change", "--box", &second, "lost", "-2.00 sphere"])?;
    assert_eq!(said.code, Some(0));
    assert!(said.err.contains("first.yaml has the id bag-1 too"), "{}", said.err);
    // once the first has another id, nothing is left to report
    fs::write(&first, text.replace("bag-1", "bag-2"))?;
    let said = room.say(&["box", "change", "--box", &second, "found", "-2.00 sphere"])?;
    assert_eq!((said.code, said.err.as_str()), (Some(0), ""));
    Ok(())
}

#[test]
fn one_name_in_two_unicode_forms_is_one_box() -> Tested {
    let room = Room::new()?;
    let composed = room.write("composed.yaml", &nameless("Bo\u{ee}te d'\u{c9}t\u{e9}"))?;
    let decomposed = room.write("decomposed.yaml", &nameless("Boi\u{302}te d'E\u{301}te\u{301}"))?;
    assert_eq!(room.say(&["box", "change", "--box", &composed, "lost", "-3.00 sphere"])?.code, Some(0));
    assert_eq!(lost(&room, &decomposed, "-3.00 sphere")?, 1);
    Ok(())
}

#[test]
fn a_box_without_an_id_is_said_to_have_none_where_a_logbook_is_used() -> Tested {
    let room = Room::new()?;
    let file = room.write("bag.yaml", &nameless("Bag"))?;
    let note = format!("note: {file}: this box has no `id:`");
    let without = room.say(&["box", "list", "--box", &file])?;
    assert_eq!((without.code, without.err.as_str()), (Some(0), ""), "there is no logbook yet");
    let logbook = room.file("logbook.db");
    let logbook = logbook.to_str().ok_or("odd path")?;
    let demo = room.say(&["--print", "--logbook", logbook])?;
    assert_eq!((demo.code, demo.err.as_str()), (Some(0), ""), "nothing was named");
    let started = room.say(&["--box", &file, "--print", "--logbook", logbook])?;
    assert!(started.err.starts_with(&note) && !started.out.contains("no `id:`"), "{}", started.err);
    let listed = room.say(&["box", "list", "--box", &file, "--json"])?;
    assert!(listed.err.starts_with(&note), "{}", listed.err);
    let with = room.write("with.yaml", &with_id(&nameless("Case"), "case-1"))?;
    assert_eq!(room.say(&["box", "list", "--box", &with])?.err, "");
    Ok(())
}

#[test]
fn two_programs_cannot_have_one_box_under_two_names() -> Tested {
    let room = Room::new()?;
    let file = room.write("bag.yaml", &with_id(&nameless("Red bag"), "bag-1"))?;
    let mut logbook = Logbook::open(&room.file("logbook.db"))?;
    let claim = logbook.claim_box(&NamedBox::new(Some("bag-1"), "Bag"), jiff::Timestamp::UNIX_EPOCH)?;
    let path = room.file("logbook.db");
    let start = ["--box", &file, "--print", "--logbook", path.to_str().ok_or("odd path")?];
    let said = room.say(&start)?;
    assert_eq!((said.code, said.out.as_str()), (Some(1), ""));
    assert!(said.err.contains("the box Red bag is open elsewhere: another Dioptray"), "{}", said.err);
    drop(claim);
    assert_eq!(room.say(&start)?.code, Some(0));
    Ok(())
}
