//! Box and frame files: every bad one with its whole message and place, every shipped one as an example.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use dioptray::frame::file::{CELL_KEYS, FRAME_KEYS, PD_KEYS};
use dioptray::frame::schema::{FrameFile, frame_schema};
use dioptray::frame::shipped::{FRAMES, demo_frame};
use dioptray::frame::{FittedFrame, Move, parse_frame, read_frame};
use dioptray::kit::document::load::{LARGEST_FILE, unreadable};
use dioptray::kit::file::{BOX_KEYS, LineKind, MEASURED_KEYS, RIMS_KEYS, every_key, kind_words};
use dioptray::kit::schema::{BoxFile, box_schema};
use dioptray::kit::shelf::file::{PAIR_KEYS, SHELF_KEYS, USES};
use dioptray::kit::shelf::schema::{ShelfFile, shelf_schema};
use dioptray::kit::shelf::shipped::SHELVES;
use dioptray::kit::shelf::{parse_shelf, read_shelf};
use dioptray::kit::shipped::{BOXES, demo_box};
use dioptray::kit::{Lens, LensForm, Mark, PoweredKind, Stock, parse_box, read_box};
use dioptray::optics::{Eye, Power};
use proptest::prelude::*;

use crate::pictures::Album;

type Outcome = Result<(), Box<dyn std::error::Error>>;

/// Kinds of bad files that are read elsewhere.
const EYE: &str = "eye";
const LESSON: &str = "lesson";

/// The bad files of the kit; those of practice cases and lessons are read in `practice/cases.rs` and `practice/lessons.rs`.
fn bad_files() -> std::io::Result<Vec<PathBuf>> {
    let mut files: Vec<PathBuf> =
        fs::read_dir("tests/invalid")?.map(|entry| Ok(entry?.path())).collect::<std::io::Result<_>>()?;
    files.retain(|file| ![EYE, LESSON].contains(&kind_of(file).as_str()));
    files.sort();
    Ok(files)
}

/// What a bad file should have been: the first word of its name.
fn kind_of(path: &Path) -> String {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    name.split('-').next().unwrap_or_default().to_owned()
}

/// What the door for this file says.
fn refusal(path: &Path) -> Option<String> {
    let faults = match kind_of(path).as_str() {
        "box" => read_box(path).err(),
        "frame" => read_frame(path).err(),
        "shelf" => read_shelf(path).err(),
        // accepted by no door, and so a failure
        _ => None,
    };
    faults.map(|faults| faults.to_string())
}

#[test]
fn every_bad_file_is_refused_with_its_message_and_place() -> Outcome {
    let album = Album::of("refused");
    let mut all = String::new();
    for path in bad_files()? {
        let said = refusal(&path).ok_or_else(|| format!("{} was accepted", path.display()))?;
        for line in said.lines() {
            let place = line.strip_prefix(&format!("{}:", path.display())).ok_or("a fault begins with its file")?;
            let mut parts = place.splitn(3, ':');
            for _ in 0..2 {
                assert!(parts.next().is_some_and(|n| n.parse::<usize>().is_ok_and(|n| n > 0)), "{line}");
            }
        }
        all += &said;
        all += "\n\n";
    }
    album.text("kit_files_refused", &all);
    Ok(())
}

/// The word after `kind:` in the entry of `lenses` that a line of the text, from 1, is part of.
fn kind_at(text: &str, line: usize) -> Option<&str> {
    let so_far: Vec<&str> = text.lines().take(line).collect();
    let top = so_far.iter().rposition(|line| line.starts_with(char::is_alphabetic))?;
    let (_, word) = so_far[top..].iter().rev().find_map(|line| line.split_once("kind:"))?;
    so_far[top].starts_with("lenses:").then(|| word.split([',', '}']).next().unwrap_or(word).trim())
}

#[test]
fn every_kind_of_line_has_a_bad_file() -> Outcome {
    let mut at_fault: Vec<LineKind> = Vec::new();
    for path in bad_files()? {
        // some are not even text
        let (Err(faults), Ok(text)) = (read_box(&path), fs::read_to_string(&path)) else { continue };
        at_fault.extend(faults.iter().filter_map(|fault| LineKind::named(kind_at(&text, fault.at.line)?)));
    }
    let lacking: Vec<LineKind> = LineKind::all().filter(|kind| !at_fault.contains(kind)).collect();
    assert_eq!(lacking, [], "no file in tests/invalid has a fault in such a line");
    Ok(())
}

#[test]
fn no_key_of_any_line_may_say_nothing_or_something_unknown() -> Outcome {
    for kind in LineKind::all() {
        for key in kind.keys() {
            for said in [serde_json::json!([]), serde_json::json!(["?"])] {
                let mut line: serde_json::Value = serde_yaml::from_str(kind.example())?;
                line[*key] = said;
                let read = parse_box("b.yaml", &format!("box: B\nlenses:\n  - {line}\n"));
                assert!(read.is_err(), "{line} was accepted");
            }
        }
    }
    Ok(())
}

#[test]
fn a_line_without_a_kind_may_have_the_keys_of_every_kind() -> Outcome {
    for kind in LineKind::all() {
        for key in kind.keys() {
            let text = format!("box: B\nlenses:\n  - {{colour: 1}}\n  - {{{key}: 1}}\n");
            let faults = parse_box("b.yaml", &text).err().ok_or("accepted")?.to_string();
            assert!(faults.contains(&format!("`{key}`")), "{key}: {faults}");
            assert!(!faults.contains(&format!("has no key \"{key}\"")), "{key}: {faults}");
        }
    }
    Ok(())
}

/// A file in a fresh folder, and what the box door says of it without the folder's name.
fn said_of(make: impl FnOnce(&Path) -> std::io::Result<()>) -> Result<String, Box<dyn std::error::Error>> {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("box.yaml");
    make(&path)?;
    let said = read_box(&path).err().ok_or("this was accepted")?.to_string();
    Ok(said.replace(&folder.path().display().to_string(), "FOLDER"))
}

#[test]
fn what_is_no_file_is_refused() -> Outcome {
    let missing = said_of(|_| Ok(()))?;
    assert_eq!(missing, "FOLDER/box.yaml:1:1: no such file: check the name and the folder");
    let folder = said_of(|path| fs::create_dir(path))?;
    assert_eq!(folder, "FOLDER/box.yaml:1:1: this is a folder: name one file in it");
    let large = said_of(|path| fs::write(path, vec![b'#'; LARGEST_FILE as usize + 1]))?;
    let limit = "a file of this kind is read up to 1048576 bytes (1 MB)";
    assert_eq!(large, format!("FOLDER/box.yaml:1:1: the file has 1048577 bytes: {limit}"));
    Ok(())
}

#[cfg(unix)]
#[test]
fn a_device_is_refused_before_it_is_opened() -> Outcome {
    let said = read_box(Path::new("/dev/zero")).err().ok_or("a device was accepted")?.to_string();
    assert_eq!(said, "/dev/zero:1:1: this is not a plain file: copy what it gives into a file and name that");
    Ok(())
}

#[test]
fn a_byte_order_mark_is_no_part_of_the_text() -> Outcome {
    let (name, text) = BOXES[0];
    assert_eq!(parse_box(name, &format!("\u{feff}{text}"))?, demo_box()?);
    Ok(())
}

#[test]
fn a_file_takes_figures_as_people_type_them() -> Outcome {
    let frame = |vertex: &str, marks: &str| {
        let text = format!("frame: F\nvertex_mm: {vertex}\naxis_marks_deg: {marks}\ncells: [{{name: rear}}]\n");
        parse_frame("f.yaml", &text).map(|frame| (frame.vertex.0, frame.axis_marks_deg))
    };
    for vertex in ["12.5", "12,5", "12.5 mm", "12,5mm", "1.25e1", "012.50"] {
        assert_eq!(frame(vertex, "5°")?, (12.5, 5), "{vertex}");
    }
    let bare = |power: &str| {
        let measured = format!("measured:\n  - {{lens: \"-1.00 sphere #1\", power: {power}}}\n");
        let text = format!("box: B\nlenses: [{{kind: sphere, powers: [\"-1,00\"], each: 1}}]\n{measured}");
        parse_box("b.yaml", &text).map(|declared| declared.measured[0].power)
    };
    // a measured power is what was measured, not the mark of an eighth
    assert_eq!((bare("-0.87")?, bare("\u{2212}0.87")?, bare("-.87")?), (-0.87, -0.87, -0.87));
    Ok(())
}

#[test]
fn every_fault_of_a_file_comes_in_one_run() -> Outcome {
    let faults = read_box(Path::new("tests/invalid/box-many-faults.yaml")).err().ok_or("accepted")?;
    let places: Vec<(usize, usize)> = faults.iter().map(|fault| (fault.at.line, fault.at.column)).collect();
    assert_eq!(places, [(2, 1), (3, 12), (5, 29), (5, 37), (5, 63), (5, 77), (6, 12), (7, 22)]);
    Ok(())
}

#[test]
fn a_hundred_faults_are_listed_and_the_rest_counted() -> Outcome {
    let keys = (0..250).map(|n| format!("colour{n}: blue")).collect::<Vec<_>>().join("\n");
    let faults =
        parse_box("b.yaml", &format!("box: B\nlenses: [{{kind: red, each: 1}}]\n{keys}")).err().ok_or("accepted")?;
    let last = faults.iter().last().map(ToString::to_string);
    assert_eq!(last.as_deref(), Some("b.yaml:102:1: 150 more faults are in this file: mend these first"));
    assert_eq!(faults.iter().count(), 101);
    Ok(())
}

#[test]
fn every_shipped_box_is_read_and_embedded() -> Outcome {
    let mut names: Vec<&str> = BOXES.iter().map(|(name, _)| *name).collect();
    names.sort_unstable();
    assert_eq!(names, file_names("kits/boxes")?);
    for (name, text) in BOXES {
        let path = Path::new("kits/boxes").join(name);
        assert_eq!(read_box(&path)?, parse_box(name, text)?);
        serde_yaml::from_str::<BoxFile>(text)?;
        assert!(text.starts_with("# A template"), "{name} says that it is a template");
    }
    Ok(())
}

#[test]
fn every_shipped_frame_is_read_and_embedded() -> Outcome {
    let mut names: Vec<&str> = FRAMES.iter().map(|(name, _)| *name).collect();
    names.sort_unstable();
    assert_eq!(names, file_names("kits/frames")?);
    for (name, text) in FRAMES {
        let path = Path::new("kits/frames").join(name);
        let declared = read_frame(&path)?;
        assert_eq!(declared, parse_frame(name, text)?);
        serde_yaml::from_str::<FrameFile>(text)?;
        assert!(text.starts_with("# A template"), "{name} says that it is a template");
        assert!(declared.cells.iter().any(|cell| cell.turns), "{name} has a cell for a cylinder");
    }
    Ok(())
}

#[test]
fn every_shipped_shelf_is_read_and_embedded() -> Outcome {
    let mut names: Vec<&str> = SHELVES.iter().map(|(name, _)| *name).collect();
    names.sort_unstable();
    assert_eq!(names, file_names("kits/shelf")?);
    for (name, text) in SHELVES {
        let path = Path::new("kits/shelf").join(name);
        assert_eq!(read_shelf(&path)?, parse_shelf(name, text)?);
        serde_yaml::from_str::<ShelfFile>(text)?;
        assert!(text.starts_with("# A template"), "{name} says that it is a template");
    }
    Ok(())
}

#[test]
fn a_shelf_has_each_power_with_each_of_its_centre_distances() -> Outcome {
    let line = "{for: reading, powers: [\"+1.00 to +1.50 by 0.50\", \"2,25\"], centres_mm: [58, 62.5], each: 120}";
    let refused = parse_shelf("s.yaml", &format!("shelf: S\npairs: [{line}]\n")).err().ok_or("a sign is needed")?;
    assert!(refused.to_string().starts_with("s.yaml:2:59: "), "{refused}");
    let shelf = parse_shelf("s.yaml", &format!("shelf: S\npairs: [{}]\n", line.replace("2,25", "+2,25")))?;
    let pairs: Vec<(f64, f64, bool, u32)> =
        shelf.lines.iter().map(|line| (line.pair.sphere, line.pair.centres_mm, line.pair.near, line.pieces)).collect();
    let expected = [(1.0, 58.0), (1.0, 62.5), (1.5, 58.0), (1.5, 62.5), (2.25, 58.0), (2.25, 62.5)];
    assert_eq!(pairs, expected.map(|(sphere, centres)| (sphere, centres, true, 120)));
    Ok(())
}

fn file_names(folder: &str) -> std::io::Result<Vec<String>> {
    let names = fs::read_dir(folder)?.map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()));
    let mut names: Vec<String> = names.collect::<std::io::Result<_>>()?;
    names.sort();
    Ok(names)
}

fn shipped_box(name: &str) -> Result<Stock, Box<dyn std::error::Error>> {
    let (name, text) = BOXES.iter().find(|(other, _)| *other == name).ok_or("no such box")?;
    Ok(Stock::of(&parse_box(name, text)?))
}

// Several teaching sources describe sets of up to 266 pieces, with spheres to about 20 D and cylinders to 6 D.
#[test]
fn the_full_box_has_266_pieces() -> Outcome {
    let stock = shipped_box("full.yaml")?;
    assert_eq!(stock.pieces().iter().len(), 266);
    let strongest = |kind: PoweredKind| {
        let of_kind = stock.pieces().iter().filter(|stocked| stocked.piece.lens.powered_kind() == Some(kind));
        of_kind.map(|stocked| stocked.marked_power().0).fold(0.0, f64::max)
    };
    let kinds = [PoweredKind::Sphere, PoweredKind::Cylinder, PoweredKind::Prism];
    assert_eq!(kinds.map(strongest), [20.0, 6.0, 12.0]);
    Ok(())
}

#[test]
fn the_demo_box_lacks_what_its_file_says() -> Outcome {
    let stock = Stock::of(&demo_box()?);
    let count = |label: &str| -> Result<(u8, u8, u8), Box<dyn std::error::Error>> {
        let lens: Lens = label.parse()?;
        let count = stock.counts().into_iter().find(|count| count.lens == lens).ok_or("not declared")?;
        Ok((count.declared, count.free, count.lost))
    };
    assert_eq!(count("+3.25 sphere")?, (2, 1, 1));
    assert_eq!(count("-1.50 sphere")?, (2, 0, 2));
    assert_eq!(count("-0.75 cylinder")?, (2, 2, 0));
    assert!(count("-4.25 sphere").is_err(), "it goes by halves above 4 D");
    let mismarked = stock.get(&"-6.00 sphere #1".parse()?).ok_or("no -6.00")?;
    assert_eq!((mismarked.power().0, mismarked.marked_power().0), (-5.87, -6.0));
    Ok(())
}

#[test]
fn boxes_say_how_their_marks_were_computed() -> Outcome {
    assert_eq!(shipped_box("reduced-aperture.yaml")?.form, LensForm::Additive);
    assert_eq!(shipped_box("outreach.yaml")?.form, LensForm::Thin);
    let spheres = shipped_box("spheres.yaml")?;
    assert!(spheres.pieces().iter().all(|stocked| !stocked.piece.lens.needs_turning_cell()));
    Ok(())
}

// Computed by V/(1 - dV): rear +10.00 and front +2.00 7.5 mm apart make +12.03 at the rear cell.
#[test]
fn the_turning_ring_stands_as_far_out_as_its_source_says() -> Outcome {
    let (name, text) = FRAMES[1];
    let mut fitted = FittedFrame::new(parse_frame(name, text)?, shipped_box("full.yaml")?);
    let (eye, direction) = (Eye::Right, None);
    fitted.apply(&Move::Put { piece: "+10.00 sphere #1".parse()?, eye, cell: 1, direction })?;
    fitted.apply(&Move::Put { piece: "+2.00 sphere #1".parse()?, eye, cell: 3, direction })?;
    approx::assert_abs_diff_eq!(fitted.in_front_of(eye).net.m, 12.03, epsilon = 0.005);
    assert_eq!(fitted.in_front_of(eye).marked, Power::sphere(dioptray::optics::Dioptres(12.0)));
    assert_eq!(fitted.frame.turning_with(4), [3, 4, 5]);
    Ok(())
}

#[test]
fn the_demo_frame_is_the_four_cell_one() -> Outcome {
    let frame = demo_frame()?;
    let gaps: Vec<f64> = frame.gaps().iter().map(|gap| gap.0).collect();
    assert_eq!((frame.vertex.0, gaps), (12.0, vec![3.5, 3.5, 3.5]));
    let turning: Vec<u8> = frame.cell_numbers().filter(|&n| frame.cell(n).is_some_and(|cell| cell.turns)).collect();
    assert_eq!(turning, [3, 4]);
    Ok(())
}

/// The properties of a schema's object, at its root or among its definitions.
fn properties(schema: &serde_json::Value, definition: Option<&str>) -> Vec<String> {
    let object = definition.map_or(schema, |name| &schema["$defs"][name]);
    let mut keys: Vec<String> =
        object["properties"].as_object().map_or_else(Vec::new, |keys| keys.keys().cloned().collect());
    keys.sort();
    keys
}

fn sorted(keys: &[&str]) -> Vec<String> {
    let mut keys: Vec<String> = keys.iter().map(ToString::to_string).collect();
    keys.sort();
    keys.dedup();
    keys
}

#[test]
fn the_schemas_have_the_keys_that_the_doors_accept() {
    let schema = box_schema();
    assert_eq!(properties(&schema, None), sorted(&BOX_KEYS));
    assert_eq!(properties(&schema, Some("RimsFile")), sorted(&RIMS_KEYS));
    assert_eq!(properties(&schema, Some("MeasuredFile")), sorted(&MEASURED_KEYS));
    assert_eq!(properties(&schema, Some("LineFile")), sorted(&every_key()));
    assert_eq!(schema["$defs"]["LineFile"]["properties"]["kind"]["enum"], serde_json::json!(kind_words()));
    assert_eq!(schema["$defs"]["LineFile"]["properties"]["each"]["maximum"].as_f64(), Some(99.0));
    let schema = frame_schema();
    assert_eq!(properties(&schema, None), sorted(&FRAME_KEYS));
    assert_eq!(properties(&schema, Some("PdFile")), sorted(&PD_KEYS));
    assert_eq!(properties(&schema, Some("CellFile")), sorted(&CELL_KEYS));
    assert_eq!(schema["properties"]["cells"]["maxItems"], 8);
    let schema = shelf_schema();
    assert_eq!(properties(&schema, None), sorted(&SHELF_KEYS));
    assert_eq!(properties(&schema, Some("PairsFile")), sorted(&PAIR_KEYS));
    let uses: Vec<&str> = USES.iter().map(|(word, _)| *word).collect();
    let in_schema: Vec<&str> = schema["$defs"]["UseFile"]["oneOf"]
        .as_array()
        .map_or_else(Vec::new, |uses| uses.iter().filter_map(|used| used["const"].as_str()).collect());
    assert_eq!(in_schema, uses);
}

/// The lenses that one entry of `powers` declares, in words.
fn declared_by(kind: &str, entry: &str) -> Result<Vec<String>, Box<dyn std::error::Error>> {
    let text = format!("box: B\nlenses:\n  - {{kind: {kind}, powers: [\"{entry}\"], each: 1}}\n");
    Ok(parse_box("b.yaml", &text)?.lines.iter().map(|line| line.lens.to_string()).collect())
}

#[test]
fn entries_of_powers_unfold_as_they_read() -> Outcome {
    let sphere = |entry| declared_by("sphere", entry);
    assert_eq!(sphere("±0.25 to ±0.75 by 0.25")?.join(", "), {
        "+0.25 sphere, +0.50 sphere, +0.75 sphere, -0.25 sphere, -0.50 sphere, -0.75 sphere"
    });
    assert_eq!(sphere("−0.50 to −1.50 by 0.50")?.join(", "), "-0.50 sphere, -1.00 sphere, -1.50 sphere");
    assert_eq!(sphere("0 to +1 by 0.5")?.join(", "), "plano sphere, +0.50 sphere, +1.00 sphere");
    assert_eq!(sphere("-0.50 to +0.50 by 0.50")?.join(", "), "-0.50 sphere, plano sphere, +0.50 sphere");
    assert_eq!(sphere("±0")?.join(", "), "plano sphere");
    assert_eq!(sphere("plano")?.join(", "), "plano sphere");
    assert_eq!(declared_by("prism", "1 to 3 by 1")?.join(", "), "1 prism, 2 prism, 3 prism");
    assert_eq!(declared_by("cross cylinder", "0.25")?.join(", "), "0.25 cross cylinder");
    assert_eq!(declared_by("sphere", "±0.20 to ±40.00 by 0.20")?.len(), 400, "the most that a series may have");
    Ok(())
}

/// One slip of a sign: turned round, the series would run through plano and declare lenses that the box does not have.
#[test]
fn a_series_that_changes_its_sign_asks_which_was_meant() -> Outcome {
    for entry in ["+0.25 to -4.00 by 0.25", "+4.00 to -0.25 by 0.25"] {
        let refused = declared_by("sphere", entry).err().ok_or("accepted")?.to_string();
        let which = "which sign was meant? write `+0.25 to +4.00 by 0.25`, `-0.25 to -4.00 by 0.25` or `±0.25 to ±4.00 by 0.25`";
        assert!(refused.contains(which), "{refused}");
    }
    let refused = declared_by("sphere", "+4.00 to -4.00 by 0.25").err().ok_or("accepted")?.to_string();
    assert!(refused.contains("write `-4.00 to +4.00 by 0.25`"), "{refused}");
    Ok(())
}

#[test]
fn two_place_marks_of_eighths_are_eighths_in_series_too() -> Outcome {
    let text = "box: B\nlenses:\n  - {kind: sphere, powers: [\"±0.12 to ±0.87 by 0.25\"], each: 1}\n";
    let powers: Vec<f64> =
        parse_box("b.yaml", text)?.lines.iter().filter_map(|line| line.lens.mark()).map(Mark::dioptres).collect();
    assert_eq!(powers, [0.125, 0.375, 0.625, 0.875, -0.125, -0.375, -0.625, -0.875]);
    Ok(())
}

/// Text that looks somewhat like a box or frame file, and text that does not.
fn any_text() -> impl Strategy<Value = String> {
    let word = prop_oneof![
        Just("box: "),
        Just("frame: "),
        Just("shelf: "),
        Just("pairs:\n"),
        Just("centres_mm: [60]"),
        Just("lenses:\n"),
        Just("cells:\n"),
        Just("  - "),
        Just("kind: sphere"),
        Just("powers: ["),
        Just("\"±0.25 to ±4.00 by 0.25\""),
        Just("]"),
        Just("{"),
        Just("}"),
        Just("each: 2"),
        Just("missing: "),
        Just("measured: "),
        Just("\n"),
        Just(", "),
        Just("\t"),
        Just("&a "),
        Just("*a "),
        Just("!t "),
        Just("? "),
        Just(": "),
        Just("---\n"),
        Just("|\n"),
        Just(">"),
        Just("%YAML 1.2\n"),
        Just("'"),
        Just("#"),
        Just("<<"),
        Just("name: a"),
        Just("gap_mm: 3"),
        Just("ring: r"),
        Just("turns: true"),
        Just("é"),
        Just("\u{2212}1e9"),
        Just("\0"),
        Just("\u{85}"),
        Just("\r"),
    ];
    prop_oneof![prop::collection::vec(word, 0..40).prop_map(|words| words.concat()), any::<String>(),]
}

proptest! {
    #[test]
    fn no_text_brings_a_door_down(text in any_text()) {
        let refused = [parse_box("f", &text).err(), parse_frame("f", &text).err(), parse_shelf("f", &text).err()];
        for faults in refused.into_iter().flatten() {
            for fault in &faults {
                let line = fault.to_string();
                let lines = text.split(['\n', '\r']).count() + 1;
                prop_assert!(fault.at.line >= 1 && fault.at.line <= lines && fault.at.column >= 1, "{line}");
                prop_assert!(!line.contains(char::is_control), "{line:?}");
            }
        }
    }

    #[test]
    fn a_shipped_box_cut_anywhere_is_read_or_refused(cut in 0usize..2000, which in 0usize..BOXES.len()) {
        let text: String = BOXES[which].1.chars().take(cut).collect();
        if let Ok(declared) = parse_box("f", &text) {
            prop_assert!(!declared.lines.is_empty());
        }
    }
}

// A test run as root may read everything, so the words for the refusal are asked for without a file.
#[test]
fn a_file_that_may_not_be_read_is_named_as_such() {
    let refusal = unreadable(&io::Error::from(io::ErrorKind::PermissionDenied));
    assert_eq!(refusal.to_string(), "no permission to read this file: ask its owner, or change its permissions");
}
