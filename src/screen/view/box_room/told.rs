//! Panels that are lines of text: what is to be done, what is away, what happened lately.

use ratatui::layout::Rect;

use super::super::super::app::App;
use super::super::super::box_page::BoxPage;
use super::super::super::box_words::{day, noted_by, state, still_counted, what_happened};
use super::super::super::keys::BoxAction;
use super::super::layout::MOST_TEXT;
use super::super::pen::{Pen, wrapped};
use super::super::tray::mark;
use crate::kit::StockedPiece;

/// Draws lines below a heading, and says how many there was no room for.
pub fn draw(pen: &mut Pen<'_>, area: Rect, heading: &str, lines: &[(String, bool)]) {
    pen.heading(area, heading, false);
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    let lines = in_rows(lines, area.width);
    let shown = usize::from(room.height);
    for (row, (line, stands_out)) in lines.iter().take(shown).enumerate() {
        let style = if *stands_out { pen.theme.warning } else { pen.theme.text };
        pen.text(room, row as u16, 1, line, style);
    }
    if lines.len() > shown {
        let more = format!(" {} more ", lines.len() - shown);
        pen.text(area, 0, area.width.saturating_sub(more.len() as u16 + 1), &more, pen.theme.quiet);
    }
}

/// Lines as wide as a panel, those that go on set in.
fn in_rows(lines: &[(String, bool)], columns: u16) -> Vec<(String, bool)> {
    let width = usize::from(columns.saturating_sub(2).min(MOST_TEXT));
    let wrap = |(text, stands_out): &(String, bool)| {
        wrapped(text, width).into_iter().map(|line| (line, *stands_out)).collect::<Vec<_>>()
    };
    lines.iter().flat_map(wrap).collect()
}

/// Rows of a panel of lines, with its heading.
pub fn rows(lines: &[(String, bool)], columns: u16) -> u16 {
    1 + in_rows(lines, columns).len() as u16
}

fn plain(lines: impl IntoIterator<Item = String>) -> Vec<(String, bool)> {
    lines.into_iter().map(|line| (line, false)).collect()
}

fn count(count: usize, one: &str, many: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {many}") }
}

/// What is to be done about the box, with the key for it.
fn things_to_do(app: &App, page: &BoxPage) -> Vec<(String, bool)> {
    let now = &page.now;
    let key = |action: BoxAction| app.settings.keys.key_of(action);
    let mut lines = Vec::new();
    lines.extend(now.notes.iter().map(|note| (note.clone(), true)));
    lines.extend(still_counted(now, app.state()).map(|line| (line, true)));
    if !now.unsettled.is_empty() {
        let what = count(now.unsettled.len(), "piece is", "pieces are");
        lines.push((format!("{what} unsettled: {} to settle", key(BoxAction::Unsettled)), true));
    }
    let over = now.loans.iter().filter(|loan| loan.days_over(now.today).is_some()).count();
    if over > 0 {
        lines.push((
            format!("{} overdue: {} loans", count(over, "piece is", "pieces are"), key(BoxAction::Loans)),
            true,
        ));
    }
    let lost = now.stock.pieces().iter().filter(|of| of.place == crate::kit::Place::Lost).count();
    if lost > 0 {
        lines.push((format!("{} lost", count(lost, "piece is", "pieces are")), false));
    }
    let counted = match (now.is_being_counted, &now.last_counted) {
        (true, _) => "a stock-take is begun".to_owned(),
        (false, Some(last)) => format!("last counted on {}", day(last.day, now.today)),
        (false, None) => "not counted yet".to_owned(),
    };
    lines.push((format!("{counted}: {} stock-take", key(BoxAction::StockTake)), false));
    lines
}

/// Rows of what is to be done.
pub fn to_do_rows(app: &App, page: &BoxPage, columns: u16) -> u16 {
    rows(&things_to_do(app, page), columns).max(3)
}

/// Draws what is to be done.
pub fn to_do(pen: &mut Pen<'_>, area: Rect, app: &App, page: &BoxPage) {
    draw(pen, area, "to do", &things_to_do(app, page));
}

/// What is to be done, in words.
pub fn to_do_in_words(app: &App, page: &BoxPage) -> Vec<String> {
    things_to_do(app, page).into_iter().map(|(line, _)| line).collect()
}

fn pieces_away(page: &BoxPage) -> Vec<(String, bool)> {
    let stands_out = |stocked: &&StockedPiece| mark(stocked).is_some_and(|mark| mark != '•');
    let pieces = page.now.stock.pieces().iter().filter(stands_out);
    let noted = |of: &StockedPiece| {
        page.now.noted_at.get(&of.piece).map(|seat| format!(", noted at {seat}")).unwrap_or_default()
    };
    let mut lines: Vec<String> = pieces.map(|of| format!("{}: {}{}", of.piece, state(of), noted(of))).collect();
    if lines.is_empty() {
        lines.push("every piece is here, whole and as marked".to_owned());
    }
    plain(lines)
}

/// Rows of what is away.
pub fn away_rows(page: &BoxPage, columns: u16) -> u16 {
    rows(&pieces_away(page), columns).max(3)
}

/// Draws each piece that is away, damaged or off its mark.
pub fn away(pen: &mut Pen<'_>, area: Rect, page: &BoxPage) {
    draw(pen, area, "not here, or not as marked", &pieces_away(page));
}

/// The most of what happened that is listed.
const MOST_OF_LATE: usize = 60;

fn late(page: &BoxPage) -> Vec<(String, bool)> {
    let late = page.now.happened.iter().rev().take(MOST_OF_LATE).map(|happened| {
        let subject = happened.piece.as_ref().map_or_else(|| happened.lens.to_string(), ToString::to_string);
        let by = noted_by(happened);
        format!("{}  {subject} {}{by}", day(happened.day, page.now.today), what_happened(happened))
    });
    plain(late)
}

/// Rows of what happened lately.
pub fn lately_rows(page: &BoxPage, columns: u16) -> u16 {
    rows(&late(page), columns)
}

/// Draws what happened lately.
pub fn lately(pen: &mut Pen<'_>, area: Rect, page: &BoxPage) {
    draw(pen, area, "what happened lately", &late(page));
}
