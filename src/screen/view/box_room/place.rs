//! The chosen place: each of its pieces, and what happened to them.

use ratatui::layout::Rect;

use super::super::super::box_page::BoxPage;
use super::super::super::box_words::{day, state, what_happened};
use super::super::pen::{Line, Pen, wrapped};
use crate::kit::{Lens, StockedPiece};
use crate::session::Happened;

/// The most of what happened that is shown.
const MOST_EVENTS: usize = 12;

/// Pieces of one place that are in the same state, with neighbouring numbers.
struct Alike {
    first: u8,
    last: u8,
    state: String,
    is_here: bool,
    is_chosen: bool,
    is_marked: bool,
}

impl Alike {
    fn numbers(&self) -> String {
        match self.last - self.first {
            0 => format!("#{}", self.first),
            1 => format!("#{} #{}", self.first, self.last),
            _ => format!("#{} to #{}", self.first, self.last),
        }
    }
}

fn alike(page: &BoxPage) -> Vec<Alike> {
    let mut all: Vec<Alike> = Vec::new();
    for stocked in page.pieces() {
        let number = stocked.piece.number;
        let (is_chosen, is_marked) = (page.piece == Some(number), page.marked.contains(&stocked.piece));
        let (state, is_here) = (state(stocked), stocked.place.is_at_hand());
        match all.last_mut() {
            Some(last)
                if last.state == state && !last.is_chosen && !is_chosen && last.is_marked == is_marked =>
            {
                last.last = number;
            }
            _ => all.push(Alike { first: number, last: number, state, is_here, is_chosen, is_marked }),
        }
    }
    all
}

/// What happened to the pieces of a lens, the latest first.
fn happened<'a>(page: &'a BoxPage, lens: &'a Lens) -> impl Iterator<Item = &'a Happened> {
    page.now.happened.iter().rev().filter(move |happened| happened.lens == *lens)
}

/// What is said of the place, below its heading.
fn said(page: &BoxPage) -> Vec<(String, bool)> {
    let Some(lens) = page.lens() else { return vec![("the box has no place".to_owned(), true)] };
    let mut said: Vec<(String, bool)> = Vec::new();
    for of in alike(page) {
        let pointer = if of.is_chosen { "chosen: " } else { "" };
        let marked = if of.is_marked { ", marked" } else { "" };
        said.push((format!("{pointer}{} {}{marked}", of.numbers(), of.state), of.is_here));
    }
    for happened in happened(page, lens).take(MOST_EVENTS) {
        let number = happened.piece.as_ref().map(|piece| format!("#{} ", piece.number)).unwrap_or_default();
        let by = happened.by.as_ref().map(|by| format!(", {by}")).unwrap_or_default();
        let when = day(happened.day, page.now.today);
        said.push((format!("{when}  {number}{}{by}", what_happened(happened)), true));
    }
    said
}

fn heading(page: &BoxPage) -> String {
    let Some(lens) = page.lens() else { return "no place".to_owned() };
    match page.pieces().count() {
        1 => format!("{lens}, 1 piece"),
        count => format!("{lens}, {count} pieces"),
    }
}

fn lines(pen: Option<&Pen<'_>>, page: &BoxPage, width: u16) -> Vec<Line> {
    let room = usize::from(width.saturating_sub(2));
    let style = |is_here: bool| match pen {
        Some(pen) if is_here => pen.theme.text,
        Some(pen) => pen.theme.missing,
        None => ratatui::style::Style::new(),
    };
    let wrap = |(text, is_here): (String, bool)| {
        wrapped(&text, room).into_iter().map(move |line| vec![(line, style(is_here))]).collect::<Vec<Line>>()
    };
    said(page).into_iter().flat_map(wrap).collect()
}

/// Rows that the place would like, its heading among them.
pub fn rows(page: &BoxPage, columns: u16) -> u16 {
    1 + lines(None, page, columns).len() as u16
}

/// Draws the place.
pub fn draw(pen: &mut Pen<'_>, area: Rect, page: &BoxPage) {
    pen.heading(area, &heading(page), false);
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    let lines = lines(Some(pen), page, area.width);
    let shown = usize::from(room.height);
    for (row, line) in lines.iter().take(shown).enumerate() {
        for (text, style) in line {
            pen.text(room, row as u16, 1, text, *style);
        }
    }
    if lines.len() > shown {
        let more = format!(" {} more ", lines.len() - shown);
        pen.text(area, 0, area.width.saturating_sub(more.len() as u16 + 1), &more, pen.theme.quiet);
    }
}

/// The chosen place in words.
pub fn in_words(page: &BoxPage) -> Vec<String> {
    std::iter::once(heading(page)).chain(said(page).into_iter().map(|(line, _)| line)).collect()
}

/// The pieces of a lens in few words: `1 here, 1 lent to Clinic 3`.
pub fn pieces_in_short(page: &BoxPage, lens: &Lens) -> String {
    let mut kinds: Vec<(String, usize)> = Vec::new();
    let of_the_set = |stocked: &&StockedPiece| !stocked.place.has_left_the_set();
    for stocked in page.now.stock.of_lens(lens).filter(of_the_set) {
        let state = state(stocked);
        match kinds.iter_mut().find(|(kind, _)| *kind == state) {
            Some((_, count)) => *count += 1,
            None => kinds.push((state, 1)),
        }
    }
    kinds.iter().map(|(kind, count)| format!("{count} {kind}")).collect::<Vec<_>>().join(", ")
}
