//! `dioptray room exams`: which exams the room has.

use std::io::Write;
use std::path::PathBuf;

use clap::{Args, value_parser};
use jiff::civil::Date;
use jiff::{Timestamp, ToSpan as _};
use serde::Serialize;

use crate::command::boxes::asked::day;
use crate::command::exams::records::writing;
use crate::command::files::{logbook_path, settings_folder as folder};
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::export::listing::table;
use crate::export::record::rfc_3339;
use crate::export::words::isolated;
use crate::logbook::parcels::others::Elsewhere;
use crate::room::error::RoomError;
use crate::room::joined::Joined;
use crate::room::joining::connect;
use crate::room::link::Link;
use crate::room::listing::{ListedThere, MOST_LINES, Wanted, exams};
use crate::session::Writing;

/// The arguments of `dioptray room exams`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Exams {
    /// Only this exam, by seat and number
    #[arg(value_name = "SEAT-N", value_parser = seat_and_number)]
    exam: Option<Elsewhere>,
    /// Only those of the seats of this site
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    site: Option<String>,
    /// Only those of this seat
    #[arg(long, value_name = "NAME", value_parser = values::text(), conflicts_with = "exam")]
    seat: Option<String>,
    /// Only those closed on this day, as 2026-11-27
    #[arg(long, value_name = "DAY", value_parser = day)]
    day: Option<Date>,
    /// Only those whose examiner has this name
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    by: Option<String>,
    /// At most so many
    #[arg(long, value_name = "N", default_value_t = 50, value_parser = value_parser!(u16).range(1..=i64::from(MOST_LINES)))]
    most: u16,
    /// Go on after this exam, the last one of the list before
    #[arg(long, value_name = "SEAT-N", value_parser = seat_and_number)]
    after: Option<Elsewhere>,
    /// A room that this logbook has not joined: postgresql://LOGIN@COMPUTER/DATABASE
    #[arg(long, value_name = "ADDRESS", value_parser = values::text())]
    room: Option<String>,
    /// The certificate of that room (PEM)
    #[arg(long, value_name = "FILE", value_parser = values::path(), requires = "room")]
    certificate: Option<PathBuf>,
}

const EXAMPLES: &str = "Examples:
  dioptray room exams
  dioptray room exams lane3-14
  dioptray room exams --site hillside --day 2026-11-27
  dioptray room exams --by \"A. Osei\" --most 20 --after lane3-14
  dioptray room exams --site hillside --room postgresql://office@clinic.example/room --certificate room.pem

The room is asked and nothing is fetched, however much it holds: seat, number, when it was closed, site, examiner and label of each. The \
newest come first, by the month in which they came to the room, and in that by when they were closed by the clock of their seat; a \
day is one in the time zone of this computer. Names are whole ones, in small or large letters. A login of a site sees the exams of \
that site, and a keeper none. What was found is in `dioptray exam show lane3-14`, once this logbook is in the room and has fetched it.";

/// Reads what an exam of a seat is called.
fn seat_and_number(text: &str) -> Result<Elsewhere, String> {
    Elsewhere::from_text(text).ok_or_else(|| "name an exam by seat and number, as lane3-14".to_owned())
}

#[derive(Serialize)]
struct ExamsJson {
    exams: Vec<ExamJson>,
    /// To go on after, where there are further ones.
    after: Option<String>,
}

#[derive(Serialize)]
struct ExamJson {
    seat: String,
    number: i64,
    site: Option<String>,
    by: Option<String>,
    closed: String,
    label: Option<String>,
    kept: bool,
    erased: bool,
}

impl Exams {
    /// Lists the exams.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let writing = writing(false)?;
        let named = |exam: &Elsewhere| (exam.seat.to_string(), exam.number.0);
        let (seat, number) = self.exam.as_ref().map(named).unzip();
        let is_of_one = self.exam.is_some();
        let wanted = Wanted {
            seat: seat.or(self.seat.as_deref().map(|seat| seat.trim().to_owned())),
            number,
            site: self.site.as_deref().map(|site| site.trim().to_owned()),
            by: self.by.as_deref().map(|by| by.trim().to_owned()),
            closed: self.day.map(|day| bounds(day, &writing)).transpose()?,
            after: self.after.as_ref().map(named),
        };
        let most = self.most;
        let (lines, has_more) = exams(&self.link(context)?, &wanted, most)?;
        let after = lines.last().filter(|_| has_more).map(name);
        if context.json {
            let exams = lines.into_iter().map(|line| json(line, &writing)).collect();
            write_line(out, &ExamsJson { exams, after })?;
            return Ok(Outcome::Done);
        }
        if lines.is_empty() {
            let none = if is_of_one {
                "the room has no such exam, or none that this login sees"
            } else {
                "no exam is of these"
            };
            writeln!(out, "{none}")?;
            return Ok(Outcome::Done);
        }
        let heading = ["exam", "closed", "site", "by", "label"].map(str::to_owned);
        let rows: Vec<[String; 5]> =
            std::iter::once(heading).chain(lines.iter().map(|line| row(line, &writing))).collect();
        out.write_all(table(&rows).as_bytes())?;
        if let Some(after) = after {
            writeln!(out, "there are more: the same with --after {after}")?;
        }
        Ok(Outcome::Done)
    }

    /// The room that was named, or the one that was joined.
    fn link(self, context: &Context) -> anyhow::Result<Link> {
        let (address, certificate) = if let Some(room) = self.room {
            (room.parse().map_err(RoomError::from)?, self.certificate)
        } else {
            let joined = Joined::of(&logbook_path(context)?)?.ok_or(RoomError::NotJoined)?;
            (joined.address, joined.certificate)
        };
        Ok(connect(&address, certificate.as_deref(), folder().as_deref())?)
    }
}

/// When a day begins and ends where this computer is.
fn bounds(day: Date, writing: &Writing) -> anyhow::Result<(Timestamp, Timestamp)> {
    let zone = writing.local(Timestamp::UNIX_EPOCH).time_zone().clone();
    let begins = |day: Date| day.to_zoned_datetime(zone.clone()).map(|zoned| zoned.timestamp());
    Ok((begins(day)?, begins(day.checked_add(1.day())?)?))
}

fn name(line: &ListedThere) -> String {
    format!("{}-{}", line.seat, line.number)
}

fn row(line: &ListedThere, writing: &Writing) -> [String; 5] {
    let closed = line.closed.parse::<Timestamp>();
    let or_dash = |text: &Option<String>| text.as_deref().map_or_else(|| "–".to_owned(), isolated);
    [
        name(line),
        closed.map_or_else(|_| isolated(&line.closed), |at| writing.local(at).strftime("%Y-%m-%d %H:%M").to_string()),
        or_dash(&line.site),
        or_dash(&line.by),
        if line.is_erased {
            "(erased)".to_owned()
        } else if line.is_let_go {
            "(the record is kept no longer)".to_owned()
        } else {
            or_dash(&line.label)
        },
    ]
}

fn json(line: ListedThere, writing: &Writing) -> ExamJson {
    let closed = line.closed.parse::<Timestamp>().map(|at| rfc_3339(&writing.local(at)));
    ExamJson {
        closed: closed.unwrap_or(line.closed),
        seat: line.seat,
        number: line.number,
        site: line.site,
        by: line.by,
        label: line.label,
        kept: !(line.is_let_go || line.is_erased),
        erased: line.is_erased,
    }
}
