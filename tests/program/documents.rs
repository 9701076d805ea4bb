//! What the README and DEVELOPERS.md say is true of the program as it is.
#![expect(clippy::unwrap_used, clippy::panic, reason = "a test that cannot set itself up must stop")]

use std::io::Write as _;
use std::num::NonZero;
use std::path::Path;
use std::process::Command;

use dioptray::exam::ProcedureName;
use dioptray::kit::file::LineKind;
use dioptray::practice::{Care, Law};
use dioptray::screen::Settings;
use dioptray::screen::keys::KeyTable;
use dioptray::screen::settings::table::as_yaml;
use serde_json::Value;

fn read(file: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(file)).unwrap()
}

/// The part of a text between `<!-- name -->` and `<!-- /name -->`.
fn between<'a>(text: &'a str, name: &str) -> &'a str {
    let (_, rest) = text.split_once(&format!("<!-- {name} -->\n")).unwrap();
    rest.split_once(&format!("<!-- /{name} -->")).unwrap().0
}

#[test]
fn the_readme_has_the_key_table_of_the_program() {
    let table = KeyTable::shipped().unwrap().as_markdown();
    assert_eq!(between(&read("README.md"), "keys").trim(), table.trim());
}

#[test]
fn the_readme_names_every_procedure() {
    let names: Vec<&str> = ProcedureName::ALL.iter().map(|procedure| procedure.shown()).collect();
    assert_eq!(between(&read("README.md"), "procedures").trim(), format!("{}.", names.join(", ")));
}

#[test]
fn the_readme_names_every_change_of_a_box() {
    let output = Command::new(env!("CARGO_BIN_EXE_dioptray")).args(["box", "change", "--help"]).output().unwrap();
    let help = String::from_utf8(output.stdout).unwrap();
    let words: Vec<&str> = help
        .lines()
        .filter_map(|line| line.trim_start().strip_prefix("- ")?.split_once(':'))
        .map(|(word, _)| word)
        .collect();
    assert_eq!(between(&read("README.md"), "changes").trim(), format!("{}.", words.join(", ")), "{help}");
}

#[test]
fn the_readme_has_the_settings_of_the_program() {
    let readme = read("README.md");
    let (_, preferred) = readme.split_once("What you prefer goes into").unwrap();
    let (_, from) = preferred.split_once("```yaml\n").unwrap();
    let shown = from.split("```").next().unwrap();
    assert_eq!(shown, as_yaml());
    let settings = Settings::read(shown, "README.md").unwrap();
    assert_eq!(settings.examiner.as_deref(), Some("A. Example"));
}

#[test]
fn the_readme_shows_a_line_of_every_kind_of_lens() {
    let lines: Vec<String> = LineKind::all().map(|kind| format!("  - {}\n", kind.example())).collect();
    assert_eq!(between(&read("README.md"), "lines"), format!("```yaml\nlenses:\n{}```\n", lines.concat()));
}

/// Renewed like other pictures, by `INSTA_UPDATE=always`; look at them before they are kept.
#[test]
fn the_pictures_of_the_readme_are_what_the_keys_below_them_draw() {
    let readme = read("README.md");
    let pictures: Vec<&str> = between(&readme, "pictures").split("![").skip(1).collect();
    assert_eq!(pictures.len(), 3);
    for picture in pictures {
        let file = picture.split_once("](").and_then(|(_, rest)| rest.split_once(')')).unwrap().0;
        as_kept(file, picture.split('`').nth(1).unwrap(), "svg");
    }
}

#[test]
fn the_recording_of_the_readme_is_a_whole_exam_in_forty_seconds_as_its_keys_make_it() {
    let readme = read("README.md");
    let quoted: Vec<&str> = between(&readme, "recording").split('`').collect();
    let played = as_kept(quoted[3], quoted[1], "recording");
    assert!(readme.contains(&format!("asciinema play {}", quoted[3])), "how it is played");
    let events: Vec<(f64, String, String)> =
        played.lines().skip(1).map(|line| serde_json::from_str(line).unwrap()).collect();
    let seconds = events.last().unwrap().0;
    assert!((35.0..=45.0).contains(&seconds), "{seconds} seconds");
    assert!(played.len() < 500_000, "{} bytes", played.len());
    let mut terminal = vt100::Parser::new(NonZero::new(24).unwrap(), NonZero::new(80).unwrap(), 0);
    let mut guided = false;
    for (_, _, output) in &events {
        terminal.process(output.as_bytes());
        guided |= terminal.screen().contents().contains("refraction by likelihood");
    }
    let last = terminal.screen().contents();
    assert!(guided && last.contains("right -1.00/-0.25x180") && last.contains("Draft"), "{last}");
}

/// What the keys of a command of the README make, in a form; it is as it is kept in a file.
fn as_kept(file: &str, command: &str, form: &str) -> String {
    let command: Vec<&str> = command.split('"').collect();
    let size = command[2].trim().strip_prefix("--size ").unwrap();
    let made = Command::new(env!("CARGO_BIN_EXE_dioptray"))
        .args(["--keys", command[1], "--print", "--as", form, "--size", size])
        .env_remove("DIOPTRAY_LOGBOOK")
        .env("XDG_CONFIG_HOME", env!("CARGO_TARGET_TMPDIR"))
        .output()
        .unwrap();
    let made = String::from_utf8(made.stdout).unwrap();
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join(file);
    if std::env::var_os("INSTA_UPDATE").is_some_and(|value| value == "always") {
        std::fs::create_dir_all(kept.parent().unwrap()).unwrap();
        std::fs::write(&kept, &made).unwrap();
    }
    // the gate asks which pictures of `snapshots/` are compared
    if let Some(compared) = std::env::var_os("INSTA_SNAPSHOT_REFERENCES_FILE") {
        let mut compared = std::fs::OpenOptions::new().append(true).create(true).open(compared).unwrap();
        writeln!(compared, "{}", kept.display()).unwrap();
    }
    assert!(read(file) == made, "{file} is not what its keys make: INSTA_UPDATE=always makes it again, look at it");
    made
}

/// The figures of the table are of many eyes and printed anew by hand; its rows and columns are those that the program prints.
#[test]
fn the_readme_measures_every_care_and_law_by_what_the_program_counts() {
    let arguments = ["practice", "evaluate", "--table", "--eyes", "2", "--seed", "1"];
    let output = Command::new(env!("CARGO_BIN_EXE_dioptray")).args(arguments).output().unwrap();
    let printed = String::from_utf8(output.stdout).unwrap();
    let cells = |line: &str| line.split('|').map(|cell| cell.trim().to_owned()).collect::<Vec<_>>();
    let rows = |text: &str| text.lines().filter(|line| line.starts_with("| ")).map(cells).collect::<Vec<_>>();
    let (readme, printed) = (rows(between(&read("README.md"), "measure")), rows(&printed));
    assert_eq!(readme[0], printed[0]);
    let of_whom = |rows: &[Vec<String>]| rows.iter().skip(2).map(|row| row[1..3].to_vec()).collect::<Vec<_>>();
    assert_eq!(of_whom(&readme), of_whom(&printed));
    assert_eq!(printed.len(), 2 + Care::ALL.len() + Law::ALL.len() - 1);
}

#[test]
fn the_tests_that_the_hazard_table_names_exist() {
    let developers = read("DEVELOPERS.md");
    let (_, hazards) = developers.split_once("## Hazards").unwrap();
    let rows = hazards.lines().filter(|line| line.starts_with("| ") && line.contains('`'));
    let mut named = 0;
    for row in rows {
        let mut text = String::new();
        let tests = row.trim_end_matches(" |").rsplit_once(" | ").unwrap().1;
        for name in tests.split('`').skip(1).step_by(2) {
            if name.starts_with("tests/") {
                text = read(name);
            } else {
                assert!(text.contains(&format!("fn {name}")), "no test {name} for this hazard: {row}");
                named += 1;
            }
        }
    }
    assert!(named >= 20, "only {named} tests found in the hazard table: is it still read rightly?");
}

#[test]
fn the_demo_commands_of_the_readme_answer() {
    let readme = read("README.md");
    let (_, student) = readme.split_once("## For the student").unwrap();
    let commands = between_fences(student).lines().filter_map(|line| line.strip_prefix("dioptray "));
    let mut run = 0;
    for command in commands {
        let arguments = command.split('#').next().unwrap().split_whitespace();
        let output = Command::new(env!("CARGO_BIN_EXE_dioptray")).args(arguments).output().unwrap();
        assert!(output.status.success(), "{command}: {}", String::from_utf8_lossy(&output.stderr));
        run += 1;
    }
    assert!(run >= 4, "only {run} commands found: are they still read rightly?");
}

/// Each row has a command and a line of what it prints.
#[test]
fn the_answers_of_the_readme_are_those_of_the_program() {
    let readme = read("README.md");
    let mut run = 0;
    for row in between(&readme, "answers").lines().filter(|row| row.contains('`')) {
        let written: Vec<&str> = row.split('`').skip(1).step_by(2).collect();
        let [command, answer] = written[..] else { panic!("a command and an answer are wanted: {row}") };
        let arguments = command.strip_prefix("dioptray ").unwrap().split_whitespace();
        let output = Command::new(env!("CARGO_BIN_EXE_dioptray")).args(arguments).output().unwrap();
        let printed = String::from_utf8(output.stdout).unwrap();
        assert!(printed.lines().any(|line| line == answer), "{command} prints\n{printed}");
        run += 1;
    }
    assert!(run >= 20, "only {run} answers found: are they still read rightly?");
}

#[test]
fn the_map_of_the_readme_is_what_the_program_draws() {
    let readme = read("README.md");
    let arguments =
        ["--logbook", "/nowhere/logbook.db", "box", "coverage", "--box", "kits/boxes/outreach.yaml", "--map"];
    let output = Command::new(env!("CARGO_BIN_EXE_dioptray")).args(arguments).output().unwrap();
    let printed = String::from_utf8(output.stdout).unwrap();
    let (_, map) = printed.split_once("\n\n").unwrap();
    let shown = between_fences(between(&readme, "makes"));
    assert_eq!(shown.strip_prefix("text\n"), Some(map), "copy this into the README");
}

/// The worked example: the command above the table, its parts and their sum, as the program counts them.
#[test]
fn the_costs_of_the_readme_are_those_of_the_program() {
    let readme = read("README.md");
    let (_, section) = readme.split_once("## What a stack costs").unwrap();
    let command = between_fences(section).lines().find_map(|line| line.strip_prefix("dioptray ")).unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_dioptray"))
        .args(command.split_whitespace())
        .env("DIOPTRAY_LOGBOOK", Path::new(env!("CARGO_TARGET_TMPDIR")).join("no-such-logbook.db"))
        .env("XDG_CONFIG_HOME", env!("CARGO_TARGET_TMPDIR"))
        .output()
        .unwrap();
    let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(answer["complete"], true);
    let best = &answer["right"][0];
    let cells: Vec<String> = best["cells"].as_array().unwrap().iter().map(in_its_cell).collect();
    let said = cells.join(", ").replacen(", -0.75", " and -0.75", 1);
    assert!(section.contains(&said), "the README does not say: {said}");
    let rows = between(section, "costs").lines().filter(|line| line.starts_with("| ")).skip(2);
    let cells = |line: &str| line.split('|').map(|cell| cell.trim().to_owned()).collect::<Vec<_>>();
    let mut written: Vec<(String, String)> =
        rows.map(cells).map(|row| (row[1].replace('`', ""), row[3].clone())).collect();
    let together = written.pop().unwrap();
    assert_eq!(together, ("together".to_owned(), format!("{:.2}", best["cost"].as_f64().unwrap())));
    let counted = best["cost_of"].as_object().unwrap();
    let mut counted: Vec<(String, String)> =
        counted.iter().map(|(part, lenses)| (part.clone(), format!("{:.2}", lenses.as_f64().unwrap()))).collect();
    written.sort();
    counted.sort();
    assert_eq!(written, counted);
}

fn in_its_cell(lens: &Value) -> String {
    let axis = lens["axis"].as_u64().map(|axis| format!("x{axis}")).unwrap_or_default();
    format!("{}{axis} in cell {}", lens["lens"].as_str().unwrap(), lens["cell"])
}

fn between_fences(text: &str) -> &str {
    text.split("```").nth(1).unwrap()
}

#[test]
fn readme_and_changelog_speak_of_the_version_of_the_program() {
    let version = env!("CARGO_PKG_VERSION");
    let output = Command::new(env!("CARGO_BIN_EXE_dioptray")).arg("--version").output().unwrap();
    // the build of a package says its commit after it
    let said = String::from_utf8(output.stdout).unwrap();
    assert_eq!(said.split_whitespace().take(2).collect::<Vec<_>>(), ["dioptray", version]);
    let changelog = read("CHANGELOG.md");
    let newest = changelog.lines().find_map(|line| line.strip_prefix("## ")).unwrap();
    assert_eq!(newest.split(',').next(), Some(version));
    let readme = read("README.md");
    let packages = between(&readme, "packages");
    for file in [format!("dioptray_{version}-1_amd64.deb"), format!("dioptray-{version}-x86_64-linux.tar.gz")] {
        assert!(packages.contains(&file), "the README installs another file than {file}");
    }
}
