//! `dioptray retinoscopy`: two reversals and a working distance make a power.

use std::io::Write;

use anyhow::{Context as _, bail};
use clap::Args;
use clap::error::ErrorKind;
use serde::Serialize;

use super::context::WrongUsage;
use super::json::{PowerJson, write_line};
use super::{CAUTION, Context, Outcome, text, values};
use crate::optics::notation::{parse_figure, parse_power};
use crate::optics::retinoscopy::{Reversal, gross_power, less_working_lens, working_lens};
use crate::optics::{Axis, Dioptres, bounds};

/// The arguments of `dioptray retinoscopy`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Retinoscopy {
    /// Working distance in metres, 0.1 to 2: its reciprocal is taken off the sphere.
    #[arg(long, value_name = "M", value_parser = values::figure)]
    distance: String,
    /// A swept meridian, 0 to 180 degrees, and the whole power before the eye that gave reversal in it: 180:+2.25. Give
    /// two, at right angles.
    ///
    /// The swept meridian is the one the light moves in; the streak lies across it. If the working lens is in the frame,
    /// count it in.
    #[arg(long = "meridian", value_name = "DEG:POWER", required = true, value_parser = values::text())]
    meridians: Vec<String>,
}

const EXAMPLES: &str = "Example, at two thirds of a metre, which makes +1.50/-0.75x90:
  dioptray retinoscopy --distance 0.6667 --meridian 180:+2.25 --meridian 90:+3.00";

#[derive(Serialize)]
struct ReversalsJson {
    power: PowerJson,
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
        let gross = gross_power(reversal(first)?, reversal(second)?)?;
        let power = less_working_lens(gross, distance_m);
        if context.json {
            write_line(out, &ReversalsJson { power: power.into() })?;
        } else {
            writeln!(out, "gross         {}", text::power(gross))?;
            writeln!(out, "working lens  +{:.2}", working_lens(distance_m).0)?;
            writeln!(out, "power         {}", text::power(power))?;
        }
        Ok(Outcome::Done)
    }
}

fn reversal(written: &str) -> anyhow::Result<Reversal> {
    let Some((degrees, power)) = written.split_once(':') else {
        bail!("meridian {written}: write the swept meridian, a colon and the power, like 180:+2.25");
    };
    let at = || format!("meridian {written}");
    let meridian = Axis::nearest(parse_figure(degrees, &bounds::AXIS).with_context(at)?);
    let gross = parse_power(power).with_context(at)?;
    Ok(Reversal { meridian, gross: Dioptres(gross) })
}
