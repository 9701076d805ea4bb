//! The program in a room of its own, and what it says.

use std::error::Error;
use std::fs;
use std::io::Write;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

pub type Tested = Result<(), Box<dyn Error>>;

/// A folder of its own, so that no logbook but its own is read or written.
pub struct Room {
    dir: TempDir,
}

pub struct Said {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
}

impl Room {
    pub fn new() -> Result<Self, Box<dyn Error>> {
        Ok(Self { dir: tempfile::tempdir()? })
    }

    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_dioptray"));
        command
            .args(arguments)
            .env("DIOPTRAY_LOGBOOK", self.file("logbook.db"))
            // no settings but those of the room
            .env("XDG_CONFIG_HOME", self.file("config"))
            .env_remove("RUST_BACKTRACE")
            .env_remove("COLUMNS");
        command
    }

    pub fn say(&self, arguments: &[&str]) -> Result<Said, Box<dyn Error>> {
        said(self.command(arguments).stdin(Stdio::null()).output()?)
    }

    pub fn say_with_input(&self, arguments: &[&str], input: &str) -> Result<Said, Box<dyn Error>> {
        let mut child =
            self.command(arguments).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn()?;
        child.stdin.take().ok_or("no input")?.write_all(input.as_bytes())?;
        said(child.wait_with_output()?)
    }

    /// The JSON of a command that is done.
    pub fn json(&self, arguments: &[&str]) -> Result<Value, Box<dyn Error>> {
        let said = self.say(&[arguments, &["--json"]].concat())?;
        assert_eq!((said.code, said.beside().as_str()), (Some(0), ""), "{arguments:?}");
        Ok(serde_json::from_str(&said.out)?)
    }

    pub fn file(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    pub fn write(&self, name: &str, text: &str) -> Result<String, Box<dyn Error>> {
        fs::write(self.file(name), text)?;
        Ok(self.file(name).to_str().ok_or("odd path")?.to_owned())
    }

    pub fn small_box(&self) -> Result<String, Box<dyn Error>> {
        self.write("box.yaml", SMALL_BOX)
    }
}

impl Said {
    /// What stands on standard error, but for the note that a shipped box has no `id`.
    pub fn beside(&self) -> String {
        let others = self.err.lines().filter(|line| !line.contains("kits/boxes/") || !line.contains("has no `id:`"));
        others.flat_map(|line| [line, "\n"]).collect()
    }
}

pub fn said(output: Output) -> Result<Said, Box<dyn Error>> {
    Ok(Said {
        code: output.status.code(),
        out: String::from_utf8(output.stdout)?,
        err: String::from_utf8(output.stderr)?,
    })
}

pub const SMALL_BOX: &str = "box: Invented
id: invented-1
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

pub const TWO_CELLS: &str = "frame: Two cells
vertex_mm: 12
pd_mm: {least: 48, most: 80}
axis_marks_deg: 5
cells:
  - {name: rear}
  - {name: front, gap_mm: 7.5, turns: true}
";

#[track_caller]
pub fn assert_power(power: &Value, sphere: f64, cylinder: f64, axis: f64) {
    for (field, expected) in [("sphere", sphere), ("cylinder", cylinder), ("axis", axis)] {
        let found = power[field].as_f64().unwrap_or(f64::NAN);
        assert!((found - expected).abs() < 0.005, "{field} {found} is not {expected} in {power}");
    }
}
