//! The trail as a plot: power against acuity, better and worse differ in shape, kept ones filled.

use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::app::App;
use super::super::decide::trail::points;
use super::super::ui::Panel;
use super::super::words;
use super::pen::{Pen, wrapped};
use crate::exam::{Judgement, Tried};
use crate::guide::Bracket;
use crate::optics::Acuity;

/// Columns for the acuities at the left.
const GUTTER: u16 = 8;
/// Rows for what was judged without a line read: better, same, worse.
const JUDGED: [(&str, Judgement); 3] =
    [("clearer", Judgement::Better), ("same", Judgement::Same), ("worse", Judgement::Worse)];
/// Rows for the axis, its figures and the bracket.
const AXIS_ROWS: u16 = 2;
/// Least rows of acuity that are worth drawing.
const LEAST_ACUITY_ROWS: u16 = 2;
/// Power on either side of what was tried, so that no point lies on the edge.
const MARGIN_D: f64 = 0.25;
/// No letter lies this much below the worst line read.
const NO_LETTER_BELOW_LOG_MAR: f64 = 0.2;

/// The shape of something tried: how it was judged, filled when it was kept.
pub fn shape(tried: &Tried, ascii: bool) -> &'static str {
    match (tried.judgement, tried.kept, ascii) {
        (Some(Judgement::Better), true, false) => "▲",
        (Some(Judgement::Better), false, false) => "△",
        (Some(Judgement::Same), true, false) => "■",
        (Some(Judgement::Same), false, false) => "□",
        (Some(Judgement::Worse), true, false) => "▼",
        (Some(Judgement::Worse), false, false) => "▽",
        (None, true, false) => "●",
        (None, false, false) => "○",
        (Some(Judgement::Better), true, true) => "A",
        (Some(Judgement::Better), false, true) => "^",
        (Some(Judgement::Same), true, true) => "#",
        (Some(Judgement::Same), false, true) => "=",
        (Some(Judgement::Worse), true, true) => "V",
        (Some(Judgement::Worse), false, true) => "v",
        (None, true, true) => "@",
        (None, false, true) => "o",
    }
}

/// A shape that is drawn where the terminal may lack it: `Pen::text` spells only what it knows.
pub fn put(pen: &mut Pen<'_>, area: Rect, row: u16, column: u16, shape: &str, style: Style) {
    let area = area.intersection(pen.buffer.area);
    if row < area.height && column < area.width {
        pen.buffer.set_string(area.x + column, area.y + row, shape, style);
    }
}

struct Scale {
    least: f64,
    most: f64,
    cells: u16,
}

impl Scale {
    fn over(values: impl Iterator<Item = f64> + Clone, margin: f64, cells: u16) -> Self {
        let least = values.clone().fold(f64::INFINITY, f64::min) - margin;
        let most = values.fold(f64::NEG_INFINITY, f64::max) + margin;
        Self { least, most, cells }
    }

    fn at(&self, value: f64) -> u16 {
        let span = self.most - self.least;
        let part = if span > 0.0 { (value - self.least) / span } else { 0.5 };
        (part * f64::from(self.cells.saturating_sub(1))).round().clamp(0.0, f64::from(self.cells)) as u16
    }
}

/// The least rows that a plot is worth: one of acuities, those of what was judged, the axis.
pub const LEAST_ROWS: u16 = LEAST_ACUITY_ROWS + JUDGED.len() as u16 + AXIS_ROWS;

/// Draws the plot of the eye in focus, named.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App) {
    pen.heading(area, &format!("trail, {} eye", app.ui.eye), app.ui.panel == Panel::Trail);
    ladder(pen, Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area }, app);
}

/// Draws the plot alone.
pub fn ladder(pen: &mut Pen<'_>, room: Rect, app: &App) {
    let eye = app.ui.eye;
    let points = points(app);
    if points.is_empty() {
        let text = format!("Nothing was tried in front of the {eye} eye yet.");
        for (row, line) in wrapped(&text, usize::from(room.width.saturating_sub(2))).iter().enumerate() {
            pen.text(room, row as u16, 1, line, pen.theme.quiet);
        }
        return;
    }
    let powers = points.iter().map(|(_, tried)| tried.power.m);
    let across = Scale::over(powers, MARGIN_D, room.width.saturating_sub(GUTTER + 1));
    let judged_rows = JUDGED.len() as u16;
    let acuity_rows = room.height.saturating_sub(judged_rows + AXIS_ROWS);
    let lines = log_mars(&points);
    let acuity_rows = if lines.is_empty() || acuity_rows < LEAST_ACUITY_ROWS { 0 } else { acuity_rows };
    let up = Scale::over(lines.iter().copied(), 0.0, acuity_rows);
    let axis = acuity_rows + judged_rows;

    if acuity_rows > 0 {
        // the lines that were read name their rows; where two share one, the better
        let mut named = points.iter().filter_map(|(_, tried)| tried.acuity).collect::<Vec<_>>();
        named.sort_by(|a, b| worse(*b).total_cmp(&worse(*a)));
        for acuity in named {
            let text = words::acuity_in_short(acuity, app.settings.acuity);
            let row = up.at(acuity.log_mar().unwrap_or(up.most));
            pen.text(room, row, 0, &format!("{text:>7}"), pen.theme.quiet);
        }
    }
    for (nth, (word, _)) in JUDGED.iter().enumerate() {
        pen.text(room, acuity_rows + nth as u16, 0, &format!("{word:>7}"), pen.theme.quiet);
    }
    let rule = pen.glyphs.rule.repeat(usize::from(across.cells));
    pen.text(room, axis, GUTTER, &rule, pen.theme.quiet);
    bracket(pen, room, axis, app, &across);
    let (least, most) = (words::dioptres(across.least + MARGIN_D), words::dioptres(across.most - MARGIN_D));
    pen.text(room, axis + 1, GUTTER, &least, pen.theme.quiet);
    if across.most - across.least > 2.0 * MARGIN_D {
        pen.text(room, axis + 1, room.width.saturating_sub(most.len() as u16 + 1), &most, pen.theme.quiet);
    }

    let chosen = app.ui.chosen_tried.min(points.len() - 1);
    // the newest on top, and the chosen one above all
    let order = (0..points.len()).rev().filter(|nth| *nth != chosen).chain([chosen]);
    for nth in order {
        let tried = &points[nth].1;
        let row = match (tried.acuity, tried.judgement) {
            (Some(acuity), _) if acuity_rows > 0 => up.at(acuity.log_mar().unwrap_or(up.most)),
            (_, Some(judgement)) => {
                acuity_rows + JUDGED.iter().position(|(_, row)| *row == judgement).unwrap_or(0) as u16
            }
            _ => continue,
        };
        let style = if nth == chosen { pen.theme.focus } else { style(pen, tried) };
        let mark = shape(tried, pen.glyphs.ascii);
        put(pen, room, row, GUTTER + across.at(tried.power.m), mark, style);
    }
}

/// logMAR; no letter is worse than any line.
fn worse(acuity: Acuity) -> f64 {
    acuity.log_mar().unwrap_or(f64::INFINITY)
}

/// The style of something tried; its shape says the same.
pub fn style(pen: &Pen<'_>, tried: &Tried) -> Style {
    match tried.judgement {
        Some(Judgement::Worse) => pen.theme.warning,
        Some(Judgement::Better) => pen.theme.done,
        Some(Judgement::Same) | None => pen.theme.text,
    }
}

fn log_mars(points: &[(usize, Tried)]) -> Vec<f64> {
    let read = points.iter().filter_map(|(_, tried)| tried.acuity);
    let mut lines: Vec<f64> = read.clone().filter_map(Acuity::log_mar).collect();
    if read.into_iter().any(|acuity| acuity.log_mar().is_none()) {
        let worst = lines.iter().copied().fold(0.0, f64::max);
        lines.push(worst + NO_LETTER_BELOW_LOG_MAR);
    }
    lines
}

/// What the search of this eye has left, marked on the axis.
fn bracket(pen: &mut Pen<'_>, room: Rect, axis: u16, app: &App, across: &Scale) {
    let presentation = app.guide().presentation();
    if presentation.eye != Some(app.ui.eye) {
        return;
    }
    let Bracket { least_d, most_d } = presentation.bracket.unwrap_or_default();
    for (bound, mark) in [(least_d, "["), (most_d, "]")] {
        if let Some(bound) = bound.filter(|bound| (across.least..=across.most).contains(bound)) {
            pen.text(room, axis, GUTTER + across.at(bound), mark, pen.theme.net);
        }
    }
}
