//! `dioptray convert`: a prescription in another form, moved, added up, compared, and what it does off its centre.

mod answer;
mod change;
mod changes;
mod point;
mod prisms;
mod question;

use std::io::Write;

use clap::error::ErrorKind;
use clap::{ArgGroup, Args};

use self::answer::Answer;
use self::changes::{Changes, named_prescription};
use self::prisms::Place;
use super::context::WrongUsage;
use super::net::EyeName;
use super::working::Working;
use super::{CAUTION, Context, Outcome, meridian, values};
use crate::optics::notation::{parse_figure, parse_prescription};
use crate::optics::{CylinderForm, Eye, SpheroCylinder, bounds, cross};

/// Questions that are not about prism. What needs another option must name what that option does not go with, since clap
/// no longer asks for an option that is ruled out.
const NO_PRISM: [&str; 4] = ["along", "residual", "accommodation", "centres"];

/// The arguments of `dioptray convert`.
#[derive(Debug, Args)]
#[command(
    after_help = format!("{EXAMPLES}\n\n{CAUTION}"),
    group(ArgGroup::new("question").args(["along", "residual", "decentre", "at", "accommodation", "centres", "sheard"])),
    group(ArgGroup::new("prism").args(["decentre", "at", "sheard"])),
)]
pub struct Convert {
    /// The prescription, with a minus or a plus cylinder: -4.25/-0.75x180, "-4.25 -0.75 x 180", plano/-1.00x90, -4.25.
    #[arg(value_name = "RX", value_parser = values::text(), required_unless_present_any = ["cross", "sheard"])]
    prescription: Option<String>,
    /// In place of RX: an optical cross, two meridians at right angles with the power that acts along each.
    #[arg(
        long,
        num_args = 2,
        value_names = ["DEG:D", "DEG:D"],
        value_parser = values::text(),
        conflicts_with_all = ["prescription", "sheard"]
    )]
    cross: Option<Vec<String>>,
    #[command(flatten)]
    changes: Changes,
    /// The power along a meridian, 0 to 180 degrees.
    #[arg(long, value_name = "DEG", value_parser = values::figure)]
    along: Option<String>,
    /// What it leaves uncorrected where this prescription is needed, and the score of that, |M| + |C|/2.
    #[arg(long, value_name = "RX", value_parser = values::text())]
    residual: Option<String>,
    /// The prism when its optical centre stands at X,Y from the pupil, in millimetres as you see it: X to your right, Y up.
    #[arg(long, value_name = "X,Y", value_parser = values::text())]
    decentre: Option<String>,
    /// The prism where it is looked through at X,Y from its optical centre: 0,-8 is 8 mm below it. Both prisms are with the
    /// cross term of an oblique cylinder.
    #[arg(long, value_name = "X,Y", value_parser = values::text())]
    at: Option<String>,
    /// With --at: the other eye's prescription, looked through as far in or out and as far up or down; and what both
    /// prisms do against each other.
    #[arg(
        long,
        value_name = "RX",
        value_parser = values::text(),
        requires = "at",
        conflicts_with_all = ["along", "residual", "decentre", "accommodation", "centres", "sheard", "change", "from", "to"]
    )]
    other: Option<String>,
    /// With --decentre, --at and --sheard: the eye; it decides where in and out are. Right when left out.
    #[arg(long, value_enum, requires = "prism", conflicts_with_all = NO_PRISM)]
    eye: Option<EyeName>,
    /// With --decentre, --at and --sheard: the prism in halves before both eyes.
    #[arg(long, requires = "prism", conflicts_with_all = NO_PRISM, conflicts_with = "other")]
    split: bool,
    /// The accommodation that print this far before the glasses asks for, in metres, 0.1 to 2, behind glasses at --from MM.
    #[arg(long, value_name = "M", value_parser = values::figure, requires = "from", conflicts_with_all = ["change", "to"])]
    accommodation: Option<String>,
    /// How far the centres of made glasses may be off (ANSI Z80.1-2015).
    #[arg(long)]
    centres: bool,
    /// In place of RX: the prism that Sheard's criterion asks for, from a phoria (exo:9, eso:3) and the reserve against it.
    #[arg(long, num_args = 2, value_names = ["PHORIA", "RESERVE"], value_parser = values::text(), conflicts_with = "prescription")]
    sheard: Option<Vec<String>>,
    #[command(flatten)]
    shown: Shown,
}

/// How the answer is shown.
#[derive(Debug, Args)]
struct Shown {
    /// Write it with a plus cylinder. In JSON, "power" stays in minus-cylinder form and "plus_form" is added.
    #[arg(long, conflicts_with_all = ["along", "prism", "accommodation", "centres"])]
    plus: bool,
    /// Show the steps of what is asked, to follow with a pencil.
    #[arg(long)]
    working: bool,
}

const EXAMPLES: &str = "Examples:
  dioptray convert +2.50/-1.50x170 --plus       +1.00/+1.50x80
  dioptray convert -10.00 --from 12 --to 0      at the cornea
  dioptray convert -9.00/-2.00x180 --from 12 --to 14
  dioptray convert --cross 180:+2.25 90:+3.00   the prescription of a cross
  dioptray convert +2.00/+3.50x135 --along 90 --working
  dioptray convert -2.00/-1.00x100 --residual -2.00/-1.00x90
  dioptray convert -3.25 --decentre 5,0 --eye left
  dioptray convert -3.00/-2.00x180 --at 0,-8 --other -2.75/-2.50x90
  dioptray convert -5.00 --from 12 --accommodation 0.4
  dioptray convert --sheard exo:9 12 --split

One change goes before one question: sum, less, mean, tilt, face form, addition or vertex distance, \
then the meridian, residual, prism, accommodation or centres of what came of it.

The nearest quarter is the prescription on the quarter-dioptre grid, axis in whole degrees, that misses the power least.";

impl Convert {
    /// Converts.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let mut working = Working::default();
        let answer = self.answer(&mut working)?;
        answer.write(out, context.json, self.shown.working.then_some(&working))?;
        Ok(Outcome::Done)
    }

    fn answer(&self, working: &mut Working) -> anyhow::Result<Answer> {
        let eye = self.eye.map_or(Eye::Right, Eye::from);
        if let Some([phoria, reserve]) = self.sheard.as_deref() {
            return prisms::by_sheard(phoria, reserve, eye, self.split, working);
        }
        let written = self.changes.asked(self.accommodation.is_some())?.make(self.written(working)?, working)?;
        let form = if self.shown.plus { CylinderForm::Plus } else { CylinderForm::Minus };
        if let Some(meridian) = &self.along {
            return Ok(question::along(written, parse_figure(meridian, &bounds::AXIS)?, working));
        }
        if let Some(needed) = &self.residual {
            return Ok(question::left_over(written, named_prescription(needed, "--residual")?, form, working));
        }
        if let Some(metres) = &self.accommodation {
            let metres = parse_figure(metres, &bounds::NEAR_M)?;
            return question::accommodation(written, self.changes.made_for()?, metres, working);
        }
        if self.centres {
            return Ok(question::centres(written, working));
        }
        let Some(place) = self.place()? else { return Ok(question::itself(written, form, working)) };
        let other = self.other.as_deref().map(|other| named_prescription(other, "--other")).transpose()?;
        Ok(prisms::decentred(written, other, place, eye, self.split, working))
    }

    /// The prescription as it is written, or as its cross makes it.
    fn written(&self, working: &mut Working) -> anyhow::Result<SpheroCylinder> {
        if let Some([first, second]) = self.cross.as_deref() {
            let power = cross::power_of(meridian::read(first)?, meridian::read(second)?)?;
            let form = power.minus_form();
            working.back_from_cross(form);
            return Ok(form);
        }
        let Some(written) = &self.prescription else {
            let message = "a prescription is wanted, or --cross".to_owned();
            return Err(WrongUsage { kind: ErrorKind::MissingRequiredArgument, message }.into());
        };
        Ok(parse_prescription(written)?)
    }

    /// Where the lens stands before the eye, where that is asked about.
    fn place(&self) -> anyhow::Result<Option<Place>> {
        if let Some(centre) = &self.decentre {
            let (x, y) = point::read(centre, "--decentre")?;
            return Ok(Some(Place::Centre(x, y)));
        }
        let Some(at) = &self.at else { return Ok(None) };
        let (x, y) = point::read(at, "--at")?;
        Ok(Some(Place::LookedThrough(x, y)))
    }
}
