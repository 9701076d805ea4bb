//! `dioptray box change`: what happened to a lens, as one event in the logbook.

use std::io::Write;
use std::path::PathBuf;

use anyhow::{Context as _, anyhow, bail};
use clap::error::ErrorKind;
use clap::{Args, ValueEnum};
use jiff::Timestamp;
use serde::Serialize;

use crate::command::context::WrongUsage;
use crate::command::exams::records::examiner;
use crate::command::files::{known_box, logbook_path, say};
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, note, values};
use crate::kit::document::fault::gives_orders;
use crate::kit::document::load::from_anywhere;
use crate::kit::{BoxChange, Lens, Measurement, Piece, Place, Stock, StockError, StockedPiece};
use crate::logbook::{Logbook, NamedBox};
use crate::optics::notation::parse_figure;
use crate::session::known::note_file;

/// The arguments of `dioptray box change`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Change {
    /// The box file.
    #[arg(long = "box", value_name = "FILE", value_parser = values::path())]
    file: PathBuf,
    #[command(flatten)]
    more: More,
    /// Who reports the change; if not given, `examiner` in the settings.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    by: Option<String>,
    /// Note it although the same was noted of such a lens within the last minute.
    #[arg(long)]
    sure: bool,
    /// What happened.
    what: What,
    /// The lens, "-1.50 sphere", or one piece of several marked alike, "-1.50 sphere #2"; after `measured` also the power.
    ///
    /// Without a number the first piece is meant to which it can have happened.
    #[arg(required = true, value_name = "LENS", value_parser = values::text())]
    lens: Vec<String>,
}

const EXAMPLES: &str = "Examples:
  dioptray box change --box box.yaml lost \"-1.50 sphere\"
  dioptray box change --box box.yaml lent \"+2.00 sphere #2\" --to \"Clinic 3\"
  dioptray box change --box box.yaml measured \"-6.00 sphere #1\" -5.87
  dioptray box change --box box.yaml added \"+3.25 sphere\"";

/// What more can be said of a change; each belongs to some changes only.
#[derive(Debug, Args)]
struct More {
    /// To whom the lens is lent.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    to: Option<String>,
}

impl More {
    /// What was said, taken apart so that nothing can be said that no change asks for.
    fn said(&self) -> Vec<&'static str> {
        let Self { to } = self;
        [("--to", to.is_some())].into_iter().filter(|(_, said)| *said).map(|(option, _)| option).collect()
    }
}

/// What can happen to a lens outside an exam.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum What {
    /// Not found at stock-take.
    Lost,
    /// Found again.
    Found,
    /// Given to somebody for a while.
    Lent,
    /// Given back.
    Returned,
    /// Scratched, chipped or loose in its rim.
    Damaged,
    /// Mended or cleaned: whole again.
    Mended,
    /// Measured on a focimeter.
    Measured,
    /// A further piece came into the box.
    Added,
    /// Taken out of the set for good.
    Retired,
}

impl What {
    /// What more can be said of it.
    fn takes(self) -> &'static [&'static str] {
        match self {
            Self::Lent => &["--to"],
            Self::Lost
            | Self::Found
            | Self::Returned
            | Self::Damaged
            | Self::Mended
            | Self::Measured
            | Self::Added
            | Self::Retired => &[],
        }
    }

    /// The word that is typed for it.
    fn word(self) -> String {
        self.to_possible_value().map(|value| value.get_name().to_owned()).unwrap_or_default()
    }
}

#[derive(Serialize)]
struct ChangedJson<'a> {
    r#box: &'a str,
    change: &'a str,
    piece: Piece,
}

impl Change {
    /// Notes the change.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        if let Some(option) = self.more.said().into_iter().find(|option| !self.what.takes().contains(option)) {
            let takes_it = |what: &&What| what.takes().contains(&option);
            let words: Vec<String> = What::value_variants().iter().filter(takes_it).map(|what| what.word()).collect();
            let message = format!("{option} belongs to `{}`", words.join("`, `"));
            return Err(WrongUsage { kind: ErrorKind::ArgumentConflict, message }.into());
        }
        let known = known_box(context, &self.file)?;
        let change = self.change(&known.stock)?;
        let mut logbook = Logbook::open(&logbook_path(context)?)?;
        let now = Timestamp::now();
        if !self.sure && !self.names_a_piece() {
            refuse_a_repeat(&logbook, &known.named, &change, now)?;
        }
        if let Some(holder) = logbook.holder_of(&known.named.key)? {
            note(format_args!("the box is open elsewhere: {holder}. The exam there goes on with the box as it was"));
        }
        say(note_file(&mut logbook, &known.named, &from_anywhere(&self.file)?)?.as_ref());
        let by = examiner(self.by.clone())?;
        let after = logbook.change_box(&known.named, &known.declared, &change, by.as_deref(), now)?.stock;
        let word = change.word();
        let changed = after.changed_by(&change).with_context(|| format!("{word}, but its piece is not to be found"))?;
        let piece = changed.piece.clone();
        let done = format!("{}: {word}: {piece}", after.box_name);
        let said = if context.json {
            write_line(out, &ChangedJson { r#box: &after.box_name, change: word, piece })
        } else {
            writeln!(out, "{done}")
        };
        match said.and_then(|()| out.flush()) {
            Ok(()) => Ok(Outcome::Done),
            Err(error) => {
                note(format_args!("this was done, and only its answer could not be written ({error}): {done}"));
                Ok(Outcome::DoneUnsaid)
            }
        }
    }

    /// Whether it was said which of several pieces is meant.
    fn names_a_piece(&self) -> bool {
        self.lens.iter().any(|word| word.contains('#'))
    }

    fn change(&self, stock: &Stock) -> anyhow::Result<BoxChange> {
        let (words, power) = match (self.what, self.lens.as_slice()) {
            (What::Measured, [words @ .., power]) if !words.is_empty() => (words, Some(power)),
            (What::Measured, _) => bail!("after the lens comes its measured power: \"-6.00 sphere #1\" -5.87"),
            (_, words) => (words, None),
        };
        let name = words.join(" ");
        let is_box = |piece: &StockedPiece| piece.place == Place::Box;
        let at_hand = |piece: &StockedPiece| !piece.place.has_left_the_set();
        let piece = |fits: &dyn Fn(&StockedPiece) -> bool| choose(stock, &name, fits);
        Ok(match self.what {
            What::Lost => BoxChange::Lost(piece(&is_box)?),
            What::Found => BoxChange::Found(piece(&|piece| piece.place == Place::Lost)?),
            What::Lent => BoxChange::Lent {
                piece: piece(&is_box)?,
                to: self.more.to.as_deref().map(a_name).transpose()?,
                until: None,
            },
            What::Returned => BoxChange::Returned(piece(&|piece| piece.place.is_lent())?),
            What::Damaged => BoxChange::Damaged { piece: piece(&|piece| is_box(piece) && !piece.damaged)?, what: None },
            What::Mended => BoxChange::Mended(piece(&|piece| at_hand(piece) && piece.damaged)?),
            What::Retired => BoxChange::Retired(piece(&at_hand)?),
            What::Added => BoxChange::Added(new_lens(&name)?.into()),
            What::Measured => {
                let power = power.ok_or_else(|| anyhow!("no measured power"))?;
                let piece = the_piece(stock, &name)?;
                let row = piece.lens.power_range().ok_or_else(|| StockError::NoPower { piece: piece.clone() })?;
                let power = parse_figure(power, &row.measured()).context("measured power")?;
                BoxChange::Measured { piece, measurement: Measurement { sure: self.sure, ..Measurement::of(power) } }
            }
        })
    }
}

/// How long after a change the same one is taken for the first one given twice.
const REPEATED_SECONDS: i64 = 60;

/// Refuses what was noted last of the same box a moment ago, of a lens marked alike: whoever saw no answer gives a command
/// again, and a second piece would be gone that is there. Of a change that names its piece nothing can happen twice.
fn refuse_a_repeat(logbook: &Logbook, in_box: &NamedBox, change: &BoxChange, now: Timestamp) -> anyhow::Result<()> {
    let lens = |change: &BoxChange| change.lens().clone();
    let same = |last: &BoxChange| last.word() == change.word() && lens(last) == lens(change);
    let Some(last) = logbook.box_changes(&in_box.key).unwrap_or_default().pop() else { return Ok(()) };
    let seconds = now.duration_since(last.at).as_secs();
    if !same(&last.change) || !(0..REPEATED_SECONDS).contains(&seconds) {
        return Ok(());
    }
    let (word, lens) = (change.word(), lens(change));
    let which = change.piece().map(|piece| format!("name it (\"{piece}\"), or ")).unwrap_or_default();
    bail!(
        "{word}: {lens}: the same was noted {seconds} s ago, and nothing more is noted now. For another piece {which}say --sure"
    )
}

/// The most characters of a name.
const LONGEST_NAME: usize = 60;

/// A name that stands in one line.
fn a_name(name: &str) -> anyhow::Result<String> {
    if name.chars().any(gives_orders) {
        bail!("--to: a name is one line of letters, figures and signs");
    }
    let length = name.chars().count();
    if length > LONGEST_NAME {
        bail!("--to: a name has at most {LONGEST_NAME} characters, and this one has {length}");
    }
    Ok(name.to_owned())
}

fn new_lens(name: &str) -> anyhow::Result<Lens> {
    if name.contains('#') {
        bail!("`{name}`: a further piece gets the next number by itself: leave the # out");
    }
    Ok(name.parse()?)
}

/// The piece that was named, or of a lens without a number the first one that fits, or else the first.
fn choose(stock: &Stock, name: &str, fits: &dyn Fn(&StockedPiece) -> bool) -> anyhow::Result<Piece> {
    if name.contains('#') {
        return Ok(name.parse()?);
    }
    let lens: Lens = name.parse()?;
    let chosen = stock.of_lens(&lens).find(|piece| fits(piece)).or_else(|| stock.of_lens(&lens).next());
    chosen.map(|stocked| stocked.piece.clone()).ok_or_else(|| anyhow!("the box {} has no {lens}", stock.box_name))
}

/// What was found of one piece, as its measured power, is not of its like: of several it must be said which one.
fn the_piece(stock: &Stock, name: &str) -> anyhow::Result<Piece> {
    if !name.contains('#') {
        let lens: Lens = name.parse()?;
        let pieces = stock.of_lens(&lens).count();
        if pieces > 1 {
            bail!("the box {} has {pieces} of {lens}: say which one, like \"{lens} #1\"", stock.box_name);
        }
    }
    choose(stock, name, &|_| true)
}
