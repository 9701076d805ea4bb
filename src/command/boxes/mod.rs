//! `dioptray box`: the box of trial lenses.

mod advise;
mod all;
pub mod asked;
mod change;
mod check;
mod check_out;
mod chosen;
mod coverage;
mod from_csv;
mod hand_over;
mod history;
mod id;
mod lenses;
mod list;
mod loans;
mod makes;
mod pack;
mod pairs;
mod prices;
mod rename;
mod returned;
mod schema;
mod settle;
mod sheet;
mod sheet_forms;
mod sheets;
mod stock_take;
mod undo;
mod unknown;
mod write;

pub use all::AllBoxes;
#[cfg(feature = "room")]
pub use all::unsettled_of_all;
pub use sheet::{Columns, Sheet, SheetFaults};

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
    /// What to buy next, and what one lost lens costs.
    Advise(advise::Advise),
    /// The best bag of some pieces of a box.
    Pack(Box<pack::Pack>),
    /// A bag came back, all of it but what is named.
    Return(returned::Return),
    /// Note in the logbook what happened to lenses.
    Change(Box<change::Change>),
    /// Take back what was noted: it stays in the history as a slip.
    Undo(undo::Undo),
    /// What happened to a lens, or to the whole box.
    History(history::History),
    /// Which lenses somebody has, who, and until when.
    Loans(loans::Loans),
    /// Note to which seat a box goes out, or that it is handed back.
    HandOver(hand_over::HandOver),
    /// Settle where a lens is of which seats say different things, or list those.
    Settle(settle::Settle),
    /// Which lenses are off their mark, by holding them together in pairs.
    Pairs(pairs::Pairs),
    /// What a lens without a mark is, by the lenses that neutralise it.
    Unknown(unknown::Unknown),
    /// Note what a stock-take on paper found.
    StockTake(stock_take::TakeStock),
    /// A list to print, fill in and sign: order, pick list, loans, labels, verification, count, handover.
    Sheet(sheets::Sheets),
    /// Give a box an identity of its own, by which the logbook knows it.
    Id(id::Id),
    /// Give a box another name.
    Rename(rename::Rename),
    /// Write a fresh file of what is there.
    Write(write::WriteBox),
    /// Make a box file from a spreadsheet.
    FromCsv(from_csv::FromCsv),
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
            BoxCommand::Advise(advise) => advise.run(context, out),
            BoxCommand::Pack(pack) => pack.run(context, out),
            BoxCommand::Return(returned) => returned.run(context, out),
            BoxCommand::Change(change) => change.run(context, out),
            BoxCommand::Undo(undo) => undo.run(context, out),
            BoxCommand::History(history) => history.run(context, out),
            BoxCommand::Loans(loans) => loans.run(context, out),
            BoxCommand::HandOver(hand_over) => hand_over.run(context, out),
            BoxCommand::Settle(settle) => settle.run(context, out),
            BoxCommand::Pairs(pairs) => pairs.run(context, out),
            BoxCommand::Unknown(unknown) => unknown.run(context, out),
            BoxCommand::StockTake(take) => take.run(context, out),
            BoxCommand::Sheet(sheets) => sheets.run(context, out),
            BoxCommand::Id(id) => id.run(context, out),
            BoxCommand::Rename(rename) => rename.run(context, out),
            BoxCommand::Write(write) => write.run(context, out),
            BoxCommand::FromCsv(from) => from.run(context, out),
            BoxCommand::Schema(schema) => schema.run(out),
        }
    }
}
