//! Three hundred centres in one room: what a month of their exams weighs, and what it costs to ask for some of them, with one month
//! there and with twelve: `cargo bench --features room-server --bench centres`, or `.ci/long centres`.
//!
//! DIOPTRAY_CENTRES_EXAMS (1,800,000) is how many exams come in a month, DIOPTRAY_CENTRES_MONTHS (12) how many months there are in the
//! end; 20,000 and 3 take a minute. The first month has bodies as the program writes them, each with 16 bytes of its own behind it.
//! The further months have as many rows with bodies of 64 bytes: whether cost follows the month or the age is a matter of rows and
//! indexes, and a year of bodies needs a disk of 120 GB. The folder is in TMPDIR, and takes up to 27 GB.
//! PostgreSQL is as Debian sets it up, `fsync` on; what it reads is in the memory of the system once it was loaded.
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot set itself up must stop")]

#[path = "led/mod.rs"]
mod led;
#[path = "centres/load.rs"]
mod load;
#[path = "centres/psql.rs"]
mod psql;
#[path = "../tests/room/server.rs"]
#[expect(dead_code, reason = "the tests use more of it")]
mod server;

use std::process::Command;
use std::time::{Duration, Instant};

use dioptray::logbook::{EntryRow, ExamId, SpokenRow};
use dioptray::room::calls::{Named, entries, heads, ship};
use dioptray::room::link::Link;
use dioptray::room::listing::{Wanted, exams};
use dioptray::room::prepare::{Role, allow, let_go, months_older_than};
use dioptray::sharing::{Entry, EntryKind, Hash, WriterId};
use jiff::Timestamp;
use load::{CENTRES, Loaded, SEATS};
use psql::Psql;
use server::{OWNER, Server};
use uuid::Uuid;

type Failure = Box<dyn std::error::Error>;

/// How often each question is asked.
const TIMES: u64 = 400;
/// How long ago the first month begins, in months: more than the year below which nothing is let go of.
const BEGAN_MONTHS_AGO: u64 = 15;

fn number(variable: &str, default: u64) -> u64 {
    std::env::var(variable).ok().map_or(default, |text| text.parse().unwrap())
}

fn report(what: &str, mut times: Vec<Duration>) {
    times.sort_unstable();
    let at = |share: f64| times[((times.len() - 1) as f64 * share).round() as usize].as_secs_f64() * 1e3;
    println!("  {what:50} median {:8.2} ms   99 % {:8.2} ms", at(0.5), at(0.99));
}

fn timed(mut one: impl FnMut(u64)) -> Vec<Duration> {
    let each = |nth| {
        let begun = Instant::now();
        one(nth);
        begun.elapsed()
    };
    (0..TIMES).map(each).collect()
}

/// The sizes of what a month weighs, by exam.
fn say_sizes(psql: &Psql, month: &str, exams: u64) {
    let of = |sql: &str| psql.answer(sql).trim().parse::<f64>().unwrap();
    let rows = of(&format!("SELECT pg_relation_size('room.{month}')"));
    let bodies =
        of(&format!("SELECT pg_total_relation_size(reltoastrelid) FROM pg_class WHERE oid = 'room.{month}'::regclass"));
    let indexes = of(&format!("SELECT pg_indexes_size('room.{month}')"));
    let all = of("SELECT pg_total_relation_size('room.exam')") / of("SELECT count(*) FROM room.exam");
    let each = |bytes: f64| bytes / exams as f64;
    println!(
        "{month}: {:.2} GB; an exam takes {:.0} bytes of rows, {:.0} of bodies, {:.0} of indexes; and {all:.0} in the list of identities",
        (rows + bodies + indexes) / 1e9,
        each(rows),
        each(bodies),
        each(indexes)
    );
}

/// What each question costs; every seat and site in turn, so that no answer is the one before.
fn ask(link: &Link, loaded: &mut Loaded, oldest_day: Timestamp) {
    let first = |wanted: &Wanted| exams(link, wanted, 50).unwrap().0.len();
    let site = |nth: u64| Some(format!("site{}", nth * 7 % CENTRES));
    let mut found = 0;
    report("the latest 50 of a site", timed(|nth| found += first(&Wanted { site: site(nth), ..Wanted::default() })));
    assert_eq!(found as u64, 50.min(loaded.exams / CENTRES) * TIMES);
    let spoken = |nth: u64| {
        let seat = nth * 11 % SEATS;
        let last = loaded.head(seat);
        Wanted {
            seat: Some(load::seat_name(seat)),
            number: Some((nth.cast_signed() * 37) % last + 1),
            ..Wanted::default()
        }
    };
    let mut found = 0;
    report("one by its spoken number, of any age", timed(|nth| found += first(&spoken(nth))));
    assert_eq!(found as u64, TIMES);
    let day = |nth: u64, from: Timestamp| {
        let from = from + jiff::SignedDuration::from_hours(24 * (nth.cast_signed() % 27));
        Some((from, from + jiff::SignedDuration::from_hours(24)))
    };
    for (what, begins) in [("oldest", oldest_day), ("newest", loaded.newest_month())] {
        let of_site = |nth| Wanted { site: site(nth), closed: day(nth, begins), ..Wanted::default() };
        let of_all = |nth| Wanted { closed: day(nth, begins), ..Wanted::default() };
        let mut found = 0;
        report(&format!("a day of a site, {what} month"), timed(|nth| found += first(&of_site(nth))));
        report(&format!("a day of all sites, {what} month"), timed(|nth| found += first(&of_all(nth))));
        assert!(found as u64 >= TIMES);
    }
    let by = |nth: u64| Some(load::examiner(nth * 13 % (CENTRES * 3)));
    report(
        "the latest 50 of an examiner",
        timed(|nth| assert!(first(&Wanted { by: by(nth), ..Wanted::default() }) > 0)),
    );
    report(
        "an examiner whom nobody knows",
        timed(|_| assert_eq!(first(&Wanted { by: Some("Nobody".to_owned()), ..Wanted::default() }), 0)),
    );
    let writer = |nth: u64| load::writer(nth * 17 % SEATS);
    report("how far each of 1,200 seats is known (`heads`)", timed(|nth| drop(heads(link, writer(nth)).unwrap())));
    let last_20 = |nth: u64| {
        let seat = nth * 17 % SEATS;
        entries(link, writer(nth), loaded.head(seat) - 20, 200).unwrap().0.len()
    };
    report(
        "the last 20 entries of a seat (`entries`)",
        timed(|nth| assert_eq!(last_20(nth), 20.min(loaded.head(0)) as usize)),
    );
    let body = loaded.body(1);
    report("one exam sent (`ship`)", timed(|nth| send_one(link, loaded, nth * 19 % SEATS, &body)));
}

fn send_one(link: &Link, loaded: &mut Loaded, seat: u64, body: &[u8]) {
    let (exam, writer) = (ExamId::new(Uuid::now_v7()), load::writer(seat));
    let entry = Entry {
        kind: EntryKind::Exam,
        about: exam.uuid().as_bytes().to_vec(),
        by: Some(load::examiner(seat)),
        at: Timestamp::now().to_string(),
        after: None,
        format: 1,
        body_hash: Hash::of(body),
    };
    let before = loaded.last(seat);
    let row = EntryRow { sealed: entry.seal(writer, before.0, before.1), body: Some(body.to_vec()) };
    let last = (row.sealed.number, row.sealed.hash);
    let named = Named { spoken: SpokenRow { exam, writer, number: last.0 }, label: Some("K.M.".to_owned()) };
    assert!(ship(link, WriterId::new(writer.uuid()), before, &[row], &[named]).unwrap());
    loaded.note_last(seat, last);
}

fn folder_gb(path: &std::path::Path) -> f64 {
    let said = Command::new("du").args(["-sb"]).arg(path).output().unwrap();
    let said = String::from_utf8_lossy(&said.stdout).into_owned();
    said.split_whitespace().next().unwrap().parse::<f64>().unwrap() / 1e9
}

/// Copies the folder of the ended server, as a backup is put back, and has a server start on the copy.
fn restore(server: &Server, psql: &Psql) {
    psql.answer("CHECKPOINT");
    server.kill().unwrap();
    let copy = server.data().with_file_name("restored");
    let begun = Instant::now();
    assert!(Command::new("cp").arg("-a").arg(server.data()).arg(&copy).status().unwrap().success());
    assert!(Command::new("sync").arg("-f").arg(&copy).status().unwrap().success());
    let copied = begun.elapsed();
    std::fs::rename(server.data(), server.data().with_file_name("before")).unwrap();
    std::fs::rename(&copy, server.data()).unwrap();
    server.up().unwrap();
    println!(
        "a backup put back: {:.1} GB copied to the disk in {:.0} s, the server there after {:.1} s more",
        folder_gb(&server.data()),
        copied.as_secs_f64(),
        begun.elapsed().saturating_sub(copied).as_secs_f64()
    );
    std::fs::remove_dir_all(server.data().with_file_name("before")).unwrap();
}

fn main() {
    let (of_month, months) = (number("DIOPTRAY_CENTRES_EXAMS", 1_800_000), number("DIOPTRAY_CENTRES_MONTHS", 12));
    assert!((1..BEGAN_MONTHS_AGO).contains(&months), "DIOPTRAY_CENTRES_MONTHS: 1 to {}", BEGAN_MONTHS_AGO - 1);
    println!("{CENTRES} centres with 4 seats each, {of_month} exams a month");
    let server = Server::start("fsync = on").unwrap();
    server.room("room", &[]).unwrap();
    let owner = server.owner("room").unwrap();
    allow(&owner, OWNER, Role::Examiner, None).unwrap();
    let psql = Psql { port: server.port };
    println!("{}", psql.answer("SELECT version()").trim());
    for setting in ["shared_buffers", "max_wal_size", "synchronous_commit", "fsync", "full_page_writes"] {
        println!("  {setting} = {}", psql.answer(&format!("SHOW {setting}")).trim());
    }
    let mut loaded = Loaded::new(of_month, load::real_bodies());
    Loaded::make_seats(&psql);
    let month = loaded.month(&psql, BEGAN_MONTHS_AGO, true);
    say_sizes(&psql, &month, of_month);
    let oldest_day = loaded.newest_month();
    println!("\nhow the questions are answered, one month there:");
    psql.plans();
    println!("\nlatencies, one month there:");
    ask(&owner, &mut loaded, oldest_day);
    drop(owner);
    println!();
    restore(&server, &psql);
    for nth in 1..months {
        let month = loaded.month(&psql, BEGAN_MONTHS_AGO - nth, false);
        if nth == 1 {
            say_sizes(&psql, &month, of_month);
        }
    }
    let owner = server.owner("room").unwrap();
    if months > 1 {
        println!("\nhow the questions are answered, {months} months there (bodies of 64 bytes but in the first):");
        psql.plans();
        println!("\nlatencies, {months} months there:");
        ask(&owner, &mut loaded, oldest_day);
    }
    println!("\nthe whole database: {:.1} GB with its log", folder_gb(&server.data()));
    let old = months_older_than(&owner, 1).unwrap();
    let first = old.first().unwrap();
    let begun = Instant::now();
    let_go(&owner, first, 1).unwrap();
    println!("{} let go of ({} exams) in {:.0} s", first.first_day, first.exams, begun.elapsed().as_secs_f64());
    say_sizes(&psql, &month, of_month);
    println!("the whole database then: {:.1} GB with its log", folder_gb(&server.data()));
}
