//! `dioptray retinoscopy`: two reversals and a working distance make a power.

use std::io::Write;

use clap::Args;
use clap::error::ErrorKind;
use serde::Serialize;

use super::context::WrongUsage;
use super::json::{PowerJson, write_line};
use super::working::{Working, signed, sum};
use super::{CAUTION, Context, Outcome, meridian, text, values};
use crate::optics::notation::parse_figure;
use crate::optics::retinoscopy::{less_working_lens, working_lens};
use crate::optics::{CylinderForm, bounds, cross};

/// The arguments of `dioptray retinoscopy`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Retinoscopy {
    /// Working distance in metres, 0.1 to 2: its reciprocal is taken off the sphere.
    #[arg(long, value_name = "M", value_parser = values::figure)]
    distance: String,
    /// A swept meridian, 0 to 180 degrees, and the whole power before the eye that gave reversal in it: 180:+2.25. Give
    /// two, at right angles: they are the gross power, which is shown as sphere and cylinder.
    ///
    /// The swept meridian is the one the light moves in; the streak lies across it. If the working lens is in the frame,
    /// count it in.
    #[arg(long = "meridian", value_name = "DEG:POWER", required = true, value_parser = values::text())]
    meridians: Vec<String>,
    /// Show the steps, to follow with a pencil.
    #[arg(long)]
    working: bool,
}

const EXAMPLES: &str = "Example, at two thirds of a metre, which makes +1.50/-0.75x90:
  dioptray retinoscopy --distance 0.6667 --meridian 180:+2.25 --meridian 90:+3.00";

#[derive(Serialize)]
struct ReversalsJson {
    power: PowerJson,
    #[serde(skip_serializing_if = "Option::is_none")]
    working: Option<Vec<String>>,
}

impl Retinoscopy {
    /// Works out the power.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let [first, second] = self.meridians.as_slice() else {
            let message =
                format!("--meridian is given twice, once for each meridian; here it is {}", self.meridians.len());
            return Err(WrongUsage { kind: ErrorKind::WrongNumberOfValues, message }.into());
        };
        let distance_m = parse_figure(&self.distance, &bounds::WORKING_M)?;
        let gross = cross::power_of(meridian::read(first)?, meridian::read(second)?)?;
        let power = less_working_lens(gross, distance_m);
        let mut working = Working::default();
        working.back_from_cross(gross.minus_form());
        let lens = working_lens(distance_m).0;
        working.step(format!("the working lens is 1 / {distance_m} m = {}", signed(lens)));
        working.step(format!("the sphere less the working lens: {}", sum(gross.minus_form().sphere, -lens)));
        working.step("cylinder and axis stay");
        if context.json {
            let working = self.working.then(|| working.steps().to_vec());
            write_line(out, &ReversalsJson { power: power.into(), working })?;
        } else {
            if self.working {
                working.write(out)?;
            }
            writeln!(out, "gross            {}", text::power(gross))?;
            writeln!(out, "working lens     +{lens:.2}")?;
            writeln!(out, "power            {}", text::power(power))?;
            text::write_equivalent_and_quarter(out, power, CylinderForm::Minus)?;
        }
        Ok(Outcome::Done)
    }
}
