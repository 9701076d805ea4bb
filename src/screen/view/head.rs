//! The top line: box, frame, distances, the exam, and whether anything is kept.

use ratatui::layout::Rect;
use unicode_width::UnicodeWidthStr as _;

use super::super::app::App;
use super::super::detail_values::{chart_metres, chart_place, complained};
use super::layout::MOST_TEXT;
use super::pen::Pen;
use crate::optics::{ChartPlace, Eyes};

/// Between names and distances that do not share a line of text.
const APART: &str = "   ";

/// Draws the top line.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App) {
    let state = app.state();
    let fitted = &state.fitted;
    let mut distances = vec![
        format!("vertex {} mm", fitted.frame.vertex.0),
        match chart_place(app).filter(|chart| !chart.is_as_made()) {
            Some(ChartPlace { made_for_m, stands_at_m }) => format!("chart {stands_at_m} m, for {made_for_m} m"),
            None => format!("chart {} m", chart_metres(app)),
        },
    ];
    if let Some(Eyes { right, left }) = fitted.eye_pd.all() {
        distances.push(format!("PD {} / {}", right.0, left.0));
    }
    let mut exam = vec![app.heading()];
    exam.extend(state.person.label.clone());
    let sits = app.ui.practice.as_ref().map(|seated| &seated.seat.person);
    let years = state.person.age_years.or(sits.map(|person| person.age_years));
    exam.extend(years.map(|years| format!("{years} years")));
    exam.extend(sits.map(|person| complained(person.complaint).to_owned()));
    exam.extend(state.person.drops.then(|| "with drops".to_owned()));
    if state.finished {
        exam.push("closed".to_owned());
    }
    let dot = format!(" {} ", pen.glyphs.dot);
    let failing = app.session.disk_failure();
    if failing.is_some() {
        exam.push("NOT YET ON THE DISK".to_owned());
    }
    exam.extend(app.room_in_words());
    let exam = match (app.session.lasts(), state.practised.is_some()) {
        (true, _) | (false, true) => exam.join(&dot),
        (false, false) => "NOT SAVED: no logbook".to_owned(),
    };
    let practises = state.practised.is_some();
    let style =
        if app.session.lasts() && failing.is_none() && !practises { pen.theme.quiet } else { pen.theme.warning };
    let width = pen.glyphs.spell(&exam).width() as u16 + 1;
    pen.text(area, 0, area.width.saturating_sub(width), &exam, style);
    let room = area.width.saturating_sub(width + 2);
    let distances = distances.join(&dot);
    let names = [fitted.stock.box_name.as_str(), &fitted.frame.name].join(&dot);
    // what would be too long a line stands apart, where there is room for it
    let is_one_line =
        room <= MOST_TEXT || 1 + names.width() + dot.width() + distances.width() <= usize::from(MOST_TEXT);
    let distances = if is_one_line { dot } else { APART.to_owned() } + &distances;
    // names are cut where there is too little room, distances are not
    let left = Rect { width: room, ..area };
    let beside = Rect { width: room.saturating_sub(distances.width() as u16).min(MOST_TEXT), ..left };
    let end = pen.text(beside, 0, 1, &names, pen.theme.quiet);
    pen.text(left, 0, end, &distances, pen.theme.quiet);
}
