//! `practice cases`, `practice check` and `practice lead`.

use serde_json::{Value, json};

use super::room::{Room, Tested, assert_power};

const CASE: &str = "case: Mine
age: 30
right: {needs: -2.00}
left: {needs: -1.50/-0.50x90, best: 6/12}
";

#[test]
fn the_cases_are_listed_by_name_with_age_and_what_they_teach() -> Tested {
    let room = Room::new()?;
    let listed = room.json(&["practice", "cases"])?;
    let cases = listed["cases"].as_array().ok_or("no cases")?;
    assert!(cases.len() >= 15);
    let case = cases.iter().find(|case| case["name"] == "latent-hyperope").ok_or("no latent hyperope")?;
    assert_eq!(case["age"], 14);
    let note = case["note"].as_str().ok_or("no note")?;
    let said = room.say(&["practice", "cases"])?;
    assert_eq!((said.code, said.err.as_str(), said.out.lines().count()), (Some(0), "", cases.len()));
    let line = said.out.lines().find(|line| line.starts_with("latent-hyperope ")).ok_or("not listed")?;
    assert!(line.ends_with(note) && line.contains(" 14 "), "{line}");
    Ok(())
}

#[test]
fn a_case_is_checked_with_every_fault_at_its_place() -> Tested {
    let room = Room::new()?;
    let mine = room.write("mine.yaml", CASE)?;
    let checked = room.json(&["practice", "check", &mine])?;
    assert_eq!((&checked["case"], &checked["age"]), (&json!("Mine"), &json!(30)));
    assert_power(&checked["needs"]["right"], -2.0, 0.0, 180.0);
    assert_power(&checked["needs"]["left"], -1.5, -0.5, 90.0);
    let said = room.say(&["practice", "check", &mine])?;
    assert_eq!(said.out, format!("OK: {mine}: Mine, 30 years, right -2.00, left -1.50/-0.50x90\n"));

    let bad = room.write("bad.yaml", &CASE.replace("30", "0").replace("best", "worst"))?;
    for command in ["check", "lead"] {
        let said = room.say(&["practice", command, &bad])?;
        assert_eq!((said.code, said.out.as_str()), (Some(1), ""));
        let places: Vec<&str> = said.err.lines().collect();
        assert_eq!(places.len(), 2, "{}", said.err);
        assert!(places[0].starts_with(&format!("{bad}:2:6: ")) && places[1].starts_with(&format!("{bad}:4:31: ")));
    }
    Ok(())
}

#[test]
fn a_case_is_led_and_what_is_written_stands_beside_what_is_needed() -> Tested {
    let room = Room::new()?;
    let mine = room.write("mine.yaml", CASE)?;
    let led = room.json(&["practice", "lead", &mine, "--seed", "3"])?;
    assert_eq!(
        (&led["case"], &led["age"], &led["seed"], &led["note"]),
        (&json!("Mine"), &json!(30), &json!(3), &Value::Null)
    );
    assert_eq!((&led["box"], &led["frame"]), (&json!("Full set"), &json!("Four-cell adjustable")));
    assert_eq!(led["finished"], true);
    let questions = led["questions"].as_array().ok_or("no questions")?;
    assert_eq!(questions[0]["answer"], "history and frame");
    for eye in ["right", "left"] {
        assert!(questions.iter().any(|question| question["procedure"] == "final sphere" && question["eye"] == eye));
        let of_eye = &led[eye];
        let m_off = of_eye["m_off"].as_f64().ok_or("nothing is written")?;
        let difference = of_eye["written"]["m"].as_f64().zip(of_eye["needs"]["m"].as_f64()).map(|(w, n)| w - n);
        assert!(difference.is_some_and(|difference| (difference - m_off).abs() < 1e-9), "{of_eye}");
    }
    assert_power(&led["left"]["needs"], -1.5, -0.5, 90.0);
    assert!(questions.iter().all(|question| question["asked"] != ""), "every question is said, or what is done");

    let said = room.say(&["practice", "lead", &mine, "--seed", "3"])?;
    assert_eq!((said.code, said.err.as_str()), (Some(0), ""));
    assert!(
        said.out.contains("right eye: needs -2.00, written ") && said.out.contains(", 6/12 at best\n"),
        "{}",
        said.out
    );
    assert!(!said.out.contains("not closed"), "a practice exam is never closed: {}", said.out);
    let looks = format!("{} looks, {} lenses moved\n", led["looks"], led["lenses_moved"]);
    assert!(said.out.contains(&looks), "{}", said.out);
    // the same seed, the same exam
    assert_eq!(room.json(&["practice", "lead", &mine, "--seed", "3"])?, led);
    assert_ne!(room.json(&["practice", "lead", &mine, "--seed", "4"])?["questions"], led["questions"]);
    assert!(!room.file("logbook.db").exists(), "practice made a logbook");
    Ok(())
}

#[test]
fn retinoscopy_is_from_where_it_is_said_or_where_the_case_says() -> Tested {
    let room = Room::new()?;
    let mine = room.write("mine.yaml", &format!("{CASE}working_m: 0.5\n"))?;
    let lenses_missing = |arguments: &[&str]| -> Result<Vec<String>, Box<dyn std::error::Error>> {
        let led = room.json(&[&["practice", "lead", &mine], arguments].concat())?;
        let questions = led["questions"].as_array().ok_or("no questions")?.clone();
        let retinoscopy = questions.into_iter().filter(|question| question["procedure"] == "retinoscopy");
        Ok(retinoscopy.map(|question| question.to_string()).collect())
    };
    assert!(lenses_missing(&[])?.is_empty());
    let own = lenses_missing(&["--retinoscopy"])?;
    assert!(own.len() > 4);
    assert_eq!(own, lenses_missing(&["--retinoscopy", "0.5"])?);
    assert_ne!(own, lenses_missing(&["--retinoscopy", "1"])?);
    Ok(())
}

#[test]
fn a_case_that_is_not_there_is_refused_with_what_was_perhaps_meant() -> Tested {
    let room = Room::new()?;
    let said = room.say(&["practice", "lead", "simple-myop"])?;
    assert_eq!((said.code, said.out.as_str()), (Some(1), ""));
    assert_eq!(
        said.err.trim(),
        "error: no case is called `simple-myop`, and there is no such file: `dioptray practice cases` lists the cases; \
         did you mean `simple-myope`?"
    );
    let missing = room.file("none.yaml");
    let said = room.say(&["practice", "lead", missing.to_str().ok_or("odd path")?])?;
    assert_eq!(said.err.trim(), format!("{}:1:1: no such file: check the name and the folder", missing.display()));
    let said = room.say(&["practice", "lead", "simple-myope", "--retinoscopy", "3"])?;
    assert_eq!(said.code, Some(1));
    assert!(said.err.contains("working distance 3 m is outside 0.1 to 2 m"), "{}", said.err);
    Ok(())
}
