//! `dioptray box`: the box of trial lenses.

mod change;
mod check;
mod coverage;
mod id;
mod list;
mod makes;
mod schema;

use std::io::Write;

use clap::{Args, Subcommand};

use super::{CAUTION, Context, Outcome};

/// The arguments of `dioptray box`.
#[derive(Debug, Args)]
#[command(after_help = CAUTION)]
pub struct Boxes {
    #[command(subcommand)]
    command: BoxCommand,
}

#[derive(Debug, Subcommand)]
enum BoxCommand {
    /// Check a box file: every fault with its line and column.
    Check(check::Check),
    /// The lenses of a box, with what the logbook knows of them.
    List(list::List),
    /// What a box makes: fewest lenses and least miss of every prescription, and for which share of people.
    Coverage(coverage::Coverage),
    /// Note in the logbook what happened to a lens.
    Change(change::Change),
    /// Give a box an identity of its own, by which the logbook knows it.
    Id(id::Id),
    /// The JSON Schema of box, frame, case or settings files, for editors.
    Schema(schema::Schema),
}

impl Boxes {
    /// Runs the subcommand.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        match self.command {
            BoxCommand::Check(check) => check.run(context, out),
            BoxCommand::List(list) => list.run(context, out),
            BoxCommand::Coverage(coverage) => coverage.run(context, out),
            BoxCommand::Change(change) => change.run(context, out),
            BoxCommand::Id(id) => id.run(context, out),
            BoxCommand::Schema(schema) => schema.run(out),
        }
    }
}
