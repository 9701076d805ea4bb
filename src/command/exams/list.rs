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
use crate::logbook::parcels::others::{BareExam, Elsewhere, OthersList};
use crate::logbook::{ExamNumber, ExamSummary, Indexed, Logbook, PassedOver};
use crate::session::Writing;
use crate::session::records::{ListedExam, Words, bare_line, line};
use crate::session::writing::number;
use crate::sharing::SiteName;

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
    /// Not known of one that was erased before it came here, nor its box.
    opened: Option<String>,
    closed: Option<String>,
    label: Option<String>,
    r#box: Option<String>,
    outcome: Option<String>,
    /// Why it was erased, where it was.
    #[serde(skip_serializing_if = "Option::is_none")]
    erased: Option<String>,
}

/// An exam of the list.
struct Listed {
    exam: ListedExam,
    /// Its seat, this one too, where it has a name.
    seat: Option<String>,
    site: Option<String>,
    what: What,
}

/// What is left of an exam.
enum What {
    Kept(Box<ExamSummary>),
    /// That it was, and why it was erased.
    Bare(Box<BareExam>),
}

impl List {
    /// Lists the exams.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let writing = records::writing(self.plus)?;
        let OthersList { exams: others, bare, .. } = records::elsewhere_listed(context)?;
        let (erased, let_go): (Vec<BareExam>, Vec<BareExam>) = bare.into_iter().partition(|bare| bare.erased.is_some());
        let gone = self.kept_no_longer(&let_go);
        let logbook = match records::logbook(context) {
            // who only reads parcels of others has none
            Err(error) if error.is_missing() && !(others.is_empty() && let_go.is_empty() && erased.is_empty()) => None,
            logbook => logbook?,
        };
        let mut exams = logbook.as_ref().map(own).transpose()?.unwrap_or_default();
        let kept = others.into_iter().map(|others| (others.name, others.site, What::Kept(Box::new(others.line))));
        let erased = erased.into_iter().map(|bare| (bare.name.clone(), bare.site.clone(), What::Bare(Box::new(bare))));
        let mut others: Vec<(Elsewhere, Option<SiteName>, What)> = kept.chain(erased).collect();
        others.sort_by(|(one, ..), (other, ..)| one.listed_before(other));
        exams.extend(others.into_iter().map(|(name, site, what)| Listed {
            seat: Some(name.seat.to_string()),
            exam: ListedExam::Elsewhere(name),
            site: site.map(|site| site.to_string()),
            what,
        }));
        let words = Words::of(&self.find);
        exams.retain(|listed| self.wants(listed) && words.find(&listed.indexed(), &writing));
        if context.json {
            let exams = exams.into_iter().map(|listed| listed.json(&writing)).collect();
            write_line(out, &ExamsJson { exams, kept_no_longer: gone })?;
            return Ok(Outcome::Done);
        }
        let unread = exams.iter().filter_map(Listed::unread);
        for (number, logbook) in unread.zip(logbook.iter().cycle()) {
            // the others are to be seen all the same
            if let Err(error) = logbook.read_exam(number) {
                note(format_args!("exam {number} is left out: {error}"));
            }
        }
        exams.retain(|listed| listed.unread().is_none());
        if exams.is_empty() && gone.is_empty() {
            let is_whole = self.find.is_empty() && [&self.seat, &self.by, &self.site].iter().all(|name| name.is_none());
            let none = match (is_whole, self.find.is_empty()) {
                (true, _) => "no exams yet",
                (false, false) => "no exam has these words",
                (false, true) => "no exam is of these",
            };
            writeln!(out, "{none}")?;
        } else {
            let lines: Vec<ExamLine> = exams.iter().map(|listed| listed.line(&writing)).collect();
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
    fn kept_no_longer(&self, all: &[BareExam]) -> Vec<GoneJson> {
        if !self.find.is_empty() || self.by.is_some() || self.site.is_some() {
            return Vec::new();
        }
        let wanted = |seat: &str| self.seat.as_ref().is_none_or(|named| small(named) == small(seat));
        let of_seats = all.chunk_by(|one, next| one.name.seat == next.name.seat);
        let gone = of_seats.filter(|of_seat| wanted(of_seat[0].name.seat.as_str())).map(|of_seat| GoneJson {
            seat: of_seat[0].name.seat.to_string(),
            exams: of_seat.len(),
            first: of_seat.last().map_or(0, |exam| number(exam.name.number)),
            last: number(of_seat[0].name.number),
        });
        gone.collect()
    }

    /// Whether an exam is one of the seat, the examiner and the site that are named.
    fn wants(&self, listed: &Listed) -> bool {
        let is = |named: &Option<String>, of: Option<&str>| {
            named.as_ref().is_none_or(|named| of.is_some_and(|of| small(of) == small(named)))
        };
        is(&self.seat, listed.seat.as_deref()) && is(&self.by, listed.by()) && is(&self.site, listed.site.as_deref())
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
        what: What::Kept(Box::new(line)),
    };
    Ok(summaries.exams.into_iter().map(listed).collect())
}

impl Listed {
    /// The number of one of this seat that cannot be read.
    fn unread(&self) -> Option<ExamNumber> {
        match (&self.exam, &self.what) {
            (ListedExam::Own(_), What::Kept(line)) if line.found.is_none() => Some(line.number),
            (ListedExam::Own(_) | ListedExam::Elsewhere(_), What::Kept(_) | What::Bare(_)) => None,
        }
    }

    fn by(&self) -> Option<&str> {
        match &self.what {
            What::Kept(line) => line.by.as_deref(),
            What::Bare(bare) => bare.by.as_deref(),
        }
    }

    fn line(&self, writing: &Writing) -> ExamLine {
        match &self.what {
            What::Kept(kept) => line(&self.exam, kept, writing),
            What::Bare(bare) => bare_line(bare),
        }
    }

    fn indexed(&self) -> Indexed {
        match (&self.what, &self.exam) {
            (What::Bare(bare), _) => bare.indexed(),
            (What::Kept(line), ListedExam::Own(_)) => Indexed::of(line),
            (What::Kept(line), ListedExam::Elsewhere(name)) => {
                Indexed { seat: Some(name.seat.clone()), ..Indexed::of(line) }
            }
        }
    }

    fn json(self, writing: &Writing) -> ExamJson {
        let time = |at| rfc_3339(&writing.local(at));
        let seat = self.seat.filter(|_| !self.exam.is_own());
        match self.what {
            What::Kept(line) => ExamJson {
                seat,
                number: number(line.number),
                site: self.site,
                by: line.by,
                opened: Some(time(line.opened)),
                closed: line.finished.map(time),
                label: line.label,
                r#box: Some(line.in_box.name),
                outcome: line.found.and_then(|found| found.outcome).map(|outcome| outcome.to_string()),
                erased: line.erased.map(|erasure| erasure.to_string()),
            },
            What::Bare(bare) => ExamJson {
                seat,
                number: number(bare.name.number),
                site: self.site,
                by: bare.by,
                opened: None,
                closed: bare.closed.map(time),
                label: None,
                r#box: None,
                outcome: None,
                erased: bare.erased.map(|erasure| erasure.to_string()),
            },
        }
    }
}
