//! The logbook against killed programs and several programs at once.
//!
//! The children are this test program itself, started again with one of its ignored tests.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test stops where something is not as it must be")]

use std::env;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use crate::invented::{declared_box, opening};
use crate::kept_exam::{append, begin, named, read};
use dioptray::exam::{Detail, Event, Exam};
use dioptray::frame::Move;
use dioptray::kit::stock_take::Said;
use dioptray::kit::{BoxChange, DeclaredBox, Piece, Place, StockTake, Tray};
use dioptray::logbook::{BoxKey, Logbook, LogbookError, NamedBox, NewChanges};
use dioptray::optics::{Eye, SpheroCylinder};
use jiff::Timestamp;

const LOGBOOK: &str = "DIOPTRAY_TEST_LOGBOOK";
const BOX: &str = "DIOPTRAY_TEST_BOX";

fn start() -> Timestamp {
    "2026-03-01T09:30:00Z".parse().unwrap()
}

/// The step with this number from 1: moves, a step of several events, undo and redo among them.
fn step(number: usize) -> Vec<Event> {
    let piece: Piece = "-3.00 sphere #1".parse().unwrap();
    let (eye, cell) = (Eye::Left, 1);
    match number % 7 {
        1 => vec![Event::Moved(Move::Put { piece, eye, cell, direction: None })],
        2 => vec![Event::Moved(Move::Take { piece, eye, cell })],
        3 => vec![Event::Note(format!("step {number}"))],
        4 => {
            let wanted = SpheroCylinder { sphere: -4.25, cylinder: -0.75, axis: (number % 180 + 1) as f64 };
            vec![Event::Wanted(eye, Some(wanted)), Event::Detail(Detail::Label(number.to_string()))]
        }
        5 => vec![Event::Undone],
        6 => vec![Event::Redone],
        _ => vec![Event::Detail(Detail::AgeYears((number % 100) as u8))],
    }
}

/// Starts this program again with one of its children's parts.
fn child(part: &str, logbook: &Path, box_name: &str) -> Child {
    Command::new(env::current_exe().unwrap())
        .args(["--ignored", "--exact", &format!("logbook_kill::{part}"), "--nocapture", "--test-threads=1"])
        .env(LOGBOOK, logbook)
        .env(BOX, box_name)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap()
}

/// The logbook and the box that a child is to work with; a child's part run by hand says what is missing.
fn given() -> (PathBuf, String) {
    let value = |name| env::var(name).unwrap_or_else(|_| panic!("{name} is not set: this is run by the tests here"));
    (value(LOGBOOK).into(), value(BOX))
}

fn tell(line: &str) {
    // Not println!: the test harness must not keep it back. On a line of its own: the harness leaves one begun.
    let mut out = std::io::stdout().lock();
    writeln!(out, "\n{line}").unwrap();
    out.flush().unwrap();
}

/// The last number in whole lines that begin with `kept `.
fn last_kept(output: &str) -> Option<usize> {
    let whole = output.rsplit_once('\n').map_or("", |(whole, _)| whole);
    whole.lines().filter_map(|line| line.strip_prefix("kept ")?.parse().ok()).next_back()
}

#[test]
#[ignore = "a child's part: goes on with the open exam until it is killed"]
fn part_write_until_killed() {
    write_steps(usize::MAX);
}

#[test]
#[ignore = "a child's part: writes 60 steps and ends"]
fn part_write_sixty_steps() {
    write_steps(60);
}

fn write_steps(until: usize) {
    let (path, box_name) = given();
    let mut logbook = Logbook::open(&path).unwrap();
    let claim = logbook.claim_box(&named(&box_name), start()).unwrap();
    let open = logbook.open_exams().unwrap().exams.into_iter().find(|exam| exam.in_box.name == box_name);
    let mut exam = match open {
        Some(summary) => read(&logbook, summary.number).unwrap(),
        None => begin(&mut logbook, &box_name, start()).unwrap(),
    };
    logbook.note_exam(&claim, exam.open.number()).unwrap();
    for number in exam.steps.len() + 1..=until {
        append(&mut logbook, &mut exam, &step(number), start()).unwrap();
        tell(&format!("kept {number}"));
    }
}

#[test]
#[ignore = "a child's part: claims the box and waits for its end"]
fn part_claim_and_wait() {
    let (path, box_name) = given();
    let mut logbook = Logbook::open(&path).unwrap();
    let _claim = logbook.claim_box(&named(&box_name), start()).unwrap();
    tell("kept 0");
    std::io::stdin().read_to_end(&mut Vec::new()).unwrap();
}

#[test]
#[ignore = "a child's part: adds twenty lenses to the box"]
fn part_add_twenty_lenses() {
    let (path, box_name) = given();
    let mut logbook = Logbook::open(&path).unwrap();
    let added = BoxChange::Added("+1.00 sphere".parse().unwrap());
    for number in 1..=20 {
        logbook.change_box(&named(&box_name), &declared_box(&box_name), &added, None, start()).unwrap();
        tell(&format!("kept {number}"));
    }
}

/// Waits until a child has said that it kept something.
fn wait_for_kept(child: &mut Child) -> BufReader<std::process::ChildStdout> {
    let mut out = BufReader::new(child.stdout.take().unwrap());
    let mut line = String::new();
    while !line.starts_with("kept ") {
        line.clear();
        assert_ne!(out.read_line(&mut line).unwrap(), 0, "the child ended early");
    }
    out
}

#[test]
fn killed_at_any_moment_everything_confirmed_is_there_in_order_once() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("logbook.db");
    let mut confirmed = 0;
    let mut kills_while_writing = 0;
    for round in 0..60_u64 {
        let mut child = child("part_write_until_killed", &path, "Hillside");
        // Killed in opening and in making the file as well: a third of the rounds does not wait for a step.
        let mut out = if round % 3 == 0 {
            std::thread::sleep(Duration::from_micros(round * 997 % 12_000));
            BufReader::new(child.stdout.take().unwrap())
        } else {
            let out = wait_for_kept(&mut child);
            let since = Instant::now();
            while since.elapsed() < Duration::from_micros(round * 7919 % 30_000) {
                std::hint::spin_loop();
            }
            out
        };
        child.kill().unwrap();
        let mut printed = String::new();
        out.read_to_string(&mut printed).unwrap();
        child.wait().unwrap();
        if let Some(number) = last_kept(&printed) {
            assert!(number > confirmed, "round {round}: {number} was kept after {confirmed}");
            confirmed = number;
            kills_while_writing += 1;
        }

        let logbook = Logbook::open(&path).unwrap();
        logbook.check().unwrap();
        assert_eq!(logbook.holder_of(&BoxKey::of_name("Hillside")).unwrap(), None, "round {round}");
        let exams = logbook.open_exams().unwrap();
        assert!(exams.exams.len() <= 1, "round {round}: {exams:?}");
        let Some(summary) = exams.exams.first() else {
            assert_eq!(confirmed, 0, "round {round}: the exam is gone");
            continue;
        };
        let read = read(&logbook, summary.number).unwrap();
        let kept = read.steps.len();
        // It may have been killed between keeping a step and telling so; wait_for_kept has taken one line away.
        assert!(kept >= confirmed, "round {round}: {confirmed} steps were confirmed, {kept} are there");
        let mut expected = Exam::open(opening("Hillside"));
        for (number, stored) in (1..).zip(read.steps) {
            assert_eq!(stored.events, step(number), "round {round}, step {number}");
            expected.apply(&step(number)).unwrap();
        }
        assert_eq!(read.exam, expected, "round {round}");
        confirmed = kept;
    }
    // otherwise this has not tried what it is for
    assert!(kills_while_writing >= 20, "only {kills_while_writing} of 60 kills met a child that was writing");
}

#[test]
fn a_living_program_keeps_its_box_and_a_killed_one_does_not() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("logbook.db");
    let mut child = child("part_claim_and_wait", &path, "Hillside");
    let _out = wait_for_kept(&mut child);
    let mut logbook = Logbook::open(&path).unwrap();
    match logbook.claim_box(&named("Hillside"), start()) {
        Err(LogbookError::BoxOpen { holder, .. }) => assert_eq!(holder.process, Some(child.id())),
        other => panic!("the box was claimed twice: {other:?}"),
    }
    logbook.claim_box(&named("School"), start()).unwrap();
    child.kill().unwrap();
    child.wait().unwrap();
    logbook.claim_box(&named("Hillside"), start()).unwrap();
}

#[test]
fn several_programs_on_one_new_logbook_keep_all_their_steps() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("logbook.db");
    let boxes = ["one", "two", "three", "four"];
    let children = boxes.map(|name| child("part_write_sixty_steps", &path, name));
    for child in children {
        let out = child.wait_with_output().unwrap();
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stdout));
        assert_eq!(last_kept(&String::from_utf8(out.stdout).unwrap()), Some(60));
    }
    let logbook = Logbook::open(&path).unwrap();
    logbook.check().unwrap();
    let exams = logbook.exams().unwrap().exams;
    let mut names: Vec<&str> = exams.iter().map(|exam| exam.in_box.name.as_str()).collect();
    names.sort_unstable();
    assert_eq!(names, ["four", "one", "three", "two"]);
    for summary in &exams {
        let read = read(&logbook, summary.number).unwrap();
        let events: Vec<Vec<Event>> = read.steps.iter().map(|stored| stored.events.clone()).collect();
        assert_eq!(events, (1..=60).map(step).collect::<Vec<_>>());
        assert_eq!(read.exam.opening().fitted.stock.box_name, summary.in_box.name);
    }
}

#[test]
fn two_programs_that_change_one_box_lose_no_change() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("logbook.db");
    let children = [(); 2].map(|()| child("part_add_twenty_lenses", &path, "Hillside"));
    for child in children {
        let out = child.wait_with_output().unwrap();
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stdout));
    }
    let logbook = Logbook::open(&path).unwrap();
    let numbers: Vec<i64> =
        logbook.box_changes(&BoxKey::of_name("Hillside")).unwrap().iter().map(|change| change.place).collect();
    assert_eq!(numbers, (1..=40).collect::<Vec<_>>());
    let on_record = logbook.stock_of(&BoxKey::of_name("Hillside"), &declared_box("Hillside")).unwrap();
    assert_eq!(on_record.refused, []);
    assert_eq!(on_record.stock.of_lens(&"+1.00 sphere".parse().unwrap()).count(), 2 + 40);
}

/// A box with an id, and that id's key.
fn bag(id: &str) -> (NamedBox, DeclaredBox) {
    (NamedBox::new(Some(id), id), DeclaredBox { id: Some(id.to_owned()), ..declared_box(id) })
}

fn new(changes: Vec<BoxChange>) -> NewChanges<'static> {
    NewChanges { changes, note: None, by: None, at: start(), count: None }
}

#[test]
#[ignore = "a child's part: moves a lens there and back for ever"]
fn part_move_there_and_back() {
    let (path, _) = given();
    let mut logbook = Logbook::open(&path).unwrap();
    let boxes = [bag("bag-a"), bag("bag-b")];
    for number in 1.. {
        // it may be in either: whoever was killed left it there
        let holds = |logbook: &Logbook, at: usize| in_set(logbook, &boxes[at]);
        let at = usize::from(holds(&logbook, 0).len() < holds(&logbook, 1).len());
        let piece = holds(&logbook, at).pop().unwrap();
        let ((here, declared), (there, declared_there)) = (&boxes[at], &boxes[1 - at]);
        let moved = BoxChange::moved_to(piece, there.key.as_str());
        let others = [(there.clone(), declared_there)];
        // each lens can be numbered 99 times only
        if logbook.note_in_box(here, declared, &new(vec![moved]), &others).is_err() {
            return;
        }
        tell(&format!("kept {number}"));
    }
}

/// The pieces of -2.00 that belong to a box.
fn in_set(logbook: &Logbook, (named, declared): &(NamedBox, DeclaredBox)) -> Vec<Piece> {
    let stock = logbook.stock_of(&named.key, declared).unwrap().stock;
    let lens = "-2.00 sphere".parse().unwrap();
    stock
        .of_lens(&lens)
        .filter(|stocked| !stocked.place.has_left_the_set())
        .map(|stocked| stocked.piece.clone())
        .collect()
}

#[test]
fn killed_in_a_move_a_piece_is_in_one_of_the_two_boxes() {
    let folder = tempfile::tempdir().unwrap();
    let boxes = [bag("bag-a"), bag("bag-b")];
    let mut moves = 0;
    for round in 0..24_u64 {
        let path = folder.path().join(format!("logbook-{round}.db"));
        let mut child = child("part_move_there_and_back", &path, "bag-a");
        let mut out = wait_for_kept(&mut child);
        let since = Instant::now();
        while since.elapsed() < Duration::from_micros(round * 7919 % 20_000) {
            std::hint::spin_loop();
        }
        child.kill().unwrap();
        out.read_to_string(&mut String::new()).unwrap();
        child.wait().unwrap();
        let logbook = Logbook::open(&path).unwrap();
        logbook.check().unwrap();
        let pieces: usize = boxes.iter().map(|one| in_set(&logbook, one).len()).sum();
        assert_eq!(pieces, 4, "round {round}");
        let entries = boxes.each_ref().map(|(named, _)| logbook.box_entries(&named.key).unwrap().all);
        assert_eq!(entries[0].len(), entries[1].len(), "round {round}: a move is about both boxes or there is none");
        moves += entries[0].len();
    }
    assert!(moves >= 24, "only {moves} moves were made");
}

#[test]
#[ignore = "a child's part: ends stock-takes for ever, each of which finds one more or two fewer"]
fn part_end_stock_takes() {
    let (path, box_name) = given();
    let mut logbook = Logbook::open(&path).unwrap();
    let (in_box, declared) = (named(&box_name), declared_box(&box_name));
    for number in 1.. {
        let stock = logbook.stock_of(&in_box.key, &declared).unwrap().stock;
        let take = logbook.stock_take(&in_box.key).unwrap().map(|kept| kept.take);
        let take = take.unwrap_or_else(|| {
            let mut take = StockTake::begin(&Tray::of(&declared.tray, &stock), &stock);
            for label in ["-2.00 sphere #1", "+2.00 sphere #1", "-1.00 sphere #1"] {
                let piece: Piece = label.parse().unwrap();
                let is_there = stock.get(&piece).unwrap().place == Place::Box;
                take.say(&piece, if is_there { Said::Missing } else { Said::Here });
            }
            take
        });
        logbook.keep_stock_take(&in_box, &take, start()).unwrap();
        logbook.end_stock_take(&in_box, &declared, &take.ending(&stock), None, start()).unwrap();
        tell(&format!("kept {number}"));
    }
}

#[test]
fn killed_at_the_end_of_a_stock_take_all_of_it_is_noted_or_it_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("logbook.db");
    let (in_box, declared) = (named("Hillside"), declared_box("Hillside"));
    let mut goes_on = 0;
    for round in 0..24_u64 {
        let mut child = child("part_end_stock_takes", &path, "Hillside");
        let mut out = wait_for_kept(&mut child);
        let since = Instant::now();
        while since.elapsed() < Duration::from_micros(round * 7919 % 20_000) {
            std::hint::spin_loop();
        }
        child.kill().unwrap();
        out.read_to_string(&mut String::new()).unwrap();
        child.wait().unwrap();
        let logbook = Logbook::open(&path).unwrap();
        logbook.check().unwrap();
        let record = logbook.stock_of(&in_box.key, &declared).unwrap();
        let places: Vec<&Place> = ["-2.00 sphere #1", "+2.00 sphere #1", "-1.00 sphere #1"]
            .iter()
            .map(|label| &record.stock.get(&label.parse().unwrap()).unwrap().place)
            .collect();
        assert!(places.windows(2).all(|two| two[0] == two[1]), "round {round}: {places:?}");
        assert!(record.entries.all.iter().all(|stored| stored.body.changes().len() == 3), "round {round}");
        let kept = logbook.stock_take(&in_box.key).unwrap();
        goes_on += usize::from(kept.is_some());
        // one that goes on is not noted already: it still has something to say
        assert!(kept.is_none_or(|kept| kept.take.ending(&record.stock).changes.len() == 3), "round {round}");
    }
    assert!(goes_on < 24, "no stock-take was ended");
}
