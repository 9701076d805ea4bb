//! One room with its seats, from the first entry until it is judged.

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::thread;
use std::time::Duration;

use dioptray::room::address::Address;
use dioptray::room::joined::Joined;
use dioptray::room::joining::join;
use dioptray::room::prepare::{Role, allow};
use dioptray::sharing::SeatName;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;

use super::judge::judge;
use super::life::Record;
use super::seat::logbook_in;
use super::server::{OWNER, Server};
use super::server_dies::again_and_again;
use super::tally::{Asked, Tally};
use super::{Failure, patiently};

/// Logbooks.
const SEATS: usize = 6;
/// Programs at work; the last is a second one on the first logbook.
const PROGRAMS: usize = 7;

/// How far a room has come, for all who work on it.
#[derive(Debug, Default)]
pub struct Progress {
    kills: AtomicU64,
    /// Kills of seats until the server's turn comes.
    until: AtomicU64,
    server_is_done: AtomicBool,
    has_failed: AtomicBool,
}

impl Progress {
    pub fn kills(&self) -> u64 {
        self.kills.load(Ordering::SeqCst)
    }

    /// Lets seats be killed up to this number, and as many more as are at work.
    pub fn may_kill(&self, until: u64) {
        self.until.store(until, Ordering::SeqCst);
    }

    fn waits(&self) -> bool {
        !self.has_failed() && self.kills() > self.until.load(Ordering::SeqCst)
    }

    pub fn has_failed(&self) -> bool {
        self.has_failed.load(Ordering::SeqCst)
    }

    fn goes_on(&self, asked: Asked) -> bool {
        !self.has_failed() && (self.kills() < asked.seats || !self.server_is_done.load(Ordering::SeqCst))
    }
}

/// Lets seats work in a room of its own, kills them and the server as often as asked, and judges what is there in the end.
pub fn run(server: &Server, copies: &Path, room: u64, asked: Asked, seed: u64) -> Result<Tally, Failure> {
    let database = format!("room{room}");
    patiently(|| {
        server.owner("postgres")?.run(&format!("DROP DATABASE IF EXISTS {database}"))?;
        server.room(&database, &[])?;
        Ok(allow(&server.owner(&database)?, OWNER, Role::Examiner, None)?)
    })?;
    let address: Address = server.address(OWNER, &database).parse()?;
    let folder = tempfile::tempdir()?;
    let folders: Vec<PathBuf> = (1..=SEATS).map(|nth| folder.path().join(format!("lane{nth}"))).collect();
    for (nth, folder) in folders.iter().enumerate() {
        std::fs::create_dir(folder)?;
        let seat = SeatName::new(&format!("lane{}", nth + 1))?;
        let joined = Joined { address: address.clone(), seat, site: None, certificate: None, calls_in: false };
        patiently(|| Ok(join(&logbook_in(folder), joined.clone(), false, None)?))?;
    }
    let progress = Progress::default();
    let (records, mut tally) = at_work(server, copies, &database, &folders, asked, (seed, room), &progress)?;
    for record in &records {
        tally.add(&record.tally);
        tally.committed += record.committed.len() as u64;
        tally.confirmed += record.confirmed.last_key_value().map_or(0, |(number, _)| number.unsigned_abs());
    }
    let mut chance = ChaCha8Rng::seed_from_u64(seed.wrapping_add(room));
    tally.known_of_others = patiently(|| judge(&server.owner(&database)?, &folders, &records, &mut chance))?;
    patiently(|| Ok(server.owner("postgres")?.run(&format!("DROP DATABASE IF EXISTS {database}"))?))?;
    Ok(tally)
}

fn at_work(
    server: &Server,
    copies: &Path,
    database: &str,
    folders: &[PathBuf],
    asked: Asked,
    (seed, room): (u64, u64),
    progress: &Progress,
) -> Result<(Vec<Record>, Tally), Failure> {
    let chance_of = |who: u64| ChaCha8Rng::seed_from_u64(seed.wrapping_mul(1_000_003).wrapping_add(room * 100 + who));
    thread::scope(|scope| {
        let programs: Vec<_> = (0..PROGRAMS)
            .map(|program| {
                let (folder, holds) = (&folders[program % SEATS], program < SEATS);
                let mut chance = chance_of(program as u64);
                scope.spawn(move || -> Result<Record, Failure> {
                    let mut record = Record::default();
                    while progress.goes_on(asked) {
                        if progress.waits() {
                            thread::sleep(Duration::from_millis(5));
                            continue;
                        }
                        if let Err(error) = record.one_life(folder, holds, &mut chance) {
                            progress.has_failed.store(true, Ordering::SeqCst);
                            return Err(error);
                        }
                        progress.kills.fetch_add(1, Ordering::SeqCst);
                    }
                    Ok(record)
                })
            })
            .collect();
        let died = again_and_again(server, copies, database, asked, &mut chance_of(99), progress);
        progress.has_failed.fetch_or(died.is_err(), Ordering::SeqCst);
        progress.server_is_done.store(true, Ordering::SeqCst);
        let mut records: Vec<Record> = (0..SEATS).map(|_| Record::default()).collect();
        for (program, thread) in programs.into_iter().enumerate() {
            records[program % SEATS].add(thread.join().map_err(|_| "a thread broke")??)?;
        }
        Ok((records, died?))
    })
}
