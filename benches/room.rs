//! Key to frame on a screen that shares its record, whatever becomes of the room:
//! `cargo bench --features room-server --bench room`.
//!
//! Five programs press the same keys in turns, in one run: one of no room, and four whose server is there, dead, frozen, or
//! behind a wire that stalls. Each key is a step that is committed and drawn.
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot set itself up must stop")]

#[path = "../tests/room/server.rs"]
#[expect(dead_code, reason = "the tests use more of it")]
mod server;
#[path = "terminal/mod.rs"]
#[expect(dead_code, reason = "other benchmarks use more of it")]
mod terminal;
#[path = "../tests/room/wire.rs"]
mod wire;

use std::path::Path;
use std::process::Command;
use std::time::Duration;

use dioptray::room::prepare::{Role, allow};
use server::{OWNER, Server};
use terminal::{Running, start};
use wire::{Proxy, Wire};

type Failure = Box<dyn std::error::Error>;

/// How often each key is pressed.
const TIMES: usize = 300;

/// A program on a logbook that has an exam, and joined a room where there is one.
fn program(folder: &Path, name: &str, address: Option<&str>) -> Running {
    let text = std::fs::read_to_string("kits/boxes/outreach.yaml").unwrap();
    let in_box = folder.join("box.yaml");
    std::fs::write(
        &in_box,
        text.replacen("\nbox: Hillside outreach\n", "\nbox: Hillside outreach\nid: hillside-1\n", 1),
    )
    .unwrap();
    let logbook = folder.join(format!("{name}.db"));
    let (logbook, in_box) = (logbook.to_str().unwrap(), in_box.to_str().unwrap());
    let run = |arguments: &[&str]| {
        let done = Command::new(env!("CARGO_BIN_EXE_dioptray")).args(["--logbook", logbook]).args(arguments).output();
        let done = done.unwrap();
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    };
    run(&["--new", "--box", in_box, "--print", "--keys", "-4<enter>Cy"]);
    if let Some(address) = address {
        run(&["room", "join", address, "--seat", name]);
    }
    start(env!("CARGO_BIN_EXE_dioptray"), &["--logbook", logbook, "--box", in_box])
}

fn report(what: &str, mut times: Vec<Duration>) {
    times.sort_unstable();
    let at = |share: f64| times[((times.len() - 1) as f64 * share).round() as usize].as_secs_f64() * 1e3;
    println!("{what:44} median {:6.2} ms   99 % {:6.2} ms   most {:6.2} ms", at(0.5), at(0.99), at(1.0));
}

fn main() {
    let folder = tempfile::tempdir().unwrap();
    let servers: Vec<Server> = (0..3).map(|_| Server::start("").unwrap()).collect();
    for server in &servers {
        server.room("room", &[]).unwrap();
        allow(&server.owner("room").unwrap(), OWNER, Role::Examiner, None).unwrap();
    }
    let [there, dead, frozen] = [&servers[0], &servers[1], &servers[2]];
    let wire = Proxy::to(there.port).unwrap();
    let address = |port: u16| format!("postgresql://{OWNER}@127.0.0.1:{port}/room");
    let mut programs = vec![("no room", program(folder.path(), "alone", None))];
    for (what, name, port) in [
        ("the room is there", "there", there.port),
        ("it is dead", "dead", dead.port),
        ("it is frozen", "frozen", frozen.port),
        ("its wire stalls", "stalled", wire.port),
    ] {
        programs.push((what, program(folder.path(), name, Some(&address(port)))));
    }
    for (_, program) in &mut programs {
        program.frame();
        program.press("\u{1b}");
        program.press("-0.75x30\r");
    }
    dead.kill().unwrap();
    frozen.freeze(true).unwrap();
    wire.does(Wire::Stalls);
    // what is said of it on the top line is drawn by then
    std::thread::sleep(Duration::from_secs(12));
    for (_, program) in &mut programs {
        program.press("]");
    }
    let mut took = vec![Vec::new(); programs.len()];
    for _ in 0..TIMES {
        for ((_, program), took) in programs.iter_mut().zip(&mut took) {
            took.push(program.press("]"));
        }
    }
    for ((what, _), took) in programs.iter().zip(took) {
        report(&format!("key to frame, axis turned: {what}"), took);
    }
    for (_, program) in programs {
        program.quit();
    }
}
