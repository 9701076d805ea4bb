//! What every command is given, and how it ends.

use std::fmt;
use std::io::{self, Write as _};
use std::path::PathBuf;

use clap::error::ErrorKind;
use thiserror::Error;

use crate::exam::cautions;

/// The caution below every help page.
pub(super) const CAUTION: &str = cautions::IN_HELP;

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Everything was done.
    Done,
    /// Some of the input was at fault; the rest was answered.
    PartlyAtFault,
    /// Done, but no stack reaches a wanted power.
    NotReached,
    /// Everything was done that lasts; only its answer could not be written, and that was said.
    DoneUnsaid,
}

impl Outcome {
    /// The exit code: 0, 1 or 3. (2, wrong usage, is given before any command runs.)
    pub fn exit_code(self) -> u8 {
        match self {
            Self::Done | Self::DoneUnsaid => 0,
            Self::PartlyAtFault => 1,
            Self::NotReached => 3,
        }
    }
}

/// What every command may need to know besides its own arguments.
#[derive(Debug, Clone)]
pub(super) struct Context {
    /// Whether the answer is for a program.
    pub json: bool,
    /// The logbook that was named, if one was.
    pub logbook: Option<PathBuf>,
}

/// Arguments that do not go together, found only by the command itself; the program leaves as clap does for its own.
#[derive(Debug, Clone, Error)]
#[error("{message}")]
pub(super) struct WrongUsage {
    /// What kind of mistake it is.
    pub kind: ErrorKind,
    /// What is wrong.
    pub message: String,
}

/// Says on standard error what has to be said beside the answer; where that cannot be written nothing is to be done about it.
pub(super) fn note(text: impl fmt::Display) {
    let _ = writeln!(io::stderr(), "note: {text}");
}
