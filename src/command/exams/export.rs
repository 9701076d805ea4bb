//! `dioptray exam export`: the record of one exam for a printer or another program.

use std::io::{self, IsTerminal as _, Write};
use std::path::PathBuf;

use anyhow::bail;
use clap::{Args, ValueEnum};
use serde::Serialize;

use super::records;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::export::RecordForm;
use crate::export::saving::{Existing, save};

/// The arguments of `dioptray exam export`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Export {
    /// The number of the exam; `dioptray exam list` tells them.
    #[arg(value_name = "N")]
    number: u64,
    /// The form.
    #[arg(long = "as", value_enum, value_name = "FORM")]
    form: FormName,
    /// The file to write, whole or not at all; without it, standard output.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    out: Option<PathBuf>,
    /// Replace the file if there is one already.
    #[arg(long, requires = "out")]
    force: bool,
    /// Write the prescription with plus cylinders.
    #[arg(long)]
    plus: bool,
}

const EXAMPLES: &str = "Examples:
  dioptray exam export 14 --as card
  dioptray exam export 14 --as pdf --out exam-14.pdf
  dioptray exam export 14 --as fhir --out exam-14.json

FHIR is a Bundle (collection) with Patient (label only), VisionPrescription and Observations. Files are readable by their \
owner only.";

/// A form on the command line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum FormName {
    /// A card in plain text, 72 columns.
    Card,
    /// The same on A4 pages.
    Pdf,
    /// A FHIR bundle, release 5.
    Fhir,
    /// A FHIR bundle, release 4B.
    FhirR4b,
    /// A table for spreadsheets, one row per eye.
    Csv,
    /// Everything in full precision.
    Json,
}

impl From<FormName> for RecordForm {
    fn from(name: FormName) -> Self {
        match name {
            FormName::Card => Self::Card,
            FormName::Pdf => Self::Pdf,
            FormName::Fhir => Self::Fhir,
            FormName::FhirR4b => Self::FhirR4b,
            FormName::Csv => Self::Csv,
            FormName::Json => Self::Json,
        }
    }
}

#[derive(Serialize)]
struct Answer {
    exam: u64,
    r#as: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    file: Option<PathBuf>,
    #[serde(skip_serializing_if = "Option::is_none")]
    text: Option<String>,
}

impl Export {
    /// Exports the record.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let form = RecordForm::from(self.form);
        if form == RecordForm::Pdf && self.out.is_none() && (context.json || io::stdout().is_terminal()) {
            bail!("pages are not for a terminal, nor for JSON: name a file with --out FILE");
        }
        let record = records::writing(self.plus)?.record(&records::exam(context, self.number)?);
        let bytes = form.write(&record)?;
        let name = self.form.to_possible_value().map(|value| value.get_name().to_owned()).unwrap_or_default();
        let answer = |file, text| Answer { exam: record.exam, r#as: name.clone(), file, text };
        if let Some(file) = self.out {
            let existing = if self.force { Existing::IsReplaced } else { Existing::Stays };
            let file = save(&file, &bytes, existing)?;
            if context.json {
                write_line(out, &answer(Some(file), None))?;
            } else {
                writeln!(out, "exam {} as {name}: {}", record.exam, file.display())?;
            }
        } else if context.json && matches!(form, RecordForm::Card | RecordForm::Csv) {
            write_line(out, &answer(None, Some(String::from_utf8(bytes)?)))?;
        } else {
            out.write_all(&bytes)?;
        }
        Ok(Outcome::Done)
    }
}
