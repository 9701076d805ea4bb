//! `dioptray box change`: what happened to lenses, as one entry in the logbook.

use std::io::Write;
use std::path::PathBuf;

use anyhow::{Context as _, bail};
use clap::Args;
use clap::error::ErrorKind;
use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;

use super::asked::{Around, LONGEST_NOTE, Said, Targets, What, changes, day, in_one_line};
use super::chosen::{BoxToNote, open_logbook};
use super::lenses::{meant, read};
use super::sheet::{Columns, Sheet, SheetFaults, SheetRow};
use crate::command::context::WrongUsage;
use crate::command::exams::records::examiner;
use crate::command::files::{BoxAsItIs, logbook_to_read};
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, note, values};
use crate::kit::{BoxChange, Lens, Measurement, Tray};
use crate::logbook::{Logbook, NamedBox, NewChanges, Noted};
use crate::optics::bounds;
use crate::optics::notation::parse_figure;

/// The arguments of `dioptray box change`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Change {
    #[command(flatten)]
    which: BoxToNote,
    #[command(flatten)]
    more: More,
    /// What is to be remembered of it; of damage: what is the matter.
    #[arg(long, value_name = "TEXT", value_parser = values::text())]
    note: Option<String>,
    /// Who reports the change; if not given, `examiner` in the settings.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    by: Option<String>,
    /// Note it although a measured power is far from the mark, or the same was noted of such lenses within the last minute.
    #[arg(long)]
    sure: bool,
    /// A sheet with what happened: CSV with the head `event,lens,to,until,power,note`; all of it is noted or nothing.
    #[arg(long = "from", value_name = "SHEET", conflicts_with_all = ["what", "lens"], value_parser = values::path())]
    sheet: Option<PathBuf>,
    /// What happened.
    #[arg(required_unless_present = "sheet")]
    what: Option<What>,
    /// The lenses: "-1.50 sphere", two of them "-1.50 sphere x2", one piece "-1.50 sphere #2", one of each of a series "+0.25 to
    /// +1.00 by 0.25 sphere", a whole row of the tray "row NAME"; after `measured` one lens and its power, after
    /// `marked` one lens and its mark.
    ///
    /// Without a number the first pieces are meant to which it can have happened.
    #[arg(required_unless_present = "sheet", value_name = "LENS", value_parser = values::text())]
    lens: Vec<String>,
}

const EXAMPLES: &str = "Examples:
  dioptray box change --box box.yaml lost \"-1.50 sphere x2\" \"+3.25 sphere\"
  dioptray box change --box box.yaml lent \"+2.00 sphere #2\" --to \"Clinic 3\" --until 2026-12-24
  dioptray box change --box box.yaml measured \"-6.00 sphere #1\" -5.87
  dioptray box change --box box.yaml marked \"-3.00 sphere #2\" \"white dot\"
  dioptray box change --box box.yaml moved \"-3.00 sphere\" --to hillside-bag-1
  dioptray box change --box box.yaml --from what-happened.csv

All of it is noted or nothing. `box undo` takes it back.";

/// What more can be said of a change; each belongs to some changes only.
#[derive(Debug, Args)]
struct More {
    /// To whom lenses are lent; the id or the file of the box that they move to.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    to: Option<String>,
    /// The day by which lent lenses should be back, like 2026-12-24.
    #[arg(long, value_name = "DAY", value_parser = day)]
    until: Option<Date>,
    /// How many degrees the axis of a measured lens is off the lines on its rim.
    #[arg(long, value_name = "DEGREES", value_parser = values::figure)]
    axis_off: Option<String>,
    /// A prism that a measured lens should not have, in prism dioptres.
    #[arg(long, value_name = "AMOUNT", value_parser = values::figure)]
    prism: Option<String>,
    /// The day of the measurement, where that is not today.
    #[arg(long, value_name = "DAY", value_parser = day)]
    on: Option<Date>,
    /// With which instrument it was measured.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    instrument: Option<String>,
}

impl More {
    /// What was said, taken apart so that nothing can be said that no change asks for.
    fn said(&self) -> Vec<&'static str> {
        let Self { to, until, axis_off, prism, on, instrument } = self;
        let said = [
            ("--to", to.is_some()),
            ("--until", until.is_some()),
            ("--axis-off", axis_off.is_some()),
            ("--prism", prism.is_some()),
            ("--on", on.is_some()),
            ("--instrument", instrument.is_some()),
        ];
        said.into_iter().filter(|(_, said)| *said).map(|(option, _)| option).collect()
    }

    /// What was measured beside the power.
    fn measurement(&self) -> anyhow::Result<Measurement> {
        let figure = |text: &Option<String>, row, option: &'static str| {
            text.as_deref().map(|text| parse_figure(text, row).context(option)).transpose()
        };
        let instrument = self.instrument.as_deref();
        Ok(Measurement {
            axis_off_deg: figure(&self.axis_off, &bounds::AXIS_OFF, "--axis-off")?,
            prism: figure(&self.prism, &bounds::PRISM.measured(), "--prism")?,
            on: self.on,
            instrument: instrument
                .map(|text| in_one_line("--instrument", text, super::asked::LONGEST_NAME))
                .transpose()?,
            ..Measurement::default()
        })
    }
}

/// The columns of a sheet of events.
const COLUMNS: Columns<'static> = Columns { needed: &["event", "lens"], optional: &["to", "until", "power", "note"] };

#[derive(Serialize)]
struct ChangedJson<'a> {
    r#box: &'a str,
    change: &'a str,
    piece: String,
}

#[derive(Serialize)]
struct AllChangedJson<'a> {
    r#box: &'a str,
    changes: Vec<OneChangedJson<'a>>,
}

#[derive(Serialize)]
struct OneChangedJson<'a> {
    change: &'a str,
    piece: String,
}

impl Change {
    /// Notes the changes.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        if let Some(what) = self.what
            && let Some(option) = self.more.said().into_iter().find(|option| !what.takes().contains(option))
        {
            return Err(belongs_elsewhere(option).into());
        }
        if let Some(option) = self.more.said().first().filter(|_| self.sheet.is_some()) {
            let message = format!("{option} stands in the sheet, where --from names one");
            return Err(WrongUsage { kind: ErrorKind::ArgumentConflict, message }.into());
        }
        let Self { which, more, note: text, by, sure, sheet, what, lens } = self;
        let text = text.as_deref().map(|text| in_one_line("--note", text, LONGEST_NOTE)).transpose()?;
        let chosen = which.read(context)?;
        let read_only = logbook_to_read(context)?;
        let in_frames = match &read_only {
            Some(logbook) => logbook.before_eyes(&chosen.named.key)?,
            None => Vec::new(),
        };
        let around = Around { logbook: read_only.as_ref(), in_frames: &in_frames, sure };
        let mut targets = Targets::default();
        let tray = Tray::of(&chosen.declared.tray, &chosen.record.stock);
        let changes = match (&sheet, what) {
            (Some(sheet), _) => from_sheet(sheet, &chosen, &tray, &around, &mut targets)?,
            (None, Some(what)) => {
                let (words, last) = with_last_word(what, &lens)?;
                let meant = meant(words, &chosen.record.stock, &tray, what.brings_a_further())?;
                let said = Said {
                    to: more.to.clone(),
                    until: more.until,
                    power: last.filter(|_| what.has_a_power()).cloned(),
                    own_mark: last.filter(|_| what.has_a_mark()).cloned(),
                    measurement: more.measurement()?,
                    note: text.clone(),
                };
                changes(what, &meant, &said, &chosen.record.stock, &around, &mut targets)?
            }
            (None, None) => Vec::new(),
        };
        let text = text.filter(|_| what.is_none_or(|what| !what.has_the_note_in_it()));
        drop(read_only);
        let now = Timestamp::now();
        let mut logbook = open_logbook(&chosen, context, now)?;
        let names_pieces = sheet.is_none() && (of_one(what) || lens.iter().all(|word| word.contains('#')));
        if !sure && !names_pieces {
            refuse_a_repeat(&logbook, &chosen.named, &changes, now)?;
        }
        if let Some(holder) = logbook.holder_of(&chosen.named.key)? {
            note(format_args!("the box is open elsewhere: {holder}. The exam there goes on with the box as it was"));
        }
        let by = examiner(by)?;
        let new = NewChanges { changes, note: text.as_deref(), by: by.as_deref(), at: now, count: None };
        let noted = logbook.note_in_box(&chosen.named, &chosen.declared, &new, &targets.boxes())?;
        targets.note_files(&mut logbook)?;
        Ok(answer(context, &noted, out))
    }
}

/// Says what was noted. That it cannot be said does not undo it.
pub fn answer(context: &Context, noted: &Noted, out: &mut dyn Write) -> Outcome {
    let box_name = &noted.on_record.stock.box_name;
    let said = if context.json {
        match noted.changes.as_slice() {
            [one] => write_line(out, &ChangedJson { r#box: box_name, change: one.word(), piece: one.subject() }),
            all => {
                let changes =
                    all.iter().map(|one| OneChangedJson { change: one.word(), piece: one.subject() }).collect();
                write_line(out, &AllChangedJson { r#box: box_name, changes })
            }
        }
    } else {
        noted.changes.iter().try_for_each(|change| writeln!(out, "{}", in_words(box_name, change)))
    };
    match said.and_then(|()| out.flush()) {
        Ok(()) => Outcome::Done,
        Err(error) => {
            let done: Vec<String> = noted.changes.iter().map(|change| in_words(box_name, change)).collect();
            let done = done.join("; ");
            note(format_args!("this was done, and only its answer could not be written ({error}): {done}"));
            Outcome::DoneUnsaid
        }
    }
}

fn in_words(box_name: &str, change: &BoxChange) -> String {
    let details = change.details().map(|details| format!(": {details}")).unwrap_or_default();
    format!("{box_name}: {}: {}{details}", change.word(), change.subject())
}

fn belongs_elsewhere(option: &str) -> WrongUsage {
    use clap::ValueEnum as _;
    let takes_it = |what: &&What| what.takes().contains(&option);
    let words: Vec<String> = What::value_variants().iter().filter(takes_it).map(|what| what.word()).collect();
    let message = format!("{option} belongs to `{}`", words.join("`, `"));
    WrongUsage { kind: ErrorKind::ArgumentConflict, message }
}

/// Whether one piece is named, and after it what is said of it.
fn of_one(what: Option<What>) -> bool {
    what.is_some_and(|what| what.has_a_power() || what.has_a_mark())
}

/// The words that name lenses, and after them the power that was measured or the mark.
fn with_last_word(what: What, words: &[String]) -> anyhow::Result<(&[String], Option<&String>)> {
    match words {
        _ if !of_one(Some(what)) => Ok((words, None)),
        [words @ .., last] if !words.is_empty() => Ok((words, Some(last))),
        _ if what.has_a_mark() => bail!("after the lens comes its mark: \"-3.00 sphere #2\" \"white dot\""),
        _ => bail!("after the lens comes its measured power: \"-6.00 sphere #1\" -5.87"),
    }
}

/// What a sheet says, each line after those before it; every fault of it is reported.
fn from_sheet(
    path: &std::path::Path,
    chosen: &BoxAsItIs,
    tray: &Tray,
    around: &Around<'_>,
    targets: &mut Targets,
) -> anyhow::Result<Vec<BoxChange>> {
    let sheet = Sheet::read(path, &COLUMNS)?;
    let mut faults = SheetFaults::of_sheet(sheet.name());
    let (mut all, mut stock) = (Vec::new(), chosen.record.stock.clone());
    // a line without an event is a lens to which nothing happened
    for row in sheet.rows.iter().filter(|row| sheet.cell(row, "event").is_some()) {
        match of_row(&sheet, row, &stock, tray, around, targets) {
            Ok(changes) => {
                for change in &changes {
                    if let Err(why) = stock.note(change) {
                        faults.add(row.line, why);
                    }
                }
                all.extend(changes);
            }
            Err(why) => faults.add(row.line, format_args!("{why:#}")),
        }
    }
    faults.found()?;
    if all.is_empty() {
        bail!("{}: no line of this sheet has an event: nothing was noted", path.display());
    }
    Ok(all)
}

fn of_row(
    sheet: &Sheet,
    row: &SheetRow,
    stock: &crate::kit::Stock,
    tray: &Tray,
    around: &Around<'_>,
    targets: &mut Targets,
) -> anyhow::Result<Vec<BoxChange>> {
    let what = What::typed(sheet.cell(row, "event").unwrap_or_default())?;
    let lens = sheet.cell(row, "lens").context("the lens is not said")?;
    let cell = |column| sheet.cell(row, column).map(str::to_owned);
    let until = cell("until").as_deref().map(day).transpose().map_err(anyhow::Error::msg)?;
    for (column, option) in [("to", "--to"), ("until", "--until")] {
        if cell(column).is_some() && !what.takes().contains(&option) {
            bail!("`{column}` does not belong to `{}`: leave it empty", what.word());
        }
    }
    if cell("power").is_some() && !what.has_a_power() {
        bail!("`power` does not belong to `{}`: leave it empty", what.word());
    }
    let note = cell("note").as_deref().map(|text| in_one_line("note", text, LONGEST_NOTE)).transpose()?;
    let (own_mark, note) = if what.has_a_mark() { (note, None) } else { (None, note) };
    let said =
        Said { to: cell("to"), until, power: cell("power"), measurement: Measurement::default(), own_mark, note };
    let mut changes = changes(what, &[read(lens, stock, tray)?], &said, stock, around, targets)?;
    if let Some(text) = said.note.filter(|_| !what.has_the_note_in_it()) {
        let pieces: Vec<_> = changes.iter().filter_map(BoxChange::piece).collect();
        changes.extend(pieces.into_iter().map(|piece| BoxChange::Note { piece, text: text.clone() }));
    }
    Ok(changes)
}

/// How long after a change the same one is taken for the first one given twice.
const REPEATED_SECONDS: i64 = 60;

/// Refuses what was noted last of the same box a moment ago, of lenses marked alike: whoever saw no answer gives a command
/// again, and a second piece would be gone that is there. Of a change that names its pieces nothing can happen twice.
fn refuse_a_repeat(logbook: &Logbook, in_box: &NamedBox, changes: &[BoxChange], now: Timestamp) -> anyhow::Result<()> {
    let what = |changes: &[BoxChange]| -> Vec<(&'static str, Lens)> {
        changes.iter().map(|change| (change.word(), change.lens().clone())).collect()
    };
    let Ok(entries) = logbook.box_entries(&in_box.key) else { return Ok(()) };
    let Some(last) = entries.all.last().filter(|last| last.body.count().is_none()) else {
        return Ok(());
    };
    let seconds = now.duration_since(last.at).as_secs();
    if what(last.body.changes()) != what(changes) || !(0..REPEATED_SECONDS).contains(&seconds) {
        return Ok(());
    }
    let said: Vec<String> = what(changes).into_iter().map(|(word, lens)| format!("{word}: {lens}")).collect();
    let which = match changes {
        [one] => one.piece().map(|piece| format!("For another piece name it (\"{piece}\"), or say --sure")),
        _ => None,
    };
    let which = which.unwrap_or_else(|| "For another piece say --sure".to_owned());
    bail!("{}: the same was noted {seconds} s ago, and nothing more is noted now. {which}", said.join(", "))
}
