//! `dioptray box pack`: the best bag of some pieces.

use std::io::Write;
use std::path::PathBuf;
use std::time::Instant;

use anyhow::{anyhow, bail};
use clap::Args;
use serde::Serialize;

use super::check_out::{CheckOut, CheckedOut};
use super::makes::{BoxFrameAndPeople, KnownBoxAndPeople, Share, SharesJson, Waiting, write_shares};
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::keeping::{self, Bag, Holdings, Loss, for_the_hand, pack_for_share, percent};
use crate::kit::document::load::read_text;
use crate::kit::{Lens, Stock};
use crate::optics::bounds;
use crate::optics::notation::parse_figure;

/// The arguments of `dioptray box pack`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
#[command(group = clap::ArgGroup::new("size").required(true).args(["pieces", "reach"]))]
pub struct Pack {
    #[command(flatten)]
    of: BoxFrameAndPeople,
    #[command(flatten)]
    share: Share,
    /// A bag of so many pieces, what is always in it among them.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=999))]
    pieces: Option<u16>,
    /// The smallest bag that makes this part of the people, like 0.6.
    #[arg(long = "share", value_name = "S", value_parser = values::figure)]
    reach: Option<String>,
    /// What is always in it, like occluder or "+1.00 sphere x2", in place of what the hand needs in an exam; none for nothing.
    #[arg(long, value_name = "LENS", num_args = 1.., value_parser = values::text())]
    always: Option<Vec<String>>,
    /// What goes along and is not a lens: a text file with one thing a line.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    things: Option<PathBuf>,
    /// What the bag is called.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    name: Option<String>,
    /// How long to look for a better bag and a better bound, in minutes.
    #[arg(long, value_name = "M", default_value = "0.5", value_parser = values::figure)]
    minutes: String,
    #[command(flatten)]
    check_out: CheckOut,
}

const EXAMPLES: &str = "Examples:
  dioptray box pack --box kits/boxes/outreach.yaml --pieces 40
  dioptray box pack --box my-box.yaml --share 0.6 --always occluder \"+1.00 sphere x2\"
  dioptray box pack --box my-box.yaml --pieces 60 --things with-the-bag.txt --minutes 5
  dioptray box pack --box my-box.yaml --pieces 40 --name \"Ford bag\" --check-out --to \"School at Ford\" --until 2026-12-04

The bag is chosen for the part of the people whose prescription it makes with at most 2 lenses, both eyes alike. \
Always in it, as far as the box has it, is what the hand needs: +0.25, -0.25, +0.50, -0.50, cross cylinders, an \
occluder, a pinhole, a slit, +1.00 twice and +1.50 twice. The search ends when nothing better can be found, or with \
the minutes; no bag of as many pieces makes more than the bound.

Checked out, the bag is a box of its own with a file and an id, and its pieces are lent; `box return` brings it back.";

/// Lenses with how many pieces of each are in the bag whatever they add.
pub(super) type Always = Vec<(Lens, u8)>;

#[derive(Serialize)]
struct TakeJson {
    lens: Lens,
    pieces: u8,
}

#[derive(Serialize)]
struct BagJson {
    r#box: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    name: Option<String>,
    pieces: usize,
    take: Vec<TakeJson>,
    things: Vec<String>,
    #[serde(flatten)]
    shares: SharesJson,
    share: f64,
    bound: f64,
    /// With `--share`: no bag of one piece fewer makes more than this.
    #[serde(skip_serializing_if = "Option::is_none")]
    bound_of_fewer: Option<f64>,
    lose: Vec<Loss>,
    #[serde(skip_serializing_if = "Option::is_none")]
    checked_out: Option<CheckedOut>,
}

impl Pack {
    /// Answers.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let mut of = self.of.read(context)?;
        let things = self.things()?;
        let minutes = parse_figure(&self.minutes, &bounds::MINUTES)?;
        self.check_out.refuse_early(&of, self.name.as_deref())?;
        let in_frames = self.check_out.in_frames(context, &of)?;
        of.holdings = of.holdings.without(in_frames.iter().map(|piece| (&piece.lens, 1)));
        let (always, missing) = self.always(&of.known.stock)?;
        let of_stack = |(lens, pieces): &(Lens, u8)| lens.is_stacked().then_some(usize::from(*pieces));
        let in_all: usize = always.iter().map(|(_, pieces)| usize::from(*pieces)).sum();
        let stacked: usize = always.iter().filter_map(of_stack).sum();
        let (waiting, began) = (Waiting::new(), Instant::now());
        let mut spent = |so_far| {
            waiting.say(so_far);
            began.elapsed().as_secs_f64() / (60.0 * minutes)
        };
        let bag_for = self.share.bag(&of);
        let (bag, bound_of_fewer) = match (self.pieces, &self.reach) {
            (Some(pieces), _) => {
                let pieces = usize::from(pieces);
                if pieces < in_all {
                    bail!("always in it are {in_all} pieces already: raise --pieces, or name less with --always");
                }
                (keeping::pack(&of.holdings, &always, pieces - (in_all - stacked), bag_for, &mut spent), None)
            }
            (None, reach) => {
                let reach = parse_figure(reach.as_deref().unwrap_or_default(), &bounds::SHARE)?;
                let found = pack_for_share(&of.holdings, &always, reach, bag_for, &mut spent);
                let (bag, fewer) = found.ok_or_else(|| {
                    anyhow!(
                        "the whole box does not make {} {}: `box coverage` says what it makes",
                        percent(reach),
                        self.share.in_words()
                    )
                })?;
                (bag, Some(fewer))
            }
        };
        let take = take(&of.known.stock, &bag, &always);
        let shares = SharesJson::of(&Holdings::gathered(of.holdings.form, bag.take.iter().cloned()), &of);
        waiting.end();
        let pieces = take.iter().map(|of| usize::from(of.pieces)).sum();
        let checked_out =
            self.check_out.run(context, &of, self.name.as_deref(), &bag.take, &beside(&always), &in_frames)?;
        let lose: Vec<Loss> = bag.lose.iter().filter(|loss| loss.share > 0.0).cloned().collect();
        let answer = BagJson {
            r#box: of.known.stock.box_name.clone(),
            name: self.name.clone(),
            pieces,
            take,
            things,
            shares,
            share: bag.share,
            bound: bag.bound,
            bound_of_fewer,
            lose,
            checked_out,
        };
        if context.json {
            write_line(out, &answer)?;
        } else {
            self.write(out, &of, &answer, &missing)?;
        }
        Ok(Outcome::Done)
    }

    fn things(&self) -> anyhow::Result<Vec<String>> {
        let Some(file) = &self.things else { return Ok(Vec::new()) };
        let text =
            read_text(file, crate::kit::document::load::LARGEST_FILE).map_err(crate::kit::document::Faults::from)?;
        Ok(text
            .lines()
            .map(str::trim)
            .filter(|line| !line.is_empty() && !line.starts_with('#'))
            .map(str::to_owned)
            .collect())
    }

    /// What is always in it of what the box has, and what of the usual it lacks.
    fn always(&self, stock: &Stock) -> anyhow::Result<(Always, Vec<Lens>)> {
        let Some(words) = &self.always else { return Ok(usually_in_it(stock)) };
        let there = |lens: &Lens| at_hand(stock, lens);
        let mut always: Vec<(Lens, u8)> = Vec::new();
        for word in words.iter().filter(|word| *word != "none") {
            let (lens, pieces) = counted(word)?;
            if there(&lens) < pieces {
                bail!("always in it: {word}: the box has {} of it at hand", there(&lens));
            }
            if always.iter().any(|(other, _)| *other == lens) {
                bail!("always in it: {lens} is named twice: write it once, with x2 for two");
            }
            always.push((lens, pieces));
        }
        Ok((always, Vec::new()))
    }

    fn write(
        &self,
        out: &mut dyn Write,
        of: &KnownBoxAndPeople,
        bag: &BagJson,
        missing: &[Lens],
    ) -> anyhow::Result<()> {
        let name = self.name.as_deref().unwrap_or("bag");
        writeln!(out, "{name}: {} pieces from {}, {}", bag.pieces, of.known.stock.box_name, of.frame_name)?;
        let what = self.share.in_words();
        writeln!(
            out,
            "{} {what}; no bag of as many pieces makes more than {}",
            percent(bag.share),
            percent(bag.bound)
        )?;
        if let Some(fewer) = bag.bound_of_fewer {
            writeln!(out, "no bag of one piece fewer makes more than {}", percent(fewer))?;
        }
        for lens in missing {
            writeln!(out, "the box has too few of what the hand needs: {lens}")?;
        }
        writeln!(out, "\ntake out")?;
        for TakeJson { lens, pieces } in &bag.take {
            writeln!(out, "  {pieces} x {lens}")?;
        }
        bag.things.iter().try_for_each(|thing| writeln!(out, "  {thing}"))?;
        writeln!(out)?;
        write_shares(out, of, &[("one eye", bag.shares.one_eye), ("both eyes alike", bag.shares.both_eyes)])?;
        if !bag.lose.is_empty() {
            writeln!(out, "\nif one is lost on the way")?;
            for loss in &bag.lose {
                writeln!(out, "  {:22}{}", loss.lens, loss.in_words())?;
            }
        }
        if let Some(checked_out) = &bag.checked_out {
            writeln!(out, "\n{checked_out}")?;
        }
        Ok(())
    }
}

/// How many pieces of a lens are at hand.
fn at_hand(stock: &Stock, lens: &Lens) -> u8 {
    stock.of_lens(lens).filter(|piece| piece.place.is_at_hand()).count().min(99) as u8
}

/// What is in a bag where nobody says what always is, as far as the box has it, and what of that the box has too few of.
pub(super) fn usually_in_it(stock: &Stock) -> (Always, Vec<Lens>) {
    let usual = for_the_hand().into_iter().map(|of| (of.lens, of.pieces));
    let named = ["pinhole", "slit"];
    let further = Lens::known_by_name().filter(|lens| lens.name().is_some_and(|name| named.contains(&name)));
    let usual: Vec<(Lens, u8)> = usual.chain(further.map(|lens| (lens, 1))).collect();
    let is_lacking = |(lens, pieces): &&(Lens, u8)| at_hand(stock, lens) < *pieces;
    let missing = usual.iter().filter(is_lacking).map(|(lens, _)| lens.clone()).collect();
    let has = |(lens, pieces): (Lens, u8)| (at_hand(stock, &lens).min(pieces), lens);
    let usual = usual.into_iter().map(has).filter(|(pieces, _)| *pieces > 0);
    (usual.map(|(pieces, lens)| (lens, pieces)).collect(), missing)
}

/// What is always in it and is not stacked.
pub(super) fn beside(always: &[(Lens, u8)]) -> Vec<(Lens, u8)> {
    always.iter().filter(|(lens, _)| !lens.is_stacked()).cloned().collect()
}

/// A lens with how many are meant: `+1.00 sphere x2`.
fn counted(word: &str) -> anyhow::Result<(Lens, u8)> {
    if let Some((lens, count)) = word.rsplit_once(" x")
        && let Ok(count) = count.parse::<u8>()
        && (1..=99).contains(&count)
    {
        return Ok((lens.parse()?, count));
    }
    Ok((word.parse()?, 1))
}

/// What goes into the bag, in the order of the box.
fn take(stock: &Stock, bag: &Bag, always: &[(Lens, u8)]) -> Vec<TakeJson> {
    let stacked = |lens: &Lens| bag.take.iter().filter(|of| of.lens == *lens).map(|of| of.pieces).sum::<u8>();
    let beside = |lens: &Lens| {
        let is_it = |(other, _): &&(Lens, u8)| other == lens && !lens.is_stacked();
        always.iter().find(is_it).map_or(0, |(_, pieces)| *pieces)
    };
    let of = |count: crate::kit::stock::LensCount| TakeJson {
        pieces: stacked(&count.lens) + beside(&count.lens),
        lens: count.lens,
    };
    stock.counts().into_iter().map(of).filter(|of| of.pieces > 0).collect()
}
