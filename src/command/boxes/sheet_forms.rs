//! In which form a sheet is written, and where.

use std::io::{self, IsTerminal as _, Write};
use std::path::{Path, PathBuf};

use anyhow::bail;
use clap::Args;
use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use serde::Serialize;

use super::asked::day;
use super::stock_take::with_frames;
use crate::command::files::BoxAsItIs;
use crate::command::json::write_line;
use crate::command::{Context, values};
use crate::export::form::Content;
use crate::export::saving::{Existing, refuse_unsavable, save};
use crate::export::table::json::TableJson;
use crate::export::table::{Table, TableForm};
use crate::kit::Tray;
use crate::session::writing::zone_here;
use crate::sheets::{OfBox, SheetKind};

/// The form of a sheet, its day, and its file.
#[derive(Debug, Args)]
pub struct SheetOut {
    /// The form; where none is named that of the file, by the end of its name, or else text.
    #[arg(long = "as", value_name = "FORM", value_parser = forms())]
    form: Option<TableForm>,
    /// The file to write, whole or not at all; without it, or with `-`, standard output.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    out: Option<PathBuf>,
    /// Replace the file if there is one already.
    #[arg(long, requires = "out")]
    force: bool,
    /// The day of the sheet, where that is not today, like 2026-12-24.
    #[arg(long, value_name = "DAY", value_parser = day)]
    on: Option<Date>,
}

fn forms() -> impl TypedValueParser<Value = TableForm> {
    let names = TableForm::ALL.iter().map(|form| PossibleValue::new(form.name()).help(form.about()));
    PossibleValuesParser::new(names.collect::<Vec<_>>())
        .try_map(|name| TableForm::ALL.into_iter().find(|form| form.name() == name).ok_or("is not a form"))
}

#[derive(Serialize)]
struct SheetJson<'a> {
    sheet: &'a str,
    r#box: &'a str,
    #[serde(flatten)]
    table: TableJson,
}

#[derive(Serialize)]
struct WrittenJson<'a> {
    sheet: &'a str,
    r#box: &'a str,
    r#as: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    file: Option<PathBuf>,
    #[serde(skip_serializing_if = "Option::is_none")]
    text: Option<String>,
}

impl SheetOut {
    fn file(&self) -> Option<&Path> {
        self.out.as_deref().filter(|file| *file != Path::new("-"))
    }

    fn form(&self) -> TableForm {
        let of_file = self.file().and_then(TableForm::of_file);
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

    /// Makes a sheet of a box and writes it.
    pub fn write(
        &self,
        context: &Context,
        kind: SheetKind,
        mut chosen: BoxAsItIs,
        out: &mut dyn Write,
        make: impl FnOnce(&OfBox<'_>) -> anyhow::Result<Table>,
    ) -> anyhow::Result<()> {
        let name = kind.name();
        chosen.record.stock = with_frames(context, &chosen)?;
        let tray = Tray::of(&chosen.declared.tray, &chosen.record.stock);
        let zone = zone_here().unwrap_or(TimeZone::UTC);
        let on = self.on.unwrap_or_else(|| Timestamp::now().to_zoned_datetime(zone.clone()).date());
        let table =
            make(&OfBox { record: &chosen.record, own_marks: chosen.record.own_marks(), tray: &tray, on, zone })?;
        let (form, r#box) = (self.form(), chosen.named.name.as_str());
        if context.json && self.form.is_none() && self.file().is_none() {
            write_line(out, &SheetJson { sheet: name, r#box, table: TableJson::from(&table) })?;
            return Ok(());
        }
        let bytes = form.write(&table)?;
        let answer = |file, text| WrittenJson { sheet: name, r#box, r#as: form.name(), file, text };
        if let Some(file) = self.file() {
            let file = save(file, &bytes, self.existing())?;
            if context.json {
                write_line(out, &answer(Some(file), None))?;
            } else {
                writeln!(out, "{}: {name} as {form}: {}", r#box, file.display())?;
            }
        } else if context.json {
            write_line(out, &answer(None, Some(String::from_utf8(bytes)?)))?;
        } else {
            out.write_all(&bytes)?;
        }
        Ok(())
    }
}
