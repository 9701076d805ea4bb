//! The program killed at its system calls, one after the other, and these failing one after the other: what it said that it
//! did is in the logbook, and nothing else.
//!
//! `strace` does both. The gate tries some calls, `.ci/long` every one. What was said to be done is taken from the lines of
//! `--plain-lines`; what must be in the logbook then is what the same screen takes in this process.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};

use crossterm::event::KeyCode;
use dioptray::exam::Event;
use dioptray::screen::keys::{Chord, strokes};
use dioptray::screen::ui::Input;
use tempfile::TempDir;

use crate::pty::Failure;
use crate::twin::{Twin, kept};

/// What is typed, line by line: a lens, what is wanted and accepted, the exam is closed, another begins.
const LINES: [&str; 8] = ["-4", "w-4.25", "a", "Cy", "N<enter>", "-1", "a", "w-1.25"];
/// Calls that change what outlives the program, or without which it cannot.
const KILLED_AT: [&str; 11] =
    ["write", "pwrite64", "fsync", "fdatasync", "ftruncate", "unlink", "rename", "fchown", "openat", "fcntl", "flock"];
/// Calls of which the disk has a say.
const FAILING: [&str; 5] = ["pwrite64", "fsync", "fdatasync", "ftruncate", "unlink"];

/// The program that is tried: a copy of it, where another user tries it.
fn program() -> PathBuf {
    std::env::var_os("DIOPTRAY_TEST_PROGRAM").unwrap_or_else(|| env!("CARGO_BIN_EXE_dioptray").into()).into()
}

/// The program in a folder of its own.
struct Room {
    folder: TempDir,
}

impl Room {
    fn new() -> Result<Self, Failure> {
        Self::with(tempfile::tempdir()?, LINES.join("\n") + "\nq\n")
    }

    fn with(folder: TempDir, lines: String) -> Result<Self, Failure> {
        fs::write(folder.path().join("lines"), lines)?;
        Ok(Self { folder })
    }

    fn file(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn logbook(&self) -> PathBuf {
        self.file("logbook.db")
    }

    /// The program with all that is typed, under `strace`.
    fn traced(&self, calls: &str, inject: Option<&str>) -> Result<Output, Failure> {
        let mut command = Command::new("strace");
        command.args(["-f", "-qq", "-o"]).arg(self.file("calls"));
        command.args(["-e", &format!("trace={calls}")]);
        command.args(inject.iter().flat_map(|inject| ["-e", inject]));
        command.arg(program()).args(["--plain-lines", "--logbook"]).arg(self.logbook());
        self.run(command)
    }

    fn run(&self, mut command: Command) -> Result<Output, Failure> {
        let folder = self.folder.path();
        command.current_dir(folder).env("HOME", folder).env_remove("DIOPTRAY_LOGBOOK").env_remove("XDG_CONFIG_HOME");
        command.env("RUST_BACKTRACE", "0").stdin(Stdio::from(File::open(self.file("lines"))?));
        let program = command.get_program().to_string_lossy().into_owned();
        command
            .output()
            .map_err(|error| format!("{program}: {error}; strace is of the Debian package of that name").into())
    }

    fn untraced(&self, arguments: &[&str]) -> Result<Output, Failure> {
        let mut command = Command::new(program());
        command.args(arguments).arg("--logbook").arg(self.logbook());
        self.run(command)
    }
}

/// How often each call is made by the thread that makes it most often.
fn calls_made() -> Result<BTreeMap<String, usize>, Failure> {
    let room = Room::new()?;
    let out = room.traced(&KILLED_AT.join(","), None)?;
    assert!(out.status.success(), "{out:?}");
    let mut counts: BTreeMap<(String, String), usize> = BTreeMap::new();
    for line in fs::read_to_string(room.file("calls"))?.lines() {
        let Some((thread, call)) = line.split_once(' ') else { continue };
        let Some((name, _)) = call.trim_start().split_once('(') else { continue };
        *counts.entry((name.to_owned(), thread.to_owned())).or_default() += 1;
    }
    let mut most = BTreeMap::new();
    for ((name, _), count) in counts {
        let before = most.entry(name).or_insert(0);
        *before = count.max(*before);
    }
    assert!(most.get("pwrite64").is_some_and(|count| *count > 50), "{most:?}");
    Ok(most)
}

/// What is answered at the start and to each line, as far as it was said whole.
fn answers(out: &Output) -> Result<Vec<String>, Failure> {
    let text = String::from_utf8(out.stdout.clone())?;
    let whole = text.rfind("\n\n").map_or("", |end| &text[..end]);
    Ok(whole.split("\n\n").filter(|answer| !answer.is_empty()).map(str::to_owned).collect())
}

/// The steps of all exams that have any, once these lines were taken.
fn steps_of<'a>(lines: impl IntoIterator<Item = &'a str>) -> Result<Vec<Vec<Vec<Event>>>, Failure> {
    let mut twin = Twin::new(120, 36)?;
    twin.app.ui.sheet = None;
    for line in lines {
        for stroke in strokes::parse(line)? {
            let strokes::Stroke::Key(chord) = stroke else { continue };
            twin.take(&Input::Key(chord));
        }
        if twin.app.ui.prompt.is_some() {
            twin.take(&Input::Key(Chord::named(KeyCode::Enter)));
        }
    }
    let taken = twin.taken();
    Ok(with_steps(taken.exams.clone()))
}

fn with_steps(exams: Vec<Vec<Vec<Event>>>) -> Vec<Vec<Vec<Event>>> {
    exams.into_iter().filter(|steps| !steps.is_empty()).collect()
}

/// Whether the logbook is sound and can be gone on with; where none was said to be there, there may be none yet.
fn is_sound(room: &Room, begun: bool, what: &str) -> Result<Vec<Vec<Vec<Event>>>, Failure> {
    let checked = room.untraced(&["logbook", "check"])?;
    let there = checked.status.success();
    assert!(there || !begun, "{what}: {}", String::from_utf8_lossy(&checked.stderr));
    let found = if there { kept(&room.logbook())? } else { Vec::new() };
    let goes_on = room.untraced(&["--plain-lines", "--new"])?;
    assert!(goes_on.status.success(), "{what}: it cannot be gone on with: {goes_on:?}");
    Ok(with_steps(found))
}

/// Killed at the call of this number: all that was answered is there, and at most what was being done.
fn killed(call: &str, number: usize) -> Result<bool, Failure> {
    let room = Room::new()?;
    let what = format!("killed at {call} {number}");
    let out = room.traced(call, Some(&format!("inject={call}:signal=KILL:when={number}")))?;
    let answered = answers(&out)?.len();
    let lines = answered.saturating_sub(1);
    let found = is_sound(&room, answered > 0, &what)?;
    let (confirmed, begun) = (steps_of(LINES[..lines].iter().copied())?, LINES.iter().take(lines + 1).copied());
    assert!(found == confirmed || found == steps_of(begun)?, "{what}: {lines} lines were answered, found {found:?}");
    Ok(!out.status.success())
}

/// Failing: all that was said to be done is there, and nothing that was said not to be.
fn failing(call: &str, how: &str) -> Result<bool, Failure> {
    let room = Room::new()?;
    let what = format!("{call} failing with {how}");
    let out = room.traced(call, Some(&format!("inject={call}:{how}")))?;
    let err = String::from_utf8_lossy(&out.stderr);
    assert!(matches!(out.status.code(), Some(0 | 1)) && !err.contains("panicked"), "{what}: {out:?}");
    let said = answers(&out)?;
    let is_refused = |answer: &&String| answer.contains("not saved") || answer.contains("the disk");
    let done = LINES.iter().zip(said.iter().skip(1)).filter(|(_, answer)| !is_told_undone(answer));
    let expected = steps_of(done.map(|(line, _)| *line))?;
    let found = is_sound(&room, !said.is_empty(), &what)?;
    assert!(found == expected, "{what}: said {said:#?}\n{err}\nexpected {expected:?}\nfound {found:?}");
    Ok(said.iter().any(|answer| is_refused(&answer)) || !out.status.success())
}

/// Whether a line was answered by what could not be kept.
fn is_told_undone(answer: &str) -> bool {
    answer.contains("was not saved") || answer.contains("so not done") || answer.contains("cannot be")
}

/// Some of the calls, spread evenly.
fn some(of: usize, most: usize) -> impl Iterator<Item = usize> {
    (0..most.min(of)).map(move |nth| 1 + nth * of / most.min(of))
}

#[test]
fn killed_at_some_of_its_system_calls_it_has_kept_what_it_said() -> Result<(), Failure> {
    let made = calls_made()?;
    let mut kills = 0;
    for (call, most) in
        [("pwrite64", 14), ("fsync", 3), ("fdatasync", 1), ("ftruncate", 1), ("unlink", 1), ("write", 3)]
    {
        for number in some(made.get(call).copied().unwrap_or_default(), most) {
            kills += usize::from(killed(call, number)?);
        }
    }
    assert!(kills >= 15, "only {kills} kills");
    Ok(())
}

#[test]
fn while_some_of_its_system_calls_fail_it_says_what_it_has_kept() -> Result<(), Failure> {
    let made = calls_made()?;
    let mut said = 0;
    for number in some(made["pwrite64"], 8) {
        said += usize::from(failing("pwrite64", &format!("error=EIO:when={number}"))?);
        said += usize::from(failing("pwrite64", &format!("error=ENOSPC:when={number}+"))?);
    }
    assert!(said >= 8, "only {said} failures were said");
    Ok(())
}

#[test]
#[ignore = "some minutes, by `.ci/long`"]
fn killed_at_each_of_its_system_calls_it_has_kept_what_it_said() -> Result<(), Failure> {
    let mut kills = BTreeMap::new();
    for (call, count) in calls_made()? {
        for number in 1..=count {
            *kills.entry(call.clone()).or_insert(0) += usize::from(killed(&call, number)?);
        }
    }
    println!("killed: {kills:?}");
    Ok(())
}

#[test]
#[ignore = "some minutes, by `.ci/long`"]
fn while_each_of_its_system_calls_fails_it_says_what_it_has_kept() -> Result<(), Failure> {
    let made = calls_made()?;
    let mut said = BTreeMap::new();
    for call in FAILING {
        for number in 1..=made.get(call).copied().unwrap_or_default() {
            for how in [format!("error=EIO:when={number}"), format!("error=ENOSPC:when={number}+")] {
                *said.entry(call).or_insert(0) += usize::from(failing(call, &how)?);
            }
        }
    }
    println!("failures that were said: {said:?}");
    Ok(())
}

/// A lens in and out again until there is no room: what was said to be done until then is there, and can be read.
#[test]
#[ignore = "needs a small file system, by `.ci/long`"]
fn until_a_disk_is_full() -> Result<(), Failure> {
    let disk = std::env::var_os("DIOPTRAY_SMALL_DISK").ok_or("DIOPTRAY_SMALL_DISK names no folder")?;
    let lines = ["-4", "x"].repeat(5000);
    let room = Room::with(tempfile::tempdir_in(disk)?, lines.join("\n") + "\nq\n")?;
    let out = room.untraced(&["--plain-lines"])?;
    assert!(out.status.success(), "{:?}", String::from_utf8_lossy(&out.stderr));
    let said = answers(&out)?;
    let refused = said.iter().position(|answer| answer.contains("the disk is full")).ok_or("it is never full")?;
    let done = lines.iter().zip(said.iter().skip(1)).filter(|(_, answer)| !is_told_undone(answer));
    let expected = steps_of(done.map(|(line, _)| *line))?;
    assert_eq!(with_steps(kept(&room.logbook())?), expected);
    let checked = room.untraced(&["logbook", "check"])?;
    assert!(checked.status.success(), "{}", String::from_utf8_lossy(&checked.stderr));
    println!("{refused} answers until the disk was full, {} steps kept", expected.iter().map(Vec::len).sum::<usize>());
    Ok(())
}
