//! `dioptray box unknown`: what a lens without a mark is, by the lenses of the box that neutralise it.

use std::io::Write;

use anyhow::bail;
use clap::Args;
use serde::Serialize;

use crate::command::json::write_line;
use crate::command::which_box::WhichBox;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::keeping::unknown_lens::{Ask, Meridian, Nature, Turned, UnknownLens, between, waiting_for};
use crate::kit::{Lens, Mark, Motion, Piece, Stock};
use crate::stacking::loose_halving::{Interval, Trial};

/// The arguments of `dioptray box unknown`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Unknown {
    #[command(flatten)]
    which: WhichBox,
    /// What was seen so far, in its order: first moves, scissors, beside or stays; then with, against or still for
    /// each thing that was held against the lens.
    #[arg(value_name = "SEEN", value_parser = values::text())]
    seen: Vec<String>,
}

const EXAMPLES: &str = "Look at a cross far away through the lens, move the lens sideways, and turn it like a wheel:
  moves     its lines move, and turning changes nothing: a sphere
  scissors  its lines scissor when the lens is turned: a cylinder
  beside    it stands beside itself wherever the lens is moved: a prism
  stays     it stays as it is: no power
Then hold against it what is asked for, and say how the line moves: with, against or still.

Examples:
  dioptray box unknown --box box.yaml
  dioptray box unknown --box box.yaml moves with against with

By hand a power is found to the nearest quarter at best: confirm it on an instrument before the lens goes back into the box.";

#[derive(Serialize)]
struct UnknownJson {
    ask: Option<&'static str>,
    hold: Option<Vec<String>>,
    along: Option<&'static str>,
    between: Option<[f64; 2]>,
    found: Option<FoundJson>,
}

#[derive(Serialize)]
struct FoundJson {
    nature: &'static str,
    nearest: Option<Lens>,
    between: Option<[f64; 2]>,
    waiting: Vec<Piece>,
}

impl Unknown {
    /// Says what to do next, or what it is.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let seen = self.seen;
        let stock = self.which.read(context)?.record.stock;
        let mut lens = UnknownLens::begin(&stock);
        for (nth, word) in seen.iter().enumerate() {
            take_in(&mut lens, nth, word)?;
        }
        if context.json {
            write_line(out, &as_json(&lens, &stock))?;
            return Ok(Outcome::Done);
        }
        match (lens.ask(), lens.found()) {
            (Some(Ask::Turn), _) => {
                writeln!(
                    out,
                    "Look at a cross far away through the lens, move it sideways, and turn it like a wheel."
                )?;
                writeln!(out, "moves, scissors, beside or stays?")?;
            }
            (Some(Ask::Hold { trial, meridian, lies }), _) => {
                let held = held(trial);
                let hold = if held.is_empty() {
                    "Hold nothing against it yet".to_owned()
                } else {
                    format!("Hold {} against it", held.join(" and "))
                };
                writeln!(
                    out,
                    "{hold} and move it{}.",
                    along(meridian).map(|along| format!(" {along}")).unwrap_or_default()
                )?;
                writeln!(out, "with, against or still?")?;
                writeln!(out, "so far: {}", between(lies))?;
            }
            (None, Some(nature)) => say(nature, &stock, out)?,
            (None, None) => {}
        }
        Ok(Outcome::Done)
    }
}

/// Takes in one word, at its place among those that were given.
fn take_in(lens: &mut UnknownLens, nth: usize, word: &str) -> anyhow::Result<()> {
    let place = nth + 1;
    match lens.ask() {
        None => bail!("`{word}` (word {place}): nothing more is asked; leave it out"),
        Some(Ask::Turn) => match Turned::ALL.into_iter().find(|turned| turned.word() == word) {
            Some(turned) => lens.turned(turned),
            None => bail!("`{word}` (word {place}): what the cross does is moves, scissors, beside or stays"),
        },
        Some(Ask::Hold { .. }) => match Motion::ALL.into_iter().find(|motion| motion.word() == word) {
            Some(motion) => lens.moved(motion),
            None => bail!("`{word}` (word {place}): the line moves with, against or still"),
        },
    }
    Ok(())
}

/// What is held, strongest first.
fn held(trial: Trial) -> Vec<String> {
    let held = trial.held_d.into_iter().filter(|held| *held != 0.0);
    held.map(|held| Lens::Sphere(Mark::nearest(held)).to_string()).collect()
}

fn along(meridian: Meridian) -> Option<&'static str> {
    match meridian {
        Meridian::Any => None,
        Meridian::First => Some("along the first of its two unbroken lines"),
        Meridian::Second => Some("along the second of its two unbroken lines"),
    }
}

fn nature_word(nature: Nature) -> &'static str {
    match nature {
        Nature::Plano => "plano",
        Nature::Sphere(_) => "sphere",
        Nature::Cylinder(_) => "cylinder",
        Nature::TwoPowers(..) => "two powers",
        Nature::Prism => "prism",
        Nature::BeyondReach => "beyond reach",
    }
}

fn say(nature: Nature, stock: &Stock, out: &mut dyn Write) -> anyhow::Result<()> {
    writeln!(out, "{nature}")?;
    if nature.is_strong() {
        writeln!(out, "So strong a lens makes another power in front than behind.")?;
    }
    let waiting: Vec<String> = waiting_for(stock, nature).iter().map(ToString::to_string).collect();
    if !waiting.is_empty() {
        writeln!(out, "lost from {} and waiting for such a lens: {}", stock.box_name, waiting.join(", "))?;
    }
    writeln!(out, "By hand: confirm it on an instrument before it goes back into the box.")?;
    Ok(())
}

fn as_json(lens: &UnknownLens, stock: &Stock) -> UnknownJson {
    let ends = |lies: Interval| [lies.least_d, lies.most_d];
    let found = lens.found().map(|nature| FoundJson {
        nature: nature_word(nature),
        nearest: nature.nearest_lens(),
        between: nature.lies().map(ends),
        waiting: waiting_for(stock, nature),
    });
    let nothing = UnknownJson { ask: None, hold: None, along: None, between: None, found: None };
    match lens.ask() {
        Some(Ask::Turn) => UnknownJson { ask: Some("turn"), ..nothing },
        Some(Ask::Hold { trial, meridian, lies }) => UnknownJson {
            ask: Some("hold"),
            hold: Some(held(trial)),
            along: along(meridian),
            between: Some(ends(lies)),
            found: None,
        },
        None => UnknownJson { found, ..nothing },
    }
}
