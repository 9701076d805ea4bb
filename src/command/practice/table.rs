//! The figures of evaluations for people: one table, a row each, as it stands in the README.

use std::io::{self, Write};

use serde::Serialize;

use super::evaluated::EvaluationJson;
use crate::practice::evaluation::{Outcome, Spread};

/// What stands in place of a figure that was not counted.
const NOT_COUNTED: &str = "-";

/// The head of the table.
const COLUMNS: [&str; 18] = [
    "care",
    "law",
    "M ±0.25",
    "M ±0.50",
    "vector ±0.50",
    "over-minus",
    "over-plus",
    "worst M",
    "beyond 1 D",
    "beyond 2 D",
    "not refracted",
    "looks",
    "lenses moved",
    "cylinder left",
    "axis off",
    "again, M",
    "again ±0.50",
    "again, axis SD",
];

/// Writes the table.
pub(super) fn write_table(out: &mut dyn Write, rows: &[EvaluationJson]) -> io::Result<()> {
    let cells: Vec<[String; COLUMNS.len()]> =
        std::iter::once(COLUMNS.map(str::to_owned)).chain(rows.iter().map(row)).collect();
    let widths: Vec<usize> = (0..COLUMNS.len())
        .map(|column| cells.iter().map(|row| row[column].chars().count()).max().unwrap_or(0))
        .collect();
    for (nth, row) in cells.iter().enumerate() {
        for (cell, width) in row.iter().zip(&widths) {
            write!(out, "| {cell:width$} ")?;
        }
        writeln!(out, "|")?;
        if nth == 0 {
            for width in &widths {
                write!(out, "| {} ", "-".repeat(*width))?;
            }
            writeln!(out, "|")?;
        }
    }
    Ok(())
}

/// Writes one evaluation line by line, for a terminal that is narrower than the table.
pub(super) fn write_list(out: &mut dyn Write, of: &EvaluationJson) -> io::Result<()> {
    let width = COLUMNS.iter().map(|column| column.chars().count()).max().unwrap_or(0);
    for (column, cell) in COLUMNS.iter().zip(row(of)).filter(|(_, cell)| cell != NOT_COUNTED) {
        writeln!(out, "{column:width$}  {cell}")?;
    }
    Ok(())
}

fn row(of: &EvaluationJson) -> [String; COLUMNS.len()] {
    let figures = &of.figures;
    [
        of.care.to_owned(),
        of.law.to_owned(),
        percent(Some(figures.m_within_quarter)),
        percent(Some(figures.m_within_half)),
        percent(Some(figures.vector_within_half)),
        percent(Some(figures.over_minus)),
        percent(Some(figures.over_plus)),
        number(figures.worst_m, 2),
        figures.beyond_one.to_string(),
        figures.beyond_two.to_string(),
        figures.not_refracted.to_string(),
        spread(figures.presentations, 0),
        spread(figures.moves, 0),
        spread(figures.cylinder_vector_error, 2),
        spread(figures.axis_error, 0),
        number(figures.retest.mean, 2),
        percent(figures.retest.within_half),
        number(figures.retest.axis_sd, 0),
    ]
}

/// Writes what not every evaluation counts.
pub(super) fn write_more(out: &mut dyn Write, of: &EvaluationJson) -> io::Result<()> {
    let figures = &of.figures;
    let about = format!("{}, {}", of.care, of.law);
    if figures.unfinished > 0 {
        writeln!(out, "{about}: {} exams did not come to their end", figures.unfinished)?;
    }
    if let Some(moved) = figures.balance.moved_over_quarter {
        writeln!(out, "{about}: the balance moved {moved} eyes by more than 0.25 D")?;
    }
    if figures.near_read.is_some() {
        writeln!(out, "{about}: {} of those from 45 years on read print from 33 to 45 cm", percent(figures.near_read))?;
    }
    if !figures.slips.by_size.is_empty() {
        writeln!(
            out,
            "{about}: of the slips that changed the M that is written by 1.50 D or more, or left nothing to write, {} were \
             noticed at the end, of those that changed it before the eye only or too {}; false alarms in {}",
            percent(figures.slips.caught),
            percent(figures.slips.caught_of_lenses),
            percent(figures.slips.false_alarms),
        )?;
        for size in &figures.slips.by_size {
            let to = size.to.map_or_else(|| "on".to_owned(), |to| format!("to {to:.2} D"));
            let noticed = (size.caught.unwrap_or(0.0) * size.slips as f64).round();
            writeln!(out, "  M off from {:.2} D {to} after a slip: noticed in {noticed} of {}", size.from, size.slips)?;
        }
    }
    if let Some(retinoscopy) = figures.retinoscopy {
        writeln!(
            out,
            "{about}: retinoscopy right within 0.25 D in both meridians in {}, lenses {}",
            percent(Some(retinoscopy.both_meridians_within_quarter)),
            spread(retinoscopy.lenses, 0),
        )?;
    }
    Ok(())
}

fn percent(share: Option<f64>) -> String {
    share.map_or_else(|| NOT_COUNTED.to_owned(), |share| format!("{:.1} %", 100.0 * share))
}

fn number(figure: Option<f64>, places: usize) -> String {
    figure.map_or_else(|| NOT_COUNTED.to_owned(), |figure| format!("{figure:.places$}"))
}

/// The median, and behind it what nine of ten do not exceed.
fn spread(spread: Spread, places: usize) -> String {
    format!("{}, {}", number(spread.median, places), number(spread.p90, places))
}

/// A row for each eye. Powers in dioptres, minus-cylinder form; what was not written is empty.
#[derive(Serialize)]
struct CsvRow {
    person: u64,
    eye: &'static str,
    age: u8,
    needs_sphere: f64,
    needs_cylinder: f64,
    needs_axis: f64,
    written_sphere: Option<f64>,
    written_cylinder: Option<f64>,
    written_axis: Option<f64>,
    m_off: Option<f64>,
    cylinder_off: Option<f64>,
    finished: bool,
    looks: usize,
    lenses_moved: usize,
    slip: Option<String>,
    slip_m: Option<f64>,
    doubted: bool,
}

/// The rows of all eyes.
pub(super) fn csv(outcomes: &[Outcome]) -> anyhow::Result<Vec<u8>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for outcome in outcomes {
        let (needs, written) = (outcome.needs.minus_form(), outcome.written);
        writer.serialize(CsvRow {
            person: outcome.person,
            eye: match outcome.eye {
                crate::optics::Eye::Right => "right",
                crate::optics::Eye::Left => "left",
            },
            age: outcome.age_years,
            needs_sphere: needs.sphere,
            needs_cylinder: needs.cylinder,
            needs_axis: needs.axis,
            written_sphere: written.map(|written| written.sphere),
            written_cylinder: written.map(|written| written.cylinder),
            written_axis: written.map(|written| written.axis),
            m_off: outcome.m_off_d(),
            cylinder_off: outcome.cylinder_off_d(),
            finished: outcome.finished,
            looks: outcome.effort.presentations,
            lenses_moved: outcome.effort.moves,
            slip: outcome.slip.map(|made| format!("{:?}", made.slip)),
            slip_m: outcome.slip.map(|made| made.changes_m_d),
            doubted: outcome.doubted,
        })?;
    }
    Ok(writer.into_inner()?)
}
