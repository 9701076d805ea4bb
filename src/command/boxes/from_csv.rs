//! `dioptray box from-csv`: a box file from a keeper's spreadsheet.

use std::io::Write;
use std::path::PathBuf;

use anyhow::{Context as _, anyhow, bail};
use clap::Args;
use serde::Serialize;
use uuid::Uuid;

use super::asked::in_one_line;
use super::lenses::further_lens;
use super::sheet::{Columns, Sheet, SheetFaults, SheetRow};
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, note, values};
use crate::export::saving::{Existing, save};
use crate::kit::document::fault::{counted, quoted};
use crate::kit::document::name::{LONGEST_NAME, fresh_id};
use crate::kit::file::write_box;
use crate::kit::{DeclaredBox, Doubt, Lens, LensForm, LensLine, Measured, Piece, PoweredKind, Rims, Stock};
use crate::optics::notation::parse_figure;

/// The arguments of `dioptray box from-csv`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct FromCsv {
    /// The spreadsheet, saved as CSV.
    #[arg(value_name = "SHEET", value_parser = values::path())]
    sheet: PathBuf,
    /// What the box is called.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    name: String,
    /// Where the box file is written; without it, it is the answer.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    out: Option<PathBuf>,
    /// Write over a file that is there.
    #[arg(long, requires = "out")]
    force: bool,
    /// What a column of the sheet is: `lens=Glas` takes the column `Glas` for `lens`. May be given several times.
    #[arg(long = "column", value_name = "COLUMN=NAME", value_parser = values::text())]
    columns: Vec<String>,
}

const EXAMPLES: &str = "Example:
  dioptray box from-csv box.csv --name \"Hillside\" --out box.yaml

The first line names the columns: `lens` (like -1.50 sphere), or `kind` and `power`; `pieces`, how many there should be; and, where \
there are such columns, `missing`, how many of them are not there, and `measured`, the power of the first piece. Other columns are \
passed over. A line with 0 pieces declares nothing.";

/// The columns of a keeper's sheet.
const COLUMNS: Columns<'static> =
    Columns { needed: &["pieces"], optional: &["lens", "kind", "power", "missing", "measured"] };

#[derive(Serialize)]
struct MadeJson {
    r#box: String,
    id: String,
    file: Option<String>,
    lenses: usize,
    pieces: usize,
}

impl FromCsv {
    /// Makes it.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let name = in_one_line("--name", &self.name, LONGEST_NAME)?;
        if context.json && self.out.is_none() {
            bail!("--json says what was made: name the file with --out");
        }
        let named = self.columns.iter().map(|column| {
            let (column, called) = column
                .split_once('=')
                .with_context(|| format!("--column {}: write it like lens=Glas", quoted(column)))?;
            Ok((column.trim().to_lowercase(), called.trim().to_lowercase()))
        });
        let named: Vec<(String, String)> = named.collect::<anyhow::Result<_>>()?;
        let (sheet, others) = Sheet::read_mapped(&self.sheet, &COLUMNS, &named)?;
        if !others.is_empty() {
            note(format_args!("{}: columns that are passed over: {}", self.sheet.display(), others.join(", ")));
        }
        let declared = declared(&sheet, name)?;
        let text = write_box(&declared, None);
        let pieces = declared.lines.iter().map(|line| usize::from(line.declared)).sum();
        let Some(file) = self.out else {
            out.write_all(text.as_bytes())?;
            return Ok(Outcome::Done);
        };
        let existing = if self.force { Existing::IsReplaced } else { Existing::Stays };
        let file = save(&file, text.as_bytes(), existing)?;
        let (id, lenses) = (declared.id.unwrap_or_default(), declared.lines.len());
        if context.json {
            let file = Some(file.display().to_string());
            write_line(out, &MadeJson { r#box: declared.name, id, file, lenses, pieces })?;
        } else {
            let (lenses, pieces) = (counted(lenses, "lens", "lenses"), counted(pieces, "piece", "pieces"));
            writeln!(out, "{}: {}: id {id}, {lenses}, {pieces}", file.display(), declared.name)?;
        }
        Ok(Outcome::Done)
    }
}

/// What a line of the sheet declares.
struct Line {
    lens: LensLine,
    measured: Option<f64>,
}

fn declared(sheet: &Sheet, name: String) -> anyhow::Result<DeclaredBox> {
    let id = fresh_id(&name, Uuid::new_v4());
    let mut declared = DeclaredBox {
        name,
        id: Some(id),
        note: None,
        form: LensForm::default(),
        rims: Rims::default(),
        lines: Vec::new(),
        measured: Vec::new(),
        tray: Vec::new(),
    };
    let mut faults = SheetFaults::of_sheet(sheet.name());
    let mut at: Vec<(Lens, u64)> = Vec::new();
    for row in &sheet.rows {
        match of_row(sheet, row) {
            Ok(None) => {}
            Ok(Some(Line { lens, measured })) => {
                if let Some((_, first)) = at.iter().find(|(known, _)| *known == lens.lens) {
                    faults.add(
                        row.line,
                        format_args!("{} stands here a second time: the first is on line {first}", lens.lens),
                    );
                    continue;
                }
                at.push((lens.lens.clone(), row.line));
                let piece = Piece { lens: lens.lens.clone(), number: 1 };
                declared.measured.extend(measured.map(|power| Measured { piece, power, note: None }));
                declared.lines.push(lens);
            }
            Err(why) => faults.add(row.line, format_args!("{why:#}")),
        }
    }
    faults.found()?;
    if declared.lines.is_empty() {
        bail!("no line of this sheet declares a lens: no box was made");
    }
    Ok(declared)
}

fn of_row(sheet: &Sheet, row: &SheetRow) -> anyhow::Result<Option<Line>> {
    let lens = lens_of(sheet, row)?;
    let pieces = sheet
        .count(row, "pieces")?
        .ok_or_else(|| anyhow!("`pieces` is empty: write how many there should be, 0 if none"))?;
    let missing = sheet.count(row, "missing")?.unwrap_or(0);
    if missing > pieces {
        bail!("{missing} of {lens} are missing, but there should be {pieces}");
    }
    let measured = sheet.cell(row, "measured").map(|text| {
        let range = lens.power_range().ok_or_else(|| anyhow!("{lens} has no power that could be measured"))?;
        let power = parse_figure(text, &range.measured()).context("measured")?;
        if missing == pieces {
            bail!("every piece of {lens} is missing, so none can be measured");
        }
        match Doubt::of(lens.mark().unwrap_or_default(), power) {
            Some(doubt) => {
                bail!("{lens}: {doubt}: measure it again, and note it with `box change measured` and --sure")
            }
            None => Ok(power),
        }
    });
    let measured = measured.transpose()?;
    Ok((pieces > 0).then_some(Line { lens: LensLine { lens, declared: pieces, missing }, measured }))
}

fn lens_of(sheet: &Sheet, row: &SheetRow) -> anyhow::Result<Lens> {
    let cell = |column| sheet.cell(row, column);
    let label = match (cell("lens"), cell("kind"), cell("power")) {
        (Some(lens), None, None) => lens.to_owned(),
        (None, Some(kind), Some(power)) => {
            let kind = kind.to_lowercase();
            let kind = kind.strip_suffix('s').filter(|kind| PoweredKind::named(kind).is_some()).unwrap_or(&kind);
            let plain = power.trim_end_matches(['D', 'd']).trim();
            format!("{plain} {kind}")
        }
        (None, Some(kind), None) => kind.to_lowercase(),
        (None, None, _) => bail!("no lens is named: fill in `lens`, or `kind` and `power`"),
        (Some(_), _, _) => bail!("`lens` and `kind` or `power` both say what it is: leave one of them empty"),
    };
    let lens: Lens = label.parse().map_err(|why| {
        let lacks_sign = format!("+{label}").parse::<Lens>().is_ok();
        if lacks_sign {
            anyhow!("{} has no sign: write +{label} or -{label}", quoted(&label))
        } else {
            anyhow!("{why}")
        }
    })?;
    let empty = DeclaredBox {
        name: String::new(),
        id: None,
        note: None,
        form: LensForm::default(),
        rims: Rims::default(),
        lines: Vec::new(),
        measured: Vec::new(),
        tray: Vec::new(),
    };
    further_lens(&lens, &Stock::of(&empty))?;
    Ok(lens)
}
