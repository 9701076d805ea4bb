//! Speed of the program as its user meets it: in a real pseudo-terminal, with a logbook. `cargo bench --bench screen`.
//!
//! Start to the first frame, key to frame for keys that move lenses (each is committed to the logbook and searched for
//! proposals before it shows), what it uses while idle, and its resident memory. `BESIDE=PROGRAM` measures another build of the
//! program in the same run, the two in turns, so that a busy machine is as busy for both.
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

fn start(program: &str, arguments: &[&str]) -> Running {
    let pair = native_pty_system().openpty(PtySize { rows: 36, cols: 120, pixel_width: 0, pixel_height: 0 }).unwrap();
    let mut command = CommandBuilder::new(program);
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
    let before: Vec<u64> = running.iter().map(Running::ticks).collect();
    std::thread::sleep(Duration::from_secs(5));
    for (program, before) in running.into_iter().zip(before) {
        println!("{:44} {} clock ticks in 5 s", "idle", program.ticks() - before);
        println!("{:44} {:.1} MB", "resident memory", program.status("VmRSS:") as f64 / 1024.0);
        program.quit();
    }
}
