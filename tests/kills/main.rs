//! Seats, their server, and its disk are killed and put back while people work, thousands of times: nothing that was confirmed is
//! lost, doubled or altered. `cargo test --features room-server --test kills`, and at full length `.ci/long kills`.
//!
//! A program of its own: it starts itself again as each seat, and kills that. What is killed are processes (SIGKILL; of the server
//! an immediate stop, after which it recovers from its log), not the machine: what the system was given is on the disk for those
//! who come after, and so the server runs without `fsync` here.
//!
//! - `seat`: a program at work, as it is killed; `life`: one life of it, from outside; `server_dies`: the server; `judge`: what must
//!   hold in the end; `world`: one room with its seats.
//!
//! `DIOPTRAY_KILLS_SEATS` (1000), `DIOPTRAY_KILLS_SERVER` (100) and `DIOPTRAY_KILLS_RESTORES` (10) say how many;
//! `DIOPTRAY_KILLS_SEED` (1) what happens by chance, but for the moments.

#[path = "../support/invented.rs"]
mod invented;
mod judge;
mod life;
mod seat;
#[path = "../room/server.rs"]
#[expect(dead_code, reason = "the tests of rooms use more of it")]
mod server;
mod server_dies;
mod tally;
mod world;

use std::env;
use std::process::ExitCode;
use std::time::Instant;

use server::Server;
use tally::{Asked, Tally};

type Failure = Box<dyn std::error::Error + Send + Sync>;

/// How many kills one room is for: then it is judged, and the next one begins empty.
const KILLS_A_ROOM: u64 = 500;
/// How often what nobody kills is tried where the server does not answer in time.
const TRIES: u32 = 5;

fn main() -> ExitCode {
    let arguments: Vec<String> = env::args().collect();
    let done = match arguments.get(1).map(String::as_str) {
        Some(seat::AS_A_SEAT) => seat::live(&arguments[2..]),
        // as the programs of tests are asked what they are for
        Some("--list") => Ok(()),
        _ => all(),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

/// Does what may be done again, until the server is there in time for it: beside other work on this computer, and right after it was
/// killed, it may not answer within what a program waits.
fn patiently<T>(mut what: impl FnMut() -> Result<T, Failure>) -> Result<T, Failure> {
    for _ in 0..TRIES {
        match what() {
            Err(error) if error.to_string().contains("is away") => println!("tried again: {error}"),
            done => return done,
        }
    }
    what()
}

fn asked(name: &str, otherwise: u64) -> Result<u64, Failure> {
    let name = format!("DIOPTRAY_KILLS_{name}");
    match env::var(&name) {
        Ok(number) => Ok(number.parse().map_err(|_| format!("{name}: `{number}` is not a number"))?),
        Err(_) => Ok(otherwise),
    }
}

fn all() -> Result<(), Failure> {
    let (seats, servers, restores) = (asked("SEATS", 1000)?, asked("SERVER", 100)?, asked("RESTORES", 10)?);
    let seed = asked("SEED", 1)?;
    let begun = Instant::now();
    println!("kills of {seats} seats and {servers} servers, {restores} restores, seed {seed}");
    let server = Server::start("max_wal_size = 64MB\nmin_wal_size = 32MB").map_err(|error| error.to_string())?;
    let copy = tempfile::tempdir()?;
    let rooms = seats.div_ceil(KILLS_A_ROOM).max(1);
    let mut tally = Tally::default();
    for room in 0..rooms {
        let share = |all: u64| all * (room + 1) / rooms - all * room / rooms;
        let of_room = Asked { seats: share(seats), servers: share(servers), restores: share(restores) };
        let seen =
            world::run(&server, copy.path(), room, of_room, seed).map_err(|error| format!("room {room}: {error}"))?;
        tally.add(&seen);
        println!("after {:4.0} s: {tally}", begun.elapsed().as_secs_f64());
    }
    tally.refuse_if_nothing_happened(Asked { seats, servers, restores })
}
