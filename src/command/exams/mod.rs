//! `dioptray exam`: the exams of the logbook.

mod came_back;
mod export;
mod list;
pub(super) mod name;
mod order;
pub mod records;
mod show;
mod start;

use std::io::Write;

use clap::{Args, Subcommand};

use super::{CAUTION, Context, Outcome};

/// The arguments of `dioptray exam`.
#[derive(Debug, Args)]
#[command(after_help = CAUTION)]
pub struct Exams {
    #[command(subcommand)]
    command: ExamCommand,
}

#[derive(Debug, Subcommand)]
enum ExamCommand {
    /// Begin a new exam on the screen, with present glasses from a file if there is one.
    Start(start::StartExam),
    /// Every exam, the latest first.
    List(list::List),
    /// The record of one exam, with everything that was tried.
    Show(show::Show),
    /// The record of one exam for a printer or another program.
    Export(export::Export),
    /// What a workshop needs to make the glasses of one exam.
    Order(order::OrderGlasses),
    /// Note that the glasses of one exam came back, and what is likeliest to trouble.
    CameBack(came_back::GlassesCameBack),
}

impl Exams {
    /// Runs the subcommand.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        match self.command {
            ExamCommand::Start(start) => start.run(context, out),
            ExamCommand::List(list) => list.run(context, out),
            ExamCommand::Show(show) => show.run(context, out),
            ExamCommand::Export(export) => export.run(context, out),
            ExamCommand::Order(order) => order.run(context, out),
            ExamCommand::CameBack(came_back) => came_back.run(context, out),
        }
    }
}
