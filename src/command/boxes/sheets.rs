//! `dioptray box sheet`: the lists that a keeper prints, fills in and signs.

use std::io::Write;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use anyhow::{anyhow, bail};
use clap::{Args, Subcommand};

use super::lenses::{Choosing, meant};
use super::makes::{BoxFrameAndPeople, KnownBoxAndPeople, Share, Waiting};
use super::pack::{beside, usually_in_it};
use super::prices::offers;
use super::returned::away;
use super::sheet_forms::SheetOut;
use super::stock_take::with_frames;
use crate::command::files::BoxAsItIs;
use crate::command::which_box::WhichBox;
use crate::command::{CAUTION, Context, Outcome, note, values};
use crate::keeping::{self, Means, offers_of, pieces_for};
use crate::kit::shipped::full_box;
use crate::kit::{Piece, Stock, StockedPiece, Tray};
use crate::optics::bounds;
use crate::optics::notation::parse_figure;
use crate::sheets::{self, Further, Handover, Limits, SheetKind, with_what_was_lost};

/// The arguments of `dioptray box sheet`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Sheets {
    #[command(subcommand)]
    sheet: Sheet,
}

const EXAMPLES: &str = "Examples:
  dioptray box sheet order --box my-box.yaml --prices prices.csv
  dioptray box sheet pick --box my-box.yaml --pieces 40 --out pick.pdf
  dioptray box sheet check-in --box my-box.yaml ford-bag-3f9a2c
  dioptray box sheet verify --box my-box.yaml --within 0.12 --every 12 --as csv
  dioptray box sheet stock-take --box my-box.yaml --out count.csv

Each is text of 80 columns, CSV for spreadsheets, or PDF to fill in and sign; with --json, its rows. A file that is there \
stays unless --force is said. Nothing is noted in the logbook.";

#[derive(Debug, Subcommand)]
enum Sheet {
    /// What to buy: first what was lost, then what adds most; with prices, the sum.
    Order(Box<Order>),
    /// What to take out, in the order of the tray.
    Pick(Box<Pick>),
    /// What is still away of a bag or of a borrower, with a square to tick for each piece.
    CheckIn(CheckIn),
    /// Who has what, until when, and what is overdue.
    Loans(Loans),
    /// What stands on the rows of the tray.
    Labels(Plain),
    /// What was last measured of each piece, what is over your limit or due, and places for what is measured now.
    Verify(Verify),
    /// A count on paper by the rows of the tray; as CSV `box stock-take --rows` reads it back.
    StockTake(StockTake),
    /// One page for the next keeper.
    Keeper(Keeper),
}

#[derive(Debug, Args)]
#[command(after_help = format!("Example:\n  dioptray box sheet order --box my-box.yaml --prices prices.csv --out order.pdf\n\n{CAUTION}"))]
struct Order {
    #[command(flatten)]
    of: BoxFrameAndPeople,
    #[command(flatten)]
    share: Share,
    /// At most so many pieces beyond what was lost.
    #[arg(long, value_name = "N", default_value_t = 10, value_parser = clap::value_parser!(u8).range(0..=99))]
    pieces: u8,
    /// What can be bought: a CSV file with the head lens,price. Without it, the powers of the full box that comes with the program.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    prices: Option<PathBuf>,
    #[command(flatten)]
    to: SheetOut,
}

#[derive(Debug, Args)]
#[command(after_help = format!("Examples:\n  dioptray box sheet pick --box my-box.yaml --pieces 40\n  dioptray box sheet pick --box my-box.yaml \"+1.00 sphere x2\" occluder\n\n{CAUTION}"))]
#[command(group = clap::ArgGroup::new("which").required(true).args(["pieces", "lenses_to_take"]))]
struct Pick {
    #[command(flatten)]
    of: BoxFrameAndPeople,
    #[command(flatten)]
    share: Share,
    /// The best bag of so many pieces, what the hand needs always in it: as `box pack` chooses it.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=999))]
    pieces: Option<u16>,
    /// How long to look for a better bag, in minutes.
    #[arg(long, value_name = "M", default_value = "0.5", value_parser = values::figure)]
    minutes: String,
    /// The lenses: "-1.50 sphere x2", "row spheres +", occluder.
    #[arg(id = "lenses_to_take", value_name = "LENS", value_parser = values::text())]
    take: Vec<String>,
    #[command(flatten)]
    to: SheetOut,
}

#[derive(Debug, Args)]
#[command(after_help = format!("Examples:\n  dioptray box sheet check-in --box my-box.yaml ford-bag-3f9a2c\n  dioptray box sheet check-in --box my-box.yaml --borrower \"Clinic 3\"\n\n{CAUTION}"))]
#[command(group = clap::ArgGroup::new("of_whom").required(true).args(["bag", "borrower"]))]
struct CheckIn {
    #[command(flatten)]
    which: WhichBox,
    /// The id of the bag, as `box pack --check-out` said it.
    #[arg(value_name = "ID", value_parser = values::text())]
    bag: Option<String>,
    /// What this borrower has.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    borrower: Option<String>,
    #[command(flatten)]
    to: SheetOut,
}

#[derive(Debug, Args)]
#[command(after_help = format!("Example:\n  dioptray box sheet loans --box my-box.yaml --on 2026-12-24\n\n{CAUTION}"))]
struct Loans {
    #[command(flatten)]
    which: WhichBox,
    /// Only what this borrower has.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    borrower: Option<String>,
    #[command(flatten)]
    to: SheetOut,
}

#[derive(Debug, Args)]
#[command(after_help = format!("Example:\n  dioptray box sheet labels --box my-box.yaml --out labels.pdf\n\n{CAUTION}"))]
struct Plain {
    #[command(flatten)]
    which: WhichBox,
    #[command(flatten)]
    to: SheetOut,
}

#[derive(Debug, Args)]
#[command(after_help = format!("Example:\n  dioptray box sheet verify --box my-box.yaml --within 0.12 --every 12\n\n{CAUTION}"))]
struct Verify {
    #[command(flatten)]
    which: WhichBox,
    /// Your limit: by how many dioptres a power may differ from its mark. None is set by default.
    #[arg(long, value_name = "D", value_parser = values::figure)]
    within: Option<String>,
    /// Your interval: after how many months a lens is to be measured again. None is set by default.
    #[arg(long, value_name = "MONTHS", value_parser = values::figure)]
    every: Option<String>,
    #[command(flatten)]
    to: SheetOut,
}

#[derive(Debug, Args)]
#[command(after_help = format!("Examples:\n  dioptray box sheet stock-take --box my-box.yaml --out count.csv\n  dioptray box stock-take --box my-box.yaml --rows count.csv --dry-run\n\n{CAUTION}"))]
struct StockTake {
    #[command(flatten)]
    which: WhichBox,
    /// Leave out what is known of each lens, for a second person.
    #[arg(long)]
    blind: bool,
    #[command(flatten)]
    to: SheetOut,
}

#[derive(Debug, Args)]
#[command(after_help = format!("Example:\n  dioptray box sheet keeper --box my-box.yaml --out handover.pdf\n\n{CAUTION}"))]
struct Keeper {
    #[command(flatten)]
    of: BoxFrameAndPeople,
    #[command(flatten)]
    to: SheetOut,
}

impl Sheets {
    /// Writes the sheet.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        match self.sheet {
            Sheet::Order(order) => order.run(context, out)?,
            Sheet::Pick(pick) => pick.run(context, out)?,
            Sheet::CheckIn(check_in) => check_in.run(context, out)?,
            Sheet::Loans(Loans { which, borrower, to }) => {
                to.refuse_early(context)?;
                let chosen = which.read(context)?;
                to.write(context, SheetKind::Loans, chosen, out, |of| Ok(sheets::loans(of, borrower.as_deref())))?;
            }
            Sheet::Labels(Plain { which, to }) => {
                to.refuse_early(context)?;
                to.write(context, SheetKind::Labels, which.read(context)?, out, |of| Ok(sheets::labels(of)))?;
            }
            Sheet::Verify(Verify { which, within, every, to }) => {
                to.refuse_early(context)?;
                let within = within.as_deref().map(|limit| parse_figure(limit, &bounds::OFF_ITS_MARK)).transpose()?;
                let every = every.as_deref().map(|months| parse_figure(months, &bounds::MONTHS)).transpose()?;
                let limits = Limits { within, every_months: every.map(|months| months as u16) };
                to.write(context, SheetKind::Verify, which.read(context)?, out, |of| {
                    Ok(sheets::verification(of, limits))
                })?;
            }
            Sheet::StockTake(StockTake { which, blind, to }) => {
                to.refuse_early(context)?;
                to.write(context, SheetKind::StockTake, which.read(context)?, out, |of| {
                    Ok(sheets::stock_take(of, blind))
                })?;
            }
            Sheet::Keeper(Keeper { of, to }) => {
                to.refuse_early(context)?;
                let of = of.read(context)?;
                let (one_eye, both) = keeping::shares(&of.holdings, &of.cells, &of.people);
                let file = of.known.file.display().to_string();
                let handover = Handover { file: &file, makes: (one_eye, both, &of.people_name) };
                to.write(context, SheetKind::Keeper, of.known, out, |of| Ok(sheets::keeper(of, handover)))?;
            }
        }
        Ok(Outcome::Done)
    }
}

/// How long a bound of the advice is looked for: the sheet does not show it.
const LOOKING: Duration = Duration::from_millis(1);

impl Order {
    fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<()> {
        self.to.refuse_early(context)?;
        let of = self.of.read(context)?;
        let prices = self.prices.as_deref().map(offers).transpose()?;
        let offers = match &prices {
            Some(prices) => prices.clone(),
            None => offers_of(&Stock::of(&full_box()?)),
        };
        let replaced = with_what_was_lost(&of.known.stock);
        let (waiting, began) = (Waiting::new(), Instant::now());
        let means = Means { pieces: usize::from(self.pieces), budget: None };
        let advice = keeping::advise(&replaced, &offers, means, self.share.bag(&of), &mut |so_far| {
            waiting.say(so_far);
            began.elapsed().as_secs_f64() / LOOKING.as_secs_f64()
        });
        waiting.end();
        let share = self.share.in_words();
        let further = Further { buy: &advice.buy, share: &share };
        let prices = prices.unwrap_or_default();
        self.to.write(context, SheetKind::Order, of.known, out, |of| Ok(sheets::order(of, further, &prices)))
    }
}

impl Pick {
    fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<()> {
        self.to.refuse_early(context)?;
        let mut of = self.of.read(context)?;
        let stock = with_frames(context, &of.known)?;
        let pieces = match self.pieces {
            Some(pieces) => self.best_bag(&mut of, &stock, usize::from(pieces))?,
            None => named(&of.known, &stock, &self.take)?,
        };
        self.to.write(context, SheetKind::Pick, of.known, out, |of| Ok(sheets::pick(of, &pieces)))
    }

    fn best_bag(&self, of: &mut KnownBoxAndPeople, stock: &Stock, pieces: usize) -> anyhow::Result<Vec<Piece>> {
        of.holdings = of.holdings.without(stock.before_eyes().map(|stocked| (&stocked.piece.lens, 1)));
        let minutes = parse_figure(&self.minutes, &bounds::MINUTES)?;
        let (always, lacking) = usually_in_it(stock);
        for lens in lacking {
            note(format_args!("the box has too few of what the hand needs: {lens}"));
        }
        let aside = beside(&always);
        let in_all: usize = always.iter().map(|(_, pieces)| usize::from(*pieces)).sum();
        if pieces < in_all {
            bail!("what the hand needs are {in_all} pieces already: raise --pieces, or name the lenses");
        }
        let not_stacked: usize = aside.iter().map(|(_, pieces)| usize::from(*pieces)).sum();
        let (waiting, began) = (Waiting::new(), Instant::now());
        let bag = keeping::pack(&of.holdings, &always, pieces - not_stacked, self.share.bag(of), &mut |so_far| {
            waiting.say(so_far);
            began.elapsed().as_secs_f64() / (60.0 * minutes)
        });
        waiting.end();
        let found = pieces_for(stock, &bag.take, &aside, &StockedPiece::is_free)
            .map_err(|lens| anyhow!("{lens} is in the frame of an exam that is open"))?;
        Ok(found.into_iter().map(|stocked| stocked.piece).collect())
    }
}

/// The pieces that were named, each once.
fn named(chosen: &BoxAsItIs, stock: &Stock, words: &[String]) -> anyhow::Result<Vec<Piece>> {
    let tray = Tray::of(&chosen.declared.tray, stock);
    let mut taken: Vec<Piece> = Vec::new();
    for meant in meant(words, stock, &tray, false)? {
        let fits = |stocked: &StockedPiece| stocked.is_free() && !taken.contains(&stocked.piece);
        let choosing = Choosing { stock, fits: &fits, word: "taken out", of_one_piece: false };
        let pieces = choosing.pieces(&meant)?;
        for piece in &pieces {
            match stock.get(piece) {
                Some(stocked) if !stocked.is_free() => bail!("{piece} is {}, so it cannot be taken out", stocked.place),
                Some(_) if taken.contains(piece) => bail!("{piece} is taken out already: it is named twice"),
                Some(_) => {}
                None => bail!("{piece} is not a piece of this box"),
            }
        }
        taken.extend(pieces);
    }
    Ok(taken)
}

impl CheckIn {
    fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<()> {
        self.to.refuse_early(context)?;
        let chosen = self.which.read(context)?;
        let (what, pieces): (String, Vec<Piece>) = match (&self.bag, &self.borrower) {
            (Some(bag), _) => (format!("bag {bag}"), away(&chosen, bag)?.into_iter().map(|away| away.piece).collect()),
            (None, borrower) => {
                let borrower = borrower.as_deref().unwrap_or_default();
                let lent = |stocked: &&StockedPiece| stocked.place.is_lent_to(borrower);
                let pieces = chosen.stock.pieces().iter().filter(lent).map(|stocked| stocked.piece.clone());
                (format!("what {borrower} has"), pieces.collect())
            }
        };
        self.to.write(context, SheetKind::CheckIn, chosen, out, |of| Ok(sheets::check_in(of, &what, &pieces)))
    }
}
