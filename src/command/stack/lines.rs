//! `dioptray stack --lines`: one prescription a line in, one JSON object a line out.

use std::fs::File;
use std::io::{self, BufRead, BufReader, Read, Write};
use std::path::Path;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread;

use anyhow::Context as _;
use rayon::prelude::*;
use serde::Serialize;

use super::proposal::{CompleteJson, ProposalJson, any_reaches};
use crate::command::Outcome;
use crate::command::json::write_line;
use crate::frame::FittedFrame;
use crate::optics::notation::parse_prescription;
use crate::optics::{Dioptres, Eye};
use crate::stacking::{Proposal, SearchOptions, Stacker};

/// Lines that are read ahead and answered together; answers to fewer are written as soon as no more are waiting.
const BATCH: usize = 256;
/// No prescription is longer than this many bytes.
const LONGEST_LINE: u64 = 4096;

/// A line without its end.
struct Line {
    /// What is written there; the first [`LONGEST_LINE`] bytes of a line that is longer.
    text: Vec<u8>,
    /// How many bytes it has in all.
    bytes: u64,
}

/// What some programs write before the first line of a text.
const BYTE_ORDER_MARK: &[u8] = b"\xEF\xBB\xBF";

#[derive(Serialize)]
#[serde(untagged)]
enum LineJson {
    Right {
        rx: String,
        #[serde(flatten)]
        complete: CompleteJson,
        right: Vec<ProposalJson>,
    },
    Fault {
        rx: String,
        error: String,
    },
}

/// Answers every line in its order, many at once.
pub fn run(
    file: &Path,
    fitted: &FittedFrame,
    mark_tolerance: Option<Dioptres>,
    options: &SearchOptions,
    out: &mut dyn Write,
) -> anyhow::Result<Outcome> {
    let input: Box<dyn Read + Send> = if file == Path::new("-") {
        Box::new(io::stdin())
    } else {
        Box::new(File::open(file).with_context(|| format!("{}: cannot be opened", file.display()))?)
    };
    let (sender, receiver) = sync_channel(BATCH);
    // The reader waits for input on its own, so that what has come is answered meanwhile. It is not joined: when the
    // output is closed it may still wait for a line.
    thread::spawn(move || send_lines(BufReader::new(input), &sender));
    answer_lines(&receiver, fitted, mark_tolerance, options, out).with_context(|| file.display().to_string())
}

fn send_lines(mut input: impl BufRead, sender: &SyncSender<io::Result<Line>>) {
    let mut is_first = true;
    loop {
        let mut line = next_line(&mut input);
        if let Ok(Some(line)) = &mut line
            && std::mem::take(&mut is_first)
            && line.text.starts_with(BYTE_ORDER_MARK)
        {
            line.text.drain(..BYTE_ORDER_MARK.len());
        }
        let last = !matches!(line, Ok(Some(_)));
        if let Some(line) = line.transpose()
            && sender.send(line).is_err()
        {
            return;
        }
        if last {
            return;
        }
    }
}

fn next_line(input: &mut impl BufRead) -> io::Result<Option<Line>> {
    let mut text = Vec::new();
    // with room for the longest line's end
    if input.by_ref().take(LONGEST_LINE + 2).read_until(b'\n', &mut text)? == 0 {
        return Ok(None);
    }
    let mut beyond = 0;
    if text.last() == Some(&b'\n') {
        text.pop();
        if text.last() == Some(&b'\r') {
            text.pop();
        }
    } else {
        beyond = input.skip_until(b'\n')? as u64;
    }
    let bytes = text.len() as u64 + beyond;
    text.truncate(LONGEST_LINE as usize);
    Ok(Some(Line { text, bytes }))
}

fn answer_lines(
    receiver: &Receiver<io::Result<Line>>,
    fitted: &FittedFrame,
    mark_tolerance: Option<Dioptres>,
    options: &SearchOptions,
    out: &mut dyn Write,
) -> anyhow::Result<Outcome> {
    let stacker = Stacker::for_eye(fitted, Eye::Right);
    let json = |proposal: &Proposal| ProposalJson::of(proposal, fitted, mark_tolerance);
    let (mut at_fault, mut not_reached) = (false, false);
    while let Ok(first) = receiver.recv() {
        let batch: io::Result<Vec<Line>> = std::iter::once(first).chain(receiver.try_iter().take(BATCH - 1)).collect();
        let answers: Vec<(LineJson, bool)> =
            batch?.par_iter().map(|line| answer(line, &stacker, options, json)).collect();
        for (answer, reached) in answers {
            at_fault |= matches!(answer, LineJson::Fault { .. });
            not_reached |= !reached;
            write_line(out, &answer)?;
        }
        out.flush()?;
    }
    Ok(match (at_fault, not_reached) {
        (true, _) => Outcome::PartlyAtFault,
        (false, true) => Outcome::NotReached,
        (false, false) => Outcome::Done,
    })
}

fn answer(
    line: &Line,
    stacker: &Stacker<'_>,
    options: &SearchOptions,
    json: impl Fn(&Proposal) -> ProposalJson,
) -> (LineJson, bool) {
    let rx = String::from_utf8_lossy(&line.text).into_owned();
    if line.bytes > LONGEST_LINE {
        let error = format!("the line has {} bytes, and one is read up to {LONGEST_LINE} bytes", line.bytes);
        return (LineJson::Fault { rx, error }, true);
    }
    match parse_prescription(&rx) {
        Ok(prescription) => {
            let found = stacker.propose(Eye::Right, prescription.power(), options);
            let reached = any_reaches(&found.list);
            let right = found.list.iter().map(json).collect();
            (LineJson::Right { rx, complete: (&found).into(), right }, reached)
        }
        Err(refusal) => (LineJson::Fault { rx, error: refusal.to_string() }, true),
    }
}
