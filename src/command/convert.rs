//! `dioptray convert`: transposition and vertex distance.

use std::io::Write;

use anyhow::bail;
use clap::Args;
use serde::Serialize;

use super::json::{FormJson, PowerJson, write_line};
use super::{CAUTION, Context, Outcome, values};
use crate::optics::notation::{Style, parse_figure, parse_prescription, write_prescription};
use crate::optics::quarter::nearest_quarter;
use crate::optics::vergence::at_vertex;
use crate::optics::{Millimetres, Power, SpheroCylinder, bounds};

/// The arguments of `dioptray convert`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Convert {
    /// The prescription, with a minus or a plus cylinder: -4.25/-0.75x180, "-4.25 -0.75 x 180", plano/-1.00x90, -4.25.
    #[arg(value_name = "RX", value_parser = values::text())]
    prescription: String,
    /// Vertex distance it is made for, in millimetres, 0 to 40.
    #[arg(long, value_name = "MM", default_value = "0", value_parser = values::figure, hide_default_value = true)]
    from: String,
    /// Vertex distance to move it to, in millimetres, 0 to 40. Either one left out is 0, the cornea.
    #[arg(long, value_name = "MM", default_value = "0", value_parser = values::figure, hide_default_value = true)]
    to: String,
    /// Write it with a plus cylinder. In JSON, "power" stays in minus-cylinder form and "plus_form" is added.
    #[arg(long)]
    plus: bool,
}

const EXAMPLES: &str = "Examples:
  dioptray convert +2.50/-1.50x170 --plus       +1.00/+1.50x80
  dioptray convert -10.00 --from 12 --to 0      at the cornea
  dioptray convert -9.00/-2.00x180 --from 12 --to 14

The nearest quarter is the prescription on the quarter-dioptre grid, axis in whole degrees, that misses the power least.";

#[derive(Serialize)]
struct ConvertedJson {
    power: PowerJson,
    #[serde(skip_serializing_if = "Option::is_none")]
    plus_form: Option<FormJson>,
    nearest_quarter: String,
}

impl Convert {
    /// Converts.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let written = parse_prescription(&self.prescription)?;
        let from = Millimetres(parse_figure(&self.from, &bounds::VERTEX_MM)?);
        let to = Millimetres(parse_figure(&self.to, &bounds::VERTEX_MM)?);
        let power = at_vertex(written.power(), from, to);
        if !power.is_finite() {
            bail!("a lens of this power has its focus exactly there: no lens at {} mm does the same", to.0);
        }
        let quarter = self.in_form(nearest_quarter(power, 1));
        let nearest_quarter = write_prescription(quarter, Style::Ascii);
        if context.json {
            let plus_form = self.plus.then(|| power.plus_form().into());
            write_line(out, &ConvertedJson { power: power.into(), plus_form, nearest_quarter })?;
        } else {
            writeln!(out, "power            {}", write_prescription(self.form_of(power), Style::Ascii))?;
            writeln!(out, "nearest quarter  {nearest_quarter}")?;
        }
        Ok(Outcome::Done)
    }

    fn form_of(&self, power: Power) -> SpheroCylinder {
        self.in_form(power.minus_form())
    }

    fn in_form(&self, minus: SpheroCylinder) -> SpheroCylinder {
        if self.plus { minus.transposed() } else { minus }
    }
}
