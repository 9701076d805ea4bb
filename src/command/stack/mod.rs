//! `dioptray stack`: which lenses to stack for a wanted power.

mod lines;
mod proposal;

use std::io::Write;
use std::path::PathBuf;

use anyhow::Context as _;
use clap::Args;
use serde::Serialize;

use super::json::write_line;
use super::which_box::WhichBox;
use super::{CAUTION, Context, Outcome, files, values};
use crate::frame::FittedFrame;
use crate::optics::notation::{parse_figure, parse_prescription};
use crate::optics::{Eye, Eyes, Power, bounds};
use crate::screen::settings::Settings;
use crate::stacking::{Proposal, REACHES_WITHIN_D, SearchOptions, propose, propose_both};
use proposal::{CompleteJson, ProposalJson, Written};

/// The arguments of `dioptray stack`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
#[command(group = clap::ArgGroup::new("wanted").required(true).multiple(true).args(["right", "left", "lines"]))]
pub struct Stack {
    #[command(flatten)]
    which: WhichBox,
    /// The frame file; without it, the four-cell frame that comes with the program.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    frame: Option<PathBuf>,
    /// The power wanted before the right eye.
    #[arg(long, value_name = "RX", value_parser = values::text())]
    right: Option<String>,
    /// The power wanted before the left eye. With both eyes, no lens is used twice.
    #[arg(long, value_name = "RX", value_parser = values::text())]
    left: Option<String>,
    /// A file with one prescription a line, or - for standard input; one JSON object a line comes back, in the same order.
    ///
    /// A line that cannot be read comes back with its error, and the exit code is 1 at the end; it is 3 when some power is
    /// not reached.
    #[arg(long, value_name = "FILE", value_parser = values::path(), conflicts_with_all = ["right", "left"])]
    lines: Option<PathBuf>,
    /// The most lenses before one eye; 4 when not said.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=8))]
    max_lenses: Option<u8>,
    /// The most proposals: 5, or 1 with --lines, when not said.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1000))]
    limit: Option<u16>,
    /// The greatest miss, in dioptres, that still counts as reached: 0.005 to 2. What a stack costs does not depend on it.
    #[arg(long, value_name = "D", default_value_t = REACHES_WITHIN_D.to_string(), value_parser = values::figure)]
    within: String,
}

const EXAMPLES: &str = "Examples:
  dioptray stack --box kits/boxes/outreach.yaml --right -4.25/-0.75x180
  dioptray stack --box box.yaml --frame frame.yaml --right +3.25 --left \"+2.75 -0.50 x 90\" --json
  dioptray stack --box box.yaml --lines prescriptions.txt

Of the stacks that reach, the one that costs least comes first; what a stack costs is counted in lenses, by the table in the README, \
and its parts stand under \"cost_of\" in JSON. \"complete\" says that nothing left out comes before what is shown; else no stack \
left out costs less than \"bound\".

The miss is the power-vector distance from the wanted power, computed with the gaps between the cells. When a wanted power is \
not reached the nearest stacks are shown and the exit code is 3.";

#[derive(Serialize)]
struct OneEye {
    #[serde(flatten)]
    complete: CompleteJson,
    #[serde(skip_serializing_if = "Option::is_none")]
    right: Option<Vec<ProposalJson>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    left: Option<Vec<ProposalJson>>,
}

#[derive(Serialize)]
struct Pairs {
    #[serde(flatten)]
    complete: CompleteJson,
    pairs: Vec<PairJson>,
}

#[derive(Serialize)]
struct PairJson {
    right: ProposalJson,
    left: ProposalJson,
}

impl Stack {
    /// Proposes stacks.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let stock = self.which.read(context)?.stock;
        let frame = files::frame(self.frame.as_deref())?;
        let fitted = FittedFrame::new(frame, stock);
        let settings = Settings::own()?;
        let usual_limit = if self.lines.is_some() { 1 } else { SearchOptions::default().limit };
        let options = SearchOptions {
            max_lenses: self.max_lenses.map(usize::from),
            limit: self.limit.map_or(usual_limit, usize::from),
            within_d: parse_figure(&self.within, &bounds::WITHIN_D)?,
            form: settings.form,
        };
        if let Some(file) = &self.lines {
            return lines::run(file, &fitted, settings.mark_tolerance, &options, out);
        }
        let read = |eye: &str, written: &Option<String>| -> anyhow::Result<Option<Power>> {
            let Some(written) = written else { return Ok(None) };
            let power = parse_prescription(written).with_context(|| format!("{eye} eye"))?.power();
            Ok(Some(power))
        };
        let form = fitted.stock.form_in_use(settings.form);
        let how = Written { fitted: &fitted, form, mark_tolerance: settings.mark_tolerance };
        match (read("right", &self.right)?, read("left", &self.left)?) {
            (Some(right), Some(left)) => both_eyes(how, Eyes::new(right, left), &options, context, out),
            (Some(right), None) => one_eye(how, Eye::Right, right, &options, context, out),
            (None, Some(left)) => one_eye(how, Eye::Left, left, &options, context, out),
            (None, None) => Ok(Outcome::Done),
        }
    }
}

fn one_eye(
    how: Written<'_>,
    eye: Eye,
    wanted: Power,
    options: &SearchOptions,
    context: &Context,
    out: &mut dyn Write,
) -> anyhow::Result<Outcome> {
    let found = propose(how.fitted, eye, wanted, options);
    if context.json {
        let all: Vec<ProposalJson> = found.list.iter().map(|proposal| how.json(proposal)).collect();
        let (right, left) = if eye == Eye::Right { (Some(all), None) } else { (None, Some(all)) };
        write_line(out, &OneEye { complete: (&found).into(), right, left })?;
    } else {
        proposal::write_for_people(out, how, wanted, &found, options)?;
    }
    Ok(outcome(found.list.first().is_some_and(|best| best.reaches)))
}

fn both_eyes(
    how: Written<'_>,
    wanted: Eyes<Power>,
    options: &SearchOptions,
    context: &Context,
    out: &mut dyn Write,
) -> anyhow::Result<Outcome> {
    let found = propose_both(how.fitted, wanted, options);
    let reaches = |pair: &Eyes<Proposal>| pair.right.reaches && pair.left.reaches;
    let reached = found.list.first().is_some_and(reaches);
    if context.json {
        let json = |pair: &Eyes<Proposal>| PairJson { right: how.json(&pair.right), left: how.json(&pair.left) };
        let pairs = found.list.iter().map(json).collect();
        write_line(out, &Pairs { complete: (&found).into(), pairs })?;
    } else {
        for (number, pair) in (1..).zip(&found.list) {
            proposal::write_one(out, how, number, wanted.right, &pair.right)?;
            proposal::write_one(out, how, number, wanted.left, &pair.left)?;
        }
        proposal::write_bound(out, found.bound)?;
    }
    Ok(outcome(reached))
}

fn outcome(reached: bool) -> Outcome {
    if reached { Outcome::Done } else { Outcome::NotReached }
}
