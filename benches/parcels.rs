//! Six parcels of 2,000 closed exams each: written, read in, read in again, and listed on the screen. `cargo bench --bench parcels`.
//!
//! The exams are made here: ten that practice eyes went through, every step of the guide kept, then rows of the same with
//! identities, times and labels of their own, each closed by an entry in its writer's chain. `SEATS=2 EXAMS=100` makes fewer.
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot set itself up must stop")]

#[path = "led/mod.rs"]
mod led;
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
use dioptray::sharing::body::{ExamRow, exam_body};
use dioptray::sharing::{Entry, EntryKind, Hash, WriterId};
use led::{LED, keep, led};
use rusqlite::Connection;
use terminal::start;
use uuid::Uuid;

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

/// Adds closed exams like those that are there until there are that many, each with its entry.
fn multiply(path: &Path, exams: usize) {
    let mut connection = Connection::open(path).unwrap();
    let transaction = connection.transaction().unwrap();
    let writer: Uuid = transaction.query_row("SELECT writer FROM me", [], |row| row.get(0)).unwrap();
    let sql = "SELECT number, hash FROM entry ORDER BY number DESC LIMIT 1";
    let (mut last, hash) = transaction.query_row(sql, [], |row| Ok((row.get(0)?, row.get::<_, Vec<u8>>(1)?))).unwrap();
    let mut hash = Hash::from_bytes(&hash).unwrap();
    let (led, exams) = (i64::try_from(LED).unwrap(), i64::try_from(exams).unwrap());
    for number in led + 1..=exams {
        let (of, id) = ((number - 1) % led + 1, Uuid::now_v7());
        let opened = format!("2026-03-{:02}T{:02}:{:02}:00Z", number / 1000 + 1, number / 60 % 24, number % 60);
        let sql = "INSERT INTO exam (number, id, box, opened, label, finished, found)
                   SELECT ?1, ?2, box, ?3, 'P' || ?1, finished, found FROM exam WHERE number = ?4";
        transaction.execute(sql, (number, id, &opened, of)).unwrap();
        let sql = "INSERT INTO opening (exam, format, opening) SELECT ?1, format, opening FROM opening WHERE exam = ?2";
        transaction.execute(sql, [number, of]).unwrap();
        let sql = "INSERT INTO step (exam, number, at, format, events)
                   SELECT ?1, number, at, format, events FROM step WHERE exam = ?2 ORDER BY number";
        transaction.execute(sql, [number, of]).unwrap();
        let sql = "SELECT 0, ?2, format, opening FROM opening WHERE exam = ?1
                   UNION ALL SELECT number, at, format, events FROM step WHERE exam = ?1 ORDER BY 1";
        let mut select = transaction.prepare_cached(sql).unwrap();
        let rows = select.query_map((number, &opened), |row| {
            Ok((row.get::<_, i64>(0)?, row.get::<_, String>(1)?, row.get::<_, i64>(2)?, row.get::<_, String>(3)?))
        });
        let rows: Vec<_> = rows.unwrap().collect::<Result<_, _>>().unwrap();
        let as_kept =
            rows.iter().map(|(number, at, format, text)| ExamRow { number: *number, at, format: *format, text });
        let entry = Entry {
            kind: EntryKind::Exam,
            about: id.as_bytes().to_vec(),
            by: None,
            at: rows.last().unwrap().1.clone(),
            after: None,
            format: 1,
            body_hash: Hash::of(&exam_body(as_kept)),
        };
        let sealed = entry.seal(WriterId::new(writer), last, hash);
        (last, hash) = (sealed.number, sealed.hash);
        let sql = "INSERT INTO entry (writer, number, kind, about, at, format, body_hash, hash)
                   VALUES (?1, ?2, 'exam', ?3, ?4, 1, ?5, ?6)";
        let hashes = (sealed.entry.body_hash.as_bytes().as_slice(), hash.as_bytes().as_slice());
        transaction
            .execute(sql, (writer, last, id.as_bytes().as_slice(), &sealed.entry.at, hashes.0, hashes.1))
            .unwrap();
    }
    transaction.commit().unwrap();
}
