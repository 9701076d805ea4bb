//! A day on one page and as a table: everybody by number, and nothing that names anyone.

use jiff::ZonedDateTime;

use crate::day::figures::minutes_and_seconds;
use crate::day::{DayFigures, DayLine, DayPerson, DaySettings};
use crate::exam::cautions;
use crate::exam::{Detail, Outcome, OutcomeKind};
use crate::export::table::{Cell, ColumnKind, Group, Table, column};
use crate::export::{EyeRecord, Record};
use crate::kit::document::fault::counted;

/// Somebody of the day with the record of the exam.
#[derive(Debug)]
pub struct DayRow<'a> {
    /// The line of the list.
    pub line: &'a DayLine,
    /// The person of the day.
    pub person: &'a DayPerson,
    /// The record of the last exam.
    pub record: Option<Record>,
}

/// What a page of a day is about.
#[derive(Debug)]
pub struct DayHead<'a> {
    /// What held for everybody.
    pub settings: &'a DaySettings,
    /// When it began, in the time zone to print.
    pub began: &'a ZonedDateTime,
    /// When it ended, if it did.
    pub ended: Option<&'a ZonedDateTime>,
    /// Who examined, if that was said.
    pub by: Option<&'a str>,
    /// The running figures.
    pub figures: &'a DayFigures,
}

/// A day, its people grouped by outcome.
pub fn day(head: &DayHead<'_>, rows: &[DayRow<'_>]) -> Table {
    let over = rows.iter().any(is_over_something);
    let mut columns = vec![
        column("number", ColumnKind::Figures),
        column("exam", ColumnKind::Figures),
        column("age", ColumnKind::Figures),
        column("state", ColumnKind::Words),
        column("seconds", ColumnKind::Figures),
        column("outcome detail", ColumnKind::LongWords),
        column("right sphere D", ColumnKind::Figures),
        column("right cylinder D", ColumnKind::Figures),
        column("right axis", ColumnKind::Figures),
        column("right addition D", ColumnKind::Figures),
        column("left sphere D", ColumnKind::Figures),
        column("left cylinder D", ColumnKind::Figures),
        column("left axis", ColumnKind::Figures),
        column("left addition D", ColumnKind::Figures),
        column("right centre mm", ColumnKind::Figures),
        column("left centre mm", ColumnKind::Figures),
        column("vertex mm", ColumnKind::Figures),
        column("pair sphere D", ColumnKind::Figures),
        column("pair centres mm", ColumnKind::Figures),
    ];
    if over {
        columns.extend(["right found over", "left found over"].map(|name| column(name, ColumnKind::Words)));
    }
    let groups = OutcomeKind::ALL.into_iter().map(Some).chain([None]).filter_map(|kind| {
        let of_kind = rows.iter().filter(|row| row.line.outcome.as_ref().map(Outcome::kind) == kind);
        let rows: Vec<Vec<Cell>> = of_kind.map(|row| cells(row, over)).collect();
        let name = kind.map_or("no outcome", OutcomeKind::shown).to_owned();
        (!rows.is_empty()).then_some(Group { name, rows })
    });
    Table {
        title: "Day".to_owned(),
        about: about(head),
        groups_are: Some("outcome"),
        columns,
        groups: groups.collect(),
        nothing: "Nobody was on the list.",
        notes: notes(head.figures),
        across: None,
        signed_by: vec!["examined by"],
        caution: cautions::GENERAL[1].full,
    }
}

fn about(head: &DayHead<'_>) -> Vec<String> {
    let DayHead { settings, began, ended, by, .. } = head;
    let until = ended.map_or_else(|| "not ended".to_owned(), |ended| format!("until {}", ended.strftime("%H:%M")));
    let when = format!("{}, {until}", began.strftime("%Y-%m-%d from %H:%M"));
    let place = settings.place.clone().unwrap_or_else(|| "no place named".to_owned());
    let who = by.map_or_else(String::new, |by| format!(", by {by}"));
    let with = [("box", &settings.box_name), ("frame", &settings.frame)];
    let with = with.into_iter().filter_map(|(what, named)| named.as_ref().map(|named| format!("{what} {named}")));
    let shelf = settings.shelf.as_ref();
    let shelf = shelf.map(|shelf| format!("ready-made pairs from the shelf {} ({})", shelf.name, shelf.limits));
    let with: Vec<String> = with.chain(settings.room.iter().filter_map(of_room)).chain(shelf).collect();
    [format!("{place}, {when}{who}")].into_iter().chain((!with.is_empty()).then(|| with.join(", "))).collect()
}

/// A detail of the room in words.
pub fn of_room(detail: &Detail) -> Option<String> {
    match detail {
        Detail::ChartMetres(metres) => Some(format!("chart at {metres} m")),
        Detail::ChartMadeForMetres(metres) => Some(format!("its figures made for {metres} m")),
        Detail::NearMetres(metres) => Some(format!("near at {:.0} cm", metres * 100.0)),
        Detail::WorkingMetres(metres) => Some(format!("retinoscopy at {:.0} cm", metres * 100.0)),
        Detail::PlannedVertex(distance) => Some(format!("glasses at {} mm", distance.0)),
        Detail::FrameVertex(distance) => Some(format!("frame measured at {} mm", distance.0)),
        Detail::TiltDegrees(degrees) => Some(format!("lenses tilted {degrees}°")),
        Detail::FaceFormDegrees(degrees) => Some(format!("face form {degrees}°")),
        Detail::Label(_)
        | Detail::AgeYears(_)
        | Detail::Complaint(_)
        | Detail::EyePd(..)
        | Detail::FramePd(..)
        | Detail::OldGlasses(..)
        | Detail::OldAddition(_)
        | Detail::DominantEye(_)
        | Detail::EarlierRetinoscopy(_)
        | Detail::Strategy(_)
        | Detail::RedFlags(_)
        | Detail::Drops(_)
        | Detail::DropsPut(_)
        | Detail::PresentGlasses(_)
        | Detail::NearTask(_)
        | Detail::OldGlassesWithin(..)
        | Detail::StaysOn(..)
        | Detail::DeviationSeenBy(_)
        | Detail::Neutralised(..)
        | Detail::Reserve(..)
        | Detail::EarlierExams(_) => None,
    }
}

fn notes(figures: &DayFigures) -> Vec<String> {
    let each = figures.each.map(|each| format!(", {} min each", minutes_and_seconds(each))).unwrap_or_default();
    let seen = format!("{} seen{each}; {} still to come.", figures.seen, figures.to_come);
    let came = OutcomeKind::ALL.into_iter().filter(|kind| figures.count(*kind) > 0);
    let mut came: Vec<String> = came.map(|kind| format!("{} {}", figures.count(kind), kind.shown())).collect();
    if figures.without > 0 {
        came.push(format!("{} without an outcome", figures.without));
    }
    let outcomes = (!came.is_empty()).then(|| format!("Of those seen: {}.", came.join(", ")));
    let unnamed = format!("{} by number: who they are stands in no list.", counted(figures.seen, "person", "people"));
    [seen].into_iter().chain(outcomes).chain([unnamed]).collect()
}

/// Whether a power of the row was found over something that stayed on.
fn is_over_something(row: &DayRow<'_>) -> bool {
    row.record.as_ref().is_some_and(|record| record.eyes().into_iter().any(|eye| eye.stays_on.is_some()))
}

/// The cells of a row; with what each eye kept on where anybody did.
fn cells(row: &DayRow<'_>, over: bool) -> Vec<Cell> {
    let DayRow { line, person, record } = row;
    let whole = |value: f64| Cell::Figure { value, places: 0, signed: false };
    let record = record.as_ref();
    let age = record.and_then(|record| record.age_years).or(person.entered.age_years);
    let mut cells = vec![
        whole(f64::from(line.number)),
        Cell::known(line.exam, |exam| whole(exam as f64)),
        Cell::known(age, |age| whole(f64::from(age))),
        Cell::text(line.state.name().replace('_', " ")),
        Cell::known(line.exam, |_| whole(line.took.as_secs_f64().round())),
        Cell::known(line.outcome.as_ref(), Cell::text),
    ];
    let eyes = record.map(Record::eyes);
    let power = |eye: Option<&EyeRecord>| {
        let written = eye.and_then(|eye| eye.written);
        let cylinder = written.filter(|written| written.cylinder != 0.0);
        [
            Cell::known(written, |written| Cell::power(written.sphere)),
            Cell::known(cylinder, |written| Cell::power(written.cylinder)),
            Cell::known(cylinder, |written| whole(written.axis)),
            Cell::known(eye.filter(|_| written.is_some()).and_then(|eye| eye.addition), Cell::power),
        ]
    };
    let (right, left) = (eyes.as_ref().map(|eyes| eyes.right), eyes.as_ref().map(|eyes| eyes.left));
    cells.extend(power(right));
    cells.extend(power(left));
    let centre = |eye: Option<&EyeRecord>| Cell::known(eye.and_then(|eye| eye.pd_mm), Cell::figure);
    cells.extend([centre(right), centre(left)]);
    let made = record.filter(|record| record.eyes().into_iter().any(|eye| eye.written.is_some()));
    cells.push(Cell::known(made, |record| Cell::figure(record.planned_vertex_mm)));
    if over {
        let worn = |eye: Option<&EyeRecord>| {
            Cell::known(eye.and_then(|eye| eye.stays_on.as_ref()), |worn| Cell::text(worn.kind.shown()))
        };
        cells.extend([worn(right), worn(left)]);
    }
    let outcome = line.outcome.as_ref();
    cells.push(Cell::known(outcome.and_then(Outcome::ready_made), |(sphere, _)| Cell::power(sphere)));
    cells.push(Cell::known(outcome.and_then(Outcome::given), |given| Cell::figure(given.centres_mm)));
    cells
}
