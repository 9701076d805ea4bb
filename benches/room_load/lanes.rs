//! Forty seats that examine at once.

use std::collections::{BTreeMap, HashSet};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use dioptray::exam::{Event, Exam, Opening};
use dioptray::frame::shipped::demo_frame;
use dioptray::frame::{FittedFrame, Move};
use dioptray::kit::shipped::demo_box;
use dioptray::kit::{Lens, Piece, Stock};
use dioptray::logbook::{BeganWith, Logbook, NamedBox, OpenExam};
use dioptray::optics::Eye;
use dioptray::room::hint::Hint;
use dioptray::room::joining::{Caller, join};
use dioptray::room::link::{Link, Woken};
use dioptray::room::sender::Sender;
use dioptray::sharing::Heads;
use dioptray::sharing::news::{Holding, Reached, SendsOn, Told};
use jiff::Timestamp;
use tokio::sync::mpsc::unbounded_channel;
use uuid::Uuid;

use super::{Room, report};

const LANES: usize = 40;
/// A step of a seat comes so long after the one before.
const STEP: Duration = Duration::from_millis(200);
/// A lens is changed every so many steps.
const LENS_EVERY: u64 = 5;
/// Connections that listen besides the forty.
const LISTENERS: usize = 10;
pub const BOX: &str = "hillside-1";

/// When something was kept or seen, by lane and step.
type Times = BTreeMap<(usize, u64), Vec<Instant>>;

/// Whether a lane changes a lens at a step: not all at the same one.
fn changes_a_lens(lane: usize, step: u64) -> bool {
    (step + lane as u64).is_multiple_of(LENS_EVERY)
}

/// The lens of a lane at a step.
fn lens_of(lane: usize, step: u64) -> String {
    format!("{lane} at {step}")
}

/// What a seat does in a room, as it is told.
struct Lane {
    number: usize,
    sender: Arc<Sender>,
    logbook: Logbook,
    kept: OpenExam,
    exam: Exam,
    id: Uuid,
}

impl Lane {
    /// A seat with an exam that is open, connected.
    fn new(room: &Room, number: usize) -> Self {
        let folder = room.folder();
        let path = folder.join(format!("lane{number}")).join("logbook.db");
        join(&path, room.joined(&format!("lane{number}")), false, Some(folder.to_owned())).unwrap();
        let mut logbook = Logbook::open(&path).unwrap();
        let declared = demo_box().unwrap();
        let opening = Opening::of(FittedFrame::new(demo_frame().unwrap(), Stock::of(&declared)));
        let in_box = NamedBox::new(Some(BOX), &declared.name);
        let with = BeganWith { in_box, applied: Heads::default(), by: None, procedures_version: 1 };
        let kept = logbook.begin_exam(&opening, &with, Timestamp::now()).unwrap();
        let id = logbook.live(kept.number()).unwrap().unwrap().id.uuid();
        let sender = Arc::new(Sender::start(Caller::of(&path, Some(folder.to_owned())).unwrap()));
        // as the screen does when it starts
        sender.tell(Told::Holds { in_box: BOX.to_owned(), all: Vec::new() });
        while sender.news().reached != Reached::There {
            thread::sleep(Duration::from_millis(5));
        }
        Self { number, sender, logbook, kept, exam: Exam::open(opening), id }
    }

    /// Keeps a step, as a key does, and tells of it; gives when the key was and when it was kept.
    fn step(&mut self, nth: u64) -> (Instant, Instant) {
        let lens = demo_box().unwrap().lines.into_iter().map(|line| line.lens);
        let lens = lens.into_iter().find(|lens| matches!(lens, Lens::Sphere(_))).unwrap();
        let (piece, eye, cell) = (Piece { lens, number: 1 }, Eye::Right, 1);
        let change = if nth.is_multiple_of(2) {
            Move::Put { piece, eye, cell, direction: None }
        } else {
            Move::Take { piece, eye, cell }
        };
        let key = Instant::now();
        let checked = self.exam.check(vec![Event::Moved(change)]).unwrap();
        self.logbook.append(&mut self.kept, &checked, None, Timestamp::now()).unwrap();
        let kept = Instant::now();
        self.exam.accept(checked);
        self.sender.tell(Told::Kept { exam: Some(self.kept.number().0) });
        if changes_a_lens(self.number, nth) {
            let all = vec![Holding { lens: lens_of(self.number, nth), numbers: vec![1] }];
            self.sender.tell(Told::Holds { in_box: BOX.to_owned(), all });
        }
        (key, kept)
    }

    /// Notes when a lens of another seat is first known at this one.
    fn notes(&self, seen: &Arc<Mutex<Times>>) {
        let (seen, sender) = (Arc::clone(seen), Arc::downgrade(&self.sender));
        let known = Mutex::new(HashSet::new());
        self.sender.when_new(Arc::new(move || {
            let now = Instant::now();
            let Some(sender) = sender.upgrade() else { return };
            for held in &sender.news().held {
                if known.lock().unwrap().insert(held.lens.clone()) {
                    let (lane, step) = held.lens.split_once(" at ").unwrap();
                    let which = (lane.parse().unwrap(), step.parse().unwrap());
                    seen.lock().unwrap().entry(which).or_default().push(now);
                }
            }
        }));
    }
}

/// Notes when a step is heard of, until it is told to end.
fn listens(mut link: Link, lanes: &BTreeMap<Uuid, usize>, ends: &AtomicBool, heard: &Mutex<Times>) {
    link.listen_to_steps().unwrap();
    let (_for_ever, mut asked) = unbounded_channel::<()>();
    while !ends.load(Ordering::Relaxed) {
        let Woken::Knocked(hints) = link.wait(&mut asked, Duration::from_millis(200)) else { continue };
        let now = Instant::now();
        for hint in hints {
            if let Hint::Step { exam, last } = hint {
                let step = (lanes[&exam], u64::try_from(last).unwrap());
                heard.lock().unwrap().entry(step).or_default().push(now);
            }
        }
    }
}

/// How long the room takes to commit a step, asked by a seat of its own.
fn commits(link: &Link, ends: &AtomicBool) -> Vec<Duration> {
    let home = Uuid::new_v4();
    link.call("SELECT * FROM room.hello($1, 'probe', NULL, 'probe')", &[&home]).unwrap();
    let exam = Uuid::now_v7();
    let mut times = Vec::new();
    let (number, at, events) = (1_i64, "2026-03-01T09:30:00Z", "{}".repeat(100));
    while !ends.load(Ordering::Relaxed) {
        let next = i64::try_from(times.len()).unwrap() + 1;
        let opening = (next == 1).then_some("{}");
        let begun = Instant::now();
        let sql = "SELECT * FROM room.step($1, $2, $3, $4, NULL, 1, $5, $6, $7, $8, $9)";
        let (numbers, ats, formats, all) = (vec![next], vec![at], vec![1_i64], vec![events.as_str()]);
        link.call(sql, &[&home, &exam, &number, &at, &opening, &numbers, &ats, &formats, &all]).unwrap();
        times.push(begun.elapsed());
        thread::sleep(Duration::from_millis(50));
    }
    times
}

/// What is heard of what was kept: how long until the last of so many heard it, and of how much one did not.
fn until_all(kept: &BTreeMap<(usize, u64), Instant>, heard: &Times, all: usize) -> (Vec<Duration>, usize) {
    let after = |(step, kept): (&(usize, u64), &Instant)| {
        let heard = heard.get(step).filter(|heard| heard.len() >= all)?;
        Some(heard.iter().max()?.saturating_duration_since(*kept))
    };
    let times: Vec<Duration> = kept.iter().filter_map(after).collect();
    let missed = kept.len() - times.len();
    (times, missed)
}

/// Forty seats keep five steps a second each.
pub fn steps(room: &Room, long: Duration) {
    let lanes: Vec<Lane> = (0..LANES).map(|number| Lane::new(room, number)).collect();
    let ids: BTreeMap<Uuid, usize> = lanes.iter().map(|lane| (lane.id, lane.number)).collect();
    let (seen, heard) = (Arc::new(Mutex::new(Times::new())), Mutex::new(Times::new()));
    for lane in &lanes {
        lane.notes(&seen);
    }
    let links: Vec<Link> = (0..LISTENERS).map(|_| room.link()).collect();
    let ends = AtomicBool::new(false);
    let probe = room.link();
    println!("{LANES} seats, a step every {} ms each, {LISTENERS} more connections hear of steps", STEP.as_millis());
    let (took, committed) = thread::scope(|scope| {
        for link in links {
            scope.spawn(|| listens(link, &ids, &ends, &heard));
        }
        let probed = scope.spawn(|| commits(&probe, &ends));
        // they do not all begin at one moment
        let begun = Instant::now() + Duration::from_millis(300);
        let examining = lanes.into_iter().map(|mut lane| {
            scope.spawn(move || {
                let mut due = begun + STEP.mul_f64(lane.number as f64 / LANES as f64);
                let mut took = Vec::new();
                for nth in 0.. {
                    thread::sleep(due.saturating_duration_since(Instant::now()));
                    if begun.elapsed() > long {
                        break;
                    }
                    let (key, kept) = lane.step(nth);
                    took.push(((lane.number, nth), key, kept));
                    due += STEP;
                }
                (lane, took)
            })
        });
        let examining: Vec<_> = examining.collect();
        let all: Vec<_> = examining.into_iter().map(|one| one.join().unwrap()).collect();
        thread::sleep(Duration::from_secs(1));
        ends.store(true, Ordering::Relaxed);
        let took: Vec<_> = all.into_iter().flat_map(|(_, took)| took).collect();
        (took, probed.join().unwrap())
    });
    report("a step kept in the own logbook", took.iter().map(|(_, key, kept)| *kept - *key).collect());
    report("a step committed in the room", committed);
    let kept = |is_asked: fn(usize, u64) -> bool| {
        let of = |((lane, nth), _, kept): &((usize, u64), Instant, Instant)| ((*lane, *nth), *kept);
        took.iter().filter(|((lane, nth), _, _)| is_asked(*lane, *nth)).map(of).collect::<BTreeMap<_, _>>()
    };
    // the room numbers steps from 1
    let heard: Times =
        heard.into_inner().unwrap().into_iter().map(|((lane, last), at)| ((lane, last - 1), at)).collect();
    let (times, missed) = until_all(&kept(|_, _| true), &heard, LISTENERS);
    report(&format!("from there until {LISTENERS} listeners have heard of it"), times);
    println!("    {missed} were heard of with the step after them");
    let (times, missed) = until_all(&kept(changes_a_lens), &seen.lock().unwrap(), LANES - 1);
    report(&format!("until the other {} seats know of a lens", LANES - 1), times);
    println!("    {missed} were changed again before every seat had looked");
}
