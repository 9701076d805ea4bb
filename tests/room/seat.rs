//! A program with a logbook of its own.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde_json::Value;
use tempfile::TempDir;

use super::Failure;

/// A folder with a logbook, settings and the password of a login.
pub struct Seat {
    pub folder: TempDir,
    pub name: String,
}

/// What a program said.
#[derive(Debug)]
pub struct Said {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
}

impl Seat {
    pub fn new(name: &str, password: &str) -> Result<Self, Failure> {
        let seat = Self { folder: tempfile::tempdir()?, name: name.to_owned() };
        seat.keep_password(password)?;
        // a room takes no box that is known by its name only
        let text = fs::read_to_string("kits/boxes/outreach.yaml")?;
        let text = text.replacen("box: Hillside outreach\n", "box: Hillside outreach\nid: hillside-1\n", 1);
        assert!(text.contains("id: hillside-1"));
        fs::write(seat.file("box.yaml"), text)?;
        Ok(seat)
    }

    /// A seat in a room.
    pub fn joined(name: &str, login: &str, address: &str) -> Result<Self, Failure> {
        let seat = Self::new(name, login)?;
        let said = seat.say(&["room", "join", address, "--seat", name])?;
        assert_eq!(said.code, Some(0), "{said:?}");
        Ok(seat)
    }

    /// The same folder as it is now, as somebody copies it.
    pub fn copied(&self) -> Result<Self, Failure> {
        let copy = Self { folder: tempfile::tempdir()?, name: self.name.clone() };
        for entry in fs::read_dir(self.folder.path())? {
            let entry = entry?;
            if entry.file_type()?.is_file() {
                fs::copy(entry.path(), copy.folder.path().join(entry.file_name()))?;
            }
        }
        Ok(copy)
    }

    pub fn keep_password(&self, password: &str) -> Result<(), Failure> {
        let path = self.file("password");
        fs::write(&path, password)?;
        let done = Command::new("chmod").arg("600").arg(path).status()?;
        if done.success() { Ok(()) } else { Err("no chmod".into()) }
    }

    pub fn file(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn logbook(&self) -> PathBuf {
        self.file("logbook.db")
    }

    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_dioptray"));
        command.args(arguments).stdin(Stdio::null());
        command.env("DIOPTRAY_LOGBOOK", self.logbook()).env("XDG_CONFIG_HOME", self.file("settings"));
        command.env("DIOPTRAY_ROOM_PASSWORD_FILE", self.file("password")).env_remove("DIOPTRAY_ROOM").env("TZ", "UTC");
        command
    }

    pub fn say(&self, arguments: &[&str]) -> Result<Said, Failure> {
        let output = self.command(arguments).output()?;
        let text = |bytes| String::from_utf8(bytes);
        Ok(Said { code: output.status.code(), out: text(output.stdout)?, err: text(output.stderr)? })
    }

    pub fn json(&self, arguments: &[&str]) -> Result<Value, Failure> {
        let said = self.say(&[arguments, &["--json"]].concat())?;
        assert_eq!(said.code, Some(0), "{said:?}");
        Ok(serde_json::from_str(&said.out)?)
    }

    /// One closed exam more.
    pub fn close_an_exam(&self, label: &str) -> Result<(), Failure> {
        let keys = format!("-4<enter>-0.75x30<enter>ai<enter>{label}<enter><esc>Cy");
        let file = self.file("box.yaml");
        let said = self.say(&["--new", "--box", file.to_str().ok_or("odd path")?, "--print", "--keys", &keys])?;
        assert_eq!(said.code, Some(0), "{said:?}");
        Ok(())
    }

    /// The labels of the exams that are listed here, with the seat of others; without those that were erased.
    pub fn exams(&self) -> Result<Vec<(Option<String>, i64, String)>, Failure> {
        let list = self.json(&["exam", "list"])?;
        let exams = list["exams"].as_array().ok_or("no exams")?;
        let one = |exam: &Value| {
            let seat = exam["seat"].as_str().map(str::to_owned);
            Some((seat, exam["number"].as_i64()?, exam["label"].as_str()?.to_owned()))
        };
        let is_there = |exam: &&Value| exam["erased"].is_null();
        let mut exams = exams.iter().filter(is_there).map(one).collect::<Option<Vec<_>>>().ok_or("odd list")?;
        exams.sort();
        Ok(exams)
    }

    /// One round with the room, and how it stands then.
    pub fn round(&self) -> Result<Value, Failure> {
        self.json(&["room"])
    }

    pub fn path(path: &Path) -> Result<&str, Failure> {
        Ok(path.to_str().ok_or("odd path")?)
    }
}
