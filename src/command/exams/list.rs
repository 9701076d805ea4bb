//! `dioptray exam list`: every exam, one a line.

use std::io::Write;

use clap::Args;
use serde::Serialize;

use super::records;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, note, values};
use crate::export::listing::{ExamLine, list};
use crate::export::record::rfc_3339;
use crate::kit::document::fault::counted;
use crate::logbook::parcels::others::{Elsewhere, OthersList};
use crate::logbook::{ExamSummary, Indexed, Logbook, PassedOver};
use crate::session::Writing;
use crate::session::records::{ListedExam, Words, line};
use crate::session::writing::number;

/// The arguments of `dioptray exam list`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLE}\n\n{CAUTION}"))]
pub struct List {
    /// Write prescriptions with plus cylinders.
    #[arg(long)]
    plus: bool,
    /// Only those with these words in label, number, date or outcome: `refer`, `2026-03 glasses`
    #[arg(long, value_name = "WORDS", default_value = "", hide_default_value = true)]
    find: String,
    /// Only those of this seat, this one or another
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    seat: Option<String>,
    /// Only those whose examiner has this name
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    by: Option<String>,
    /// Only those of the seats of this site
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    site: Option<String>,
}

const EXAMPLE: &str = "Example:
  dioptray exam list
  dioptray exam list --find \"refer 2026-03\"
  dioptray exam list --site hillside --by \"A. Osei\"

Exams of other seats follow, by seat and number; in JSON they have a \"seat\". Names of seats, examiners \
and sites are whole ones, in small or large letters; seats and sites are named by `dioptray parcel write`. \
Times are in the time zone of this computer. In JSON, \"closed\" is null for an exam that is still open.";

#[derive(Serialize)]
struct ExamsJson {
    exams: Vec<ExamJson>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    kept_no_longer: Vec<GoneJson>,
}

/// Exams of another seat whose record is kept no longer.
#[derive(Serialize)]
struct GoneJson {
    seat: String,
    exams: usize,
    /// The least and the greatest number among them.
    first: u64,
    last: u64,
}

#[derive(Serialize)]
struct ExamJson {
    /// Of another seat, whose number it is then.
    #[serde(skip_serializing_if = "Option::is_none")]
    seat: Option<String>,
    number: u64,
    /// The place that the seat belongs to, this one too.
    #[serde(skip_serializing_if = "Option::is_none")]
    site: Option<String>,
    by: Option<String>,
    opened: String,
    closed: Option<String>,
    label: Option<String>,
    r#box: String,
    outcome: Option<String>,
}

/// An exam of the list.
struct Listed {
    exam: ListedExam,
    /// Its seat, this one too, where it has a name.
    seat: Option<String>,
    site: Option<String>,
    line: ExamSummary,
}

impl List {
    /// Lists the exams.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let writing = records::writing(self.plus)?;
        let OthersList { exams: others, kept_no_longer, .. } = records::elsewhere_listed(context)?;
        let gone = self.kept_no_longer(&kept_no_longer);
        let logbook = match records::logbook(context) {
            // who only reads parcels of others has none
            Err(error) if error.is_missing() && !(others.is_empty() && kept_no_longer.is_empty()) => None,
            logbook => logbook?,
        };
        let mut exams = logbook.as_ref().map(own).transpose()?.unwrap_or_default();
        exams.extend(others.into_iter().map(|others| Listed {
            seat: Some(others.name.seat.to_string()),
            exam: ListedExam::Elsewhere(others.name),
            site: others.site.map(|site| site.to_string()),
            line: others.line,
        }));
        let words = Words::of(&self.find);
        exams.retain(|listed| self.wants(listed) && words.find(&listed.indexed(), &writing));
        if context.json {
            let exams = exams.into_iter().map(|listed| listed.json(&writing)).collect();
            write_line(out, &ExamsJson { exams, kept_no_longer: gone })?;
            return Ok(Outcome::Done);
        }
        for (listed, logbook) in exams.iter().filter(|listed| listed.is_unread()).zip(logbook.iter().cycle()) {
            // the others are to be seen all the same
            if let Err(error) = logbook.read_exam(listed.line.number) {
                note(format_args!("exam {} is left out: {error}", listed.exam));
            }
        }
        exams.retain(|listed| !listed.is_unread());
        if exams.is_empty() && gone.is_empty() {
            let is_whole = self.find.is_empty() && [&self.seat, &self.by, &self.site].iter().all(|name| name.is_none());
            let none = match (is_whole, self.find.is_empty()) {
                (true, _) => "no exams yet",
                (false, false) => "no exam has these words",
                (false, true) => "no exam is of these",
            };
            writeln!(out, "{none}")?;
        } else {
            let lines: Vec<ExamLine> = exams.iter().map(|listed| line(&listed.exam, &listed.line, &writing)).collect();
            out.write_all(list(&lines).as_bytes())?;
        }
        for GoneJson { seat, exams, first, last } in &gone {
            let exams = counted(*exams, "exam", "exams");
            writeln!(
                out,
                "{seat}: {exams} between {seat}-{first} and {seat}-{last} kept no longer, as the room has let go of them"
            )?;
        }
        Ok(Outcome::Done)
    }

    /// Of each seat the exams whose record is kept no longer; none where others are asked for by what such a record held.
    fn kept_no_longer(&self, all: &[Elsewhere]) -> Vec<GoneJson> {
        if !self.find.is_empty() || self.by.is_some() || self.site.is_some() {
            return Vec::new();
        }
        let wanted = |seat: &str| self.seat.as_ref().is_none_or(|named| small(named) == small(seat));
        let of_seats = all.chunk_by(|one, next| one.seat == next.seat);
        let gone = of_seats.filter(|of_seat| wanted(of_seat[0].seat.as_str())).map(|of_seat| GoneJson {
            seat: of_seat[0].seat.to_string(),
            exams: of_seat.len(),
            first: of_seat.last().map_or(0, |exam| number(exam.number)),
            last: number(of_seat[0].number),
        });
        gone.collect()
    }

    /// Whether an exam is one of the seat, the examiner and the site that are named.
    fn wants(&self, listed: &Listed) -> bool {
        let is = |named: &Option<String>, of: &Option<String>| {
            named.as_ref().is_none_or(|named| of.as_ref().is_some_and(|of| small(of) == small(named)))
        };
        is(&self.seat, &listed.seat) && is(&self.by, &listed.line.by) && is(&self.site, &listed.site)
    }
}

fn small(text: &str) -> String {
    text.trim().to_lowercase()
}

/// The exams of one's own logbook, the latest first.
fn own(logbook: &Logbook) -> anyhow::Result<Vec<Listed>> {
    let summaries = logbook.exams()?;
    for PassedOver { number, why } in &summaries.passed_over {
        note(format_args!("exam {number} is left out: {why}"));
    }
    let seat = logbook.seat()?.map(|seat| seat.to_string());
    let site = logbook.site()?.map(|site| site.to_string());
    let listed = |line: ExamSummary| Listed {
        exam: ListedExam::Own(number(line.number)),
        seat: seat.clone(),
        site: site.clone(),
        line,
    };
    Ok(summaries.exams.into_iter().map(listed).collect())
}

impl Listed {
    /// Whether it is one of this seat that cannot be read.
    fn is_unread(&self) -> bool {
        self.exam.is_own() && self.line.found.is_none()
    }

    fn indexed(&self) -> Indexed {
        match &self.exam {
            ListedExam::Own(_) => Indexed::of(&self.line),
            ListedExam::Elsewhere(name) => Indexed { seat: Some(name.seat.clone()), ..Indexed::of(&self.line) },
        }
    }

    fn json(self, writing: &Writing) -> ExamJson {
        let line = self.line;
        ExamJson {
            seat: self.seat.filter(|_| !self.exam.is_own()),
            number: number(line.number),
            site: self.site,
            by: line.by,
            opened: rfc_3339(&writing.local(line.opened)),
            closed: line.finished.map(|at| rfc_3339(&writing.local(at))),
            label: line.label,
            r#box: line.in_box.name,
            outcome: line.found.and_then(|found| found.outcome).map(|outcome| outcome.to_string()),
        }
    }
}
