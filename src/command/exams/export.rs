//! `dioptray exam export`: the record of one exam for a printer or another program.

use std::io::{self, IsTerminal as _, Write};
use std::path::{Path, PathBuf};

use anyhow::bail;
use clap::Args;
use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use serde::Serialize;

use super::name::{ExamName, exam_name};
use super::records;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, note as say, values};
use crate::export::RecordForm;
use crate::export::form::Content;
use crate::export::saving::{Existing, save_all};

/// The arguments of `dioptray exam export`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Export {
    /// The number of the exam, or seat and number of one of another seat; `dioptray exam list` lists them.
    #[arg(value_name = "N", value_parser = exam_name)]
    exam: ExamName,
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
  dioptray exam export 14 --as dicom --out exam-14.dcm
  dioptray exam export lane3-14 --as pdf --out lane3-14.pdf

DICOM is a file with the refraction, and one beside it for each way in which acuities were read (exam-14-acuity-unaided.dcm). \
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
    #[serde(skip_serializing_if = "Option::is_none")]
    seat: Option<String>,
    r#as: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    file: Option<PathBuf>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    beside: Vec<PathBuf>,
    #[serde(skip_serializing_if = "Option::is_none")]
    text: Option<String>,
}

impl Export {
    /// Exports the record.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let (form, content) = (self.form, self.form.content());
        // a hyphen is standard output here as elsewhere
        let named = self.out.filter(|file| *file != Path::new("-"));
        if content == Content::Binary && named.is_none() && (context.json || io::stdout().is_terminal()) {
            bail!("{form} is neither for a terminal nor for JSON: name a file with --out FILE");
        }
        let record = records::writing(self.plus)?.record(&records::named(context, &self.exam)?);
        let files = form.files(&record)?;
        for note in form.falls_short(&record) {
            say(format_args!("{form}: {note}"));
        }
        let (exam, name, seat) = (record.exam, record.exam_name(), record.seat.clone());
        let answer = |file, beside, text| ExportedJson { exam, seat, r#as: form.name(), file, beside, text };
        if let Some(file) = named {
            let existing = if self.force { Existing::IsReplaced } else { Existing::Stays };
            let (file, beside) = save_all(&file, &files, existing)?;
            if context.json {
                write_line(out, &answer(Some(file), beside, None))?;
            } else {
                for file in std::iter::once(file).chain(beside) {
                    writeln!(out, "exam {name} as {form}: {}", file.display())?;
                }
            }
        } else if !files.beside.is_empty() {
            bail!("{form} makes {} files: name the first with --out FILE", files.beside.len() + 1);
        } else if context.json && content == Content::Text {
            write_line(out, &answer(None, Vec::new(), Some(String::from_utf8(files.first)?)))?;
        } else {
            out.write_all(&files.first)?;
        }
        Ok(Outcome::Done)
    }
}
