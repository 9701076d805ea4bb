//! Six parcels of 2,000 closed exams each: written, read in, read in again, and listed on the screen. `cargo bench --bench parcels`.
//!
//! The exams are made here: ten that practice eyes went through, every step of the guide kept, then rows of the same with
//! identities, times and labels of their own, each closed by an entry in its writer's chain. `SEATS=2 EXAMS=100` makes fewer.
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot set itself up must stop")]

#[path = "led/mod.rs"]
mod led;
#[path = "led/multiply.rs"]
mod multiply;
#[path = "terminal/mod.rs"]
mod terminal;

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use dioptray::exam::{Event, Opening};
use dioptray::logbook::Logbook;
use dioptray::logbook::parcels::key::key_of;
use dioptray::logbook::parcels::read::Parcel;
use dioptray::logbook::parcels::signers::Trust;
use dioptray::logbook::parcels::taking::{Reading, Taken, take_in};
use led::{LED, keep, led};
use multiply::multiply;
use terminal::start;

const PROGRAM: &str = env!("CARGO_BIN_EXE_dioptray");

fn main() {
    let number = |name: &str, otherwise: usize| std::env::var(name).map_or(otherwise, |number| number.parse().unwrap());
    let (seats, exams) = (number("SEATS", 6), number("EXAMS", 2000));
    let folder = tempfile::tempdir().unwrap();
    let led = led();
    let steps = led.iter().map(|(_, steps)| steps.len() + 2).sum::<usize>() / LED;
    println!("{seats} seats, {exams} exams each, {steps} steps in the mean");
    let files: Vec<PathBuf> = (1..=seats).map(|seat| written(folder.path(), seat, exams, &led)).collect();

    let here = folder.path().join("here.db");
    let (read, whole) = timed(|| read(&here, &files));
    assert_eq!((read.1.new, read.1.not_listed), (seats * exams, 0));
    println!("read in, s {:>36.2}, of it checking {:.2}", whole.as_secs_f64(), read.0.as_secs_f64());
    let (again, whole) = timed(|| self::read(&here, &files));
    assert_eq!((again.1.new, again.1.known), (0, seats * exams));
    println!("read in again, s {:>30.2}", whole.as_secs_f64());
    let size = std::fs::metadata(folder.path().join("others-here.db")).unwrap().len();
    println!("MB on the disk {:>32.1}", size as f64 / 1e6);

    // one's own of that many, beside others' of that many
    let own = folder.path().join("lane1").join("logbook.db");
    shown("own ones", &own);
    let one = folder.path().join("one.db");
    self::read(&one, &files[..1]);
    shown("others' of one seat", &one);
    shown("others' of all seats", &here);
}

fn timed<T>(what: impl FnOnce() -> T) -> (T, Duration) {
    let since = Instant::now();
    let done = what();
    (done, since.elapsed())
}

fn read(logbook: &Path, files: &[PathBuf]) -> (Duration, Taken) {
    let (parcels, checking) = timed(|| files.iter().map(|file| Parcel::read(file).unwrap()).collect::<Vec<_>>());
    let reading = Reading { with_gap: false, only_say: false, trust: Trust::All };
    (checking, take_in(logbook, &parcels, reading).unwrap())
}

/// How long the list takes on the screen and as a command.
fn shown(what: &str, logbook: &Path) {
    let path = logbook.to_str().unwrap();
    let listed = (0..5).map(|_| {
        timed(|| {
            let mut command = Command::new(PROGRAM);
            assert!(
                command.args(["--logbook", path, "exam", "list"]).stdout(Stdio::null()).status().unwrap().success()
            );
        })
        .1
    });
    let listed = median(listed.collect());
    let mut running = start(PROGRAM, &["--logbook", path, "--new"]);
    let first = running.frame() - running.started;
    running.press("!");
    let opens = (0..11).map(|_| {
        let took = running.press("e");
        running.press("\u{1b}");
        took
    });
    let opens = median(opens.collect());
    running.press("e");
    let page = median((0..20).map(|_| running.press("\u{1b}[6~")).collect());
    let memory = running.status("VmRSS:") as f64 / 1024.0;
    running.quit();
    let first = median(vec![first]);
    println!(
        "{what:24} `exam list`, ms {listed:>8}   first frame, ms {first:>6}   list opens, ms {opens:>7}   a page on, ms {page:>6}   MB {memory:.1}"
    );
}

fn median(mut times: Vec<Duration>) -> String {
    times.sort();
    format!("{:.1}", times[times.len() / 2].as_secs_f64() * 1e3)
}

/// The parcel of a seat with that many closed exams.
fn written(folder: &Path, seat: usize, exams: usize, led: &[(Opening, Vec<Vec<Event>>)]) -> PathBuf {
    let path = folder.join(format!("lane{seat}")).join("logbook.db");
    let mut logbook = Logbook::open(&path).unwrap();
    keep(&mut logbook, led);
    logbook.name_seat(&format!("lane{seat}")).unwrap();
    drop(logbook);
    multiply(&path, exams);
    let file = folder.join(format!("{seat}.parcel"));
    let logbook = Logbook::open(&path).unwrap();
    let (parcel, took) = timed(|| logbook.parcel(None, &key_of(&path).unwrap()).unwrap());
    println!("written, s {:>36.2}, {:.1} MB", took.as_secs_f64(), parcel.bytes.len() as f64 / 1e6);
    std::fs::write(&file, parcel.bytes).unwrap();
    file
}
