//! In which form a table is written, and where.

use std::io::{self, IsTerminal as _, Write};
use std::path::{Path, PathBuf};

use anyhow::bail;
use clap::Args;
use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use serde::Serialize;

use super::json::write_line;
use super::{Context, values};
use crate::export::form::Content;
use crate::export::saving::{Existing, refuse_unsavable, save};
use crate::export::table::json::TableJson;
use crate::export::table::{Table, TableForm};

/// The form of a table, and its file.
#[derive(Debug, Args)]
pub struct TableOut {
    /// The form; where none is named that of the file, by the end of its name, or else text.
    #[arg(long = "as", value_name = "FORM", value_parser = forms())]
    form: Option<TableForm>,
    /// The file to write, whole or not at all; without it, or with `-`, standard output.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    out: Option<PathBuf>,
    /// Replace the file if there is one already.
    #[arg(long, requires = "out")]
    force: bool,
}

fn forms() -> impl TypedValueParser<Value = TableForm> {
    let names = TableForm::ALL.iter().map(|form| PossibleValue::new(form.name()).help(form.about()));
    PossibleValuesParser::new(names.collect::<Vec<_>>())
        .try_map(|name| TableForm::ALL.into_iter().find(|form| form.name() == name).ok_or("is not a form"))
}

#[derive(Serialize)]
struct SheetJson<'a> {
    sheet: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    r#box: Option<&'a str>,
    #[serde(flatten)]
    table: TableJson,
}

#[derive(Serialize)]
struct WrittenJson<'a> {
    sheet: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    r#box: Option<&'a str>,
    r#as: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    file: Option<PathBuf>,
    #[serde(skip_serializing_if = "Option::is_none")]
    text: Option<String>,
}

impl TableOut {
    /// In this form, or that of the file; into this file, or on standard output.
    pub fn new(form: Option<TableForm>, out: Option<PathBuf>, force: bool) -> Self {
        Self { form, out, force }
    }

    fn file(&self) -> Option<&Path> {
        self.out.as_deref().filter(|file| *file != Path::new("-"))
    }

    fn form(&self) -> TableForm {
        let ending = self.file().and_then(Path::extension).and_then(|ending| ending.to_str()).map(str::to_lowercase);
        let of_file = TableForm::ALL.into_iter().find(|form| ending.as_deref() == Some(form.name()));
        self.form.or(of_file).unwrap_or(TableForm::Text)
    }

    fn existing(&self) -> Existing {
        if self.force { Existing::IsReplaced } else { Existing::Stays }
    }

    /// Refuses before the work what could not be written after it.
    pub fn refuse_early(&self, context: &Context) -> anyhow::Result<()> {
        let form = self.form();
        match self.file() {
            Some(file) => refuse_unsavable(file, self.existing())?,
            None if form.content() == Content::Binary && (context.json || io::stdout().is_terminal()) => {
                bail!("{form} is neither for a terminal nor for JSON: name a file with --out FILE");
            }
            None => {}
        }
        Ok(())
    }

    /// Writes a table, of a box where one is named.
    pub fn write(
        &self,
        context: &Context,
        name: &str,
        of_box: Option<&str>,
        table: &Table,
        out: &mut dyn Write,
    ) -> anyhow::Result<()> {
        let form = self.form();
        if context.json && self.form.is_none() && self.file().is_none() {
            write_line(out, &SheetJson { sheet: name, r#box: of_box, table: TableJson::from(table) })?;
            return Ok(());
        }
        let bytes = form.write(table)?;
        let answer = |file, text| WrittenJson { sheet: name, r#box: of_box, r#as: form.name(), file, text };
        if let Some(file) = self.file() {
            let file = save(file, &bytes, self.existing())?;
            if context.json {
                write_line(out, &answer(Some(file), None))?;
            } else {
                let of_box = of_box.map(|of_box| format!("{of_box}: ")).unwrap_or_default();
                writeln!(out, "{of_box}{name} as {form}: {}", file.display())?;
            }
        } else if context.json {
            write_line(out, &answer(None, Some(String::from_utf8(bytes)?)))?;
        } else {
            out.write_all(&bytes)?;
        }
        Ok(())
    }
}
