//! The chosen place: each of its pieces, and what happened to them.

use ratatui::layout::Rect;

use super::super::super::app::App;
use super::super::super::box_page::BoxPage;
use super::super::super::box_words::{day, noted_by, state, what_happened};
use super::super::pen::Pen;
use super::{advised, told};
use crate::kit::{Lens, Piece, StockedPiece};
use crate::session::Happened;

/// The most of what happened that is shown.
const MOST_EVENTS: usize = 12;

/// Pieces of one place that are in the same state, with neighbouring numbers.
struct Alike {
    first: u8,
    last: u8,
    state: String,
    own_mark: Option<String>,
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
        let (state, own_mark) = (state(stocked), own_mark(page, &stocked.piece));
        match all.last_mut() {
            // a piece with a mark of its own is like no other
            Some(last)
                if last.state == state
                    && last.own_mark.is_none()
                    && own_mark.is_none()
                    && !last.is_chosen
                    && !is_chosen
                    && last.is_marked == is_marked =>
            {
                last.last = number;
            }
            _ => all.push(Alike { first: number, last: number, state, own_mark, is_chosen, is_marked }),
        }
    }
    all
}

/// What happened to the pieces of a lens, the latest first.
fn happened<'a>(page: &'a BoxPage, lens: &'a Lens) -> impl Iterator<Item = &'a Happened> {
    page.now.happened.iter().rev().filter(move |happened| happened.is_about(lens))
}

/// What is said of the place, below its heading.
fn said(app: &App, page: &BoxPage) -> Vec<(String, bool)> {
    let Some(lens) = page.lens() else { return vec![("the box has no place".to_owned(), true)] };
    let mut said: Vec<(String, bool)> = Vec::new();
    for of in alike(page) {
        let pointer = if of.is_chosen { "chosen: " } else { "" };
        let marked = if of.is_marked { ", marked" } else { "" };
        said.push((format!("{pointer}{} {}{marked}", of.numbers(), of.state), false));
        said.extend(
            more_of(page, lens, of.first).into_iter().map(|line| (format!("   {line}"), line.ends_with("over"))),
        );
    }
    if page.with_cost {
        said.push((advised::cost_of_one(app, page, lens), false));
    }
    for happened in happened(page, lens).take(MOST_EVENTS) {
        // a look is listed of each lens that was held: of the later ones the first is named in whole
        let number = match &happened.piece {
            Some(piece) if happened.lens == *lens => format!("#{} ", piece.number),
            Some(piece) => format!("{piece} "),
            None => String::new(),
        };
        let by = noted_by(happened);
        let when = day(happened.day, page.now.today);
        said.push((format!("{when}  {number}{}{by}", what_happened(happened)), false));
    }
    said
}

/// How a piece is marked by its keeper.
fn own_mark(page: &BoxPage, piece: &Piece) -> Option<String> {
    page.now.own_marks.of_piece(piece).map(|mark| format!("its mark: {mark}"))
}

/// What more is known of a piece: how it is marked, who has it, what is the matter with it, what was measured last.
fn more_of(page: &BoxPage, lens: &Lens, number: u8) -> Vec<String> {
    let (piece, today) = (Piece { lens: lens.clone(), number }, page.now.today);
    let mut said: Vec<String> = own_mark(page, &piece).into_iter().collect();
    said.extend(page.now.noted_at.get(&piece).map(|seat| format!("noted at {seat}")));
    let open = page.now.unsettled.iter().filter(|one| one.piece == piece);
    said.extend(open.flat_map(|one| one.said.iter().cloned()));
    if let Some(loan) = page.now.loans.iter().find(|loan| loan.piece == piece) {
        let due = loan.until.map(|until| format!("due {}", day(until, today)));
        let over = loan.days_over(today).map(|days| format!("{days} {} over", if days == 1 { "day" } else { "days" }));
        let since = format!("since {}", day(loan.since, today));
        said.push(std::iter::once(since).chain(due).chain(over).collect::<Vec<_>>().join(", "));
    }
    let last = |event: &str| {
        let mut of_piece = page.now.happened.iter().rev().filter(|of| of.piece.as_ref() == Some(&piece) && !of.is_slip);
        of_piece.find(|of| of.event == event).and_then(|of| Some((of, of.says.clone()?)))
    };
    if page.now.stock.get(&piece).is_some_and(|stocked| stocked.damaged) {
        said.extend(last("damaged").map(|(_, what)| what));
    }
    if let Some((of, figures)) = last("measured") {
        let by = noted_by(of);
        said.push(format!("{figures}, {}{by}", day(of.day, today)));
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

/// Rows that the place would like, its heading among them.
pub fn rows(app: &App, page: &BoxPage, columns: u16) -> u16 {
    told::rows(&said(app, page), columns)
}

/// Draws the place.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, page: &BoxPage) {
    told::draw(pen, area, &heading(page), &said(app, page));
}

/// The chosen place in words.
pub fn in_words(app: &App, page: &BoxPage) -> Vec<String> {
    std::iter::once(heading(page)).chain(said(app, page).into_iter().map(|(line, _)| line)).collect()
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
