//! The prescription: what is written down for both eyes, and what the findings call for.

use super::super::app::App;
use super::super::decide::guide::as_written;
use super::super::words;
use super::pen::{Line, Pen, wrapped};
use crate::exam::cautions::{Caution, called_for};
use crate::exam::certainty::Certainty;
use crate::exam::prescription::EyeOutcome;
use crate::exam::prescription::{Prescription, prism_parts};
use crate::exam::{ProcedureName, State};
use crate::export::words::known;
use crate::optics::notation::{LensToken, Style, write_lens, write_worn};
use crate::optics::{Eye, Eyes, Millimetres, Power};

/// Axes are written in whole degrees.
const AXIS_STEP_DEG: u8 = 1;

/// What is written for each eye and both, a row each.
fn rows(app: &App, state: &State) -> Vec<String> {
    let prescription = Prescription::of(state, AXIS_STEP_DEG);
    let acuity = |read| words::acuity_and_chart(read, app.settings.acuity);
    let mut rows = Vec::new();
    for eye in Eye::BOTH {
        let Some(of_eye) = prescription.eye(eye) else {
            rows.push(format!("{eye:<6}{}", not_there(app, state, &prescription, eye)));
            continue;
        };
        let power = words::power(of_eye.written.power(), app.ui.form);
        let read = of_eye.acuity.map_or_else(|| "not read".to_owned(), acuity);
        rows.push(format!("{eye:<6}{power:<19}{read}"));
        rows.extend(over_what_stays_on(app, state, eye, of_eye.total, prescription.found_vertex));
        let prism = state.results.prism[eye].map(|prism| prism_parts(prism, eye)).unwrap_or_default();
        rows.extend(prism.into_iter().map(|part| {
            let lens = LensToken::Prism { amount: part.amount, base: part.base };
            format!("{:<6}prism {}", "", write_lens(&lens, Style::Ascii))
        }));
    }
    rows.extend(additions(&prescription));
    rows.extend(prescription.acuity_of_both.map(|read| format!("{:<25}{}", "both eyes", acuity(read))));
    rows
}

/// That the power of an eye is over something that stays on, and what both are together.
fn over_what_stays_on(
    app: &App,
    state: &State,
    eye: Eye,
    total: Option<Power>,
    frame: Millimetres,
) -> impl IntoIterator<Item = String> {
    let worn = state.person.stays_on[eye];
    let over = worn.map(|worn| format!("{:<6}over {}", "", write_worn(&worn, app.ui.form, Style::Ascii)));
    let total = worn.and(total);
    let total = total.map(|total| format!("{:<6}total {} at {} mm", "", words::power(total, app.ui.form), frame.0));
    over.into_iter().chain(total)
}

/// What is said of an eye without a power: that nothing was accepted yet, as long as it is not written down.
fn not_there(app: &App, state: &State, prescription: &Prescription, eye: Eye) -> &'static str {
    let writing = app.guide().presentation().procedure == Some(ProcedureName::Writing);
    let is_open = !writing && !app.guide().findings().written && !state.finished;
    let nothing = state.results.refraction[eye].is_none() && state.results.unrefracted[eye].is_none();
    if is_open && nothing { "not done yet" } else { EyeOutcome::of(state, prescription, eye).shown() }
}

/// The addition of both eyes, or of each where they differ.
fn additions(prescription: &Prescription) -> Vec<String> {
    if let Some(addition) = prescription.addition() {
        return vec![format!("add   {}", words::dioptres(addition.0))];
    }
    let of_eye = |eye: Eye| Some(format!("add   {}, {eye} eye", words::dioptres(prescription.additions[eye]?.0)));
    Eye::BOTH.into_iter().filter_map(of_eye).collect()
}

/// The few rows that the guide shows while it is written down.
pub fn in_short(pen: &Pen<'_>, app: &App, width: usize) -> Vec<Line> {
    let state = &as_written(app);
    let mut lines: Vec<Line> = rows(app, state).into_iter().map(|row| vec![(row, pen.theme.net)]).collect();
    // what does not fit is said before it is written
    let doubts = called_for(state, &Prescription::of(state, AXIS_STEP_DEG)).into_iter().filter(Caution::is_doubt);
    for doubt in doubts {
        let text = wrapped(&doubt.to_string(), width.saturating_sub(2));
        lines.extend(text.into_iter().enumerate().map(|(nth, line)| {
            vec![((if nth == 0 { "! " } else { "  " }).to_owned(), pen.theme.warning), (line, pen.theme.warning)]
        }));
    }
    lines
}

/// All of it, with what it is written for and what to be careful about.
pub fn whole(pen: &Pen<'_>, app: &App, width: usize) -> Vec<Line> {
    let state = &as_written(app);
    let prescription = Prescription::of(state, AXIS_STEP_DEG);
    let mut lines: Vec<Line> = rows(app, state).into_iter().map(|row| vec![(row, pen.theme.net)]).collect();
    lines.push(Vec::new());
    let mut for_what = vec![format!("for glasses {} mm in front of the eye", prescription.planned_vertex.0)];
    if prescription.vertex_matters() {
        for_what.push(format!("found at {} mm: write the distance down", prescription.found_vertex.0));
    }
    if let Some(Eyes { right, left }) = state.fitted.eye_pd.all() {
        for_what.push(format!("pupillary distances {} and {} mm", right.0, left.0));
    }
    let allowance = state.results.chart_allowance;
    for_what.extend(allowance.map(|taken_off| format!("{taken_off:.2} D taken off for the near chart")));
    for line in wrapped(&for_what.join(", "), width) {
        lines.push(vec![(line, pen.theme.text)]);
    }
    for eye in Eye::BOTH {
        let Some(of_eye) = prescription.eye(eye) else { continue };
        for line in wrapped(&known(&Certainty::of(state, eye, of_eye), eye), width) {
            lines.push(vec![(line, pen.theme.text)]);
        }
    }
    lines.push(Vec::new());
    let mut cautions = called_for(state, &prescription);
    // a draft is the least of them here: the exam is still being made
    cautions.sort_by_key(|caution| *caution == Caution::NotClosed);
    for caution in cautions {
        let style = if caution == Caution::NotClosed { pen.theme.quiet } else { pen.theme.warning };
        for (nth, line) in wrapped(&caution.to_string(), width.saturating_sub(2)).into_iter().enumerate() {
            let lead = if nth == 0 { "! " } else { "  " };
            lines.push(vec![(lead.to_owned(), style), (line, style)]);
        }
    }
    lines
}
