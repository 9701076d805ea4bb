//! `dioptray day`: a day of many people.

mod add;
mod end;
mod export;
mod list;
mod orders;
mod shelf;
mod start;
mod undo;
mod which;

use std::io::Write;

use clap::{Args, Subcommand};

use super::{CAUTION, Context, Outcome};

/// The arguments of `dioptray day`.
#[derive(Debug, Args)]
#[command(after_help = CAUTION)]
pub struct Days {
    #[command(subcommand)]
    command: DayCommand,
}

#[derive(Debug, Subcommand)]
enum DayCommand {
    /// Begin a day: what holds for everybody is said once.
    Start(start::StartDay),
    /// Put people on the list who will come: one, or all of a file.
    Add(add::AddPeople),
    /// Everybody of a day with state, minutes and outcome, and the running figures.
    List(list::ListDay),
    /// Ready-made pairs: what is left of each on the shelf of a day.
    Shelf(shelf::ShelfOfDay),
    /// Take back what was noted last of the day.
    Undo(undo::UndoDay),
    /// End the day.
    End(end::EndDay),
    /// The day on one page or as a table, by running number.
    Export(export::ExportDay),
    /// The glasses to order for everybody of the day to whom glasses are given.
    Orders(orders::DayOrders),
}

impl Days {
    /// Runs the subcommand.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        match self.command {
            DayCommand::Start(start) => start.run(context, out),
            DayCommand::Add(add) => add.run(context, out),
            DayCommand::List(list) => list.run(context, out),
            DayCommand::Shelf(shelf) => shelf.run(context, out),
            DayCommand::Undo(undo) => undo.run(context, out),
            DayCommand::End(end) => end.run(context, out),
            DayCommand::Export(export) => export.run(context, out),
            DayCommand::Orders(orders) => orders.run(context, out),
        }
    }
}
