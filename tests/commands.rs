//! The commands as others call them: exit codes, what stands where, and the fields of the JSON.

use std::error::Error;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use approx::assert_relative_eq;
use serde_json::{Value, json};
use tempfile::TempDir;

type Tested = Result<(), Box<dyn Error>>;

/// A folder of its own, so that no logbook but its own is read or written.
struct Room {
    dir: TempDir,
}

struct Said {
    code: Option<i32>,
    out: String,
    err: String,
}

impl Room {
    fn new() -> Result<Self, Box<dyn Error>> {
        Ok(Self { dir: tempfile::tempdir()? })
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_dioptray"));
        command
            .args(arguments)
            .env("DIOPTRAY_LOGBOOK", self.file("logbook.db"))
            .env_remove("RUST_BACKTRACE")
            .env_remove("COLUMNS");
        command
    }

    fn say(&self, arguments: &[&str]) -> Result<Said, Box<dyn Error>> {
        said(self.command(arguments).stdin(Stdio::null()).output()?)
    }

    fn say_with_input(&self, arguments: &[&str], input: &str) -> Result<Said, Box<dyn Error>> {
        let mut child =
            self.command(arguments).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn()?;
        child.stdin.take().ok_or("no input")?.write_all(input.as_bytes())?;
        said(child.wait_with_output()?)
    }

    /// The JSON of a command that is done.
    fn json(&self, arguments: &[&str]) -> Result<Value, Box<dyn Error>> {
        let said = self.say(&[arguments, &["--json"]].concat())?;
        assert_eq!((said.code, said.err.as_str()), (Some(0), ""), "{arguments:?}");
        Ok(serde_json::from_str(&said.out)?)
    }

    fn file(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    fn write(&self, name: &str, text: &str) -> Result<String, Box<dyn Error>> {
        fs::write(self.file(name), text)?;
        Ok(self.file(name).to_str().ok_or("odd path")?.to_owned())
    }

    fn small_box(&self) -> Result<String, Box<dyn Error>> {
        self.write("box.yaml", SMALL_BOX)
    }
}

fn said(output: Output) -> Result<Said, Box<dyn Error>> {
    Ok(Said {
        code: output.status.code(),
        out: String::from_utf8(output.stdout)?,
        err: String::from_utf8(output.stderr)?,
    })
}

const SMALL_BOX: &str = "box: Invented
lenses:
  - kind: sphere
    powers: [\"-1.00 to -4.00 by 1\"]
    each: 1
  - kind: cylinder
    powers: [\"-0.75\"]
    each: 1
  - kind: occluder
    each: 1
";

const TWO_CELLS: &str = "frame: Two cells
vertex_mm: 12
pd_mm: {least: 48, most: 80}
axis_marks_deg: 5
cells:
  - {name: rear}
  - {name: front, gap_mm: 7.5, turns: true}
";

#[track_caller]
fn assert_power(power: &Value, sphere: f64, cylinder: f64, axis: f64) {
    for (field, expected) in [("sphere", sphere), ("cylinder", cylinder), ("axis", axis)] {
        let found = power[field].as_f64().unwrap_or(f64::NAN);
        assert!((found - expected).abs() < 0.005, "{field} {found} is not {expected} in {power}");
    }
}

#[test]
fn net_follows_the_frame() -> Tested {
    let room = Room::new()?;
    let frame = room.write("frame.yaml", TWO_CELLS)?;
    // calculated from the step-along formula: 2/(1 − 0.0075·2) + 10 and so on
    for (rear, front, sphere) in
        [("+10", "+2", 12.03), ("+2", "+10", 12.81), ("-10", "-2", -11.97), ("-2", "-10", -11.30)]
    {
        let answer = room.json(&["net", "--frame", &frame, rear, front])?;
        assert_power(&answer["net"], sphere, 0.0, 180.0);
        let marked = rear.parse::<f64>()? + front.parse::<f64>()?;
        assert_power(&answer["marked"], marked, 0.0, 180.0);
    }
    let answer = room.json(&["net", "--frame", &frame, "-9.00", "-2.00x180"])?;
    let net = &answer["net"];
    for (field, value) in [("m", &net["m"]), ("j0", &net["j0"]), ("j45", &net["j45"])] {
        assert!(value.is_f64(), "{field} is missing in {net}");
    }
    assert_eq!(answer["prism"], json!({"amount": 0.0, "base": 0.0}));
    Ok(())
}

#[test]
fn lenses_and_options_stand_in_any_order() -> Tested {
    let room = Room::new()?;
    let expected = room.json(&["net", "--eye", "left", "-4.25", ".", "-0.75x180"])?;
    for arguments in [
        &["net", "-4.25", ".", "-0.75x180", "--eye", "left"][..],
        &["net", "-4.25", "--eye", "left", "pl", "-0.75x0"],
        &["net", "--eye=left", "--", "-4.25", ".", "-0.75 x 180"],
        &["net", "\u{2212}4.25", ".", "\u{2212}0.75\u{d7}180", "--eye", "left"],
    ] {
        let said = room.say(&[&["--json"], arguments].concat())?;
        assert_eq!(serde_json::from_str::<Value>(&said.out)?, expected, "{arguments:?}: {}", said.err);
    }
    Ok(())
}

#[test]
fn the_cornea_is_at_the_vertex_distance() -> Tested {
    let room = Room::new()?;
    let answer = room.json(&["net", "--vertex", "12", "-9.00", ".", "-2.00x180"])?;
    let at = |vertex: &str| -> Result<f64, Box<dyn Error>> {
        let answer = room.json(&["net", "--vertex", vertex, "-10.00"])?;
        answer["cornea"]["sphere"].as_f64().ok_or_else(|| "no sphere".into())
    };
    assert!(answer["cornea"]["sphere"].as_f64() > answer["net"]["sphere"].as_f64());
    assert_relative_eq!(at("12")?, -8.93, epsilon = 0.005);
    assert_relative_eq!(at("0")?, -10.0, epsilon = 1e-12);
    Ok(())
}

#[test]
fn bases_follow_the_eye() -> Tested {
    let room = Room::new()?;
    for (eye, lens, base) in [
        ("right", "3BI", 0.0),
        ("left", "3BI", 180.0),
        ("right", "3BO", 180.0),
        ("left", "3BO", 0.0),
        ("left", "3b225", 225.0),
    ] {
        let prism = &room.json(&["net", "--eye", eye, lens])?["prism"];
        assert_relative_eq!(prism["base"].as_f64().ok_or("no base")?, base, epsilon = 1e-9);
        assert_relative_eq!(prism["amount"].as_f64().ok_or("no amount")?, 3.0, epsilon = 1e-9);
    }
    Ok(())
}

#[test]
fn behind_an_occluder_there_is_no_net() -> Tested {
    let room = Room::new()?;
    let answer = room.json(&["net", "-3.00", "occluder"])?;
    assert_eq!((&answer["net"], &answer["cornea"], &answer["occluded"]), (&Value::Null, &Value::Null, &json!(true)));
    assert_power(&answer["marked"], -3.0, 0.0, 180.0);
    assert_eq!(room.json(&["net", "-3.00", "pinhole"])?.get("occluded"), None);
    assert!(room.say(&["net", "-3.00", "occluder"])?.out.contains("net     occluded"));
    Ok(())
}

#[test]
fn convert_transposes_and_moves() -> Tested {
    let room = Room::new()?;
    // eyeandcontacts.com, "Glasses or spectacle power" (2021)
    let answer = room.json(&["convert", "+2.50/-1.50x170", "--plus"])?;
    assert_eq!(answer["nearest_quarter"], "+1.00/+1.50x80");
    assert_power(&answer["power"], 2.50, -1.50, 170.0);
    assert_power(&answer["plus_form"], 1.00, 1.50, 80.0);
    // optominsight.com, "Simple transposition"
    let answer = room.json(&["convert", "+1.00 +1.00 x 90"])?;
    assert_eq!(answer["nearest_quarter"], "+2.00/-1.00x180");
    assert_power(&answer["power"], 2.0, -1.0, 180.0);
    // calculated, F/(1 − dF)
    assert_power(&room.json(&["convert", "-10.00", "--from", "12", "--to", "0"])?["power"], -8.93, 0.0, 180.0);
    assert_power(&room.json(&["convert", "+10.00", "--from", "12"])?["power"], 11.36, 0.0, 180.0);
    // odquestions.com, demo 10
    assert_power(&room.json(&["convert", "+5.00", "--to", "20"])?["power"], 4.55, 0.0, 180.0);
    Ok(())
}

#[test]
fn retinoscopy_takes_the_working_distance_off() -> Tested {
    let room = Room::new()?;
    // question from mrcophth, mock 8, station 5; calculated
    let meridians = ["--meridian", "180:+2.25", "--meridian", "90:+3.00"];
    let answer = room.json(&[&["retinoscopy", "--distance", "0.6666666666666667"], &meridians[..]].concat())?;
    assert_power(&answer["power"], 1.50, -0.75, 90.0);
    Ok(())
}

#[test]
fn no_number_is_minus_zero() -> Tested {
    let room = Room::new()?;
    for arguments in [
        &["net", "-4.25", ".", "-0.75x90"][..],
        &["net", "-0.00", "3BD"],
        &["net", "3BO", "3BI"],
        &["convert", "-0.00/-0.50x90"],
        &["convert", "plano/-0.00x90"],
        &["retinoscopy", "--distance", "1", "--meridian", "90:+1.00", "--meridian", "180:+1.00"],
    ] {
        let text = room.say(&[arguments, &["--json"]].concat())?.out;
        assert!(!text.contains("-0.0,") && !text.contains("-0.0}"), "{text}");
    }
    Ok(())
}

#[test]
fn input_at_fault_is_exit_1_with_nothing_on_standard_output() -> Tested {
    let room = Room::new()?;
    let small_box = room.small_box()?;
    let bad = room.write("bad.yaml", "box: Bad\nlenses:\n  - kind: sfere\n    powers: [\"+1\"]\n    each: 0\n")?;
    let cases: &[(&[&str], &str)] = &[
        (&["net", "-0.75x190"], "error: lens 1: axis 190° is outside 0° to 180°\n  -0.75x190\n        ^^^\n"),
        (
            &["net", "-4", "\u{2212}0.75\u{d7}190"],
            "error: lens 2: axis 190° is outside 0° to 180°\n  \u{2212}0.75\u{d7}190\n        ^^^\n",
        ),
        (&["net", "-inf"], "error: lens 1: expected a lens here"),
        (&["net", "nan"], "error: lens 1: this is no power of a lens\n  nan\n  ^^^\n"),
        (&["net", "+41"], "error: lens 1: power 41 D is outside -40 D to 40 D"),
        (&["net", "ocluder"], "did you mean `occluder`?"),
        (&["net", ".", ".", ".", ".", "-1"], "error: 5 lenses and empty cells for 4 cells: Four-cell adjustable has 4"),
        (&["net", "--vertex", "41", "-1"], "error: vertex distance 41 mm is outside 0 mm to 40 mm\n"),
        (&["net", "--vertex", "-1", "-1"], "error: vertex distance -1 mm is outside 0 mm to 40 mm\n"),
        (&["net", "--frame", "no-such-frame.yaml", "-1"], "no-such-frame.yaml:1:1: "),
        (&["convert", "-4.25/-0.75"], "error: this cylinder has no axis"),
        (&["convert", "-4.25x180"], "error: an axis without a cylinder"),
        (&["convert", "+25.00", "--from", "40"], "error: a lens of this power has its focus exactly there"),
        (&["convert", "-1.00", "--from", "nan"], "error: vertex distance NaN mm is outside"),
        (
            &["retinoscopy", "--distance", "1", "--meridian", "180:+1.00", "--meridian", "80:+1.00"],
            "not at right angles",
        ),
        (
            &["retinoscopy", "--distance", "0", "--meridian", "180:+1.00", "--meridian", "90:+1.00"],
            "error: distance 0 m",
        ),
        (&["retinoscopy", "--distance", "1", "--meridian", "181:+1.00", "--meridian", "91:+1.00"], "`181` is no whole"),
        (&["retinoscopy", "--distance", "1", "--meridian", "+1.00", "--meridian", "90:+1.00"], "a colon and the power"),
        (&["stack", "--box", &small_box, "--right", "-4.25/-0.75"], "error: right eye: this cylinder has no axis"),
        (&["stack", "--box", &small_box, "--left", "x"], "error: left eye: expected a power here"),
        (&["stack", "--box", &small_box, "--right", "-1", "--within", "-1"], "error: miss -1 D is outside"),
        (&["stack", "--box", "no-such-box.yaml", "--right", "-1"], "no-such-box.yaml:1:1: "),
        (&["stack", "--box", &small_box, "--lines", "no-such-lines.txt"], "no-such-lines.txt: cannot be opened"),
        (&["box", "list", "--box", &bad], "bad.yaml:3:"),
        (&["box", "change", "--box", &small_box, "lost", "-9.00 sphere"], "the box Invented has no -9.00 sphere"),
        (
            &["box", "change", "--box", &small_box, "found", "-1.00 sphere"],
            "-1.00 sphere #1 is in the box, so it cannot be found",
        ),
        (
            &["box", "change", "--box", &small_box, "measured", "-1.00 sphere"],
            "behind the lens stands its measured power",
        ),
    ];
    for (arguments, message) in cases {
        for json in [&[][..], &["--json"]] {
            let said = room.say(&[arguments, json].concat())?;
            assert_eq!((said.code, said.out.as_str()), (Some(1), ""), "{arguments:?} said {}", said.err);
            assert!(said.err.contains(message), "{arguments:?} said {}", said.err);
        }
    }
    Ok(())
}

#[test]
fn wrong_usage_is_exit_2_with_nothing_on_standard_output() -> Tested {
    let room = Room::new()?;
    let cases: &[&[&str]] = &[
        &["nett"],
        &["net"],
        &["net", "-4.25", "--jsno"],
        &["net", "--eye", "middle", "-1"],
        &["net", "--vertex", "far", "-1"],
        &["convert"],
        &["convert", "-1", "-2"],
        &["stack", "--right", "-1"],
        &["stack", "--box", "box.yaml"],
        &["stack", "--box", "box.yaml", "--right", "--json"],
        &["stack", "--box", "box.yaml", "--right", "-1", "--lines", "-"],
        &["stack", "--box", "box.yaml", "--right", "-1", "--max-lenses", "0"],
        &["stack", "--box", "box.yaml", "--right", "-1", "--limit", "0"],
        &["retinoscopy", "--distance", "1", "--meridian", "180:+1.00"],
        &["retinoscopy", "--meridian", "180:+1.00", "--meridian", "90:+1.00"],
        &["box", "change", "--box", "box.yaml", "eaten", "-1.00 sphere"],
        &["box", "change", "--box", "box.yaml", "lost", "-1.00 sphere", "--to", "K.M."],
        &["box", "schema", "drawer"],
        &["completions", "tea"],
    ];
    for arguments in cases {
        let said = room.say(arguments)?;
        assert_eq!((said.code, said.out.as_str()), (Some(2), ""), "{arguments:?} said {}", said.err);
        assert!(said.err.starts_with("error: "), "{arguments:?} said {}", said.err);
    }
    Ok(())
}

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
fn a_bad_line_is_told_and_the_others_answered() -> Tested {
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

#[test]
fn a_closed_pipe_is_no_fault() -> Tested {
    let room = Room::new()?;
    let mut child = room.command(&["completions", "zsh"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn()?;
    drop(child.stdout.take());
    let said = said(child.wait_with_output()?)?;
    assert_eq!((said.code, said.err.as_str()), (Some(0), ""));
    Ok(())
}

#[test]
fn schemas_completions_and_manual_pages_are_written() -> Tested {
    let room = Room::new()?;
    for (kind, title) in [("box", "lenses"), ("frame", "cells")] {
        let schema: Value = serde_json::from_str(&room.say(&["box", "schema", kind])?.out)?;
        assert!(schema["properties"].get(title).is_some(), "{schema}");
    }
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let said = room.say(&["completions", shell])?;
        assert_eq!(said.code, Some(0));
        assert!(said.out.contains("retinoscopy"), "{shell}");
    }
    assert!(room.say(&["man"])?.out.contains(".TH dioptray 1"));
    let pages = room.file("man");
    let said = room.say(&["man", "--dir", pages.to_str().ok_or("odd path")?])?;
    assert_eq!(said.code, Some(0), "{}", said.err);
    for name in said.out.lines() {
        assert!(fs::read_to_string(pages.join(name))?.contains(".SH SYNOPSIS"), "{name}");
    }
    assert!(said.out.contains("dioptray-box-change.1"));
    Ok(())
}

#[test]
fn help_says_how_with_an_example_and_the_caution() -> Tested {
    let room = Room::new()?;
    let commands: &[&[&str]] = &[
        &[],
        &["net"],
        &["convert"],
        &["stack"],
        &["retinoscopy"],
        &["box"],
        &["box", "check"],
        &["box", "list"],
        &["box", "change"],
        &["box", "schema"],
        &["completions"],
        &["man"],
    ];
    for command in commands {
        let said = room.say(&[command, &["--help"][..]].concat())?;
        assert_eq!(said.code, Some(0));
        let name = ["help"].iter().chain(*command).copied().collect::<Vec<_>>().join("_");
        assert!(said.out.contains("not a medical device"), "{}", said.out);
        insta::with_settings!({ snapshot_path => "../snapshots", prepend_module_to_snapshot => false, omit_expression => true }, {
            insta::assert_snapshot!(name, said.out);
        });
    }
    Ok(())
}
