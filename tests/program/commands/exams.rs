//! The exams of a logbook as commands.

use std::error::Error;
use std::fs;

use dioptray::export::fhir::check::check;
use serde_json::Value;

use super::room::{Room, Said, Tested};

/// Takes the keys of an exam into the logbook of the room.
fn exam(room: &Room, more: &[&str], keys: &str) -> Tested {
    let arguments = ["--box", "kits/boxes/outreach.yaml", "--print", "--keys", keys];
    let said = say(room, &[&arguments, more].concat())?;
    assert_eq!((said.code, said.beside().as_str()), (Some(0), ""), "{}", said.out);
    assert!(!said.out.lines().any(|line| line.contains("! ")), "{}", said.out);
    Ok(())
}

/// As [`Room::say`], with no settings but those of the room, in Nairobi's time.
fn say(room: &Room, arguments: &[&str]) -> Result<Said, Box<dyn Error>> {
    let mut command = room.command(arguments);
    command.env("XDG_CONFIG_HOME", room.file("config")).env("XDG_DATA_HOME", room.file("data"));
    super::room::said(command.env("TZ", "Africa/Nairobi").output()?)
}

/// One closed exam with both eyes and an acuity, and one that is still open.
fn room_with_two_exams() -> Result<Room, Box<dyn Error>> {
    let room = Room::new()?;
    let acuity = "i<pagedown><pagedown><up><enter>6/6-2<enter>";
    exam(&room, &[], &format!("-4<enter>-0.75x30<enter>a<tab>-2.50<enter>ai<enter>K.M.<enter><esc><tab>{acuity}Cy"))?;
    exam(&room, &["--new"], "-1<enter>i<enter>Z.<enter>")?;
    Ok(room)
}

#[test]
fn the_list_has_the_fields_that_others_rely_on() -> Tested {
    let room = room_with_two_exams()?;
    let said = say(&room, &["exam", "list", "--json"])?;
    let list: Value = serde_json::from_str(&said.out)?;
    let exams = list["exams"].as_array().ok_or("no exams")?;
    let fields = |exam: &Value| exam.as_object().map(|fields| fields.keys().cloned().collect::<Vec<_>>());
    for exam in exams {
        assert_eq!(
            fields(exam),
            Some(["box", "by", "closed", "label", "number", "opened", "outcome"].map(str::to_owned).into())
        );
        assert_eq!(exam["box"], "Hillside outreach");
        assert!(exam["opened"].as_str().is_some_and(|at| at.ends_with("+03:00")), "{exam} is not in local time");
    }
    let of = |name: &str| exams.iter().map(|exam| exam[name].clone()).collect::<Vec<_>>();
    assert_eq!(of("number"), [2, 1]);
    assert_eq!(of("label"), ["Z.", "K.M."]);
    assert!(exams[0]["closed"].is_null() && exams[1]["closed"].is_string(), "{list}");
    let text = say(&room, &["exam", "list"])?.out;
    let words: Vec<Vec<&str>> = text.lines().map(|line| line.split_whitespace().collect()).collect();
    assert_eq!(words[2][3..], ["K.M.", "−4.00/−0.75×30", "−2.50", "–", "closed", "–", "Hillside", "outreach"]);
    Ok(())
}

#[test]
fn show_and_export_tell_the_same_record() -> Tested {
    let room = room_with_two_exams()?;
    let shown: Value = serde_json::from_str(&say(&room, &["exam", "show", "1", "--json"])?.out)?;
    let exported: Value = serde_json::from_str(&say(&room, &["exam", "export", "1", "--as", "json"])?.out)?;
    assert_eq!(shown, exported);
    assert_eq!(shown["right"]["written"], serde_json::json!({ "sphere": -4.0, "cylinder": -0.75, "axis": 30.0 }));
    assert_eq!(shown["left"]["written"]["sphere"], -2.5);
    assert_eq!((&shown["exam"], &shown["draft"], &shown["label"]), (&1.into(), &false.into(), &"K.M.".into()));
    let card = say(&room, &["exam", "export", "1", "--as", "card"])?.out;
    assert!(say(&room, &["exam", "show", "1"])?.out.starts_with(&card));
    assert!(card.contains("6/6−2 (logMAR 0.04)") && card.contains("RIGHT EYE                   −4.00"), "{card}");
    let plus = say(&room, &["exam", "export", "1", "--as", "card", "--plus"])?.out;
    assert!(plus.contains("RIGHT EYE                   −4.75       +0.75         120"), "{plus}");
    assert!(say(&room, &["exam", "show", "2"])?.out.contains("DRAFT"));
    let table = say(&room, &["exam", "export", "1", "--as", "csv"])?.out;
    assert_eq!(table.lines().count(), 3);
    let wrapped: Value = serde_json::from_str(&say(&room, &["exam", "export", "1", "--as", "csv", "--json"])?.out)?;
    assert_eq!(wrapped, serde_json::json!({ "exam": 1, "as": "csv", "text": table }));
    Ok(())
}

#[test]
fn records_are_written_as_the_settings_say() -> Tested {
    let room = room_with_two_exams()?;
    fs::create_dir_all(room.file("config/dioptray"))?;
    room.write("config/dioptray/settings.yaml", "acuity: 20ft\nform: plus\nexaminer: N. Examiner\n")?;
    let card = say(&room, &["exam", "show", "1"])?.out;
    for words in ["20/20−2 (logMAR 0.04)", "Examiner N. Examiner", "−4.75       +0.75         120"] {
        assert!(card.contains(words), "{words} is not in {card}");
    }
    // the table has numbers, whatever the notation: 20/20 less two letters is logMAR 0.04
    assert!(say(&room, &["exam", "export", "1", "--as", "csv"])?.out.contains(",6,6,-2,0.04,"));
    room.write("config/dioptray/settings.yaml", "acuity: 20feet\n")?;
    let said = say(&room, &["exam", "show", "1"])?;
    assert_eq!((said.code, said.out.as_str()), (Some(1), ""));
    assert!(said.err.contains("settings.yaml:1:9: `acuity` cannot be `20feet`"), "{}", said.err);
    Ok(())
}

/// Records of a box with plus cylinders only are in plus, whatever the settings say.
#[test]
fn records_of_a_box_of_plus_cylinders_are_in_plus() -> Tested {
    let room = Room::new()?;
    let lenses = "  - {kind: sphere, powers: [\"±0.25 to ±4.00 by 0.25\"], each: 2}\n\
                  \u{20} - {kind: cylinder, powers: [\"+0.25 to +2.00 by 0.25\"], each: 2}\n";
    let file = room.write("plus.yaml", &format!("box: Plus\nid: plus-1\nlenses:\n{lenses}"))?;
    let keys = "-3<enter><right><right>+1x30<enter>a";
    let said = say(&room, &["--box", &file, "--print", "--size", "80x24", "--keys", keys])?;
    assert!(said.out.contains("accepted for the right eye: -3.00/+1.01x30"), "{}", said.out);
    let card = say(&room, &["exam", "show", "1"])?.out;
    assert!(card.contains("−3.00       +1.00         030") && !card.contains("−1.00"), "{card}");
    Ok(())
}

/// Half an eighth between two quarters, and no cylinder was found: none is written (NFOS module 9a: a zero cylinder is left off).
#[test]
fn a_sphere_between_two_quarters_is_written_without_a_cylinder() -> Tested {
    let room = Room::new()?;
    let keys = "-2<enter><right>-0.12<enter>a";
    let accepted = say(&room, &["--box", "kits/boxes/reduced-aperture.yaml", "--print", "--keys", keys])?;
    assert!(accepted.out.contains("accepted for the right eye: -2.12"), "{}", accepted.out);
    let card = say(&room, &["exam", "show", "1"])?.out;
    let row = card.lines().find(|line| line.starts_with("RIGHT EYE")).unwrap_or_default();
    assert!(row.contains("−2.00") && !row.contains("0.25"), "{card}");
    Ok(())
}

#[test]
fn bundles_of_a_real_logbook_pass_our_checks() -> Tested {
    let room = room_with_two_exams()?;
    for (form, version) in [("fhir", "5.0.0"), ("fhir-r4b", "4.3.0")] {
        for number in ["1", "2"] {
            let bundle: Value = serde_json::from_str(&say(&room, &["exam", "export", number, "--as", form])?.out)?;
            assert_eq!(check(&bundle), []);
            assert!(bundle["meta"]["profile"][0].as_str().is_some_and(|profile| profile.ends_with(version)));
        }
        let bundle: Value = serde_json::from_str(&say(&room, &["exam", "export", "1", "--as", form])?.out)?;
        let lenses = &bundle["entry"][1]["resource"]["lensSpecification"];
        assert_eq!((&lenses[0]["eye"], &lenses[0]["axis"]), (&"right".into(), &30.into()));
        assert_eq!((&lenses[1]["eye"], &lenses[1]["sphere"]), (&"left".into(), &(-2.5).into()));
    }
    Ok(())
}

#[test]
fn files_are_written_whole_and_never_over_another() -> Tested {
    let room = room_with_two_exams()?;
    fs::create_dir(room.file("out"))?;
    let file = room.file("out/card.txt");
    let file = file.to_str().ok_or("odd path")?;
    let export = ["exam", "export", "1", "--as", "card", "--out", file];
    let said = say(&room, &export)?;
    assert_eq!((said.code, said.out), (Some(0), format!("exam 1 as card: {file}\n")));
    let card = say(&room, &["exam", "export", "1", "--as", "card"])?.out;
    assert_eq!(fs::read_to_string(file)?, card);
    fs::write(file, "something else")?;
    let said = say(&room, &export)?;
    assert_eq!((said.code, said.out.as_str()), (Some(1), ""));
    assert_eq!(said.err, format!("error: {file}: there is such a file already: --force replaces it\n"));
    assert_eq!(fs::read_to_string(file)?, "something else");
    let said = say(&room, &[&export[..], &["--force", "--json"]].concat())?;
    assert_eq!(serde_json::from_str::<Value>(&said.out)?, serde_json::json!({ "exam": 1, "as": "card", "file": file }));
    assert_eq!(fs::read_to_string(file)?, card);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        assert_eq!(fs::metadata(file)?.permissions().mode() & 0o777, 0o600, "others can read a record");
    }
    assert_eq!(fs::read_dir(room.file("out"))?.count(), 1, "something was left beside the file");
    Ok(())
}

#[test]
fn what_cannot_be_exported_is_refused() -> Tested {
    let room = room_with_two_exams()?;
    let folder = room.file("no-such-folder").to_str().ok_or("odd path")?.to_owned();
    let in_no_folder = format!("{folder}/card.txt");
    let under_a_file = format!("{}/card.txt", room.write("plain", "")?);
    let logbook = room.file("logbook.db");
    let logbook = logbook.to_str().ok_or("odd path")?;
    let cases: &[(&[&str], String)] = &[
        (&["exam", "show", "9"], format!("error: {logbook}: there is no exam 9: it has exams 1 to 2\n")),
        (
            &["exam", "export", "0", "--as", "card"],
            format!("error: {logbook}: there is no exam 0: it has exams 1 to 2\n"),
        ),
        (
            &["exam", "export", "1", "--as", "card", "--out", &in_no_folder],
            format!("error: {in_no_folder}: there is no folder {folder}: make it first\n"),
        ),
        (
            &["exam", "export", "1", "--as", "card", "--out", &under_a_file],
            "is not a folder: nothing was written\n".to_owned(),
        ),
        (
            &["exam", "export", "1", "--as", "card", "--force", "--out", "/dev/null"],
            "/dev/null: this is not a file".to_owned(),
        ),
        (
            &["exam", "export", "1", "--as", "pdf", "--json"],
            "error: pdf is neither for a terminal nor for JSON".to_owned(),
        ),
        (
            &["exam", "export", "1", "--as", "card", "--out", ""],
            "error: no file is named: nothing was written".to_owned(),
        ),
        (&["exam", "export", "1", "--as", "dicom", "--json"], "name a file with --out FILE".to_owned()),
        (&["exam", "export", "2", "--as", "dicom"], "error: exam 2 cannot be written as DICOM: no power".to_owned()),
        (&["exam", "start", "--from", "Cargo.toml", "--print"], "Cargo.toml: the file: is neither FHIR".to_owned()),
        (&["exam", "start", "--from", "no-such.json", "--print"], "no-such.json: there is no such file".to_owned()),
        (&["--logbook", "no-such.db", "exam", "list"], "error: no-such.db: there is no such logbook\n".to_owned()),
        (&["--logbook", "Cargo.toml", "exam", "list"], "not a Dioptray logbook".to_owned()),
    ];
    for (arguments, message) in cases {
        let said = say(&room, arguments)?;
        assert_eq!((said.code, said.out.as_str()), (Some(1), ""), "{arguments:?} said {}", said.err);
        assert!(said.err.contains(message), "{arguments:?} said {}", said.err);
    }
    let exams: Value = serde_json::from_str(&say(&room, &["exam", "list", "--json"])?.out)?;
    assert_eq!(exams["exams"].as_array().map(Vec::len), Some(2), "an exam began without its glasses");
    Ok(())
}

#[test]
fn dicom_is_a_file_with_the_refraction_and_one_beside_it_for_each_way_of_reading() -> Tested {
    let room = room_with_two_exams()?;
    let (file, beside) = (room.file("exam.dcm"), room.file("exam-acuity-corrected.dcm"));
    let [out, other] = [&file, &beside].map(|path| path.display().to_string());
    let export = ["exam", "export", "1", "--as", "dicom", "--out", &out];
    let said = say(&room, &export)?;
    assert_eq!((said.code, said.err.as_str()), (Some(0), ""));
    assert_eq!(said.out, format!("exam 1 as dicom: {out}\nexam 1 as dicom: {other}\n"));
    for path in [&file, &beside] {
        assert_eq!(fs::read(path)?.get(128..132), Some(&b"DICM"[..]), "{}", path.display());
    }
    // one of them is there: neither is written
    fs::remove_file(&file)?;
    let said = say(&room, &export)?;
    assert_eq!((said.code, said.out.as_str()), (Some(1), ""));
    assert_eq!(said.err, format!("error: {other}: there is such a file already: --force replaces it\n"));
    assert!(!file.exists());
    let answer: Value = serde_json::from_str(&say(&room, &[&export[..], &["--force", "--json"]].concat())?.out)?;
    assert_eq!(answer, serde_json::json!({ "exam": 1, "as": "dicom", "file": out, "beside": [other] }));
    let said = say(&room, &["exam", "export", "1", "--as", "dicom"])?;
    assert!(said.err.contains("dicom makes 2 files: name the first with --out FILE"), "{}", said.err);
    Ok(())
}

#[test]
fn an_exam_begins_with_the_glasses_of_another_system() -> Tested {
    let room = room_with_two_exams()?;
    for (number, form, file) in
        [("3", "fhir", "exam.json"), ("4", "fhir-r4b", "exam-4b.json"), ("5", "dicom", "exam.dcm")]
    {
        let path = room.file(file);
        let path = path.to_str().ok_or("odd path")?;
        let said = say(&room, &["exam", "export", "1", "--as", form, "--out", path])?;
        assert_eq!(said.code, Some(0), "{}", said.err);
        let said = say(&room, &["exam", "start", "--from", path, "--print", "--keys", "i", "--size", "120x50"])?;
        assert_eq!(said.code, Some(0), "{}", said.err);
        assert!(said.out.contains(&format!("Exam {number}")), "{}", said.out);
        let begun: Value = serde_json::from_str(&say(&room, &["exam", "show", number, "--json"])?.out)?;
        let old = |eye: &str| begun[eye]["old_glasses"].clone();
        assert_eq!(old("right"), serde_json::json!({ "sphere": -4.0, "cylinder": -0.75, "axis": 30.0 }), "{form}");
        assert_eq!(old("left"), serde_json::json!({ "sphere": -2.5, "cylinder": 0.0, "axis": 180.0 }), "{form}");
        assert!(said.out.contains("-4.00/-0.75x30"), "{}", said.out);
    }
    Ok(())
}

#[test]
fn what_has_no_place_in_an_exam_is_said_and_kept_as_a_note() -> Tested {
    let room = Room::new()?;
    let lens = r#"{"eye": "left", "sphere": -1, "prism": [{"amount": 2, "base": "in"}]}"#;
    let file = room.write(
        "glasses.json",
        &format!(r#"{{"resourceType": "VisionPrescription", "status": "active", "lensSpecification": [{lens}]}}"#),
    )?;
    let said = say(&room, &["exam", "start", "--from", &file, "--print"])?;
    let words = "Present glasses, from a file: left eye prism 2.00 base in.";
    assert_eq!((said.code, said.err), (Some(0), format!("note: {words} This stands in a note on the record.\n")));
    let begun: Value = serde_json::from_str(&say(&room, &["exam", "show", "1", "--json"])?.out)?;
    assert_eq!(begun["notes"], serde_json::json!([words]));
    assert!(begun["right"].get("old_glasses").is_none(), "{begun}");
    Ok(())
}

#[test]
fn what_a_killed_export_left_is_swept_by_the_next() -> Tested {
    let room = room_with_two_exams()?;
    fs::create_dir(room.file("out"))?;
    let [left, written] =
        ["out/.dioptray-Ab12Cd.unfinished", "out/.dioptray-Ef34Gh.unfinished"].map(|name| room.file(name));
    let mine = room.file("out/.dioptray-notes");
    for path in [&left, &written, &mine] {
        fs::write(path, "half a record")?;
    }
    let still_written = fs::File::open(&written)?;
    still_written.lock()?;
    let file = room.file("out/card.txt");
    let file = file.to_str().ok_or("odd path")?;
    let said = say(&room, &["exam", "export", "1", "--as", "card", "--out", file])?;
    assert_eq!(said.code, Some(0), "{}", said.err);
    assert!(!left.exists(), "a record stays where nobody looks for it");
    assert!(written.exists(), "another program is writing it");
    assert!(mine.exists(), "it is not ours");
    Ok(())
}

#[test]
fn letters_that_the_page_cannot_draw_are_said() -> Tested {
    let room = Room::new()?;
    exam(&room, &[], "-4<enter>ai<enter>漢字<enter><esc>Cy")?;
    let file = room.file("exam.pdf");
    let said = say(&room, &["exam", "export", "1", "--as", "pdf", "--out", file.to_str().ok_or("odd path")?])?;
    assert_eq!(said.code, Some(0));
    assert!(said.err.starts_with("note: pdf: the face of the page") && said.err.contains("U+6F22"), "{}", said.err);
    Ok(())
}

#[test]
fn pages_go_to_a_pipe_or_a_file() -> Tested {
    let room = room_with_two_exams()?;
    let mut command = room.command(&["exam", "export", "1", "--as", "pdf"]);
    let piped = command.env("TZ", "Africa/Nairobi").env("XDG_CONFIG_HOME", room.file("config")).output()?.stdout;
    assert!(piped.starts_with(b"%PDF-"));
    let file = room.file("exam.pdf");
    let said = say(&room, &["exam", "export", "1", "--as", "pdf", "--out", file.to_str().ok_or("odd path")?])?;
    assert_eq!(said.code, Some(0), "{}", said.err);
    assert_eq!(fs::read(file)?, piped);
    let card = say(&room, &["exam", "export", "1", "--as", "card"])?.out;
    assert_eq!(say(&room, &["exam", "export", "1", "--as", "card", "--out", "-"])?.out, card);
    assert!(!std::path::Path::new("-").exists(), "a file of the name -");
    Ok(())
}

#[test]
fn without_any_logbook_there_are_no_exams() -> Tested {
    let room = Room::new()?;
    let say = |arguments: &[&str]| {
        let mut command = room.command(arguments);
        command.env_remove("DIOPTRAY_LOGBOOK").env("XDG_DATA_HOME", room.file("data"));
        super::room::said(command.env("XDG_CONFIG_HOME", room.file("config")).output()?)
    };
    assert_eq!(say(&["exam", "list"])?.out, "no exams yet\n");
    assert_eq!(say(&["exam", "list", "--json"])?.out, "{\"exams\":[]}\n");
    let said = say(&["exam", "show", "1"])?;
    assert_eq!((said.code, said.out.as_str()), (Some(1), ""));
    assert!(said.err.contains("there is no exam 1: no exam has begun"), "{}", said.err);
    assert!(!room.file("data").exists(), "a logbook was made by looking for one");
    Ok(())
}

#[test]
fn the_list_has_no_bare_power_that_was_found_over_something_worn() -> Tested {
    let room = Room::new()?;
    let started = room.say(&[
        "exam",
        "start",
        "--right-keeps",
        "contact -3.00",
        "--print",
        "--keys",
        "-1<enter>a<tab>-2<enter>a",
    ])?;
    assert_eq!(started.code, Some(0), "{}", started.err);
    let listed = room.say(&["exam", "list"])?.out;
    assert!(listed.contains("over what is worn") && listed.contains("−2.00") && !listed.contains("−1.00"), "{listed}");
    Ok(())
}
