//! The program in a pseudo-terminal, as benchmarks start it, press its keys and wait for its frames.

use std::io::{Read, Write};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, PtySize, native_pty_system};

/// How long the screen may stay silent before a frame counts as whole.
const QUIET: Duration = Duration::from_millis(30);
/// How long to wait for a frame at all.
const BUSY_TIMEOUT: Duration = Duration::from_secs(10);

/// A program on its screen.
pub struct Running {
    writer: Box<dyn Write + Send>,
    output: Receiver<(Instant, Vec<u8>)>,
    child: Box<dyn Child + Send + Sync>,
    /// When it was asked to start.
    pub started: Instant,
}

/// Starts a program on a screen of 120x36.
pub fn start(program: &str, arguments: &[&str]) -> Running {
    start_with(program, arguments, &[])
}

/// The same in surroundings that say something more.
pub fn start_with(program: &str, arguments: &[&str], surroundings: &[(&str, &str)]) -> Running {
    let pair = native_pty_system().openpty(PtySize { rows: 36, cols: 120, pixel_width: 0, pixel_height: 0 }).unwrap();
    let mut command = CommandBuilder::new(program);
    command.args(arguments);
    command.cwd(env!("CARGO_MANIFEST_DIR"));
    command.env("TERM", "xterm-256color");
    for (variable, value) in surroundings {
        command.env(variable, value);
    }
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
    pub fn frame(&self) -> Instant {
        let (mut last, _) = self.output.recv_timeout(BUSY_TIMEOUT).unwrap();
        while let Ok((at, _)) = self.output.recv_timeout(QUIET) {
            last = at;
        }
        last
    }

    /// Presses keys and waits for the frame: how long that took.
    pub fn press(&mut self, keys: &str) -> Duration {
        let pressed = Instant::now();
        self.writer.write_all(keys.as_bytes()).unwrap();
        self.writer.flush().unwrap();
        self.frame() - pressed
    }

    /// Leaves by the key and waits for the end.
    pub fn quit(mut self) {
        self.writer.write_all(b"q").unwrap();
        self.child.wait().unwrap();
    }

    /// Its number.
    pub fn process_id(&self) -> u32 {
        self.child.process_id().unwrap()
    }

    /// A figure that the system keeps of the process, in kB for memory.
    pub fn status(&self, field: &str) -> u64 {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.process_id())).unwrap();
        let line = status.lines().find(|line| line.starts_with(field)).unwrap();
        line.split_whitespace().nth(1).unwrap().parse().unwrap()
    }
}
