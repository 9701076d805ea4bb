//! How long a room takes with many seats at once: `cargo bench --features room-server --bench room_load`.
//!
//! First forty seats, each of which keeps five steps a second for ROOM_LOAD_SECONDS (30): how long a key waits for its own logbook,
//! how long the room takes to commit a step, and how long after the key it is heard by all who listen; and, for every fifth step,
//! which changes a lens, how long until every other seat has it on its screen. Then lenses taken in twelve rooms as fast as can be,
//! alone, and while twelve seats come back with ROOM_LOAD_EXAMS (200) closed exams each. All over TLS, on loopback: the seats, whose
//! computers these would not be, share the processors with the server. `fsync` is on.
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot set itself up must stop")]

#[path = "room_load/lanes.rs"]
mod lanes;
#[path = "led/mod.rs"]
mod led;
#[path = "room_load/lenses.rs"]
mod lenses;
#[path = "led/multiply.rs"]
mod multiply;
#[path = "../tests/room/server.rs"]
#[expect(dead_code, reason = "the tests use more of it")]
mod server;

use std::fs;
use std::os::unix::fs::PermissionsExt as _;
use std::path::{Path, PathBuf};
use std::time::Duration;

use dioptray::room::address::Address;
use dioptray::room::joined::Joined;
use dioptray::room::link::Link;
use dioptray::room::prepare::Role;
use dioptray::sharing::SeatName;
use server::{Server, certificate};

type Failure = Box<dyn std::error::Error>;

/// The login of every seat, and its password.
const LOGIN: &str = "lanes";

/// A room that is reached over TLS only.
struct Room {
    server: Server,
    folder: tempfile::TempDir,
}

impl Room {
    fn new() -> Self {
        let server = Server::start("fsync = on\nmax_connections = 200").unwrap();
        server.room("room", &[(LOGIN, Role::Examiner, None)]).unwrap();
        let folder = tempfile::tempdir().unwrap();
        let (shown, key) = certificate(folder.path(), "IP:127.0.0.1").unwrap();
        server.encrypts(&shown, &key).unwrap();
        let password = folder.path().join("room.password");
        fs::write(&password, LOGIN).unwrap();
        fs::set_permissions(&password, fs::Permissions::from_mode(0o600)).unwrap();
        Self { server, folder }
    }

    fn folder(&self) -> &Path {
        self.folder.path()
    }

    fn certificate(&self) -> PathBuf {
        self.folder().join("certificate.pem")
    }

    fn address(&self) -> Address {
        self.server.address(LOGIN, "room").parse().unwrap()
    }

    fn link(&self) -> Link {
        Link::connect(&self.address(), Some(LOGIN), Some(&self.certificate())).unwrap()
    }

    /// As a seat joins it.
    fn joined(&self, seat: &str) -> Joined {
        let certificate = Some(self.certificate());
        Joined { address: self.address(), seat: SeatName::new(seat).unwrap(), site: None, certificate, calls_in: false }
    }
}

fn number(variable: &str, default: u64) -> u64 {
    std::env::var(variable).ok().map_or(default, |text| text.parse().unwrap())
}

fn report(what: &str, mut times: Vec<Duration>) {
    times.sort_unstable();
    let at = |share: f64| times[((times.len() - 1) as f64 * share).round() as usize].as_secs_f64() * 1e3;
    println!(
        "  {what:62} {:6}   median {:7.2} ms   99 % {:7.2} ms   most {:7.2} ms",
        times.len(),
        at(0.5),
        at(0.99),
        at(1.0)
    );
}

fn main() {
    let room = Room::new();
    lanes::steps(&room, Duration::from_secs(number("ROOM_LOAD_SECONDS", 30)));
    lenses::taken(&room, usize::try_from(number("ROOM_LOAD_EXAMS", 200)).unwrap());
}
