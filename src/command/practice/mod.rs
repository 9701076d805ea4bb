//! `dioptray practice`: practice eyes, and the measure of the guide on them.

mod ask;
mod evaluate;
mod evaluated;
mod names;
mod table;
mod worst;

use std::io::Write;

use clap::{Args, Subcommand};

use super::{CAUTION, Context, Outcome};

/// The arguments of `dioptray practice`.
#[derive(Debug, Args)]
#[command(after_help = CAUTION)]
pub struct Practice {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Measure the guide: examine many practice eyes and count what is written against what they need.
    Evaluate(Box<evaluate::Evaluate>),
    /// Ask one practice eye one question many times: what it sees and answers.
    Ask(Box<ask::Ask>),
}

impl Practice {
    pub(super) fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        match self.command {
            Command::Evaluate(evaluate) => evaluate.run(context, out),
            Command::Ask(ask) => ask.run(context, out),
        }
    }
}
