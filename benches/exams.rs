//! The list of exams with ten, a thousand and five thousand of them, side by side. `cargo bench --bench exams`.
//!
//! The logbooks are made here: ten exams that practice eyes went through, every step of the guide kept, then rows of the same
//! with numbers, labels and times of their own. Measured in a real pseudo-terminal: start to first frame, the list, a key in it, a search,
//! resident memory; a start that erases an exam; and `dioptray exam list` as a command. `SIZES=10,200` makes others.
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot set itself up must stop")]

#[path = "led/mod.rs"]
mod led;
#[path = "terminal/mod.rs"]
mod terminal;

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use dioptray::logbook::erasing::note_beside;
use dioptray::logbook::{ExamNumber, Logbook};
use dioptray::sharing::Erasure;
use led::{LED, keep, led};
use rusqlite::Connection;
use terminal::start;

const PROGRAM: &str = env!("CARGO_BIN_EXE_dioptray");

fn main() {
    let sizes = std::env::var("SIZES").unwrap_or_else(|_| "10,1000,5000".to_owned());
    let folder = tempfile::tempdir().unwrap();
    let (led, steps) = led_in(folder.path());
    println!("{LED} exams led, {steps} steps in the mean");
    let mut table: Vec<(String, Vec<String>)> = Vec::new();
    for size in sizes.split(',') {
        let exams: usize = size.parse().unwrap();
        let path = folder.path().join(format!("logbook-{size}.db"));
        std::fs::copy(&led, &path).unwrap();
        multiply(&path, exams);
        for (number, (what, figure)) in measure(&path, exams).into_iter().enumerate() {
            if table.len() == number {
                table.push((what, Vec::new()));
            }
            table[number].1.push(figure);
        }
        std::fs::remove_file(&path).unwrap();
    }
    for (what, figures) in table {
        print!("{what:44}");
        for figure in figures {
            print!("{figure:>16}");
        }
        println!();
    }
}

/// A logbook of exams that practice eyes went through, and how many steps one has.
fn led_in(folder: &Path) -> (PathBuf, usize) {
    let path = folder.join("led.db");
    let steps = keep(&mut Logbook::open(&path).unwrap(), &led());
    (path, steps)
}

/// Adds exams like those that are there until there are that many.
fn multiply(path: &Path, exams: usize) {
    let connection = Connection::open(path).unwrap();
    let done = connection.execute_batch(&format!(
        "BEGIN;
         CREATE TEMP TABLE further AS
             WITH RECURSIVE n(n) AS (SELECT {LED} + 1 UNION ALL SELECT n + 1 FROM n WHERE n < {exams})
             SELECT n AS number, (n - 1) % {LED} + 1 AS of FROM n WHERE n <= {exams};
         INSERT INTO exam (number, id, box, opened, label, finished, found)
             SELECT further.number, randomblob(16), box, strftime('%Y-%m-%dT%H:%M:%SZ', '2026-03-01', '+' || (further.number * 7) || ' minutes'),
                 'P' || further.number, finished, found FROM further JOIN exam ON exam.number = of;
         INSERT INTO opening (exam, format, opening)
             SELECT further.number, format, opening FROM further JOIN opening ON exam = of;
         INSERT INTO step (exam, number, at, format, events)
             SELECT further.number, step.number, at, format, events FROM further JOIN step ON exam = of ORDER BY 1, 2;
         COMMIT;"
    ));
    done.unwrap();
}

fn measure(path: &Path, exams: usize) -> Vec<(String, String)> {
    let logbook = path.to_str().unwrap();
    let mut figures = Vec::new();
    let mut figure = |what: &str, figure: String| figures.push((what.to_owned(), figure));
    figure("exams", exams.to_string());
    figure("MB on the disk", format!("{:.1}", std::fs::metadata(path).unwrap().len() as f64 / 1e6));
    let listed = (0..7).map(|_| {
        let since = Instant::now();
        let done = Command::new(PROGRAM).args(["--logbook", logbook, "exam", "list"]).stdout(Stdio::null()).status();
        assert!(done.unwrap().success());
        since.elapsed()
    });
    figure("`exam list`, ms", median(listed.collect()));
    let starts = (0..11).map(|_| {
        let running = start(PROGRAM, &["--logbook", logbook, "--new"]);
        let took = running.frame() - running.started;
        running.quit();
        took
    });
    figure("start to first frame, ms", median(starts.collect()));
    let mut running = start(PROGRAM, &["--logbook", logbook, "--new"]);
    running.frame();
    running.press("!");
    let opens = (0..11).map(|_| {
        let took = running.press("e");
        running.press("\u{1b}");
        took
    });
    figure("list opens, ms", median(opens.collect()));
    running.press("e");
    for (what, key) in [("a line on, ms", "\u{1b}[B"), ("a page on, ms", "\u{1b}[6~"), ("a page back, ms", "\u{1b}[5~")]
    {
        figure(what, median((0..30).map(|_| running.press(key)).collect()));
    }
    let finds = (0..7).map(|_| {
        for key in ["/", "P", "7"] {
            running.press(key);
        }
        let took = running.press("\r");
        running.press("\u{1b}");
        took
    });
    figure("found by label, ms", median(finds.collect()));
    let finds = (0..7).map(|_| {
        running.press("/");
        running.press("2026-03-0");
        let took = running.press("\r");
        running.press("\u{1b}");
        took
    });
    figure("found by date, ms", median(finds.collect()));
    figure("resident memory, MB", format!("{:.1}", running.status("VmRSS:") as f64 / 1024.0));
    running.quit();
    figure("start that erases one of them, ms", median(vec![erases(path)]));
    figures
}

/// A start that finds beside the logbook that two people of a room had an exam erased, to its first frame.
fn erases(path: &Path) -> Duration {
    let number = ExamNumber(5);
    let line = Logbook::open_read_only(path).unwrap().exam_line(number).unwrap();
    let erasure = Erasure {
        exam: line.id.uuid(),
        seat: "lane3".to_owned(),
        number: number.0,
        place: 1,
        closed: line.finished.unwrap().to_string(),
        why: "entered for the wrong person".to_owned(),
        asked_by: "office".to_owned(),
        agreed_by: "lane4".to_owned(),
        agreed: "2026-03-02T10:00:00Z".to_owned(),
    };
    assert_eq!(note_beside(path, &[erasure]).unwrap(), None);
    let running = start(PROGRAM, &["--logbook", path.to_str().unwrap(), "--new"]);
    let took = running.frame() - running.started;
    running.quit();
    let logbook = Logbook::open_read_only(path).unwrap();
    assert!(logbook.read_exam(number).unwrap_err().is_of_an_erased_exam() && !logbook.leaves_bytes().unwrap());
    took
}

fn median(mut times: Vec<Duration>) -> String {
    times.sort_unstable();
    format!("{:.2}", times[times.len() / 2].as_secs_f64() * 1e3)
}
