//! `dioptray box pairs`: which lenses are off their mark, by holding them together in pairs.

use std::io::Write;

use anyhow::bail;
use clap::{Args, ValueEnum};
use jiff::Timestamp;
use serde::Serialize;

use super::chosen::{BoxToNote, open_logbook};
use crate::command::exams::records::examiner;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::keeping::held_together::belief::MOST_HELD;
use crate::keeping::held_together::{Beliefs, Look, Suspect, choosing, suspects};
use crate::kit::document::fault::counted;
use crate::kit::{Lens, Motion, Piece};
use crate::logbook::{NewChanges, StockOnRecord};

/// The arguments of `dioptray box pairs`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Pairs {
    #[command(flatten)]
    which: BoxToNote,
    /// Who looks; if not given, `examiner` in the settings.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    by: Option<String>,
    /// How the line moved behind the lenses; without it, what to hold together next.
    #[arg(requires = "held")]
    seen: Option<Seen>,
    /// The pieces that were held together, "+2.00 sphere #1" "-2.00 sphere #2".
    #[arg(value_name = "PIECE", value_parser = values::text())]
    held: Vec<String>,
}

const EXAMPLES: &str =
    "Hold two lenses together, rim to rim, look at a line far away through them and move them sideways.
The line moves with them where minus is left, against them where plus is left, and stands still where they
neutralise each other. A cylinder is moved across the line that its axis lies along.

Examples:
  dioptray box pairs --box box.yaml
  dioptray box pairs --box box.yaml with \"+2.00 sphere #1\" \"-2.00 sphere #2\"

A look is kept with the box, so it goes on another day; `box undo` takes one back. A lens that is named is likely to be
off its mark: an instrument has the last word.";

/// How the line moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Seen {
    /// The way the lenses are moved: minus is left.
    With,
    /// The other way: plus is left.
    Against,
    /// Not at all.
    Still,
}

impl From<Seen> for Motion {
    fn from(seen: Seen) -> Self {
        match seen {
            Seen::With => Self::With,
            Seen::Against => Self::Against,
            Seen::Still => Self::Still,
        }
    }
}

#[derive(Serialize)]
struct PairsJson<'a> {
    r#box: &'a str,
    looks: usize,
    next: Option<Vec<&'a Piece>>,
    suspects: Vec<SuspectJson<'a>>,
    out_of_reach: Vec<&'a Piece>,
}

#[derive(Serialize)]
struct SuspectJson<'a> {
    lens: &'a Lens,
    piece: &'a Piece,
    chance: f64,
    off: f64,
    power: f64,
    looks: usize,
    named: bool,
}

impl Pairs {
    /// Notes a look if there was one, and says what the looks say and what to hold next.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let Some(seen) = self.seen else {
            let record = self.which.to_look_at(context)?.record;
            return answer(context, &record, out);
        };
        let chosen = self.which.read(context)?;
        let pieces = pieces_held(&self.held)?;
        let look = Look { pieces, seen: seen.into() };
        let Some(change) = look.to_note() else { bail!("two lenses are held together: name both, with their numbers") };
        let now = Timestamp::now();
        let mut logbook = open_logbook(&chosen, context, now)?;
        let by = examiner(self.by)?;
        let new = NewChanges { changes: vec![change], note: None, by: by.as_deref(), at: now, count: None };
        let noted = logbook.note_in_box(&chosen.named, &chosen.declared, &new, &[])?;
        answer(context, &noted.on_record, out)
    }
}

/// The pieces that were named, each once.
fn pieces_held(held: &[String]) -> anyhow::Result<Vec<Piece>> {
    let mut pieces: Vec<Piece> = Vec::new();
    for text in held {
        let piece: Piece = text.parse()?;
        if !piece.lens.is_stacked() {
            bail!("{piece}: only spheres and cylinders neutralise each other");
        }
        if pieces.contains(&piece) {
            bail!("{piece} is named twice");
        }
        pieces.push(piece);
    }
    if pieces.len() > MOST_HELD {
        bail!("at most {MOST_HELD} lenses are held together, and {} are named", pieces.len());
    }
    Ok(pieces)
}

fn answer(context: &Context, record: &StockOnRecord, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    let looks: Vec<Look> = record.entries.standing_changes().filter_map(|change| Look::noted(&change)).collect();
    let beliefs = Beliefs::of(&record.stock, &looks);
    let piece = |lens: &usize| &beliefs.candidates()[*lens].piece;
    let next = choosing::next(&beliefs);
    let suspects = suspects(&beliefs);
    let out_of_reach = choosing::out_of_reach(&beliefs);
    if context.json {
        let json = PairsJson {
            r#box: &record.stock.box_name,
            looks: looks.len(),
            next: next.as_ref().map(|held| held.iter().map(piece).collect()),
            suspects: suspects.iter().map(as_json).collect(),
            out_of_reach: out_of_reach.iter().map(piece).collect(),
        };
        write_line(out, &json)?;
        return Ok(Outcome::Done);
    }
    writeln!(out, "{}: {}", record.stock.box_name, counted(looks.len(), "look", "looks"))?;
    match &next {
        Some(held) => {
            let held: Vec<String> = held.iter().map(|lens| piece(lens).to_string()).collect();
            writeln!(out, "hold together: {}", held.join(" and "))?;
        }
        None => writeln!(out, "no further look is worth it")?,
    }
    let (named, possible): (Vec<_>, Vec<_>) = suspects.iter().partition(|suspect| suspect.is_named());
    for (suspects, word) in [(named, "off its mark"), (possible, "may be off its mark")] {
        for Suspect { piece, chance, off_d, power_d, looks } in suspects {
            let more = if off_d.abs() >= 1.0 { " or more" } else { "" };
            writeln!(
                out,
                "{piece}: {word}, {:.0} in 100: about {off_d:+.2}{more}, so {power_d:+.2} ({})",
                (chance * 100.0).min(99.0),
                counted(*looks, "look", "looks")
            )?;
        }
    }
    if !out_of_reach.is_empty() && looks.is_empty() {
        let pieces: Vec<String> = out_of_reach.iter().map(|lens| piece(lens).to_string()).collect();
        writeln!(out, "only an instrument tells: {}", pieces.join(", "))?;
    }
    Ok(Outcome::Done)
}

fn as_json(suspect: &Suspect) -> SuspectJson<'_> {
    let Suspect { piece, chance, off_d, power_d, looks } = suspect;
    SuspectJson {
        lens: &piece.lens,
        piece,
        chance: *chance,
        off: *off_d,
        power: *power_d,
        looks: *looks,
        named: suspect.is_named(),
    }
}
