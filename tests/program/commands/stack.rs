//! What `stack` proposes, for one eye, for both, and line by line.

use std::io::Write;
use std::process::Stdio;

use serde_json::{Value, json};

use super::room::{Room, TWO_CELLS, Tested, assert_power};

#[test]
fn stack_lists_every_lens_from_cell_1() -> Tested {
    let room = Room::new()?;
    let (small_box, frame) = (room.small_box()?, room.write("frame.yaml", TWO_CELLS)?);
    let stack = ["stack", "--box", &small_box, "--frame", &frame];
    let answer = room.json(&[&stack[..], &["--right", "-3.00/-0.75x30"]].concat())?;
    let best = &answer["right"][0];
    assert_eq!(
        best["cells"],
        json!([{"cell": 1, "lens": "-3.00", "axis": null}, {"cell": 2, "lens": "-0.75", "axis": 30}])
    );
    assert_eq!(best["lenses"], 2);
    assert_power(&best["net"], -3.0, -0.75, 30.0);
    assert!(best["miss"].as_f64().ok_or("no miss")? <= 0.06);
    let left = room.json(&[&stack[..], &["--left", "-3.00", "--limit", "2"]].concat())?;
    assert_eq!(left["left"].as_array().ok_or("no proposals")?.len(), 2);
    assert_eq!(left.get("right"), None);
    Ok(())
}

/// Cylinders of 1.75 and 2.00 D in cells 3 and 4 make 3.59 D at one axis; each off by half of 5°, they leave 3.59 sin 2.5° = 0.157 D
/// (IACLE module 3, lecture 3.3, appendix B); neither alone is worth a word.
#[test]
fn every_proposal_says_how_sure_it_is() -> Tested {
    let room = Room::new()?;
    let stack = ["stack", "--box", "kits/boxes/outreach.yaml"];
    let one = room.json(&[&stack[..], &["--right", "-4.00/-3.50x20"]].concat())?;
    let both = room.json(&[&stack[..], &["--right", "-4.00/-3.50x20", "--left", "-1.00"]].concat())?;
    let lines = room.write("lines.txt", "-4.00/-3.50x20\n")?;
    let line: Value = serde_json::from_str(&room.say(&[&stack[..], &["--lines", &lines]].concat())?.out)?;
    for proposal in [&one["right"][0], &both["pairs"][0]["right"], &line["right"][0]] {
        let sure = &proposal["sure"];
        assert!(sure["axis"].as_f64().is_some_and(|axis| (0.14..0.17).contains(&axis)), "{proposal}");
        assert!(sure["together"].as_f64() >= sure["axis"].as_f64() && sure["marks"].is_null(), "{proposal}");
    }
    assert!(both["pairs"][0]["left"]["sure"]["together"].as_f64().is_some_and(|off| off < 0.01), "{both}");
    let text = room.say(&[&stack[..], &["--right", "-4.00/-3.50x20", "--limit", "1"]].concat())?.out;
    assert!(text.contains("   may be 0.16 D off by hand: axes 0.16, gaps 0.02"), "{text}");
    assert!(!text.contains("with care"), "{text}");
    Ok(())
}

/// A box with plus cylinders only is written in plus, and so is any box where the settings say so.
#[test]
fn proposals_are_written_in_the_form_in_use() -> Tested {
    let room = Room::new()?;
    let lenses = "  - {kind: sphere, powers: [\"±0.25 to ±4.00 by 0.25\"], each: 2}\n\
                  \u{20} - {kind: cylinder, powers: [\"+0.25 to +2.00 by 0.25\"], each: 2}\n";
    let plus = room.write("plus.yaml", &format!("box: Plus\nid: plus-1\nlenses:\n{lenses}"))?;
    let net = |text: &str| text.lines().find(|line| line.contains("net ")).unwrap_or_default().trim().to_owned();
    let of = |file: &str| -> Result<String, Box<dyn std::error::Error>> {
        Ok(net(&room.say(&["stack", "--box", file, "--right", "-2.00/-1.25x90", "--limit", "1"])?.out))
    };
    assert!(of(&plus)?.contains("/+1.2") && of(&plus)?.contains("x180"), "{}", of(&plus)?);
    assert!(of("kits/boxes/outreach.yaml")?.contains("/-1.2"), "{}", of("kits/boxes/outreach.yaml")?);
    std::fs::create_dir_all(room.file("config/dioptray"))?;
    room.write("config/dioptray/settings.yaml", "form: plus\n")?;
    assert!(of("kits/boxes/outreach.yaml")?.contains("/+1.2"), "{}", of("kits/boxes/outreach.yaml")?);
    Ok(())
}

/// Whoever reads the JSON learns whether something could have been missed: at the top of every answer and of each line.
#[test]
fn every_answer_says_what_it_costs_and_whether_it_is_complete() -> Tested {
    let room = Room::new()?;
    let stack = ["stack", "--box", "kits/boxes/outreach.yaml"];
    let one = room.json(&[&stack[..], &["--left", "-4.25/-0.75x180"]].concat())?;
    let both = room.json(&[&stack[..], &["--right", "-4.25/-0.75x180", "--left", "-1.00"]].concat())?;
    let lines = room.write("lines.txt", "-4.25/-0.75x180\n")?;
    let line: Value = serde_json::from_str(&room.say(&[&stack[..], &["--lines", &lines]].concat())?.out)?;
    for answer in [&one, &both, &line] {
        assert_eq!((&answer["complete"], answer.get("bound")), (&json!(true), None), "{answer}");
    }
    let fields = ["cells", "cost", "cost_of", "lenses", "miss", "net", "sure"];
    for proposal in [&one["left"][0], &both["pairs"][0]["right"], &line["right"][0]] {
        let mut has: Vec<&str> = proposal.as_object().ok_or("no proposal")?.keys().map(String::as_str).collect();
        has.sort_unstable();
        assert_eq!(has, fields, "{proposal}");
        let parts: f64 = proposal["cost_of"].as_object().ok_or("no parts")?.values().filter_map(Value::as_f64).sum();
        assert!(proposal["cost"].as_f64().is_some_and(|cost| (cost - parts).abs() < 1e-9), "{proposal}");
    }
    Ok(())
}

/// Whoever lists lenses names the sphere first; the cells of the JSON stay in order of cells.
#[test]
fn spheres_are_named_before_cylinders_and_cells_stay_in_order() -> Tested {
    let room = Room::new()?;
    let frame = "frame: Turning at the rear\nvertex_mm: 12\ncells:\n\
                 \u{20} - {name: rear, turns: true}\n  - {name: front, gap_mm: 3.5}\n";
    let frame = room.write("frame.yaml", frame)?;
    let stack = ["stack", "--box", "kits/boxes/outreach.yaml", "--frame", &frame, "--right", "-1.00/-0.50x90"];
    let text = room.say(&stack)?.out;
    assert!(text.starts_with("1  right eye  -1.00 -0.50x90\n"), "{text}");
    let (sphere, cylinder) = (text.find("cell 2  -1.00"), text.find("cell 1  -0.50x90"));
    assert!(sphere.is_some() && sphere < cylinder, "{text}");
    let best = &room.json(&stack)?["right"][0];
    let cells: Vec<_> = best["cells"].as_array().ok_or("no cells")?.iter().map(|cell| cell["cell"].clone()).collect();
    assert_eq!(cells, [1, 2]);
    Ok(())
}

#[test]
fn a_pair_never_uses_a_lens_twice() -> Tested {
    let room = Room::new()?;
    let (small_box, frame) = (room.small_box()?, room.write("frame.yaml", TWO_CELLS)?);
    let both = ["stack", "--box", &small_box, "--frame", &frame, "--right", "-3.00", "--left", "-3.00", "--json"];
    let said = room.say(&both)?;
    let answer: Value = serde_json::from_str(&said.out)?;
    let best = &answer["pairs"][0];
    let mut lenses: Vec<&str> = [&best["right"], &best["left"]]
        .iter()
        .filter_map(|proposal| proposal["cells"].as_array())
        .flatten()
        .filter_map(|cell| cell["lens"].as_str())
        .collect();
    let used = lenses.len();
    lenses.sort_unstable();
    lenses.dedup();
    assert_eq!((lenses.len(), said.code), (used, Some(0)), "{best}");
    Ok(())
}

#[test]
fn a_wanted_power_that_is_not_reached_is_exit_3() -> Tested {
    let room = Room::new()?;
    let small_box = room.small_box()?;
    for eyes in [&["--right", "+8.00"][..], &["--left", "+8.00"], &["--right", "-1.00", "--left", "+8.00"]] {
        for json in [&[][..], &["--json"]] {
            let said = room.say(&[&["stack", "--box", &small_box], eyes, json].concat())?;
            assert_eq!((said.code, said.err.as_str()), (Some(3), ""), "{eyes:?}");
            assert!(!said.out.is_empty());
        }
    }
    let said = room.say(&["stack", "--box", &small_box, "--right", "+8.00"])?;
    assert!(said.out.contains("no stack reaches +8.00: the nearest misses by"), "{}", said.out);
    assert!(said.out.contains("with +8.00 sphere in the box it would be reached"), "{}", said.out);
    Ok(())
}

#[test]
fn lines_are_answered_in_their_order() -> Tested {
    let room = Room::new()?;
    let small_box = room.small_box()?;
    let wanted: Vec<String> = (0..700).map(|number| format!("-{}.00", number % 4 + 1)).collect();
    let input = wanted.join("\n");
    for end in ["", "\n", "\r\n"] {
        let said = room.say_with_input(&["stack", "--box", &small_box, "--lines", "-"], &(input.clone() + end))?;
        assert_eq!((said.code, said.err.as_str()), (Some(0), ""));
        let answers: Vec<Value> = said.out.lines().map(serde_json::from_str).collect::<Result<_, _>>()?;
        assert_eq!(answers.len(), wanted.len());
        for (answer, rx) in answers.iter().zip(&wanted) {
            assert_eq!(answer["rx"], **rx);
            assert_eq!(answer["right"].as_array().map(Vec::len), Some(1));
            assert_eq!(answer["right"][0]["cells"][0]["lens"], **rx);
        }
    }
    Ok(())
}

#[test]
fn a_line_that_is_too_long_is_not_answered_by_its_beginning() -> Tested {
    let room = Room::new()?;
    let small_box = room.small_box()?;
    let line = |spaces: usize| format!("-1.00{}/-0.75x180", " ".repeat(spaces));
    let longest = line(4096 - "-1.00/-0.75x180".len());
    let input = format!("{longest}\r\n{}\r\n{longest}", line(5000));
    let said = room.say_with_input(&["stack", "--box", &small_box, "--lines", "-"], &input)?;
    assert_eq!((said.code, said.err.as_str()), (Some(1), ""));
    let answers: Vec<Value> = said.out.lines().map(serde_json::from_str).collect::<Result<_, _>>()?;
    let answered: Vec<bool> = answers.iter().map(|answer| answer.get("right").is_some()).collect();
    assert_eq!(answered, [true, false, true]);
    let error = answers[1]["error"].as_str().ok_or("no error")?;
    assert!(error.contains("bytes") && error.contains("up to 4096 bytes"), "{error}");
    Ok(())
}

#[test]
fn a_bad_line_is_reported_and_the_others_answered() -> Tested {
    let room = Room::new()?;
    let small_box = room.small_box()?;
    let long = "9".repeat(10_000);
    let lines = room.write("lines.txt", &format!("-1.00\n-1.00/-0.75\n\n{long}\n-2.00\n"))?;
    let said = room.say(&["stack", "--box", &small_box, "--lines", &lines])?;
    assert_eq!((said.code, said.err.as_str()), (Some(1), ""));
    let answers: Vec<Value> = said.out.lines().map(serde_json::from_str).collect::<Result<_, _>>()?;
    let fields: Vec<(bool, bool)> =
        answers.iter().map(|answer| (answer.get("right").is_some(), answer.get("error").is_some())).collect();
    assert_eq!(fields, [(true, false), (false, true), (false, true), (false, true), (true, false)]);
    assert_eq!(answers[1]["rx"], "-1.00/-0.75");
    assert_eq!(answers[3]["error"], "the line has 10001 bytes, and one is read up to 4096 bytes");
    assert_eq!(answers[4]["rx"], "-2.00");
    let said = room.say_with_input(&["stack", "--box", &small_box, "--lines", "-"], "-1.00\n+8.00\n")?;
    assert_eq!(said.code, Some(3));
    Ok(())
}

/// Whoever answers line by line and waits for each gets it without sending more.
#[test]
fn a_line_is_answered_before_the_next_one_comes() -> Tested {
    use std::io::{BufRead, BufReader};

    let room = Room::new()?;
    let small_box = room.small_box()?;
    let mut child = room
        .command(&["stack", "--box", &small_box, "--lines", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()?;
    let mut input = child.stdin.take().ok_or("no input")?;
    let mut output = BufReader::new(child.stdout.take().ok_or("no output")?);
    for rx in ["-1.00", "-2.00"] {
        writeln!(input, "{rx}")?;
        let mut line = String::new();
        output.read_line(&mut line)?;
        assert_eq!(serde_json::from_str::<Value>(&line)?["rx"], rx);
    }
    drop(input);
    assert_eq!(child.wait()?.code(), Some(0));
    Ok(())
}
