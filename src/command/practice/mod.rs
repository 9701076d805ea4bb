//! `dioptray practice`: practice eyes, and the measure of the guide on them.

mod ask;
mod cases;
mod check;
mod class;
mod class_table;
mod code;
mod drill;
mod drill_asked;
mod drill_sheet;
mod evaluate;
mod evaluated;
mod feedback_out;
mod hand_in;
mod lead;
mod lessons;
mod names;
mod progress;
mod questions;
mod replay;
mod sit;
mod table;
mod worst;

use std::io::Write;

use clap::{Args, Subcommand};

use super::{CAUTION, Context, Outcome};

/// The arguments of `dioptray practice`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"), args_conflicts_with_subcommands = true)]
pub struct Practice {
    #[command(subcommand)]
    command: Option<Command>,
    #[command(flatten)]
    sit: sit::Sit,
}

const EXAMPLES: &str = "Examples:
  dioptray practice
  dioptray practice --level 3
  dioptray practice --eye oblique

Without a command, the screen opens with a practice eye: the one that was left, or a new one on the full box and the four-cell \
frame that come with the program. It is kept in a logbook of its own beside the real one, and touches no record, box or day.";

#[derive(Debug, Subcommand)]
enum Command {
    /// The named cases that come with the program.
    #[command(after_help = cases::after_help())]
    Cases,
    /// Check a case or lesson file: every fault with its line and column.
    Check(check::Check),
    /// A short code for the same eyes on every machine of a class.
    Code(code::Code),
    /// What a student did at the stations of a code, as one sealed file.
    HandIn(hand_in::HandInArgs),
    /// What students handed in, marked by your own pass line: as a page, or for spreadsheets.
    Class(class::Class),
    /// Go through an exam that a student handed in, step by step on the screen.
    Replay(replay::Replay),
    /// The lessons that come with the program, and one of them in order.
    Lessons(lessons::Lessons),
    /// Lead the guide through an exam of a named case, and show it question by question.
    Lead(lead::Lead),
    /// Measure the guide: examine many practice eyes and count what is written against what they need.
    Evaluate(Box<evaluate::Evaluate>),
    /// Short questions about the sums and rules of refraction, marked at once with the working shown.
    Drill(drill::DrillArgs),
    /// What was drilled so far, how it went, and what is due.
    #[command(after_help = progress::after_help())]
    Progress,
    /// Ask one practice eye one question many times: what it sees and answers.
    Ask(Box<ask::Ask>),
}

impl Practice {
    pub(super) fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let Some(command) = self.command else { return self.sit.run(context, out) };
        match command {
            Command::Cases => cases::list(context, out),
            Command::Check(check) => check.run(context, out),
            Command::Code(code) => code.run(context, out),
            Command::HandIn(hand_in) => hand_in.run(context, out),
            Command::Class(class) => class.run(context, out),
            Command::Replay(replay) => replay.run(context, out),
            Command::Lessons(lessons) => lessons.run(context, out),
            Command::Lead(lead) => lead.run(context, out),
            Command::Evaluate(evaluate) => evaluate.run(context, out),
            Command::Drill(drill) => drill.run(context, out),
            Command::Progress => progress::show(context, out),
            Command::Ask(ask) => ask.run(context, out),
        }
    }
}
