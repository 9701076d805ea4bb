//! The settings file: what it may say, and the whole message for each mistake.
#![expect(clippy::unwrap_used, reason = "a test may stop")]

use dioptray::screen::settings::{AcuityNotation, Characters, Form, Settings, ThemeName};

use super::Failure;
use super::bench::{options, walk_with};

fn read(text: &str) -> Result<Settings, String> {
    Settings::read(text, "settings.yaml").map_err(|error| error.to_string())
}

#[test]
fn everything_that_can_be_set_is_read() {
    let text = "form: plus\nacuity: logMAR\nchart_m: 4\nplanned_vertex_mm: 14\ntheme: daylight\ncharacters: ascii\n\
                keys:\n  undo: z\n  take-out: [k, ctrl-k]\n";
    let settings = read(text).unwrap();
    assert_eq!(settings.form, Form::Plus);
    assert_eq!(settings.acuity, AcuityNotation::LogMar);
    assert_eq!(settings.chart_m, 4.0);
    assert_eq!(settings.planned_vertex.unwrap().0, 14.0);
    assert_eq!(settings.theme, ThemeName::Daylight);
    assert_eq!(settings.characters, Characters::Ascii);
}

#[test]
fn nothing_set_is_what_ships() {
    for text in ["", "# nothing yet\n", "---\n", "keys: {}\n"] {
        assert_eq!(read(text).unwrap(), Settings::shipped().unwrap(), "{text:?}");
    }
}

#[test]
fn other_keys_work_and_stand_in_hints_and_messages() -> Result<(), Failure> {
    let settings = read("keys: {take-out: k, undo: [z], help: f2, wanted: J}")?;
    let frame = walk_with(options(settings.clone())?, "-4<enter>k", "120x36")?;
    assert!(frame.contains("-4.00 from right 1 back in the box"), "{frame}");
    let frame = walk_with(options(settings.clone())?, "-4<enter>", "120x36")?;
    assert!(frame.contains("k take out  z undo"), "{frame}");
    assert!(frame.contains("g guide  f2 all keys  J wanted"), "{frame}");
    assert!(frame.contains("J says which power"), "{frame}");
    let frame = walk_with(options(settings)?, "-4<enter>x", "120x36")?;
    assert!(frame.contains("x does nothing here: f2 shows what does"), "{frame}");
    Ok(())
}

#[test]
fn every_mistake_is_told_with_its_place() {
    let cases = [
        ("form: minus\nthem: dark\n", "2:1: a settings file has no key `them`"),
        ("theme: dusk\n", "1:8: `theme` cannot be `dusk`: it is one of dark, daylight, plain"),
        ("chart_m: 60\n", "1:10: "),
        ("form: minus\nplanned_vertex_mm: -1\n", "2:20: "),
        ("keys:\n  undoo: z\n", "2:3: there is no action `undoo`"),
        ("keys:\n  undo: x\n", "2:3: `x` is the key for `take-out` already: give `take-out` another key first"),
        ("keys: {undo: entre}\n", "1:14: `entre` names no key"),
        ("keys: {undo: [z, entre]}\n", "1:18: `entre` names no key"),
        ("keys: {undo: []}\n", "1:14: `undo` has no key: name at least one"),
        ("keys: undo\n", "1:7: `keys` needs actions and their keys"),
        ("form: [\n", "2:1: this is not well-formed YAML"),
        ("- form\n", "1:1: a settings file needs keys and values"),
        ("form: minus\nform: plus\n", "2:1: "),
        ("form: &a minus\n", "1:"),
    ];
    let mut wrong = Vec::new();
    for (text, message) in cases {
        let told = read(text).map_or_else(|told| told, |_| "read".to_owned());
        if !told.starts_with(&format!("settings.yaml:{message}")) {
            wrong.push(format!("{text:?}\n  said {told}\n  not  {message}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn all_faults_are_told_in_one_run() {
    let told = read("form: mins\ntheme: dusk\nkeys: {undoo: z}\n").unwrap_err();
    assert_eq!(told.lines().count(), 3, "{told}");
    assert!(told.contains("did you mean `minus`?") && told.contains("did you mean `undo`?"), "{told}");
}

#[test]
fn two_actions_may_change_places() {
    assert!(read("keys: {undo: r, redo: u}").is_ok());
}

#[test]
fn a_file_that_is_not_there_is_no_fault_and_one_that_cannot_be_read_is() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(Settings::load(&folder.path().join("none.yaml")).unwrap(), Settings::shipped().unwrap());
    let told = Settings::load(folder.path()).unwrap_err().to_string();
    assert!(told.contains("this is a folder"), "{told}");
}
