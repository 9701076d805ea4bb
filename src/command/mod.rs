//! The command line: arguments, and one file per subcommand.
//!
//! A command writes to standard output only when it has its whole answer, so that nothing stands there when the input is
//! at fault; `stack --lines` alone writes line by line.

mod acuity;
mod boxes;
mod cli;
mod completions;
mod context;
mod convert;
mod day;
mod exams;
mod files;
mod json;
mod learn;
mod logbook;
mod man;
mod meridian;
mod net;
mod parcel;
mod practice;
mod retinoscopy;
#[cfg(feature = "room")]
mod room;
mod stack;
mod start;
mod table_out;
mod text;
mod values;
mod which_box;
mod working;

pub use cli::{Cli, explain, is_closed_pipe};
pub use context::Outcome;
use context::{CAUTION, Context, note};
