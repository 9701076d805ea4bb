//! The settings file: what it may say, and the whole message for each mistake.
#![expect(clippy::unwrap_used, reason = "a test may stop")]

use dioptray::optics::CylinderForm;
use dioptray::screen::keys::Action;
use dioptray::screen::settings::choices::Choices;
use dioptray::screen::settings::table::{self, Kind, SETTINGS, Setting};
use dioptray::screen::settings::{AcuityNotation, Characters, Settings, ThemeName};
use dioptray::screen::theme::Glyphs;
use dioptray::screen::{App, view};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Failure;
use super::bench::{options, walk_with};
use super::laws::{press, refused};
use super::pixels::pixels;
use super::sight_page::case;
use crate::pictures::Album;

fn read(text: &str) -> Result<Settings, String> {
    Settings::read(text, "settings.yaml").map_err(|error| error.to_string())
}

#[test]
fn everything_that_can_be_set_is_read() {
    let text = "form: plus\nacuity: logMAR\nchart_m: 4\nplanned_vertex_mm: 14\ntheme: daylight\ncharacters: ascii\n\
                keys:\n  undo: z\n  take-out: [k, ctrl-k]\n";
    let settings = read(text).unwrap();
    assert_eq!(settings.form, CylinderForm::Plus);
    assert_eq!(settings.acuity, AcuityNotation::LogMar);
    assert_eq!(settings.chart_m, 4.0);
    assert_eq!(settings.planned_vertex.unwrap().0, 14.0);
    assert_eq!(settings.theme, ThemeName::Daylight);
    assert_eq!(settings.characters, Characters::Ascii);
}

/// Every field of the settings, and whether it differs from the one that ships. Taken apart, so that a new one is listed.
fn fields(settings: &Settings) -> Vec<(&'static str, bool)> {
    macro_rules! compared {
        ($($field:ident),+) => {{
            let (Settings { $($field),+ }, shipped) = (settings, Settings::shipped().unwrap());
            vec![$((stringify!($field), *$field != shipped.$field)),+]
        }};
    }
    compared!(
        form,
        acuity,
        examiner,
        chart_m,
        planned_vertex,
        mark_tolerance,
        uses_earlier_exams,
        strategy,
        screening_line,
        drops,
        theme,
        colours,
        characters,
        pictures,
        keys
    )
}

#[test]
fn every_setting_sets_a_field_of_its_own_and_every_field_has_a_setting() {
    let set_by = |key: &str, value: &str| -> Vec<&str> {
        let read = fields(&read(&format!("{key}: {value}\n")).unwrap());
        read.into_iter().filter(|(_, set)| *set).map(|(field, _)| field).collect()
    };
    let mut all_set: Vec<&str> = Vec::new();
    for Setting { key, kind, example, .. } in &SETTINGS {
        let values: Vec<String> = match kind {
            Kind::Words([ships, others @ ..]) => {
                assert!(set_by(key, ships.word).is_empty(), "`{key}: {}` is not what ships", ships.word);
                others.iter().map(|word| word.word.to_owned()).collect()
            }
            Kind::Words([]) => Vec::new(),
            Kind::Figure(range, _) => vec![range.most.to_string()],
            Kind::Text(_) | Kind::Minutes(..) | Kind::Keys => vec![(*example).to_owned()],
        };
        let mut set: Vec<Vec<&str>> = values.iter().map(|value| set_by(key, value)).collect();
        set.dedup();
        assert!(set.len() == 1 && set[0].len() == 1, "`{key}` with {values:?} sets {set:?}, not one field");
        all_set.extend(&set[0]);
    }
    let mut every: Vec<&str> = fields(&Settings::shipped().unwrap()).into_iter().map(|(field, _)| field).collect();
    every.sort_unstable();
    all_set.sort_unstable();
    assert_eq!(all_set, every, "each field has one setting in the table");
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
    let frame = walk_with(options(settings)?, "-4<enter>x", "120x36")?;
    assert!(frame.contains("x does nothing here: f2 shows what does"), "{frame}");
    Ok(())
}

#[test]
fn every_mistake_is_named_with_its_place() {
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
        let answer = read(text).map_or_else(|refusal| refusal, |_| "read".to_owned());
        if !answer.starts_with(&format!("settings.yaml:{message}")) {
            wrong.push(format!("{text:?}\n  said {answer}\n  not  {message}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn all_faults_are_named_in_one_run() {
    let refusal = read("form: mins\ntheme: dusk\nkeys: {undoo: z}\n").unwrap_err();
    assert_eq!(refusal.lines().count(), 3, "{refusal}");
    assert!(refusal.contains("did you mean `minus`?") && refusal.contains("did you mean `undo`?"), "{refusal}");
}

#[test]
fn two_actions_may_change_places() {
    assert!(read("keys: {undo: r, redo: u}").is_ok());
}

#[test]
fn a_file_that_is_not_there_is_no_fault_and_one_that_cannot_be_read_is() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(Settings::load(&folder.path().join("none.yaml")).unwrap(), Settings::shipped().unwrap());
    let refusal = Settings::load(folder.path()).unwrap_err().to_string();
    assert!(refusal.contains("this is a folder"), "{refusal}");
}

#[test]
fn the_example_of_every_setting_is_read() {
    for setting in SETTINGS {
        let text = format!("{}: {}\n", setting.key, setting.example);
        assert!(read(&text).is_ok(), "{text}: {:?}", read(&text).err());
    }
    assert!(read(&table::as_yaml()).is_ok(), "{}", table::as_yaml());
}

#[test]
fn the_schema_has_every_setting_and_every_action() {
    let schema = table::schema();
    let names = |value: &serde_json::Value| -> Vec<String> { value.as_object().unwrap().keys().cloned().collect() };
    let mut keys: Vec<String> = SETTINGS.iter().map(|setting| setting.key.to_owned()).collect();
    keys.sort();
    let mut properties = names(&schema["properties"]);
    properties.sort();
    assert_eq!(properties, keys);
    assert_eq!(names(&schema["properties"]["keys"]["properties"]).len(), Action::every().count());
    assert_eq!(schema["properties"]["theme"]["enum"], serde_json::json!(["dark", "daylight", "plain"]));
    assert_eq!(schema["properties"]["chart_m"]["maximum"], serde_json::json!(10.0));
}

fn screen(choices: &std::path::Path, settings: &str) -> Result<App, Failure> {
    let choices = Choices::load(choices, &read(settings)?);
    let start = options(choices.applied())?;
    let mut app = App::new(start.session, start.settings);
    app.choices = Some(choices);
    Ok(app)
}

#[test]
fn what_is_chosen_on_the_screen_holds_at_the_next_start() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let choices = folder.path().join("choices.yaml");
    let mut app = screen(&choices, "form: minus\n")?;
    press(&mut app, "tT")?;
    assert_eq!((app.ui.form, app.ui.theme), (CylinderForm::Plus, ThemeName::Daylight));
    let app = screen(&choices, "form: minus\n")?;
    assert_eq!((app.ui.form, app.ui.theme), (CylinderForm::Plus, ThemeName::Daylight));
    // settings that were edited since hold again, the others stay as they were chosen
    let mut app = screen(&choices, "theme: plain\n")?;
    assert_eq!((app.ui.form, app.ui.theme), (CylinderForm::Plus, ThemeName::Plain));
    // what was not chosen is not kept: the theme of a terminal without colour is nobody's choice
    press(&mut app, "t")?;
    let app = screen(&choices, "form: minus\n")?;
    assert_eq!((app.ui.form, app.ui.theme), (CylinderForm::Minus, ThemeName::Daylight));
    Ok(())
}

#[test]
fn choices_that_cannot_be_read_or_kept_stop_nobody() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let choices = folder.path().join("choices.yaml");
    for text in ["", "theme: [\n", "theme: {settings: dark, chosen: dusk}\n", "later: {settings: a, chosen: b}\n"] {
        std::fs::write(&choices, text)?;
        assert_eq!(screen(&choices, "")?.ui.theme, ThemeName::Dark, "{text}");
    }
    let mut app = screen(&folder.path().join("none").join("choices.yaml"), "")?;
    press(&mut app, "T")?;
    assert_eq!(app.ui.theme, ThemeName::Daylight);
    assert!(refused(&app).is_some_and(|text| text.starts_with("this choice is not saved: ")), "{:?}", refused(&app));
    Ok(())
}

/// What an examiner sees of the settings: lenses before an eye, what the guide goes on with after the set-up, what it says of
/// retinoscopy, an acuity among the details, and on a day drops and what a screening pass asks for.
const SEEN_ON: [&str; 6] = [
    LENSES,
    "g1l",
    "g2",
    "-4<enter>ai<down><down><down><down><down><down><down><down><down><down><down><down><enter>6/12<enter>",
    "Db<enter>N1 9<enter>Ds",
    "Db<enter>N1 9<enter>Ddtropicamide<enter>",
];

/// Two lenses before the right eye.
const LENSES: &str = "-4<enter><right><right>-0.75x30<enter>";

/// What stands on records and not on the screen.
const NOT_ON_THE_SCREEN: [&str; 1] = ["examiner"];

/// A word that is drawn as one of the others, whichever the terminal can.
const AS_ANOTHER: (&str, &str) = ("characters", "auto");

/// Everything drawn, colours included, of a screen with these settings, and of what a practice eye sees.
fn drawn(text: &str) -> Result<Vec<Buffer>, Failure> {
    let mut buffers = Vec::new();
    let practice = std::iter::once((case("oblique", read(text)?)?, "V"));
    let people = SEEN_ON.into_iter().map(|keys| Ok((options(read(text)?)?, keys)));
    for (start, keys) in people.collect::<Result<Vec<_>, Failure>>()?.into_iter().chain(practice) {
        let mut app = App::new(start.session, start.settings);
        press(&mut app, keys)?;
        for (columns, rows) in [(80, 24), (120, 36)] {
            let mut buffer = Buffer::empty(Rect::new(0, 0, columns, rows));
            app.in_pixels = app.settings.pictures.is_some();
            let hits = view::draw(&app, Glyphs::chosen(app.settings.characters), &mut buffer);
            if let Some(protocol) = app.settings.pictures {
                pixels(protocol, 10, 20).draw(&hits.pictures, &app.pictures, &mut buffer);
            }
            buffers.push(buffer);
        }
    }
    Ok(buffers)
}

#[test]
fn every_word_and_figure_of_a_setting_is_seen() -> Result<(), Failure> {
    for Setting { key, kind, example, .. } in &SETTINGS {
        let values: Vec<String> = match kind {
            Kind::Words(words) => words.iter().map(|word| word.word.to_owned()).collect(),
            Kind::Figure(range, _) => vec![range.least.to_string(), range.most.to_string()],
            Kind::Text(_) => vec!["somebody".to_owned(), (*example).to_owned()],
            Kind::Minutes(..) | Kind::Keys => vec!["{}".to_owned(), (*example).to_owned()],
        };
        let values = values.into_iter().filter(|value| (*key, value.as_str()) != AS_ANOTHER);
        let texts: Vec<String> = values.map(|value| format!("{key}: {value}\n")).collect();
        let seen = texts.iter().map(|text| drawn(text)).collect::<Result<Vec<_>, _>>()?;
        for (nth, text) in texts.iter().enumerate() {
            let alike = (0..nth).find(|&before| seen[before] == seen[nth]).map(|before| &texts[before]);
            assert_eq!(alike.is_some(), NOT_ON_THE_SCREEN.contains(key) && nth > 0, "{text:?} is drawn as {alike:?}");
        }
    }
    Ok(())
}

#[test]
fn what_a_word_of_a_setting_changes_on_the_frame() -> Result<(), Failure> {
    let album = Album::of("settings");
    for size in ["120x36", "80x24"] {
        let usual = walk_with(options(Settings::shipped()?)?, LENSES, size)?;
        for Setting { key, kind, .. } in &SETTINGS {
            let words = match kind {
                Kind::Words(words) => *words,
                Kind::Figure(..) | Kind::Text(_) | Kind::Minutes(..) | Kind::Keys => &[],
            };
            for word in words {
                let frame = walk_with(options(read(&format!("{key}: {}\n", word.word))?)?, LENSES, size)?;
                if frame != usual {
                    album.screen(&format!("{key}-{}-{size}", word.word), LENSES, &frame);
                }
            }
        }
    }
    Ok(())
}
