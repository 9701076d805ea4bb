//! What was answered: rows for people, fields for programs.

use std::io::Write;

use serde::Serialize;

use crate::command::json::{FormJson, PowerJson, PrismJson, SplitJson, write_line};
use crate::command::working::Working;

/// An answer as it is shown.
pub struct Answer {
    /// What stands in each row, and its name.
    pub rows: Vec<(&'static str, String)>,
    /// The same for programs.
    pub json: AnswerJson,
}

/// The fields of an answer.
#[derive(Serialize)]
#[serde(untagged)]
pub enum AnswerJson {
    /// A prescription.
    Power {
        power: PowerJson,
        #[serde(skip_serializing_if = "Option::is_none")]
        plus_form: Option<FormJson>,
        nearest_quarter: String,
        cross: [ArmJson; 2],
    },
    /// The power along one meridian, in dioptres.
    Along { along: f64 },
    /// What one prescription leaves of another.
    Residual {
        power: PowerJson,
        #[serde(skip_serializing_if = "Option::is_none")]
        plus_form: Option<FormJson>,
        score: f64,
    },
    /// The prism before one eye, and what it does with that before the other.
    Prism {
        prism: PrismJson,
        #[serde(skip_serializing_if = "Option::is_none")]
        other: Option<PrismJson>,
        #[serde(skip_serializing_if = "Option::is_none")]
        apart: Option<PrismJson>,
        #[serde(skip_serializing_if = "Option::is_none")]
        split: Option<SplitJson>,
    },
    /// What an eye must accommodate, in dioptres, behind these glasses and with none.
    Accommodation { accommodation: f64, power: PowerJson, without_glasses: f64 },
    /// How far centres may be off.
    Centres { centres: CentresJson },
}

/// One arm of an optical cross.
#[derive(Serialize)]
pub struct ArmJson {
    pub meridian: f64,
    pub power: f64,
}

/// Limits in millimetres; none where there is no power.
#[derive(Serialize)]
pub struct CentresJson {
    pub horizontal_mm: Option<f64>,
    pub vertical_mm: Option<f64>,
}

#[derive(Serialize)]
struct WithWorking<'a> {
    #[serde(flatten)]
    answer: &'a AnswerJson,
    #[serde(skip_serializing_if = "Option::is_none")]
    working: Option<&'a [String]>,
}

impl Answer {
    /// Writes it, with its steps where these are asked for.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn write(&self, out: &mut dyn Write, json: bool, working: Option<&Working>) -> anyhow::Result<()> {
        if json {
            write_line(out, &WithWorking { answer: &self.json, working: working.map(Working::steps) })?;
            return Ok(());
        }
        if let Some(working) = working {
            working.write(out)?;
        }
        for (name, said) in &self.rows {
            writeln!(out, "{name:<15}  {said}")?;
        }
        Ok(())
    }
}
