//! Lists of the Box screen: all boxes, what is lent, what is unsettled, sheets.

use ratatui::layout::Rect;

use super::super::super::box_page::BoxPage;
use super::super::super::box_sheets::sheets_of;
use super::super::super::box_words::day;
use super::super::super::ui::Target;
use super::super::layout::MOST_TEXT;
use super::super::pen::Pen;
use crate::kit::change::bare;
use crate::session::BoxKnown;

/// Columns of the parts of a loan, each with its space: who has it, the piece, since when, until when, how long over.
const LOAN: [u16; 5] = [20, 22, 12, 14, 14];
/// Columns of the parts of what is unsettled: the piece, what somebody has to say.
const UNSETTLED: [u16; 2] = [24, 24];
/// Columns of the parts of a box: its name, by what it is known.
const BOX: [u16; 2] = [32, 24];
/// Columns of the parts of a sheet: its name, what it is.
const SHEET: [u16; 2] = [14, 60];

/// Draws every box that is known.
pub fn boxes(pen: &mut Pen<'_>, area: Rect, list: &[BoxKnown], chosen: usize) {
    let title = if list.len() == 1 { "1 box".to_owned() } else { format!("{} boxes", list.len()) };
    pen.heading(area, &title, true);
    let rows: Vec<Vec<String>> = list.iter().map(of_a_box).collect();
    // the file has a row of its own below
    table(pen, area, &["box", "id"], &BOX, &rows, chosen);
}

fn of_a_box(known: &BoxKnown) -> Vec<String> {
    let name = if known.is_of_the_exam { format!("{} (open)", known.name) } else { known.name.clone() };
    vec![name, bare(&known.key).to_owned(), known.file.clone().unwrap_or_else(|| "file not known".to_owned())]
}

/// All boxes in words.
pub fn boxes_in_words(list: &[BoxKnown], chosen: usize) -> Vec<String> {
    list.iter().enumerate().map(|(nth, known)| pointed(nth == chosen, &of_a_box(known))).collect()
}

fn of_sheets(page: &BoxPage, bag: usize) -> Vec<Vec<String>> {
    sheets_of(page, bag).iter().map(|sheet| vec![sheet.kind.name().to_owned(), sheet.about()]).collect()
}

/// Draws the sheets that can be written.
pub fn sheets(pen: &mut Pen<'_>, area: Rect, page: &BoxPage, chosen: usize, bag: usize) {
    pen.heading(area, "sheets, each as text, CSV or PDF", true);
    table(pen, area, &["sheet", "what it is"], &SHEET, &of_sheets(page, bag), chosen);
}

/// The sheets in words.
pub fn sheets_in_words(page: &BoxPage, chosen: usize, bag: usize) -> Vec<String> {
    of_sheets(page, bag).iter().enumerate().map(|(nth, row)| pointed(nth == chosen, row)).collect()
}

fn of_loans(page: &BoxPage) -> Vec<Vec<String>> {
    let today = page.now.today;
    let of = |loan: &crate::session::OnLoan| {
        let over = loan
            .days_over(today)
            .map(|days| if days == 1 { "1 day over".to_owned() } else { format!("{days} days over") });
        vec![
            loan.to.clone().unwrap_or_else(|| "not said".to_owned()),
            loan.piece.to_string(),
            day(loan.since, today),
            loan.until.map_or_else(|| "no day".to_owned(), |until| day(until, today)),
            if page.marked.contains(&loan.piece) { "not back".to_owned() } else { over.unwrap_or_default() },
        ]
    };
    page.now.loans.iter().map(of).collect()
}

/// Draws what somebody has, by borrower.
pub fn loans(pen: &mut Pen<'_>, area: Rect, page: &BoxPage, chosen: usize) {
    let title = match page.now.loans.len() {
        0 => "nothing is lent".to_owned(),
        1 => "1 piece is lent".to_owned(),
        count => format!("{count} pieces are lent"),
    };
    pen.heading(area, &title, true);
    let rows = of_loans(page);
    if rows.is_empty() {
        pen.text(Rect { y: area.y + 1, height: 1, ..area }, 0, 1, "nobody has anything of this box", pen.theme.quiet);
        return;
    }
    table(pen, area, &["who has it", "piece", "since", "due", ""], &LOAN, &rows, chosen);
}

/// What is lent, in words.
pub fn loans_in_words(page: &BoxPage, chosen: usize) -> Vec<String> {
    let rows = of_loans(page);
    if rows.is_empty() {
        return vec!["nobody has anything of this box".to_owned()];
    }
    rows.iter().enumerate().map(|(nth, row)| pointed(nth == chosen, row)).collect()
}

fn of_unsettled(page: &BoxPage) -> Vec<Vec<String>> {
    let of = |one: &crate::session::NotSettled| {
        let piece_and_question = [one.piece.to_string(), one.question.to_owned()];
        piece_and_question.into_iter().chain(one.said.iter().cloned()).collect()
    };
    page.now.unsettled.iter().map(of).collect()
}

/// Draws of which pieces seats say different things, what they say of the chosen one below it.
pub fn unsettled(pen: &mut Pen<'_>, area: Rect, page: &BoxPage, chosen: usize) {
    let title = match page.now.unsettled.len() {
        0 => "nothing is unsettled".to_owned(),
        count => format!("{count} to settle"),
    };
    pen.heading(area, &title, true);
    let rows = of_unsettled(page);
    if rows.is_empty() {
        let room = Rect { y: area.y + 1, height: 1, ..area };
        pen.text(room, 0, 1, "all seats say the same of every piece", pen.theme.quiet);
        return;
    }
    table(pen, area, &["piece", "what is open"], &UNSETTLED, &rows, chosen);
}

/// What is unsettled, in words.
pub fn unsettled_in_words(page: &BoxPage, chosen: usize) -> Vec<String> {
    let rows = of_unsettled(page);
    if rows.is_empty() {
        return vec!["all seats say the same of every piece".to_owned()];
    }
    rows.iter().enumerate().map(|(nth, row)| pointed(nth == chosen, row)).collect()
}

fn pointed(is_chosen: bool, row: &[String]) -> String {
    let row: Vec<&str> = row.iter().map(String::as_str).filter(|cell| !cell.is_empty()).collect();
    format!("{}{}", if is_chosen { "chosen: " } else { "" }, row.join(", "))
}

/// Rows of cells, the chosen one in view; what has no column of its own stands below the chosen row.
fn table(pen: &mut Pen<'_>, area: Rect, heads: &[&str], widths: &[u16], rows: &[Vec<String>], chosen: usize) {
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    line(pen, room, 0, heads, widths, pen.theme.quiet);
    let room = Rect { y: room.y + 1, height: room.height.saturating_sub(1), ..room };
    let shown = usize::from(room.height).saturating_sub(1).max(1);
    let first = (chosen + 1).saturating_sub(shown);
    let mut at = 0;
    for (nth, row) in rows.iter().enumerate().skip(first) {
        if at >= room.height {
            break;
        }
        let style = if nth == chosen { pen.theme.focus } else { pen.theme.text };
        let cells: Vec<&str> = row.iter().map(String::as_str).collect();
        pen.text(room, at, 0, if nth == chosen { pen.glyphs.pointer } else { " " }, style);
        line(pen, room, at, &cells, widths, style);
        pen.clickable(Rect { y: room.y + at, height: 1, ..room }, Target::Row(nth, None));
        at += 1;
        for more in row.iter().skip(widths.len()).filter(|_| nth == chosen) {
            let place = Rect { width: room.width.min(MOST_TEXT), ..room };
            pen.text(place, at, 3, more, pen.theme.quiet);
            at += 1;
        }
    }
}

fn line(pen: &mut Pen<'_>, area: Rect, row: u16, cells: &[&str], widths: &[u16], style: ratatui::style::Style) {
    let mut column = 1;
    for (cell, width) in cells.iter().zip(widths) {
        let place = Rect { width: area.width.min(column + width - 1), ..area };
        pen.text(place, row, column, cell, style);
        column += width;
    }
}
