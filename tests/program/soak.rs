//! The screen in a real terminal for as long as is asked, at keys by chance but sensible: it shows and keeps what the same
//! screen shows and takes in this process, and its memory stays flat.
//!
//! The gate does a minute of it without waiting; `.ci/long soak` an hour (`DIOPTRAY_SOAK_SECONDS`) at the speed of a person
//! (`DIOPTRAY_SOAK_KEYS_A_SECOND`).
#![cfg(target_os = "linux")]

use std::env;
use std::io::Write as _;
use std::path::Path;
use std::time::{Duration, Instant};

use crossterm::event::KeyCode;
use dioptray::logbook::Logbook;
use dioptray::screen::keys::{Chord, Context, strokes};
use dioptray::screen::ui::Input;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

use crate::pty::{Failure, Terminal, program};
use crate::twin::{Twin, kept};

/// An escape and a bracket that come sooner are the start of a sequence.
const AFTER_ESCAPE: Duration = Duration::from_millis(150);
/// Once an exam has that many steps, another begins.
const STEPS_OF_AN_EXAM: usize = 100;

/// What is done by chance: keys as `--keys` takes them, and how often. `#` is a digit from 1 to 9, `@` an axis.
const ACTIONS: [(u32, &str); 46] = [
    (10, "-#<enter>"),
    (6, "+#.25<enter>"),
    (8, "-0.75x@<enter>"),
    (2, "2b90<enter>"),
    (10, "<right>"),
    (6, "<left>"),
    (6, "<tab>"),
    (4, "x"),
    (1, "X"),
    (1, "S"),
    (8, "]"),
    (6, "["),
    (3, "}"),
    (3, "{"),
    (6, "w-#.25/-0.75x@<enter>"),
    (2, "w<enter>"),
    (6, "#"),
    (3, "p"),
    (2, "P"),
    (3, "<down>"),
    (2, "<enter>"),
    (10, "u"),
    (6, "r"),
    (3, "o"),
    (2, "h0.25JCC<enter>"),
    (2, "h+0.25<enter>"),
    (2, "l"),
    (1, "b"),
    (1, "f"),
    (3, "a"),
    (2, "v1#<enter>"),
    (6, "g"),
    (30, "#"),
    (2, "s"),
    (3, "j"),
    (2, "="),
    (2, "?<pagedown>"),
    (2, "!"),
    (2, "t"),
    (2, "T"),
    (10, "<esc>"),
    (3, "d-#<esc><esc>"),
    (3, "i<down><down><down>#<enter>"),
    (2, "m<right><enter>"),
    (3, "e<down><enter><pagedown><esc><esc>"),
    (1, "ia.b.<backspace><esc>"),
];

/// What a person does, as bytes of a terminal.
fn bytes(chord: Chord) -> String {
    let named = [
        (KeyCode::Enter, "\r"),
        (KeyCode::Esc, "\u{1b}"),
        (KeyCode::Tab, "\t"),
        (KeyCode::Backspace, "\u{7f}"),
        (KeyCode::Up, "\u{1b}[A"),
        (KeyCode::Down, "\u{1b}[B"),
        (KeyCode::Right, "\u{1b}[C"),
        (KeyCode::Left, "\u{1b}[D"),
        (KeyCode::PageUp, "\u{1b}[5~"),
        (KeyCode::PageDown, "\u{1b}[6~"),
    ];
    let named = named.into_iter().find(|(code, _)| chord == Chord::named(*code)).map(|(_, bytes)| bytes.to_owned());
    named.or_else(|| chord.typed().map(String::from)).unwrap_or_default()
}

struct Soak {
    terminal: Terminal,
    twin: Twin,
    chance: ChaCha8Rng,
    pause: Duration,
    keys: usize,
    labels: usize,
}

impl Soak {
    /// Types keys, one after the other, each at what both show.
    fn keys(&mut self, keys: &str) -> Result<(), Failure> {
        for stroke in strokes::parse(keys)? {
            let strokes::Stroke::Key(chord) = stroke else { continue };
            self.terminal.type_keys(&bytes(chord))?;
            self.twin.take(&Input::Key(chord));
            self.keys += 1;
            std::thread::sleep(self.pause);
            if chord == Chord::named(KeyCode::Esc) {
                std::thread::sleep(AFTER_ESCAPE.saturating_sub(self.pause));
            }
            self.shows_the_same().map_err(|error| format!("after key {} ({keys}): {error}", self.keys))?;
        }
        Ok(())
    }

    /// Waits until the terminal shows what the twin shows. Earlier exams have times of their own.
    fn shows_the_same(&mut self) -> Result<(), Failure> {
        let expected = self.twin.rows();
        if self.twin.app.ui.page.as_ref().is_some_and(|page| matches!(page, dioptray::screen::page::Page::Records(_))) {
            return Ok(());
        }
        // files are written where the twin writes none
        if self.twin.app.ui.says.as_ref().is_some_and(|says| says.text.starts_with("written: ")) {
            return self.terminal.wait_for("written: /");
        }
        let what = format!("screen like this:\n{}\n", expected.join("\n"));
        self.terminal.wait(&what, |seen| {
            let screen = seen.parser.screen();
            screen.rows(0, screen.size().1.get()).map(|row| row.trim_end().to_owned()).eq(expected.iter().cloned())
        })
    }

    fn one_thing(&mut self) -> Result<(), Failure> {
        let at_work = matches!(self.twin.app.ui.context(), Context::Cells | Context::Proposals | Context::Guide);
        if !at_work && self.chance.random_range(0..2) == 0 {
            self.keys("<esc>")?;
        }
        let all: u32 = ACTIONS.iter().map(|(weight, _)| weight).sum();
        let mut drawn = self.chance.random_range(0..all + 5);
        if drawn >= all {
            return self.with_the_mouse_or_by_size();
        }
        let chosen = ACTIONS.iter().find(|(weight, _)| {
            let found = drawn < *weight;
            drawn = drawn.saturating_sub(*weight);
            found
        });
        let (_, keys) = chosen.ok_or("nothing to do")?;
        let (digit, axis) = (self.chance.random_range(1..=9), self.chance.random_range(1..=180));
        self.keys(&keys.replace('#', &digit.to_string()).replace('@', &axis.to_string()))
    }

    fn with_the_mouse_or_by_size(&mut self) -> Result<(), Failure> {
        if self.chance.random_range(0..3) == 0 {
            let (columns, rows) = [(120, 36), (80, 24), (100, 30)][self.chance.random_range(0..3)];
            self.terminal.resize(columns, rows)?;
            self.twin.resize(columns, rows);
        } else {
            let (column, row) = (self.chance.random_range(0..80), self.chance.random_range(1..23));
            self.terminal.type_keys(&format!("\u{1b}[<0;{};{}M", column + 1, row + 1))?;
            self.twin.click(column, row);
        }
        self.keys += 1;
        std::thread::sleep(self.pause);
        self.shows_the_same()
    }

    /// Back to the frame, with a label that nobody else has.
    fn label(&mut self) -> Result<(), Failure> {
        self.keys("<esc><esc><esc><esc>")?;
        if !self.twin.app.state().finished {
            self.labels += 1;
            // the first row of the details
            let up = "<pageup><pageup><pageup>";
            self.keys(&format!("i{up}<enter>"))?;
            let typed = self.twin.app.ui.prompt.as_ref().map_or(0, |prompt| prompt.line.value().chars().count());
            self.keys(&format!("{}no. {}<enter><esc>", "<backspace>".repeat(typed), self.labels))?;
        }
        Ok(())
    }

    /// Another exam, after this one is closed or left open.
    fn next(&mut self) -> Result<(), Failure> {
        self.label()?;
        self.keys("N<enter>")?;
        if self.twin.app.ui.asks.is_some() {
            let answer = if self.chance.random_range(0..4) == 0 { "n" } else { "y" };
            self.keys(answer)?;
        }
        Ok(())
    }

    /// Resident memory of the program, in kB.
    fn memory(&self) -> Result<u64, Failure> {
        let process = self.terminal.child.process_id().ok_or("no process")?;
        let status = std::fs::read_to_string(format!("/proc/{process}/status"))?;
        let line = status.lines().find(|line| line.starts_with("VmRSS:")).ok_or("no memory")?;
        Ok(line.split_whitespace().nth(1).ok_or("no figure")?.parse()?)
    }

    /// Whether every step that the twin took is in the logbook, in order, once, and nothing else; how many.
    fn is_kept(&self, folder: &Path) -> Result<usize, Failure> {
        assert_eq!(kept(&folder.join("logbook"))?, self.twin.taken().exams);
        Ok(self.twin.taken().steps())
    }
}

fn soak(lasts: Duration, pause: Duration, seed: u64, mut say: impl FnMut(&str)) -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let mut command = program(folder.path());
    command.cwd(folder.path());
    let terminal = Terminal::run(command)?;
    let (twin, chance) = (Twin::new(120, 36)?, ChaCha8Rng::seed_from_u64(seed));
    let mut soak = Soak { terminal, twin, chance, pause, keys: 0, labels: 0 };
    soak.shows_the_same()?;
    let begun = Instant::now();
    let mut samples: Vec<(Duration, u64)> = Vec::new();
    while begun.elapsed() < lasts {
        soak.one_thing()?;
        let steps = soak.twin.taken().exams.last().map_or(0, Vec::len);
        if steps >= STEPS_OF_AN_EXAM || soak.twin.app.state().finished {
            soak.next()?;
        }
        if samples.last().is_none_or(|(at, _)| begun.elapsed() > *at + lasts / 60) {
            samples.push((begun.elapsed(), soak.memory()?));
            let (exams, steps) = (soak.twin.taken().exams.len(), soak.twin.taken().steps());
            let (at, memory) = samples[samples.len() - 1];
            say(&format!("{:5} s  {memory} kB  {} keys  {exams} exams  {steps} steps", at.as_secs(), soak.keys));
        }
    }
    soak.label()?;
    // killed: what is in the logbook then is what was confirmed
    soak.terminal.signal("KILL")?;
    soak.terminal.child.wait()?;
    let kept = soak.is_kept(folder.path())?;
    assert!(kept > 0);
    Logbook::open(&folder.path().join("logbook"))?.check()?;
    let most = |samples: &[(Duration, u64)]| samples.iter().map(|(_, kb)| *kb).max().unwrap_or_default();
    let (early, late) = (most(&samples[..samples.len() / 2]), most(&samples[samples.len() * 3 / 4..]));
    say(&format!(
        "kept {kept} of {} steps; most memory {early} kB in the first half, {late} kB in the last quarter",
        soak.twin.taken().steps()
    ));
    // a page cache and the longest exam may still fill up in a short one
    assert!(late < early + 2048, "memory grows: {samples:?}");
    Ok(())
}

/// A part of it for the gate.
#[test]
fn a_minute_of_keys_by_chance() -> Result<(), Failure> {
    soak(Duration::from_secs(20), Duration::ZERO, 1, |_| {})
}

fn given(name: &str, otherwise: u64) -> u64 {
    env::var(name).ok().and_then(|value| value.parse().ok()).unwrap_or(otherwise)
}

#[test]
#[ignore = "an hour, by `.ci/long soak`"]
fn an_hour_of_keys_by_chance() -> Result<(), Failure> {
    let lasts = Duration::from_secs(given("DIOPTRAY_SOAK_SECONDS", 3600));
    let keys = given("DIOPTRAY_SOAK_KEYS_A_SECOND", 10).max(1);
    let seed = given("DIOPTRAY_SOAK_SEED", 1);
    let pause = Duration::from_secs(1) / u32::try_from(keys)?;
    soak(lasts, pause, seed, |line| {
        let mut out = std::io::stdout().lock();
        let _ = writeln!(out, "{line}").and_then(|()| out.flush());
    })
}
