//! What a refraction by likelihood believes, drawn small: the equivalent with its spread on a ruler, the axis as a sector of the
//! dial.

use super::super::app::App;
use super::super::words;
use super::pen::{Line, Pen};
use crate::exam::{Believed, ProcedureName};
use crate::optics::Eye;

/// Nineteen of twenty lie within so many standard deviations.
const DEVIATIONS: f64 = 2.0;

/// The ruler reaches so far to either side, in dioptres, in so many columns.
const REACHES_D: f64 = 1.0;
const COLUMNS: usize = 17;

/// What is believed of an eye while it is refracted by likelihood.
pub fn of(app: &App, eye: Eye) -> Option<Believed> {
    let runs = app.guide().running() == Some((ProcedureName::Likelihood, Some(eye)));
    app.guide().findings().believed[eye].filter(|_| runs)
}

/// The equivalent, and the stretch around it in which it lies in nineteen of twenty.
pub fn ruler(pen: &Pen<'_>, believed: &Believed) -> Line {
    let within = DEVIATIONS * believed.sphere_sd;
    let at = |dioptres: f64| {
        let share = (dioptres / REACHES_D).clamp(-1.0, 1.0) / 2.0 + 0.5;
        (share * (COLUMNS - 1) as f64).round() as usize
    };
    let marked: String = (0..COLUMNS)
        .map(|column| match column {
            _ if column == at(0.0) => "|",
            _ if column == at(-within) => "[",
            _ if column == at(within) => "]",
            _ => pen.glyphs.rule,
        })
        .collect();
    let hundredths = |dioptres: f64| (dioptres * 100.0).round() / 100.0;
    vec![
        (format!("M {} ", words::dioptres(hundredths(believed.mean.m))), pen.theme.text),
        (marked, pen.theme.quiet),
        (format!(" {} either way", words::dioptres(hundredths(within)).trim_start_matches('+')), pen.theme.text),
    ]
}

/// The axis of an eye's cylinder, and how far to either side of it it may lie, in degrees; `None` where it may lie anywhere.
pub fn sector_deg(app: &App, eye: Eye) -> Option<[f64; 2]> {
    let believed = of(app, eye)?;
    let cylinder = app.ui.form.of(believed.mean);
    // the vector of a cylinder is half of it, and turns twice as fast as its axis
    let of_part = DEVIATIONS * believed.cylinder_sd / std::f64::consts::SQRT_2;
    let turns = of_part / (cylinder.cylinder.abs() / 2.0);
    (turns < 1.0).then(|| [cylinder.axis, libm::asin(turns).to_degrees() / 2.0])
}
