//! Speed of the program as its user meets it: in a real pseudo-terminal, with a logbook. `cargo bench --bench screen`.
//!
//! Start to the first frame, key to frame for keys that move lenses (each is committed to the logbook and searched for
//! proposals before it shows), what it uses while idle, and its resident memory. `BESIDE=PROGRAM` measures another build of the
//! program in the same run, the two in turns, so that a busy machine is as busy for both.
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot set itself up must stop")]

#[path = "terminal/mod.rs"]
mod terminal;

use std::path::Path;
use std::process::Command;
use std::time::Duration;

use terminal::{Running, start, start_with};

/// Processor time used so far, in clock ticks.
fn ticks(running: &Running) -> u64 {
    let stat = std::fs::read_to_string(format!("/proc/{}/stat", running.process_id())).unwrap();
    let fields: Vec<&str> = stat.rsplit(')').next().unwrap().split_whitespace().collect();
    fields[11].parse::<u64>().unwrap() + fields[12].parse::<u64>().unwrap()
}

/// Says the median, the 99th percentile and the most.
fn report(what: &str, mut times: Vec<Duration>) {
    times.sort_unstable();
    let at = |share: f64| times[((times.len() - 1) as f64 * share).round() as usize].as_secs_f64() * 1e3;
    println!("{what:44} median {:6.2} ms   99 % {:6.2} ms   most {:6.2} ms", at(0.5), at(0.99), at(1.0));
}

/// Presses the keys in each program in turns, and reports how long each took to its frame.
fn key_to_frame(what: &str, programs: &mut [Running], keys: &str, times: usize) {
    let mut took = vec![Vec::new(); programs.len()];
    for _ in 0..times {
        for (program, took) in programs.iter_mut().zip(&mut took) {
            took.push(program.press(keys));
        }
    }
    for times in took {
        report(what, times);
    }
}

/// People on the list of the long day: as many as one program is asked to carry.
const PEOPLE: usize = 500;

/// The screens of the box: its tray, what it makes, a stock-take.
fn box_screens(program: &str, logbook: &str) {
    let mut running = [start(program, &["--logbook", logbook, "--new", "--box", "kits/boxes/full.yaml"])];
    running[0].frame();
    running[0].press("B");
    key_to_frame("key to frame: next lens of the tray", &mut running, "\u{1b}[B", 200);
    running[0].press("c");
    // what it makes is computed first
    std::thread::sleep(Duration::from_secs(2));
    running[0].press("\u{1b}[C");
    key_to_frame("key to frame: next place of the map", &mut running, "\u{1b}[C", 50);
    running[0].press("\u{1b}");
    running[0].press("s");
    key_to_frame("key to frame: next lens of a stock-take", &mut running, "\u{1b}[C", 100);
    let [running] = running;
    running.quit();
}

/// What a practice eye sees, in half blocks or in pixels by a protocol: pictures that are computed for the frame, and a flick
/// between two that are there.
fn pictures(program: &str, folder: &Path, by: &str) {
    let settings = folder.join(by).join("dioptray");
    std::fs::create_dir_all(&settings).unwrap();
    std::fs::write(settings.join("settings.yaml"), format!("pictures: {by}\n")).unwrap();
    let logbook = folder.join(format!("sight-{by}.db"));
    let arguments = ["practice", "--eye", "oblique", "--seed", "1", "--logbook", logbook.to_str().unwrap()];
    let own = folder.join(by);
    let mut running = [start_with(program, &arguments, &[("XDG_CONFIG_HOME", own.to_str().unwrap())])];
    running[0].frame();
    for keys in ["!", " ", "-1.00\r", "-2.50x40\r", "V"] {
        running[0].press(keys);
    }
    let what = |what: &str| format!("key to frame, pictures {by}: {what}");
    key_to_frame(&what("fan, axis"), &mut running, "]", 200);
    running[0].press("V");
    key_to_frame(&what("lines, axis"), &mut running, "]", 200);
    running[0].press("h-0.50\r");
    key_to_frame(&what("lines, flick"), &mut running, "f", 200);
    running[0].press("V");
    running[0].press("V");
    key_to_frame(&what("streak"), &mut running, "]", 200);
    let [running] = running;
    running.quit();
}

/// A day with [`PEOPLE`] on its list.
fn long_day(program: &str, folder: &Path) {
    let logbook = folder.join("day.db");
    let people = folder.join("people.csv");
    let lines: Vec<String> = (0..PEOPLE).map(|number| format!("{},{},\n", number + 1, 6 + number % 11)).collect();
    std::fs::write(&people, format!("label,age,note\n{}", lines.concat())).unwrap();
    let run = |arguments: &[&str]| {
        let done = Command::new(program).args(arguments).args(["--logbook", logbook.to_str().unwrap()]).output();
        let done = done.unwrap();
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    };
    run(&["day", "start", "--place", "School"]);
    run(&["day", "add", "--from", people.to_str().unwrap()]);
    let mut running = [start(program, &["--logbook", logbook.to_str().unwrap(), "--new"])];
    running[0].frame();
    running[0].press("D");
    key_to_frame(&format!("key to frame: list of {PEOPLE} people"), &mut running, "\u{1b}[B", 200);
    let [running] = running;
    running.quit();
}

fn main() {
    let folder = tempfile::tempdir().unwrap();
    let beside = std::env::var("BESIDE").ok();
    let programs: Vec<&str> = std::iter::once(env!("CARGO_BIN_EXE_dioptray")).chain(beside.as_deref()).collect();
    println!("in this order: {}", programs.join(", "));
    // each its own: an older program does not read the logbook of a newer one
    let logbooks: Vec<String> = (0..programs.len())
        .map(|number| folder.path().join(format!("logbook-{number}.db")).to_str().unwrap().to_owned())
        .collect();

    let mut starts = vec![Vec::new(); programs.len()];
    for _ in 0..20 {
        for ((program, logbook), starts) in programs.iter().zip(&logbooks).zip(&mut starts) {
            let running = start(program, &["--logbook", logbook, "--new"]);
            starts.push(running.frame() - running.started);
            running.quit();
        }
    }
    for times in starts {
        report("start to first frame", times);
    }

    let full = |(program, logbook): (&&str, &String)| {
        start(program, &["--logbook", logbook, "--new", "--box", "kits/boxes/full.yaml"])
    };
    let mut running: Vec<Running> = programs.iter().zip(&logbooks).map(full).collect();
    for program in &mut running {
        program.frame();
        for keys in ["-4\r", "-0.75x30\r", "w-4.25/-0.75x30\r", "\u{1b}"] {
            program.press(keys);
        }
    }
    key_to_frame("key to frame: axis turned, power within reach", &mut running, "]", 400);
    key_to_frame("key to frame: undo", &mut running, "u", 200);
    for program in &mut running {
        for keys in ["w-4/-14x30\r", "\u{1b}"] {
            program.press(keys);
        }
    }
    key_to_frame("key to frame: axis turned, power out of reach", &mut running, "]", 200);
    let before: Vec<u64> = running.iter().map(ticks).collect();
    std::thread::sleep(Duration::from_secs(5));
    for (program, before) in running.into_iter().zip(before) {
        println!("{:44} {} clock ticks in 5 s", "idle", ticks(&program) - before);
        println!("{:44} {:.1} MB", "resident memory", program.status("VmRSS:") as f64 / 1024.0);
        program.quit();
    }
    // what an older program may not have is measured of this one alone
    let this = env!("CARGO_BIN_EXE_dioptray");
    box_screens(this, folder.path().join("box.db").to_str().unwrap());
    for by in ["off", "kitty", "sixel", "iterm2"] {
        pictures(this, folder.path(), by);
    }
    long_day(this, folder.path());
}
