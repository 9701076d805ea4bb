//! All places of the box: a character for each piece, those that are marked with a star in its place.

use ratatui::layout::Rect;

use super::super::super::app::App;
use super::super::super::box_page::BoxPage;
use super::super::super::box_words::label;
use super::super::super::ui::Target;
use super::super::pen::Pen;
use super::super::tray::{self, TrayGroup, TrayPlace};
use crate::kit::{Lens, Mark, Place};

/// The places as they are drawn.
pub fn groups(pen: &Pen<'_>, page: &BoxPage) -> Vec<TrayGroup> {
    let mut nth = 0;
    let mut place = |lens: &Lens| {
        let pieces = marks(page, lens);
        let is_free = page.now.stock.of_lens(lens).any(|stocked| stocked.place == Place::Box);
        let style = if is_free { pen.theme.signed(lens.mark().map_or(0.0, Mark::dioptres)) } else { pen.theme.missing };
        let place = TrayPlace {
            label: label(lens),
            pieces: tray::in_short(&pieces),
            style,
            is_chosen: nth == page.chosen,
            target: Some(Target::Place(nth)),
        };
        nth += 1;
        place
    };
    let of = |row: &super::super::super::box_page::BoxRow| TrayGroup {
        name: row.name.clone(),
        places: row.lenses.iter().map(&mut place).collect(),
    };
    page.rows.iter().map(of).collect()
}

/// The characters of the pieces of a place.
fn marks(page: &BoxPage, lens: &Lens) -> String {
    let mark = |stocked| {
        let mark = tray::mark(stocked)?;
        Some(if page.marked.contains(&stocked.piece) { tray::MARKED } else { mark })
    };
    page.now.stock.of_lens(lens).filter_map(mark).collect()
}

/// The fewest rows in which all places are seen, with the row that says what the characters mean.
pub fn rows(groups: &[TrayGroup], columns: u16) -> Option<u16> {
    tray::rows(groups, columns, tray::CLOSE).map(|rows| rows + legend(groups, columns).len() as u16)
}

/// What the characters mean, in as many rows as that takes.
fn legend(groups: &[TrayGroup], columns: u16) -> Vec<String> {
    let meanings = tray::legend(groups, columns);
    let mut rows: Vec<String> = vec![String::new()];
    for meaning in meanings.split("  ").map(str::trim).filter(|meaning| !meaning.is_empty()) {
        let is_full =
            rows.last().is_some_and(|row| row.chars().count() + 3 + meaning.chars().count() > usize::from(columns));
        if is_full {
            rows.push(String::new());
        }
        if let Some(row) = rows.last_mut() {
            if !row.is_empty() {
                row.push_str("  ");
            }
            row.push_str(meaning);
        }
    }
    rows
}

/// Draws the places; where there is no room for all, the page of whole kinds on which the chosen one is.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, mut groups: Vec<TrayGroup>) {
    let legend = legend(&groups, area.width);
    let beside = 1 + legend.len() as u16;
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(beside), ..area };
    let (first, count, nth, pages) = page_of(&groups, room);
    let shown: Vec<TrayGroup> = groups.drain(first..first + count).collect();
    let mut title = "tray".to_owned();
    if pages > 1 {
        let names: Vec<&str> = shown.iter().map(|group| group.name.as_str()).collect();
        title = format!("tray, page {nth} of {pages}: {}", names.join(", "));
    }
    pen.heading(area, &title, true);
    app.page_rows.set(tray::rows_of_a_column(&shown, room, tray::CLOSE));
    let left_out = tray::draw(pen, room, &shown, tray::CLOSE);
    if left_out > 0 {
        let more = format!(" {left_out} more ");
        pen.text(area, 0, area.width.saturating_sub(more.len() as u16 + 1), &more, pen.theme.key);
    }
    let below = Rect { y: room.bottom(), height: legend.len() as u16, ..area };
    for (row, line) in legend.iter().enumerate() {
        pen.text(below.intersection(area), row as u16, 1, line, pen.theme.quiet);
    }
}

/// The groups of the page with the chosen place: the first, how many, which page it is, and of how many.
fn page_of(groups: &[TrayGroup], room: Rect) -> (usize, usize, usize, usize) {
    let mut pages: Vec<(usize, usize)> = Vec::new();
    let mut first = 0;
    while first < groups.len() {
        let count = tray::fitting(&groups[first..], room, tray::CLOSE);
        pages.push((first, count));
        first += count;
    }
    let has_chosen = |(first, count): &(usize, usize)| {
        groups[*first..first + count].iter().flat_map(|group| &group.places).any(|place| place.is_chosen)
    };
    let at = pages.iter().position(has_chosen).unwrap_or(0);
    let (first, count) = pages.get(at).copied().unwrap_or_default();
    (first, count, at + 1, pages.len())
}

/// Every place in words.
pub fn in_words(page: &BoxPage) -> Vec<String> {
    let mut said = Vec::new();
    for row in page.rows.iter() {
        said.push(row.name.clone());
        said.extend(row.lenses.iter().map(|lens| format!("{lens}: {}", super::place::pieces_in_short(page, lens))));
    }
    said
}
