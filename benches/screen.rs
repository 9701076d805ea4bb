//! Speed of the program as its user meets it: in a real pseudo-terminal, with a logbook. `cargo bench --bench screen`.
//!
//! Start to the first frame, key to frame for keys that move lenses (each is committed to the logbook and searched for
//! proposals before it shows), what it uses while idle, and its resident memory.
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot set itself up must stop")]

use std::io::{Read, Write};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, PtySize, native_pty_system};

/// How long the screen may stay silent before a frame counts as whole.
const QUIET: Duration = Duration::from_millis(30);
/// How long to wait for a frame at all.
const BUSY_TIMEOUT: Duration = Duration::from_secs(10);

struct Running {
    writer: Box<dyn Write + Send>,
    output: Receiver<(Instant, Vec<u8>)>,
    child: Box<dyn Child + Send + Sync>,
    started: Instant,
}

fn start(arguments: &[&str]) -> Running {
    let pair = native_pty_system().openpty(PtySize { rows: 36, cols: 120, pixel_width: 0, pixel_height: 0 }).unwrap();
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_dioptray"));
    command.args(arguments);
    command.cwd(env!("CARGO_MANIFEST_DIR"));
    command.env("TERM", "xterm-256color");
    let mut reader = pair.master.try_clone_reader().unwrap();
    let writer = pair.master.take_writer().unwrap();
    let started = Instant::now();
    let child = pair.slave.spawn_command(command).unwrap();
    let (sender, output) = channel();
    std::thread::spawn(move || {
        let _keeps_the_terminal_open = pair.master;
        let mut buffer = vec![0; 65536];
        while let Ok(read) = reader.read(&mut buffer) {
            if read == 0 || sender.send((Instant::now(), buffer[..read].to_vec())).is_err() {
                return;
            }
        }
    });
    Running { writer, output, child, started }
}

impl Running {
    /// Waits for output and then for silence; when its last byte came.
    fn frame(&self) -> Instant {
        let (mut last, _) = self.output.recv_timeout(BUSY_TIMEOUT).unwrap();
        while let Ok((at, _)) = self.output.recv_timeout(QUIET) {
            last = at;
        }
        last
    }

    fn press(&mut self, keys: &str) -> Duration {
        let pressed = Instant::now();
        self.writer.write_all(keys.as_bytes()).unwrap();
        self.writer.flush().unwrap();
        self.frame() - pressed
    }

    fn quit(mut self) {
        self.writer.write_all(b"q").unwrap();
        self.child.wait().unwrap();
    }

    fn status(&self, field: &str) -> u64 {
        let pid = self.child.process_id().unwrap();
        let status = std::fs::read_to_string(format!("/proc/{pid}/status")).unwrap();
        let line = status.lines().find(|line| line.starts_with(field)).unwrap();
        line.split_whitespace().nth(1).unwrap().parse().unwrap()
    }

    /// Processor time used so far, in clock ticks.
    fn ticks(&self) -> u64 {
        let pid = self.child.process_id().unwrap();
        let stat = std::fs::read_to_string(format!("/proc/{pid}/stat")).unwrap();
        let fields: Vec<&str> = stat.rsplit(')').next().unwrap().split_whitespace().collect();
        fields[11].parse::<u64>().unwrap() + fields[12].parse::<u64>().unwrap()
    }
}

fn report(what: &str, mut times: Vec<Duration>) {
    times.sort_unstable();
    let at = |share: f64| times[((times.len() - 1) as f64 * share).round() as usize].as_secs_f64() * 1e3;
    println!("{what:44} median {:6.2} ms   99 % {:6.2} ms   most {:6.2} ms", at(0.5), at(0.99), at(1.0));
}

fn main() {
    let folder = tempfile::tempdir().unwrap();
    let logbook = folder.path().join("logbook.db");
    let logbook = logbook.to_str().unwrap();

    let mut starts = Vec::new();
    for _ in 0..20 {
        let running = start(&["--logbook", logbook, "--new"]);
        starts.push(running.frame() - running.started);
        running.quit();
    }
    report("start to first frame", starts);

    let mut running = start(&["--logbook", logbook, "--new", "--box", "kits/boxes/full.yaml"]);
    running.frame();
    for keys in ["-4\r", "-0.75x30\r", "w-4.25/-0.75x30\r", "\u{1b}"] {
        running.press(keys);
    }
    report("key to frame: axis turned, power within reach", (0..400).map(|_| running.press("]")).collect());
    report("key to frame: undo", (0..200).map(|_| running.press("u")).collect());
    for keys in ["w-4/-14x30\r", "\u{1b}"] {
        running.press(keys);
    }
    report("key to frame: axis turned, power out of reach", (0..200).map(|_| running.press("]")).collect());
    let before = running.ticks();
    std::thread::sleep(Duration::from_secs(5));
    println!("{:44} {} clock ticks in 5 s", "idle", running.ticks() - before);
    println!("{:44} {:.1} MB", "resident memory", running.status("VmRSS:") as f64 / 1024.0);
    running.quit();
}
