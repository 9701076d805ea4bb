//! `dioptray box coverage`: what a box makes.

use std::io::Write;
use std::path::PathBuf;

use clap::{Args, ValueEnum};
use serde::Serialize;

use super::makes::{BoxFrameAndPeople, KnownBoxAndPeople, write_shares};
use crate::command::files::known_box;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::export::saving::{Existing, refuse_unsavable, save};
use crate::keeping::{Asked, Coverage as Makes, CoverageMap, Holdings, Made, MapEyes, Shares, Zoom, for_the_hand};

/// The arguments of `dioptray box coverage`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Coverage {
    #[command(flatten)]
    of: BoxFrameAndPeople,
    /// Keep back what the hand needs in an exam: +0.25, -0.25, +0.50, -0.50, cross cylinders, an occluder, +1.00 twice and, as
    /// working lenses, +1.50 twice.
    #[arg(long)]
    reserve: bool,
    /// Draw the map: spheres across, cylinders down, in each place the fewest lenses.
    #[arg(long)]
    map: bool,
    /// How far two places of the map are apart; at half steps a place shows the worst of its four quarter steps.
    #[arg(long, value_name = "STEP", default_value = "half", requires = "map")]
    zoom: MapZoom,
    /// Draw both eyes alike in place of one eye.
    #[arg(long, requires = "map")]
    both: bool,
    /// Another box beside this one: each place of the map has a figure for each.
    #[arg(long, value_name = "FILE", value_parser = values::path(), requires = "map")]
    beside: Option<PathBuf>,
    /// Write every prescription into a CSV file: sphere, cylinder, lenses, miss, lenses with both eyes alike.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    csv: Option<PathBuf>,
}

/// The steps of the map, by their words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum MapZoom {
    /// Every quarter.
    Quarter,
    /// Every half.
    Half,
}

impl From<MapZoom> for Zoom {
    fn from(zoom: MapZoom) -> Self {
        match zoom {
            MapZoom::Quarter => Self::Quarter,
            MapZoom::Half => Self::Half,
        }
    }
}

const EXAMPLES: &str = "Examples:
  dioptray box coverage --box kits/boxes/outreach.yaml
  dioptray box coverage --box kits/boxes/outreach.yaml --map
  dioptray box coverage --box my-box.yaml --people our-people.csv --reserve --json

A prescription is made when a stack of at most 4 lenses comes within 0.06 D of it, at 12 mm in the frame that comes \
with the program, with the distances between the cells stepped through. Its axis is taken to be 180, and does not \
matter. Three cylinders count while they share an axis, and spheres before crossed cylinders while they stand nearer \
the eye than both. Damaged lenses count. Shares are parts of the people of the table; the public one has 31,955 right \
eyes of a survey in the United States.";

#[derive(Serialize)]
struct CoverageJson<'a> {
    r#box: &'a str,
    frame: &'a str,
    eyes: f64,
    grid: &'a [Made],
    one_eye: Shares,
    both_eyes: Option<Shares>,
}

impl Coverage {
    /// Answers.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        if let Some(file) = &self.csv {
            refuse_unsavable(file, Existing::IsReplaced)?;
        }
        let of = self.of.read(context)?;
        let makes = self.makes(&of, &of.holdings);
        if let Some(file) = &self.csv {
            save(file, &csv(&makes)?, Existing::IsReplaced)?;
        }
        if context.json {
            let (frame, eyes) = (of.frame_name.as_str(), of.people.count());
            let Makes { grid, one_eye, both_eyes } = &makes;
            let (one_eye, both_eyes) = (*one_eye, *both_eyes);
            write_line(out, &CoverageJson { r#box: &of.known.stock.box_name, frame, eyes, grid, one_eye, both_eyes })?;
            return Ok(Outcome::Done);
        }
        writeln!(out, "{}, {}", of.known.stock.box_name, of.frame_name)?;
        let makes_beside = match &self.beside {
            Some(file) => {
                let beside = known_box(context, file)?;
                writeln!(out, "second figure: {}", beside.stock.box_name)?;
                Some(self.makes(&of, &Holdings::of(&beside.stock)))
            }
            None => None,
        };
        if self.map {
            let eyes = if self.both { MapEyes::Both } else { MapEyes::One };
            write_map(out, &CoverageMap::of(&makes, makes_beside.as_ref(), eyes, self.zoom.into()))?;
        }
        let both_eyes = makes.both_eyes.map(|shares| ("both eyes alike", shares));
        let rows: Vec<(&str, Shares)> = [("one eye", makes.one_eye)].into_iter().chain(both_eyes).collect();
        write_shares(out, &of, &rows)?;
        Ok(Outcome::Done)
    }

    fn makes(&self, of: &KnownBoxAndPeople, holdings: &Holdings) -> Makes {
        let needed = if self.reserve { for_the_hand() } else { Vec::new() };
        let left = holdings.without(needed.iter().map(|of| (&of.lens, of.pieces)));
        Makes::of(&left, &of.cells, &of.people, Asked::BothEyes)
    }
}

fn csv(makes: &Makes) -> anyhow::Result<Vec<u8>> {
    let mut writer = ::csv::Writer::from_writer(Vec::new());
    writer.write_record(["sphere", "cylinder", "lenses", "miss", "lenses_both_eyes"])?;
    let count = |lenses: Option<u8>| lenses.map(|lenses| lenses.to_string()).unwrap_or_default();
    for Made { wanted, lenses, miss, both } in &makes.grid {
        let (sphere, cylinder) = (format!("{:.2}", wanted.sphere), format!("{:.2}", wanted.cylinder + 0.0));
        writer.write_record([sphere, cylinder, count(*lenses), format!("{miss:.4}"), count(*both)])?;
    }
    Ok(writer.into_inner()?)
}

/// Spheres that are a multiple of this, in dioptres, stand over their column.
const LABELLED_D: f64 = 5.0;

fn write_map(out: &mut dyn Write, map: &CoverageMap) -> anyhow::Result<()> {
    let width = map.rows.iter().flatten().next().map_or(1, |figure| figure.text('.').chars().count());
    let mut head = String::new();
    for (column, sphere) in map.spheres.iter().enumerate() {
        if sphere % LABELLED_D == 0.0 {
            head = format!("{head:column$}", column = column * width);
            let label = if *sphere == 0.0 { "0".to_owned() } else { format!("{sphere:+}") };
            head.push_str(&label);
        }
    }
    writeln!(out, "\ncylinder  {head}")?;
    for (cylinder, row) in map.cylinders.iter().zip(&map.rows) {
        let figures: String = row.iter().map(|figure| figure.text('.')).collect();
        writeln!(out, "{:8.2}  {figures}", cylinder + 0.0)?;
    }
    writeln!(out, "fewest lenses; . is not made\n")?;
    Ok(())
}
