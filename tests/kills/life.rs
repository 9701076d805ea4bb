//! One life of a program at work, from outside: begun, listened to, killed at a moment by chance.

use std::collections::BTreeMap;
use std::io::{BufRead as _, BufReader, Read as _};
use std::os::unix::process::ExitStatusExt as _;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::{Duration, Instant};

use rand::RngExt as _;
use rand_chacha::ChaCha8Rng;

use super::Failure;
use super::seat::AS_A_SEAT;
use super::tally::{Moment, Tally};

/// A kill that waits for a word waits at most as long.
const LONGEST_LIFE: Duration = Duration::from_millis(600);

/// What the programs of a seat said that they had done, by the numbers of the entries their hashes.
#[derive(Debug, Default)]
pub struct Record {
    pub committed: BTreeMap<i64, String>,
    pub confirmed: BTreeMap<i64, String>,
    pub tally: Tally,
}

impl Record {
    pub fn add(&mut self, other: Self) -> Result<(), Failure> {
        self.tally.add(&other.tally);
        for (number, hash) in other.committed {
            note(&mut self.committed, number, &hash)?;
        }
        for (number, hash) in other.confirmed {
            note(&mut self.confirmed, number, &hash)?;
        }
        Ok(())
    }

    /// Begins a program and kills it.
    pub fn one_life(&mut self, folder: &Path, holds: bool, chance: &mut ChaCha8Rng) -> Result<(), Failure> {
        let mut program = Command::new(std::env::current_exe()?)
            .args([AS_A_SEAT.as_ref(), folder.as_os_str()])
            .args([chance.random::<u64>().to_string().as_str(), if holds { "holds" } else { "holds nothing" }])
            .env_remove("DIOPTRAY_ROOM")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()?;
        let said = listened_to(&mut program)?;
        let mut last = String::new();
        wait_for_the_moment(&said, chance, |line| self.hear(line, &mut last))?;
        program.kill()?;
        let status = program.wait()?;
        for line in said {
            self.hear(line, &mut last)?;
        }
        let mut complaint = String::new();
        if let Some(mut errors) = program.stderr.take() {
            errors.read_to_string(&mut complaint)?;
        }
        if status.signal() != Some(9) || !complaint.is_empty() {
            return Err(format!("{}: ended by itself after `{last}` ({status}): {complaint}", folder.display()).into());
        }
        self.tally.fell(moment(&last));
        Ok(())
    }

    fn hear(&mut self, line: String, last: &mut String) -> Result<(), Failure> {
        if let [what, number, hash] = line.split(' ').collect::<Vec<_>>()[..] {
            let of = if what == "committed" { &mut self.committed } else { &mut self.confirmed };
            note(of, number.parse()?, hash)?;
        }
        *last = line;
        Ok(())
    }
}

fn note(of: &mut BTreeMap<i64, String>, number: i64, hash: &str) -> Result<(), Failure> {
    let before = of.entry(number).or_insert_with(|| hash.to_owned());
    if before != hash {
        return Err(format!("entry {number} was {before} and is {hash}").into());
    }
    Ok(())
}

/// The whole lines that a program says, until it is gone.
fn listened_to(program: &mut Child) -> Result<Receiver<String>, Failure> {
    let output = program.stdout.take().ok_or("nothing to listen to")?;
    let (says, said) = channel();
    thread::spawn(move || {
        let mut output = BufReader::new(output);
        let mut line = String::new();
        while output.read_line(&mut line).is_ok_and(|read| read > 0) && line.ends_with('\n') {
            if says.send(line.trim_end().to_owned()).is_err() {
                return;
            }
            line.clear();
        }
    });
    Ok(said)
}

/// Half the kills come at any moment, half shortly after a word: between one thing and the next, where little time passes.
fn wait_for_the_moment(
    said: &Receiver<String>,
    chance: &mut ChaCha8Rng,
    mut hear: impl FnMut(String) -> Result<(), Failure>,
) -> Result<(), Failure> {
    let begun = Instant::now();
    let (until, words) = if chance.random_ratio(1, 2) {
        (Duration::from_micros(chance.random_range(0..400_000)), usize::MAX)
    } else {
        (LONGEST_LIFE, chance.random_range(1..24))
    };
    let mut heard = 0;
    while heard < words {
        let Ok(line) = said.recv_timeout(until.saturating_sub(begun.elapsed())) else { return Ok(()) };
        hear(line)?;
        heard += 1;
    }
    thread::sleep(Duration::from_micros(chance.random_range(0..3000)));
    Ok(())
}

fn moment(last: &str) -> Moment {
    match last.split(' ').next().unwrap_or_default() {
        "commits" => Moment::Committing,
        "committed" => Moment::Committed,
        "sends" => Moment::Sending,
        "confirmed" | "asked" | "holds" => Moment::Answered,
        "takes" => Moment::Taking,
        _ => Moment::Beginning,
    }
}
