//! How common which prescription is, among the people of a table.

use std::collections::BTreeMap;

use csv::ReaderBuilder;
use thiserror::Error;

use super::wanted::Wanted;
use crate::optics::bounds::{self, Range};
use crate::optics::notation::parse_figure;
use crate::optics::refraction_counts::counted;

/// Prescriptions, each once, with how many eyes need it.
#[derive(Debug, Clone, PartialEq)]
pub struct People {
    wanted: Vec<Wanted>,
    eyes: Vec<f64>,
}

/// What is wrong with a line of a table.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{line}: {message}")]
pub struct PeopleFault {
    /// The line, from 1.
    pub line: u64,
    /// What is wrong, and what to do.
    pub message: String,
}

impl People {
    /// The public table that comes with the program ([`counted`]).
    pub fn counted() -> Self {
        Self::of(counted().iter().map(|row| (Wanted::of(row.sphere, row.cylinder), f64::from(row.eyes))))
    }

    /// Prescriptions with how many eyes need each, in any order and form.
    pub fn of(rows: impl IntoIterator<Item = (Wanted, f64)>) -> Self {
        // in thousandths, so that equal prescriptions are one
        let thousandths = |dioptres: f64| (dioptres * 1000.0).round() as i64;
        let mut by_power: BTreeMap<(i64, i64), (Wanted, f64)> = BTreeMap::new();
        for (wanted, eyes) in rows {
            let key = (thousandths(wanted.sphere), -thousandths(wanted.cylinder));
            by_power.entry(key).or_insert((wanted, 0.0)).1 += eyes;
        }
        let (wanted, eyes) = by_power.into_values().unzip();
        Self { wanted, eyes }
    }

    /// Reads a table of one's own: CSV with a head that names `sphere` and `cylinder`, and `eyes` where a row stands for several;
    /// other columns are left alone, lines that begin with # too. Either cylinder form is read.
    ///
    /// # Errors
    /// Every line that cannot be read, or that there is none.
    pub fn parse(text: &str) -> Result<Self, Vec<PeopleFault>> {
        let fault = |line: u64, message: String| PeopleFault { line, message };
        let mut reader = ReaderBuilder::new().comment(Some(b'#')).flexible(true).from_reader(text.as_bytes());
        let head = match reader.headers() {
            Ok(head) => head.clone(),
            Err(error) => return Err(vec![fault(1, error.to_string())]),
        };
        let head_line = head.position().map_or(1, csv::Position::line);
        let column = |name: &str| head.iter().position(|title| title.trim().eq_ignore_ascii_case(name));
        let (Some(sphere), Some(cylinder)) = (column("sphere"), column("cylinder")) else {
            let wanted = "the first line names the columns: sphere,cylinder,eyes (eyes may be left out)";
            return Err(vec![fault(head_line, wanted.to_owned())]);
        };
        let eyes = column("eyes");
        let (mut rows, mut faults) = (Vec::new(), Vec::new());
        for record in reader.records() {
            let record = match record {
                Ok(record) => record,
                Err(error) => {
                    let line = error.position().map_or(0, csv::Position::line);
                    faults.push(fault(line, error.to_string()));
                    continue;
                }
            };
            let line = record.position().map_or(0, csv::Position::line);
            let read = |column: usize, name: &str, range: &Range| {
                let text = record.get(column).unwrap_or_default().trim();
                parse_figure(text, range).map_err(|error| fault(line, format!("{name} `{text}`: {}", error.problem())))
            };
            let eyes = eyes.map_or(Ok(1.0), |column| read(column, "eyes", &bounds::EYES_COUNTED));
            match (
                read(sphere, "sphere", &bounds::TABLED_POWER),
                read(cylinder, "cylinder", &bounds::TABLED_POWER),
                eyes,
            ) {
                (Ok(sphere), Ok(cylinder), Ok(eyes)) => rows.push((Wanted::of(sphere, cylinder), eyes)),
                (sphere, cylinder, eyes) => {
                    faults.extend([sphere, cylinder, eyes].into_iter().filter_map(Result::err));
                }
            }
        }
        match (faults.is_empty(), rows.iter().any(|(_, eyes)| *eyes > 0.0)) {
            (true, true) => Ok(Self::of(rows)),
            (true, false) => Err(vec![fault(head_line, "there is nobody in this table".to_owned())]),
            (false, _) => Err(faults),
        }
    }

    /// Their prescriptions, each once.
    pub fn wanted(&self) -> &[Wanted] {
        &self.wanted
    }

    /// How many eyes need each.
    pub fn eyes(&self) -> &[f64] {
        &self.eyes
    }

    /// How many eyes there are in all.
    pub fn count(&self) -> f64 {
        self.eyes.iter().sum()
    }
}
