//! `box pairs` and `box unknown`.

use serde_json::{Value, json};

use super::room::{Room, Tested};

const OUTREACH: &str = "kits/boxes/outreach.yaml";

#[test]
fn looks_are_kept_with_the_box_and_name_a_lens() -> Tested {
    let room = Room::new()?;
    let pairs = |words: &[&str]| room.json(&[&["box", "pairs", "--box", OUTREACH], words].concat());
    let before = pairs(&[])?;
    assert_eq!((&before["looks"], &before["suspects"]), (&json!(0), &json!([])));
    assert!(!room.file("logbook.db").exists(), "looking made a logbook");
    let next = before["next"].as_array().ok_or("nothing to hold")?;
    assert!(next.len() >= 2, "{next:?}");
    for _ in 0..3 {
        for plus in ["+2.00 sphere #1", "+2.00 sphere #2"] {
            pairs(&["with", plus, "-2.00 sphere #1"])?;
            pairs(&["still", plus, "-2.00 sphere #2"])?;
        }
    }
    let after = pairs(&[])?;
    assert_eq!(after["looks"], json!(12));
    let suspect = &after["suspects"][0];
    assert_eq!((&suspect["piece"], &suspect["named"]), (&json!("-2.00 sphere #1"), &json!(true)));
    assert!(suspect["off"].as_f64().is_some_and(|off| off < 0.0), "{suspect}");
    // a look that is taken back does not count
    room.json(&["box", "undo", "--box", OUTREACH])?;
    assert_eq!(pairs(&[])?["looks"], json!(11));
    Ok(())
}

#[test]
fn what_cannot_be_held_together_is_refused() -> Tested {
    let room = Room::new()?;
    for (words, why) in [
        (&["with", "+2.00 sphere #1"][..], "two lenses are held together: name both, with their numbers"),
        (&["with", "+2.00 sphere #1", "+2.00 sphere #1"][..], "+2.00 sphere #1 is named twice"),
        (
            &["with", "2 prism #1", "+2.00 sphere #1"][..],
            "2 prism #1: only spheres and cylinders neutralise each other",
        ),
        (&["with", "+2.00 sphere #1", "-2.12 sphere #1"][..], "-2.12 sphere #1 is not a piece of this box"),
    ] {
        let said = room.say(&[&["box", "pairs", "--box", OUTREACH], words].concat())?;
        assert_eq!((said.code, said.out.as_str()), (Some(1), ""), "{words:?}: {}", said.err);
        assert!(said.err.contains(why), "{words:?}: {}", said.err);
    }
    Ok(())
}

#[test]
fn an_unknown_lens_is_asked_after_until_it_is_found() -> Tested {
    let room = Room::new()?;
    let unknown = |words: &[&str]| room.json(&[&["box", "unknown", "--box", OUTREACH], words].concat());
    assert_eq!(unknown(&[])?["ask"], json!("turn"));
    // a hand without noise and a lens of +3.25: what is asked next follows from what was seen
    let mut seen = vec!["moves".to_owned()];
    let found = loop {
        let words: Vec<&str> = seen.iter().map(String::as_str).collect();
        let asked = unknown(&words)?;
        if asked["ask"] == Value::Null {
            break asked["found"].clone();
        }
        let held: f64 = asked["hold"].as_array().ok_or("nothing to hold")?.iter().filter_map(power).sum();
        let left = 3.25 + held;
        let word = if left < -1e-9 {
            "with"
        } else if left > 1e-9 {
            "against"
        } else {
            "still"
        };
        seen.push(word.to_owned());
        assert!(seen.len() < 14, "{seen:?}");
    };
    assert_eq!((&found["nature"], &found["nearest"]), (&json!("sphere"), &json!("+3.25 sphere")));
    assert_eq!(found["waiting"], json!(["+3.25 sphere #2"]));
    let said = room.say(&["box", "unknown", "--box", OUTREACH, "moves", "wit"])?;
    assert_eq!(said.code, Some(1));
    assert!(said.err.contains("`wit` (word 2): the line moves with, against or still"), "{}", said.err);
    Ok(())
}

fn power(held: &Value) -> Option<f64> {
    held.as_str()?.split(' ').next()?.parse().ok()
}
