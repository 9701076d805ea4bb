//! A program in a terminal, as somebody sits at it.

use std::io::{Read as _, Write};
use std::num::NonZero;
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};

use super::Failure;
use super::seat::Seat;

/// Rows and columns.
const SIZE: (NonZero<u16>, NonZero<u16>) = (NonZero::new(36).unwrap(), NonZero::new(120).unwrap());

/// A program in a terminal of its own.
pub struct Screen {
    seen: Arc<Mutex<vt100::Parser>>,
    keyboard: Box<dyn Write + Send>,
    child: Box<dyn Child + Send + Sync>,
    _master: Box<dyn MasterPty + Send>,
}

impl Screen {
    pub fn of(seat: &Seat) -> Result<Self, Failure> {
        Self::with(seat, &["--box", Seat::path(&seat.file("box.yaml"))?])
    }

    /// A second program on the logbook of a seat, with a box that nobody else has.
    pub fn with_another_box(seat: &Seat) -> Result<Self, Failure> {
        Self::with(seat, &["--box", "kits/boxes/spheres.yaml"])
    }

    fn with(seat: &Seat, arguments: &[&str]) -> Result<Self, Failure> {
        let (rows, cols) = (SIZE.0.get(), SIZE.1.get());
        let pair = native_pty_system().openpty(PtySize { rows, cols, pixel_width: 0, pixel_height: 0 })?;
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_dioptray"));
        command.args(arguments);
        command.cwd(env!("CARGO_MANIFEST_DIR"));
        command.env("DIOPTRAY_LOGBOOK", seat.logbook());
        command.env("XDG_CONFIG_HOME", seat.file("settings"));
        command.env("DIOPTRAY_ROOM_PASSWORD_FILE", seat.file("password"));
        for (name, value) in [("TERM", "xterm-256color"), ("LANG", "C.UTF-8"), ("TZ", "UTC")] {
            command.env(name, value);
        }
        let child = pair.slave.spawn_command(command)?;
        let mut reader = pair.master.try_clone_reader()?;
        let seen = Arc::new(Mutex::new(vt100::Parser::new(SIZE.0, SIZE.1, 0)));
        let drawn = Arc::clone(&seen);
        thread::spawn(move || {
            let mut buffer = [0; 4096];
            while let Ok(read @ 1..) = reader.read(&mut buffer) {
                drawn.lock().unwrap_or_else(PoisonError::into_inner).process(&buffer[..read]);
            }
        });
        Ok(Self { seen, keyboard: pair.master.take_writer()?, child, _master: pair.master })
    }

    pub fn shows(&self) -> String {
        self.seen.lock().unwrap_or_else(PoisonError::into_inner).screen().contents()
    }

    pub fn wait_for(&self, text: &str) -> Result<Duration, Failure> {
        self.wait(&format!("`{text}`"), |shown| shown.contains(text))
    }

    pub fn wait(&self, what: &str, is_so: impl Fn(&str) -> bool) -> Result<Duration, Failure> {
        let begun = Instant::now();
        while !is_so(&self.shows()) {
            if begun.elapsed() > Duration::from_secs(30) {
                return Err(format!("no {what}; it shows\n{}", self.shows()).into());
            }
            thread::sleep(Duration::from_millis(5));
        }
        Ok(begun.elapsed())
    }

    pub fn type_keys(&mut self, keys: &str) -> Result<(), Failure> {
        self.keyboard.write_all(keys.as_bytes())?;
        Ok(self.keyboard.flush()?)
    }

    pub fn end(mut self) -> Result<(), Failure> {
        self.type_keys("q")?;
        assert!(self.child.wait()?.success());
        Ok(())
    }
}

impl Drop for Screen {
    /// A test that fails leaves no program behind.
    fn drop(&mut self) {
        let _ = self.child.kill();
    }
}
