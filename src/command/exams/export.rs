//! `dioptray exam export`: the record of one exam for a printer or another program.

use std::io::{self, IsTerminal as _, Write};
use std::path::PathBuf;

use anyhow::bail;
use clap::Args;
use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use serde::Serialize;

use super::records;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::export::RecordForm;
use crate::export::form::Content;
use crate::export::saving::{Existing, save};

/// The arguments of `dioptray exam export`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Export {
    /// The number of the exam; `dioptray exam list` lists them.
    #[arg(value_name = "N")]
    number: u64,
    /// The form.
    #[arg(long = "as", value_name = "FORM", value_parser = forms())]
    form: RecordForm,
    /// The file to write, whole or not at all; without it, or with `-`, standard output.
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

fn forms() -> impl TypedValueParser<Value = RecordForm> {
    let names = RecordForm::ALL.iter().map(|form| PossibleValue::new(form.name()).help(form.about()));
    PossibleValuesParser::new(names.collect::<Vec<_>>())
        .try_map(|name| RecordForm::ALL.iter().copied().find(|form| form.name() == name).ok_or("is not a form"))
}

#[derive(Serialize)]
struct ExportedJson {
    exam: u64,
    r#as: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    file: Option<PathBuf>,
    #[serde(skip_serializing_if = "Option::is_none")]
    text: Option<String>,
}

impl Export {
    /// Exports the record.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let (form, content) = (self.form, self.form.content());
        let to = self.out.filter(|file| file.as_os_str() != "-");
        if content == Content::Binary && to.is_none() && (context.json || io::stdout().is_terminal()) {
            bail!("pages are not for a terminal, nor for JSON: name a file with --out FILE");
        }
        let record = records::writing(self.plus)?.record(&records::exam(context, self.number)?);
        let bytes = form.write(&record)?;
        let answer = |file, text| ExportedJson { exam: record.exam, r#as: form.name(), file, text };
        if let Some(file) = to {
            let existing = if self.force { Existing::IsReplaced } else { Existing::Stays };
            let file = save(&file, &bytes, existing)?;
            if context.json {
                write_line(out, &answer(Some(file), None))?;
            } else {
                writeln!(out, "exam {} as {form}: {}", record.exam, file.display())?;
            }
        } else if context.json && content == Content::Text {
            write_line(out, &answer(None, Some(String::from_utf8(bytes)?)))?;
        } else {
            out.write_all(&bytes)?;
        }
        Ok(Outcome::Done)
    }
}
