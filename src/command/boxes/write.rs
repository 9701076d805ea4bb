//! `dioptray box write`: a fresh file of what is there.

use std::io::Write;
use std::path::PathBuf;

use anyhow::{Context as _, bail};
use clap::Args;
use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;
use uuid::Uuid;

use crate::command::exams::records::examiner;
use crate::command::files::{BoxAsItIs, logbook_path, say};
use crate::command::json::write_line;
use crate::command::which_box::WhichBox;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::export::saving::{Existing, refuse_unsavable, save};
use crate::kit::document::fault::counted;
use crate::kit::document::load::{LARGEST_FILE, from_anywhere, read_text};
use crate::kit::document::name::fresh_id;
use crate::kit::file::write_box;
use crate::kit::{BoxChange, DeclaredBox, LensLine, Measured, Measurement, Piece, Place, StockedPiece, TrayRow};
use crate::logbook::{Logbook, NewChanges};
use crate::session::known::{named, note_file};

/// The arguments of `dioptray box write`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct WriteBox {
    #[command(flatten)]
    which: WhichBox,
    /// The new file.
    #[arg(value_name = "FILE", value_parser = values::path())]
    out: PathBuf,
    /// Write over a file that is there.
    #[arg(long)]
    force: bool,
    /// Who writes it; if not given, `examiner` in the settings.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    by: Option<String>,
}

const EXAMPLES: &str = "Example:
  dioptray box write --box box.yaml box-2027.yaml

The new file declares what is there now, in the order and with the comments of the old one as far as they fit. It has an id of its \
own: its history begins afresh, and what is lent or damaged is carried over to it in one entry. The old file and its history stay.";

#[derive(Serialize)]
struct WrittenJson<'a> {
    r#box: &'a str,
    id: &'a str,
    file: String,
    changed: Vec<String>,
    carried_over: usize,
}

/// What a fresh file declares, and what it cannot say.
struct Fresh {
    declared: DeclaredBox,
    carried: Vec<BoxChange>,
    changed: Vec<String>,
}

impl WriteBox {
    /// Writes it.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let existing = if self.force { Existing::IsReplaced } else { Existing::Stays };
        let known = self.which.read(context)?;
        refuse_unsavable(&self.out, existing)?;
        if let Some(open) = known.record.stock.pieces().iter().find(|of| of.place.is_in_two_places()) {
            bail!("{} is in two places: say first where it is, with `dioptray box settle`", open.piece);
        }
        let id = fresh_id(&known.named.name, Uuid::new_v4());
        let fresh = fresh(&known, &id);
        // a box that comes with the program has no file of its own to take comments from
        let before = read_text(&known.file, LARGEST_FILE).ok();
        let text = write_box(&fresh.declared, before.as_deref());
        let file = save(&self.out, text.as_bytes(), existing)?;
        let (now, by) = (Timestamp::now(), examiner(self.by)?);
        if !fresh.carried.is_empty() {
            let mut logbook = Logbook::open(&logbook_path(context)?)?;
            let new_box = named(&fresh.declared);
            let note = format!("carried over from {}", known.named.key);
            let new = NewChanges {
                changes: fresh.carried.clone(),
                note: Some(&note),
                by: by.as_deref(),
                at: now,
                count: None,
            };
            let carried = logbook.note_in_box(&new_box, &fresh.declared, &new, &[]);
            carried
                .with_context(|| format!("{} is written, but what is lent or damaged is not noted", file.display()))?;
            say(note_file(&mut logbook, &new_box, &from_anywhere(&file)?)?.as_ref());
        }
        let carried_over = fresh.carried.len();
        if context.json {
            let file = file.display().to_string();
            let changed = fresh.changed;
            write_line(out, &WrittenJson { r#box: &fresh.declared.name, id: &id, file, changed, carried_over })?;
            return Ok(Outcome::Done);
        }
        writeln!(out, "{}: {}: id {id}", file.display(), fresh.declared.name)?;
        for line in &fresh.changed {
            writeln!(out, "  {line}")?;
        }
        if fresh.changed.is_empty() {
            writeln!(out, "  nothing but the id is otherwise")?;
        }
        if carried_over > 0 {
            writeln!(out, "  noted under the new id: {}", counted(carried_over, "change", "changes"))?;
        }
        Ok(Outcome::Done)
    }
}

fn fresh(known: &BoxAsItIs, id: &str) -> Fresh {
    let old = &known.declared;
    let mut declared = DeclaredBox { id: Some(id.to_owned()), lines: Vec::new(), measured: Vec::new(), ..old.clone() };
    let (mut carried, mut changed) = (Vec::new(), Vec::new());
    for count in known.stock.counts() {
        let mut pieces: Vec<&StockedPiece> =
            known.stock.of_lens(&count.lens).filter(|stocked| !stocked.place.has_left_the_set()).collect();
        // all of them left the set
        if pieces.is_empty() {
            continue;
        }
        // the missing have the highest numbers
        pieces.sort_by_key(|stocked| (stocked.place == Place::Lost, stocked.piece.number));
        declared.lines.push(LensLine { lens: count.lens.clone(), declared: count.declared, missing: count.lost });
        for (number, stocked) in (1..).zip(pieces) {
            carry(known, stocked, &Piece { lens: count.lens.clone(), number }, &mut declared, &mut carried);
        }
    }
    let counts = |declared: &DeclaredBox, line: &LensLine| {
        let found = declared.lines.iter().find(|other| other.lens == line.lens);
        found.map_or((0, 0), |line| (line.declared, line.missing))
    };
    for line in &old.lines {
        let ((was, lacked), (is, lacks)) = ((line.declared, line.missing), counts(&declared, line));
        if (was, lacked) != (is, lacks) {
            changed
                .push(format!("{}: {was} declared, {lacked} missing; now {is} declared, {lacks} missing", line.lens));
        }
    }
    for line in declared.lines.iter().filter(|line| old.lines.iter().all(|old| old.lens != line.lens)) {
        changed.push(format!("{}: not declared; now {} declared, {} missing", line.lens, line.declared, line.missing));
    }
    let power = |measured: &Measured| format!("{}: measured {:+.2}", measured.piece, measured.power);
    let (was, is): (Vec<String>, Vec<String>) =
        (old.measured.iter().map(power).collect(), declared.measured.iter().map(power).collect());
    changed.extend(is.iter().filter(|line| !was.contains(line)).cloned());
    changed.extend(was.iter().filter(|line| !is.contains(line)).map(|line| format!("{line}: no longer")));
    let lies = |row: &TrayRow| TrayRow {
        name: row.name.clone(),
        lenses: row
            .lenses
            .iter()
            .filter(|lens| declared.lines.iter().any(|line| line.lens == **lens))
            .cloned()
            .collect(),
    };
    declared.tray = old.tray.iter().map(lies).filter(|row| !row.lenses.is_empty()).collect();
    Fresh { declared, carried, changed }
}

/// What is known of a piece goes into the file where that can say it, and else into the logbook.
fn carry(
    known: &BoxAsItIs,
    stocked: &StockedPiece,
    piece: &Piece,
    declared: &mut DeclaredBox,
    carried: &mut Vec<BoxChange>,
) {
    if let Some(power) = stocked.measured {
        let note = known.declared.measured.iter().find(|measured| measured.piece == stocked.piece);
        let note =
            note.filter(|measured| (measured.power - power).abs() < 1e-9).and_then(|measured| measured.note.clone());
        if stocked.place == Place::Lost {
            let measurement = Measurement { sure: true, ..Measurement::of(power) };
            carried.push(BoxChange::Measured { piece: piece.clone(), measurement });
        } else {
            declared.measured.push(Measured { piece: piece.clone(), power, note });
        }
    }
    if stocked.damaged {
        let what = known.record.known_of(&stocked.piece, Date::MAX).damage;
        carried.push(BoxChange::Damaged { piece: piece.clone(), what });
    }
    if let Some(own_mark) = known.record.own_marks().of_piece(&stocked.piece) {
        carried.push(BoxChange::Marked { piece: piece.clone(), own_mark: Some(own_mark.to_owned()) });
    }
    if let Place::Lent { to } = &stocked.place {
        let until = known.record.loan_of(&stocked.piece, Date::MAX).and_then(|loan| loan.until);
        // logbooks of before it had to be said may not know to whom
        let to = to.clone().unwrap_or_else(|| "not noted to whom".to_owned());
        carried.push(BoxChange::Lent { piece: piece.clone(), to: Some(to), until });
    }
}
