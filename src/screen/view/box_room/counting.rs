//! A stock-take: the row that is counted, the other rows, and what was said so far; at the end what it comes to.

use ratatui::layout::{Constraint, Layout, Rect};
use unicode_width::UnicodeWidthStr as _;

use super::super::super::app::App;
use super::super::super::box_page::BoxPage;
use super::super::super::box_words::{day, label};
use super::super::super::counting::{Counting, shown_in_words};
use super::super::super::keys::CountingAction;
use super::super::layout::TWO_FROM;
use super::super::pen::Pen;
use super::{keys, told};
use crate::kit::stock_take::Ending;
use crate::kit::{BoxChange, Lens};

/// Columns of a lens of the row at least.
const LENS: u16 = 10;
/// More pieces of one lens are counted by what they are.
const MOST_PIECES: usize = 4;

/// The top line.
pub fn head(page: &BoxPage, counting: &Counting) -> (String, String) {
    let (seen, all) = counting.seen();
    let rows = counting.take.rows().len();
    let text = format!("row {} of {rows} · {seen} of {all} seen", (counting.row + 1).min(rows.max(1)));
    (format!("STOCK-TAKE {}", page.now.stock.box_name), text)
}

/// Draws it.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, page: &BoxPage, counting: &Counting) {
    if counting.ends {
        return ends(pen, area, app, page, counting);
    }
    let key = app.settings.keys.key_of(CountingAction::RowAsShown);
    let cells = cells(counting);
    let lens_width = cells.iter().flatten().map(|text| text.width() as u16).max().unwrap_or(0).max(LENS) + 1;
    let abreast = usize::from((area.width / lens_width).max(1));
    let rows: u16 = cells.chunks(abreast).map(|chunk| 1 + chunk.iter().map(Vec::len).max().unwrap_or(0) as u16).sum();
    let strange = counting.take.rows().get(counting.row).map_or(0, |row| row.strange.len()) as u16;
    let row_rows = (1 + rows + strange).min(area.height);
    let keys_rows = keys::rows(app, area.width);
    let left = area.height - row_rows;
    let said = so_far(page, counting);
    let lists = (rows_listed(counting).len() as u16 + 1).max(told::rows(&said, area.width / 2)).max(3);
    let wide = area.width >= TWO_FROM;
    // the keys are the last to be left out for lists, and lists for the row
    let keys_rows = if wide { keys_rows.min(left.saturating_sub(3)).max(left.saturating_sub(lists)) } else { 0 };
    let [row, lists, keys_area] =
        Layout::vertical([Constraint::Length(row_rows), Constraint::Min(0), Constraint::Length(keys_rows)]).areas(area);
    let title = match counting.take.rows().get(counting.row) {
        Some(row) if counting.blind => format!("{}: type how many of each lie there", row.name),
        Some(row) => format!("{}: {key} when the row is as shown", row.name),
        None => "the box has no row".to_owned(),
    };
    pen.heading(row, &title, true);
    draw_cells(pen, Rect { y: row.y + 1, height: row.height.saturating_sub(1), ..row }, counting, &cells, lens_width);
    let strange = counting.take.rows().get(counting.row).map(|row| row.strange.as_slice()).unwrap_or_default();
    for (nth, what) in strange.iter().enumerate() {
        let at = row.bottom().saturating_sub((strange.len() - nth) as u16);
        pen.text(Rect { y: at, height: 1, ..row }, 0, 1, &format!("unknown: {what}"), pen.theme.warning);
    }
    if lists.height >= 2 {
        let [at_left, at_right] = if wide {
            Layout::horizontal([Constraint::Fill(1); 2]).spacing(2).areas(lists)
        } else {
            let said_rows = told::rows(&said, lists.width).min(lists.height / 2).max(2);
            Layout::vertical([Constraint::Length(said_rows), Constraint::Min(0)]).areas(lists)
        };
        told::draw(pen, at_left, "so far, noted after a yes at the end", &said);
        told::draw(pen, at_right, "rows", &rows_listed(counting));
    }
    if keys_area.height >= 2 {
        keys::draw(pen, keys_area, app);
    }
}

/// What stands in the row: of each lens its label and a line for each piece.
fn cells(counting: &Counting) -> Vec<Vec<String>> {
    let Some(row) = counting.take.rows().get(counting.row) else { return Vec::new() };
    row.lenses.iter().map(|lens| cell(counting, lens)).collect()
}

fn cell(counting: &Counting, lens: &Lens) -> Vec<String> {
    let take = &counting.take;
    let mut lines = vec![label(lens)];
    if counting.blind {
        lines.push(take.blind_count(lens).map_or_else(|| "?".to_owned(), |count| format!("{count} counted")));
        return lines;
    }
    let pieces: Vec<_> = take.pieces_of(lens).collect();
    if pieces.len() <= MOST_PIECES {
        lines.extend(pieces.iter().map(|of| format!("{} {}", of.piece.number, shown_in_words(take, of))));
    } else {
        let mut kinds: Vec<(String, usize)> = Vec::new();
        for of in pieces {
            let word = shown_in_words(take, of);
            match kinds.iter_mut().find(|(kind, _)| *kind == word) {
                Some((_, count)) => *count += 1,
                None => kinds.push((word, 1)),
            }
        }
        lines.extend(kinds.iter().map(|(kind, count)| format!("{count} {kind}")));
    }
    match take.more_of(lens) {
        0 => {}
        more => lines.push(format!("+{more} more")),
    }
    lines
}

fn draw_cells(pen: &mut Pen<'_>, area: Rect, counting: &Counting, cells: &[Vec<String>], width: u16) {
    let abreast = usize::from((area.width / width).max(1));
    let mut y = 0;
    for (block, chunk) in cells.chunks(abreast).enumerate() {
        let height = chunk.iter().map(Vec::len).max().unwrap_or(0) as u16;
        for (nth, lines) in chunk.iter().enumerate() {
            let is_chosen = block * abreast + nth == counting.lens;
            let place = Rect { x: area.x + nth as u16 * width, y: area.y + y, width, height };
            for (at, line) in lines.iter().enumerate() {
                let differs = line.chars().any(char::is_uppercase);
                let is_piece = counting.piece.is_some_and(|number| line.starts_with(&format!("{number} ")));
                let style = match (is_chosen, at) {
                    (true, 0) => pen.theme.focus,
                    (true, _) if is_piece => pen.theme.focus,
                    (_, 0) => pen.theme.title,
                    (_, _) if differs && at > 0 => pen.theme.warning,
                    _ => pen.theme.text,
                };
                let pointer = if is_chosen && at == 0 { pen.glyphs.pointer } else { " " };
                pen.text(place.intersection(area), at as u16, 0, &format!("{pointer}{line}"), style);
            }
        }
        y += height + 1;
    }
}

/// The rows, each counted or still to come.
fn rows_listed(counting: &Counting) -> Vec<(String, bool)> {
    let of = |(at, row): (usize, &crate::kit::stock_take::CountRow)| {
        let pieces = match counting.take.pieces_of_row(at).count() {
            1 => "1 piece".to_owned(),
            count => format!("{count} pieces"),
        };
        let how = if row.counted { "counted" } else { "to come" };
        let here = if at == counting.row { ", here now" } else { "" };
        (format!("{}  {}: {pieces}, {how}{here}", at + 1, row.name), false)
    };
    counting.take.rows().iter().enumerate().map(of).collect()
}

/// What was said so far and is otherwise than was known.
fn so_far(page: &BoxPage, counting: &Counting) -> Vec<(String, bool)> {
    let ending = counting.take.ending(&page.now.stock);
    let mut lines: Vec<(String, bool)> = ending.changes.iter().map(in_words).map(|line| (line, false)).collect();
    lines.extend(ending.strange.iter().map(|(row, what)| (format!("unknown lens in {row}: {what}"), false)));
    if lines.is_empty() {
        lines.push(("nothing is otherwise than it was known to be".to_owned(), false));
    }
    lines.extend(ending.note.map(|note| (format!("note: {note}"), false)));
    lines
}

fn in_words(change: &BoxChange) -> String {
    let details = change.details().map(|details| format!(", {details}")).unwrap_or_default();
    format!("{} {}{details}", change.word(), change.subject())
}

/// What a stock-take comes to, line by line; what asks for a look stands out.
fn comes_to(page: &BoxPage, ending: &Ending) -> Vec<(String, bool)> {
    let mut lines: Vec<(String, bool)> = Vec::new();
    let (mut there, mut missing) = (0_usize, 0_usize);
    for counted in &ending.count {
        there += usize::from(counted.here) + usize::from(counted.damaged) + usize::from(counted.more);
        missing += usize::from(counted.missing);
    }
    lines.push((format!("there: {there}, not there: {missing}"), false));
    if ending.changes.is_empty() {
        lines.push(("everything is as it was known to be".to_owned(), false));
    }
    lines.extend(ending.changes.iter().map(|change| (in_words(change), false)));
    for of in &ending.meanwhile {
        let text = format!("{} was {}, and is {} by now: nothing is noted of it", of.piece, of.was, of.now);
        lines.push((text, true));
    }
    lines.extend(ending.counted_twice.iter().map(|of| {
        (format!("{}: {} by the rows, {} in the blind count: look again", of.lens, of.first, of.blind), true)
    }));
    lines.extend(ending.strange.iter().map(|(row, what)| (format!("unknown lens in {row}: {what}"), true)));
    if !ending.not_counted.is_empty() {
        lines.push((format!("not counted: {}", ending.not_counted.join(", ")), true));
    }
    lines.extend(ending.note.iter().map(|note| (format!("note: {note}"), false)));
    if let Some(last) = &page.now.last_counted {
        let on = day(last.day, page.now.today);
        let differences = last.differences(ending);
        let (counted, new): (Vec<_>, Vec<_>) = differences.iter().partition(|of| of.before.is_some());
        if counted.is_empty() {
            lines.push((format!("as the last count found it, on {on}"), false));
        } else {
            lines.push((format!("otherwise than the last count found it, on {on}:"), false));
            lines.extend(counted.iter().map(|of| (format!("  {of}"), false)));
        }
        if !new.is_empty() {
            let lenses = if new.len() == 1 { "1 lens" } else { &format!("{} lenses", new.len()) };
            lines.push((format!("{lenses} of this count were not counted then"), false));
        }
    }
    lines
}

fn ends(pen: &mut Pen<'_>, area: Rect, app: &App, page: &BoxPage, counting: &Counting) {
    let ending = counting.take.ending(&page.now.stock);
    let lines = comes_to(page, &ending);
    let keys_rows = keys::rows(app, area.width).min(area.height / 3);
    let [list, keys_area] = Layout::vertical([Constraint::Min(0), Constraint::Length(keys_rows)]).areas(area);
    let first = counting.lens.min(lines.len().saturating_sub(usize::from(list.height.saturating_sub(1))));
    told::draw(pen, list, "what the count comes to", &lines[first..]);
    keys::draw(pen, keys_area, app);
}

/// A stock-take in words.
pub fn said(page: &BoxPage, counting: &Counting) -> Vec<String> {
    if counting.ends {
        let ending = counting.take.ending(&page.now.stock);
        return comes_to(page, &ending).into_iter().map(|(line, _)| line).collect();
    }
    let name = counting.take.rows().get(counting.row).map(|row| row.name.clone()).unwrap_or_default();
    let (seen, all) = counting.seen();
    let mut said = vec![format!("{name}, {seen} of {all} seen")];
    for (nth, cell) in cells(counting).into_iter().enumerate() {
        let chosen = if nth == counting.lens { "chosen: " } else { "" };
        said.push(format!("{chosen}{}", cell.join(", ")));
    }
    said.extend(so_far(page, counting).into_iter().map(|(line, _)| line));
    said
}
