//! The screen as it is started: printed without a terminal, kept in a logbook, going on after an end.

use serde_json::Value;

use super::room::{Room, Said, Tested};

/// Printed with the logbook of the room, or without any.
fn printed(
    room: &Room,
    arguments: &[&str],
    keys: &str,
    with_logbook: bool,
) -> Result<Said, Box<dyn std::error::Error>> {
    let mut command = room.command(&[arguments, &["--keys", keys, "--print"]].concat());
    command.env("XDG_CONFIG_HOME", room.file("config")).env("XDG_DATA_HOME", room.file("data"));
    if !with_logbook {
        command.env_remove("DIOPTRAY_LOGBOOK");
    }
    let said = super::room::said(command.output()?)?;
    assert_eq!((said.code, said.beside().as_str()), (Some(0), ""));
    Ok(said)
}

/// Whether -3.00 stands in the rear cell of an eye.
fn holds_the_lens(said: &Said) -> bool {
    said.out.lines().any(|line| line.contains(")( -3.00"))
}

#[test]
fn a_frame_is_printed_after_the_keys() -> Tested {
    let room = Room::new()?;
    let empty = printed(&room, &[], "", false)?;
    assert_eq!(empty.out.lines().count(), 36);
    let with_lens = printed(&room, &["--size", "80x24"], "-3<enter>", false)?;
    assert_eq!(with_lens.out.lines().count(), 24);
    let has_lens = |said: &Said| said.out.contains("3.00 in right 1");
    assert!(has_lens(&with_lens) && !has_lens(&empty), "{}", with_lens.out);
    assert!(!room.file("data").exists(), "a frame that is only printed was kept");
    Ok(())
}

#[test]
fn a_frame_is_printed_as_json() -> Tested {
    let room = Room::new()?;
    let plain = printed(&room, &[], "-3<enter>", false)?;
    let json: Value = serde_json::from_str(&printed(&room, &["--json"], "-3<enter>", false)?.out)?;
    let lines: Vec<&str> = json["frame"].as_array().ok_or("no frame")?.iter().filter_map(Value::as_str).collect();
    assert_eq!(lines, plain.out.lines().collect::<Vec<_>>());
    Ok(())
}

#[test]
fn what_is_kept_goes_on_at_the_next_start() -> Tested {
    let room = Room::new()?;
    let first = printed(&room, &[], "-3<enter>", true)?;
    let again = printed(&room, &[], "", true)?;
    for said in [&first, &again] {
        assert!(said.out.contains("Exam 1") && holds_the_lens(said), "{}", said.out);
    }
    // what was done can still be taken back
    let undone = printed(&room, &[], "u", true)?;
    assert!(!holds_the_lens(&undone), "{}", undone.out);
    let list: Value = room.json(&["box", "list", "--box", "kits/boxes/outreach.yaml"])?;
    let in_frame: u64 =
        list["lenses"].as_array().ok_or("no lenses")?.iter().filter_map(|lens| lens["in_frame"].as_u64()).sum();
    assert_eq!(in_frame, 0);
    Ok(())
}

#[test]
fn a_lens_before_an_eye_is_listed_as_in_the_frame() -> Tested {
    let room = Room::new()?;
    printed(&room, &["--box", "kits/boxes/outreach.yaml"], "-3<enter>", true)?;
    let list = room.json(&["box", "list", "--box", "kits/boxes/outreach.yaml"])?;
    let lenses = list["lenses"].as_array().ok_or("no lenses")?;
    let placed: Vec<&str> =
        lenses.iter().filter(|lens| lens["in_frame"] == 1).filter_map(|lens| lens["lens"].as_str()).collect();
    assert_eq!(placed, ["-3.00 sphere"]);
    Ok(())
}

#[test]
fn another_exam_begins_when_asked() -> Tested {
    let room = Room::new()?;
    printed(&room, &[], "-3<enter>", true)?;
    let new = printed(&room, &["--new"], "", true)?;
    assert!(new.out.contains("Exam 2") && !holds_the_lens(&new), "{}", new.out);
    // nothing was done in exam 2, so that the next one takes its place; exam 1 was put aside
    let next = printed(&room, &[], "", true)?;
    assert!(next.out.contains("Exam 3") && !next.out.contains("goes on"), "{}", next.out);
    Ok(())
}

#[test]
fn the_box_and_frame_used_last_are_used_again() -> Tested {
    let room = Room::new()?;
    let files = ["--box", "kits/boxes/spheres.yaml", "--frame", "kits/frames/half-eye.yaml"];
    let named = printed(&room, &files, "", true)?;
    let again = printed(&room, &[], "", true)?;
    let top = |said: &Said| said.out.lines().next().map(|line| line.replace("Exam 1", "").replace("Exam 2", ""));
    assert_eq!(top(&named), top(&again));
    assert_ne!(top(&named), top(&printed(&room, &["--box", "kits/boxes/outreach.yaml"], "", true)?));
    Ok(())
}

#[test]
fn a_start_that_cannot_be_is_refused() -> Tested {
    let room = Room::new()?;
    let cases: &[(&[&str], i32, &str)] = &[
        (&["--keys", "<nokey>", "--print"], 1, "error: "),
        (&["--keys", "x"], 2, "--print"),
        (&["--print", "--size", "120"], 2, "is not a size"),
        (&["--print", "net", "-1"], 2, "options of the screen stand without a command"),
        (&["--box", "no-such-box.yaml", "--print"], 1, "no-such-box.yaml:1:1: "),
        (&[], 1, "terminal"),
    ];
    for (arguments, code, message) in cases {
        let said = room.say(arguments)?;
        assert_eq!((said.code, said.out.as_str()), (Some(*code), ""), "{arguments:?} said {}", said.err);
        assert!(said.err.contains(message), "{arguments:?} said {}", said.err);
    }
    Ok(())
}

/// 201 spheres from -20 to +20 D, as many cylinders and prisms, 99 of each: once this took 26 s and 1.1 GB to start, and
/// 129 MB of the logbook for each exam.
#[test]
fn a_box_at_the_limits_starts_and_its_exams_are_small() -> Tested {
    let room = Room::new()?;
    let lenses = "  - {kind: sphere, powers: [plano, \"±0.20 to ±20.00 by 0.20\"], each: 99}\n\
                  \u{20} - {kind: cylinder, powers: [\"±0.20 to ±20.00 by 0.20\"], each: 99}\n\
                  \u{20} - {kind: prism, powers: [\"0.20 to 40.00 by 0.20\"], each: 99}\n";
    let big = room.write("big.yaml", &format!("box: Big\nid: big-1\nlenses:\n{lenses}"))?;
    let size = || Ok::<u64, std::io::Error>(std::fs::metadata(room.file("logbook.db"))?.len());
    let started = printed(&room, &["--box", &big], "-4<enter>w-4.20/-1.20x30<enter>", true)?;
    assert!(started.out.contains("-4.20") && started.out.contains("99•"), "{}", started.out);
    let first = size()?;
    for _ in 0..4 {
        printed(&room, &["--box", &big, "--new"], "-4<enter>", true)?;
    }
    let exams: Value = serde_json::from_str(&room.say(&["exam", "list", "--json"])?.out)?;
    assert_eq!(exams["exams"].as_array().map(Vec::len), Some(5), "{exams}");
    let each = (size()? - first) / 4;
    assert!(first < 1_000_000 && each < 40_000, "{first} bytes, and {each} more for each exam");
    Ok(())
}
