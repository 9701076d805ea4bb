//! Lenses taken in twelve rooms, alone and while twelve seats come back.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use dioptray::logbook::Logbook;
use dioptray::logbook::parcels::exchange::known_of_others;
use dioptray::room::holding::{give, take};
use dioptray::room::joining::{Caller, join};
use dioptray::room::link::Link;
use dioptray::room::sender::Sender;
use dioptray::sharing::WriterId;
use dioptray::sharing::news::{Holding, SendsOn, Told};
use uuid::Uuid;

use super::led::{keep, led};
use super::multiply::multiply;
use super::{Room, report};

const ROOMS: usize = 12;
const BOX: &str = "box of the bench";
/// Lenses of the box, with two alike pieces of each.
const LENSES: usize = 40;
/// How long lenses are taken without anybody coming back.
const ALONE: Duration = Duration::from_secs(10);

/// A seat that takes and gives as fast as it can until it is told to end.
fn takes(link: &Link, number: usize, ends: &AtomicBool) -> Vec<Duration> {
    let home = Uuid::new_v4();
    link.call("SELECT * FROM room.hello($1, $2, NULL, 'bench')", &[&home, &format!("r{}", home.simple())]).unwrap();
    let home = WriterId::new(home);
    let mut times = Vec::new();
    let mut lens = number;
    while !ends.load(Ordering::Relaxed) {
        lens = (lens * 7 + 3) % LENSES;
        let lens = format!("lens {lens}");
        let begun = Instant::now();
        let (got, _) = take(link, home, BOX, &lens, &[1, 2]).unwrap();
        times.push(begun.elapsed());
        give(link, home, BOX, &lens, got.unwrap_or(1)).unwrap();
    }
    times
}

/// Twelve rooms take lenses while something else is done.
fn taken_while(room: &Room, what: impl FnOnce()) -> Vec<Duration> {
    let links: Vec<Link> = (0..ROOMS).map(|_| room.link()).collect();
    let ended = AtomicBool::new(false);
    let ends = &ended;
    thread::scope(|scope| {
        let taking: Vec<_> =
            (0..).zip(&links).map(|(number, link)| scope.spawn(move || takes(link, number, ends))).collect();
        what();
        ends.store(true, Ordering::Relaxed);
        taking.into_iter().flat_map(|one| one.join().unwrap()).collect()
    })
}

/// A seat that was in the room and has closed so many exams since.
fn was_away(room: &Room, number: usize, exams: usize) -> PathBuf {
    let path = room.folder().join(format!("team{number}")).join("logbook.db");
    join(&path, room.joined(&format!("team{number}")), false, Some(room.folder().to_owned())).unwrap();
    keep(&mut Logbook::open(&path).unwrap(), &led());
    multiply(&path, exams);
    path
}

/// How many exams of these seats are known at one.
fn known_by(path: &Path, away: &[PathBuf]) -> usize {
    let own = Logbook::open_read_only(path).unwrap().last_entries().unwrap();
    let own: BTreeMap<WriterId, i64> = own.into_iter().map(|(writer, last, _)| (writer, last)).collect();
    let known = known_of_others(path, &own).unwrap();
    let home = |path: &PathBuf| Logbook::open_read_only(path).unwrap().home().unwrap().0;
    let of = |path: &PathBuf| known.get(&home(path)).copied().unwrap_or(0);
    usize::try_from(away.iter().map(of).sum::<i64>()).unwrap()
}

/// Until the room knows that a seat has a lens before an eye, while it sends and fetches what came meanwhile.
fn lens_of(room: &Room, sender: &Sender, team: usize) -> Duration {
    let link = room.link();
    let lens = format!("lens of team {team}");
    let begun = Instant::now();
    let all = vec![Holding { lens: lens.clone(), numbers: vec![1] }];
    sender.tell(Told::Holds { in_box: BOX.to_owned(), all });
    let is_there = || link.call("SELECT 1 FROM room.holdings($1) WHERE lens = $2", &[&BOX, &lens]).unwrap().len() == 1;
    while !is_there() {
        thread::sleep(Duration::from_millis(2));
    }
    begun.elapsed()
}

/// Takes lenses in twelve rooms, alone, and while twelve seats come back with so many exams each.
pub fn taken(room: &Room, exams: usize) {
    println!("{ROOMS} rooms take and give lenses as fast as they can");
    report("a lens taken", taken_while(room, || thread::sleep(ALONE)));
    let away: Vec<PathBuf> = (0..ROOMS).map(|number| was_away(room, number, exams)).collect();
    let mut of_teams = Vec::new();
    let begun = Instant::now();
    let times = taken_while(room, || {
        let caller = |path: &PathBuf| Caller::of(path, Some(room.folder().to_owned())).unwrap();
        let senders: Vec<Sender> = away.iter().map(|path| Sender::start(caller(path))).collect();
        thread::scope(|scope| {
            // one after the other, while they are at it
            let own = scope.spawn(|| {
                let each = |(team, sender): (usize, &Sender)| {
                    thread::sleep(Duration::from_millis(300));
                    lens_of(room, sender, team)
                };
                senders.iter().enumerate().map(each).collect::<Vec<_>>()
            });
            while !away.iter().all(|path| known_by(path, &away) == away.len() * exams) {
                thread::sleep(Duration::from_millis(100));
            }
            of_teams = own.join().unwrap();
        });
    });
    println!(
        "{ROOMS} seats come back with {exams} exams each, sent and fetched in {:.1} s",
        begun.elapsed().as_secs_f64()
    );
    report("a lens taken meanwhile at another seat", times);
    report("a lens told at a seat that comes back, until it is taken", of_teams);
}
