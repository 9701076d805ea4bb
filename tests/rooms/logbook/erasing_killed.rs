//! The program killed at its system calls while it erases: an exam is there whole or is erased, and what was begun is finished later.
//!
//! The killed program is this test program itself, started again with one of its ignored tests under `strace`.

#![expect(
    clippy::expect_used,
    clippy::panic,
    reason = "a test stops where something is not as it must be, and says what"
)]

use std::collections::BTreeMap;
use std::fs;
use std::os::unix::process::ExitStatusExt as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use dioptray::logbook::erasing::{note_beside, noted_beside};
use dioptray::logbook::parcels::error::ParcelError;
use dioptray::logbook::parcels::others::{Elsewhere, Others};
use dioptray::logbook::{ExamNumber, Logbook, StoredExam};
use dioptray::sharing::Erasure;

use super::erasing::{erasure, found, many};
use super::parcels::Seats;

/// The folder in which the killed program erases; and of whom it first notes what was erased.
const FOLDER: &str = "DIOPTRAY_TEST_FOLDER";
/// Which exam.
const EXAM: &str = "DIOPTRAY_TEST_EXAM";

/// Calls that change files.
const CALLS: [&str; 4] = ["pwrite64", "ftruncate", "fdatasync", "unlink"];

/// One in the middle; and the last one, whose steps are the last that the file has.
const EXAMS: [usize; 2] = [7, 40];

/// What is there before anything is erased.
struct Before {
    seats: Seats,
    erased: StoredExam,
    /// The body of what was added to it, deflated.
    added: Vec<u8>,
}

impl Before {
    /// Both logbooks have the exam, lane3 as its own, and teamB from a parcel.
    fn new(exam: usize) -> Self {
        let seats = Seats::new();
        let erased = many(&seats).swap_remove(exam - 1);
        let parcel = seats.write("lane3", "parcel", None);
        seats.open("teamB");
        seats.read("teamB", &[&parcel]).unwrap();
        fs::remove_file(parcel).unwrap();
        let file = rusqlite::Connection::open(seats.path("lane3")).unwrap();
        let sql = "SELECT body FROM entry WHERE kind = 'amendment' AND about = ?1";
        let added = file.query_row(sql, [erased.id().uuid()], |row| row.get(0)).unwrap();
        Self { seats, erased, added }
    }

    fn erasure(&self) -> Erasure {
        erasure(&self.erased, 1)
    }

    /// The same folder again, for one who is killed.
    fn again(&self) -> Seats {
        let seats = Seats::new();
        for seat in ["lane3", "teamB"] {
            let (from, to) = (self.seats.path(seat), seats.path(seat));
            fs::create_dir_all(to.parent().unwrap()).unwrap();
            for file in fs::read_dir(from.parent().unwrap()).unwrap() {
                let file = file.unwrap();
                fs::copy(file.path(), to.with_file_name(file.file_name())).unwrap();
            }
        }
        seats
    }

    /// Whether no byte of the exam is in any file of a seat.
    fn is_gone(&self, seats: &Seats, seat: &str) -> bool {
        let folder = seats.path(seat).parent().unwrap().to_owned();
        let has_body = |path: PathBuf| {
            let bytes = fs::read(path).unwrap();
            bytes.windows(self.added.len()).any(|window| window == self.added.as_slice())
        };
        let mut files = fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path());
        let nth = self.erased.number();
        let of_it = [format!("Label-of-{nth:0>2}"), format!("note 5 of {nth:0>2}")];
        of_it.iter().all(|text| found(&folder, text) == 0) && !files.any(has_body)
    }
}

#[test]
#[ignore = "the part of a program that is killed: notes what was erased, and erases it"]
fn part_note_and_erase() {
    let folder = PathBuf::from(std::env::var_os(FOLDER).expect("it is run by the tests here"));
    let path = |seat: &str| folder.join(seat).join("logbook.db");
    let exam = ExamNumber(std::env::var(EXAM).unwrap().parse().unwrap());
    let erasure = erasure(&Logbook::open_read_only(&path("lane3")).unwrap().read_exam(exam).unwrap(), 1);
    for seat in ["teamB", "lane3"] {
        note_beside(&path(seat), std::slice::from_ref(&erasure)).unwrap();
    }
    let here = Logbook::open(&path("lane3")).unwrap().erase_what_was_agreed().unwrap();
    assert_eq!((here.erased.len(), here.left_behind), (1, None));
}

/// The part under `strace`, which writes the calls into a file, or kills at one of them.
fn part(before: &Before, seats: &Seats, calls: &str, inject: Option<&str>) -> Output {
    let mut command = Command::new("strace");
    command.args(["-f", "-qq", "-o"]).arg(seats.0.path().join("calls")).args(["-e", &format!("trace={calls}")]);
    command.args(inject.iter().flat_map(|inject| ["-e", inject]));
    command.arg(std::env::current_exe().unwrap());
    command.args(["--ignored", "--exact", "logbook::erasing_killed::part_note_and_erase", "--test-threads=1"]);
    command.env(EXAM, before.erased.number().to_string());
    command.env(FOLDER, seats.0.path()).output().expect("strace is of the Debian package of that name")
}

/// How often each call is made by the thread that makes it most often.
fn calls_made(before: &Before) -> BTreeMap<String, usize> {
    let seats = before.again();
    let out = part(before, &seats, &CALLS.join(","), None);
    assert!(out.status.success(), "{out:?}");
    assert!(before.is_gone(&seats, "lane3") && before.is_gone(&seats, "teamB"));
    let mut counts: BTreeMap<(String, String), usize> = BTreeMap::new();
    for line in fs::read_to_string(seats.0.path().join("calls")).unwrap().lines() {
        let Some((thread, call)) = line.split_once(' ') else { continue };
        let Some((name, _)) = call.trim_start().split_once('(') else { continue };
        *counts.entry((name.to_owned(), thread.to_owned())).or_default() += 1;
    }
    let mut most = BTreeMap::new();
    for ((name, _), count) in counts {
        let known = most.entry(name).or_insert(0);
        *known = count.max(*known);
    }
    assert!(most.get("pwrite64").is_some_and(|count| *count > 50), "{most:?}");
    most
}

/// What `dioptray logbook check` says.
fn checked(logbook: &Path) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_dioptray"));
    command.env("XDG_CONFIG_HOME", logbook.with_file_name("settings")).arg("--logbook").arg(logbook);
    let out = command.args(["logbook", "check"]).output().unwrap();
    assert!(out.status.success(), "{out:?}");
    String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap()
}

/// What a kill came to.
#[derive(Debug, Default)]
struct Killed {
    kills: usize,
    whole: usize,
    erased: usize,
    /// Erased, with bytes left for the next start.
    bytes_left: usize,
}

/// Killed at the call of this number, the exam is there whole or erased in both files, and the next start does what is left to do.
fn killed(before: &Before, call: &str, number: usize, so_far: &mut Killed) {
    let seats = before.again();
    let what = format!("killed at {call} {number}");
    let out = part(before, &seats, call, Some(&format!("inject={call}:signal=KILL:when={number}")));
    assert!(
        out.status.success() || out.status.signal() == Some(9) || out.status.code() == Some(137),
        "{what}: {out:?}"
    );
    so_far.kills += usize::from(!out.status.success());
    let own = seats.path("lane3");
    let said = checked(&own);
    let logbook = Logbook::open_read_only(&own).unwrap();
    let is_whole = match logbook.read_exam(before.erased.number()) {
        Ok(exam) => {
            assert_eq!(exam, before.erased, "{what}: neither whole nor erased");
            assert!(said.contains("40 exams as it was kept"), "{what}: {said}");
            true
        }
        Err(error) => {
            assert!(error.is_of_an_erased_exam(), "{what}: {error}");
            assert!(said.contains("39 exams as it was kept; 1 exam erased"), "{what}: {said}");
            let is_left = logbook.leaves_bytes().unwrap();
            assert_eq!(said.contains("may still be in a free part"), is_left, "{what}: {said}");
            assert!(is_left || before.is_gone(&seats, "lane3"), "{what}: it is said to be gone");
            so_far.bytes_left += usize::from(is_left);
            false
        }
    };
    so_far.whole += usize::from(is_whole);
    so_far.erased += usize::from(!is_whole);
    drop(logbook);
    for seat in ["teamB", "lane3"] {
        let beside = Others::beside(&seats.path(seat)).unwrap_or_else(|error| panic!("{what}: {error}"));
        if let Some(others) = beside {
            others.check().unwrap_or_else(|error| panic!("{what}: {error}"));
            match others.read_exam(&Elsewhere::from_text(&format!("lane3-{}", before.erased.number())).unwrap()) {
                Ok(exam) => assert_eq!(exam.exam, before.erased.exam, "{what}"),
                Err(ParcelError::Erased { .. }) => {}
                Err(ParcelError::NoSuchExam { .. }) => assert_eq!(seat, "lane3", "{what}"),
                Err(other) => panic!("{what}: {other}"),
            }
        }
    }
    // what was not noted yet comes with the next round
    for seat in ["teamB", "lane3"] {
        let path = seats.path(seat);
        if noted_beside(&path).unwrap().count == 0 {
            note_beside(&path, &[before.erasure()]).unwrap();
        }
        let mut logbook = Logbook::open(&path).unwrap();
        assert_eq!(logbook.erase_what_was_agreed().unwrap().left_behind, None, "{what}");
        drop(logbook);
        assert!(before.is_gone(&seats, seat), "{what}: bytes are left at {seat} after the next start");
    }
    let said = checked(&own);
    assert!(said.contains("39 exams as it was kept; 1 exam erased") && !said.contains("free part"), "{what}: {said}");
}

#[test]
fn killed_at_some_of_its_system_calls_it_has_the_exam_whole_or_erased_and_the_next_start_finishes() {
    for exam in EXAMS {
        let before = Before::new(exam);
        let made = calls_made(&before);
        let mut so_far = Killed::default();
        for (call, most) in [("pwrite64", 24), ("ftruncate", 4), ("fdatasync", 3), ("unlink", 2)] {
            let of = made.get(call).copied().unwrap_or_default();
            for nth in 0..most.min(of) {
                killed(&before, call, 1 + nth * of / most.min(of), &mut so_far);
            }
        }
        // otherwise this has not tried what it is for
        assert!(so_far.kills >= 20 && so_far.whole >= 5 && so_far.erased >= 3 && so_far.bytes_left >= 1, "{so_far:?}");
    }
}

#[test]
#[ignore = "some minutes, by `.ci/long`"]
fn killed_at_each_of_its_system_calls_it_has_the_exam_whole_or_erased_and_the_next_start_finishes() {
    for exam in EXAMS {
        let before = Before::new(exam);
        let mut so_far = Killed::default();
        for (call, count) in calls_made(&before) {
            (1..=count).for_each(|number| killed(&before, &call, number, &mut so_far));
        }
        println!("exam {exam}: {so_far:?}");
    }
}
