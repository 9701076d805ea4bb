//! `dioptray box advise`: what to buy next.

use std::io::Write;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use anyhow::Context as _;
use clap::Args;
use serde::Serialize;

use super::makes::{BoxFrameAndPeople, Share, SharesJson, Waiting, write_shares};
use super::prices::offers;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::keeping::{self, Loss, Means, Purchase, losses, offers_of, percent};
use crate::kit::Stock;
use crate::kit::shipped::full_box;
use crate::optics::bounds;
use crate::optics::notation::parse_figure;

/// The arguments of `dioptray box advise`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Advise {
    #[command(flatten)]
    of: BoxFrameAndPeople,
    #[command(flatten)]
    share: Share,
    /// At most so many pieces.
    #[arg(long, value_name = "N", default_value_t = 10, value_parser = clap::value_parser!(u8).range(1..=99))]
    pieces: u8,
    /// What can be bought: a CSV file with the head lens,price. Without it, the powers of the full box that comes with the program,
    /// cylinders of the sign that the box has.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    prices: Option<PathBuf>,
    /// At most for so much, in whatever the prices count.
    #[arg(long, value_name = "SUM", requires = "prices", value_parser = values::figure)]
    budget: Option<String>,
}

const EXAMPLES: &str = "Examples:
  dioptray box advise --box kits/boxes/outreach.yaml
  dioptray box advise --box my-box.yaml --pieces 6 --prices prices.csv --budget 120

First comes what the guide lacks (nothing to hold, one +1.00, no cross cylinder, no occluder, no pinhole), then what \
was lost, then what adds most; in pairs. Gains are parts of the people whose prescription is made with at most 2 \
lenses, both eyes alike, each after the purchases before it; what adds less than one in a thousand is not named. No \
purchase of as many pieces makes more than the bound.";

/// How long a bound is looked for: with all else it stays below five seconds.
const LOOKING: Duration = Duration::from_secs(2);
/// Losses that are named.
const LOSSES: usize = 5;

#[derive(Serialize)]
struct AdviceJson {
    r#box: String,
    now: SharesJson,
    buy: Vec<Purchase>,
    then: SharesJson,
    bound: f64,
    lose: Vec<Loss>,
}

impl Advise {
    /// Answers.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let of = self.of.read(context)?;
        let offers = match &self.prices {
            Some(file) => offers(file)?,
            None => offers_of(&Stock::of(&full_box()?)),
        };
        let budget =
            self.budget.as_deref().map(|sum| parse_figure(sum, &bounds::PRICE)).transpose().context("--budget")?;
        let means = Means { pieces: usize::from(self.pieces), budget };
        let bag = self.share.bag(&of);
        let (waiting, began) = (Waiting::new(), Instant::now());
        let advice = keeping::advise(&of.known.stock, &offers, means, bag, &mut |so_far| {
            waiting.say(so_far);
            began.elapsed().as_secs_f64() / LOOKING.as_secs_f64()
        });
        let lose: Vec<Loss> = losses(&of.holdings, bag).into_iter().filter(|loss| loss.share > 0.0).collect();
        let (now, then) = (SharesJson::of(&of.holdings, &of), SharesJson::of(&advice.holdings, &of));
        waiting.end();
        if context.json {
            let (r#box, buy, bound) = (of.known.stock.box_name.clone(), advice.buy, advice.bound);
            write_line(out, &AdviceJson { r#box, now, buy, then, bound, lose })?;
            return Ok(Outcome::Done);
        }
        writeln!(out, "{}, {}", of.known.stock.box_name, of.frame_name)?;
        if advice.buy.is_empty() {
            let what = self.share.in_words();
            writeln!(
                out,
                "nothing you would notice: {} {what}, and no {} further pieces make more than {}",
                percent(advice.now),
                self.pieces,
                percent(advice.bound)
            )?;
        } else {
            write_purchases(out, &advice.buy)?;
            writeln!(
                out,
                "\n{}: {} now, {} then; no {} pieces make more than {}",
                self.share.in_words(),
                percent(advice.now),
                percent(advice.then),
                self.pieces,
                percent(advice.bound)
            )?;
        }
        writeln!(out)?;
        write_shares(
            out,
            &of,
            &[
                ("one eye, now", now.one_eye),
                ("one eye, then", then.one_eye),
                ("both alike, now", now.both_eyes),
                ("both alike, then", then.both_eyes),
            ],
        )?;
        if !lose.is_empty() {
            writeln!(out, "\nif one were lost")?;
            for loss in lose.iter().take(LOSSES) {
                writeln!(out, "  {:22}{}", loss.lens, loss.in_words())?;
            }
        }
        Ok(Outcome::Done)
    }
}

fn write_purchases(out: &mut dyn Write, buy: &[Purchase]) -> anyhow::Result<()> {
    let has_prices = buy.iter().any(|of| of.price.is_some());
    let price_head = if has_prices { "     price" } else { "" };
    writeln!(out, "\n{:22}pieces     gains{price_head}  why", "buy")?;
    for Purchase { lens, pieces, gains, price, why } in buy {
        let price = match price {
            _ if !has_prices => String::new(),
            Some(price) => format!("{price:>10.2}"),
            None => format!("{:>10}", ""),
        };
        writeln!(out, "{lens:22}{pieces:>6}{:>10}{price}  {why}", percent(*gains))?;
    }
    Ok(())
}
