//! `dioptray acuity`: one acuity in every notation.

use std::io::Write;

use clap::Args;
use clap::builder::{PossibleValuesParser, TypedValueParser};
use serde::Serialize;

use super::json::write_line;
use super::{CAUTION, Context, Outcome, values};
use crate::optics::notation::Style;
use crate::optics::{Acuity, AcuityNotation, bounds};
use crate::screen::settings::Settings;

/// The arguments of `dioptray acuity`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Acuities {
    /// The acuity: 6/12-2, 20/40, 3/60, 4/8, "0.5 decimal", 0.3logMAR, "85 letters", CF, HM, PL, NPL; or a bare number.
    #[arg(value_name = "TEXT", num_args = 1.., required = true, value_parser = values::text())]
    text: Vec<String>,
    /// In which notation a bare number is; by default that of your settings.
    #[arg(long, value_name = "NOTATION", value_parser = notations())]
    notation: Option<AcuityNotation>,
}

const EXAMPLES: &str = "Examples:
  dioptray acuity 3/60                    1.30logMAR, 20 letters, 6/120, 20/400
  dioptray acuity 85 letters              6/6, 20/20
  dioptray acuity 0.3 --notation logMAR   6/12
  dioptray acuity CF                      counting fingers has no figure

A score of letters is 85 - 50 logMAR (ETDRS): 85 letters are 20/20, 70 letters 20/40; none is below 0. In JSON, \"log_mar\", \"letters\" and \"decimal\" are numbers, \"six_m\" and \"twenty_ft\" texts; all are null where no letter is read, and \"word\" says what is seen.";

/// The acuity in every notation; letters missed or gained are counted in the figures.
#[derive(Serialize)]
struct AcuityJson {
    log_mar: Option<f64>,
    letters: Option<f64>,
    decimal: Option<f64>,
    six_m: Option<String>,
    twenty_ft: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    word: Option<&'static str>,
}

impl Acuities {
    /// Converts.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let notation = match self.notation {
            Some(notation) => notation,
            None => Settings::own()?.acuity,
        };
        let read = Acuity::read(&self.text.join(" "), notation, None)?;
        // as a line that has the letters in it
        let whole = read.mar().map(|mar| Acuity::Line { mar, letters: 0 });
        let written = |notation| whole.map(|whole| whole.write(notation, Style::Ascii));
        if context.json {
            let answer = AcuityJson {
                log_mar: read.log_mar(),
                letters: read.letter_score(),
                decimal: read.mar().map(|mar| 1.0 / mar),
                six_m: written(AcuityNotation::SixMetres),
                twenty_ft: written(AcuityNotation::TwentyFeet),
                word: read.without_letters(),
            };
            write_line(out, &answer)?;
            return Ok(Outcome::Done);
        }
        if let Some(word) = read.without_letters() {
            writeln!(out, "{word}: no figure is agreed on for it")?;
            return Ok(Outcome::Done);
        }
        let has_score = read.letter_score().is_some_and(|score| bounds::LETTER_SCORE.contains(score.round()));
        for notation in AcuityNotation::ALL.iter().filter(|of| has_score || **of != AcuityNotation::Letters) {
            writeln!(out, "{:<8}  {}", notation.name(), written(*notation).unwrap_or_default())?;
        }
        Ok(Outcome::Done)
    }
}

fn notations() -> impl TypedValueParser<Value = AcuityNotation> {
    PossibleValuesParser::new(AcuityNotation::ALL.iter().map(|notation| notation.name()))
        .try_map(|name| AcuityNotation::named(&name).ok_or("is not a notation"))
}
