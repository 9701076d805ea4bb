//! The proposals for the wanted power, each with its miss, its reason and its moves in order.

use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::app::App;
use super::super::keys::CellsAction;
use super::super::proposals::{Offer, Offers, Sought};
use super::super::ui::{Panel, Target};
use super::super::words::{self, Around};
use super::layout::MOST_TEXT;
use super::pen::{Pen, wrapped};
use crate::frame::{FittedFrame, Move};
use crate::optics::Eyes;
use crate::stacking::Proposal;
use crate::stacking::proposal::stopped_early;

/// A row of the panel: of a proposal by its number, or of what is said of all of them.
struct Row {
    of: Option<usize>,
    text: RowText,
}

enum RowText {
    Offer(usize),
    Said(String, Style),
}

/// How many rows the panel would like to have.
pub fn rows(pen: &Pen<'_>, app: &App, columns: u16) -> u16 {
    let offers = app.offers();
    1 + offers.map_or(1, |offers| body(pen, app, &offers, columns).len() as u16)
}

/// What the panel says, row by row: the proposals, and under the chosen one how and why.
fn body(pen: &Pen<'_>, app: &App, offers: &Offers, columns: u16) -> Vec<Row> {
    let theme = pen.theme;
    let width = usize::from(columns.min(MOST_TEXT).saturating_sub(5));
    let of_all = |text: &str| {
        let lines = wrapped(text, width + 3).into_iter();
        lines.map(|line| Row { of: None, text: RowText::Said(line, theme.warning) }).collect::<Vec<_>>()
    };
    if offers.list.is_empty() {
        return of_all("no stack can be made from what is free");
    }
    let mut rows = Vec::new();
    if !offers.list.iter().any(|offer| offer.reaches) {
        let would_do = offers.would_do.as_ref().map(|lens| format!("; {lens} would do"));
        rows.extend(of_all(&format!("nothing reaches it: the nearest first{}", would_do.unwrap_or_default())));
    }
    rows.extend(offers.bound.map(|bound| of_all(&stopped_early(bound))).unwrap_or_default());
    let chosen = app.ui.chosen_proposal.min(offers.list.len() - 1);
    for (nth, offer) in offers.list.iter().enumerate() {
        rows.push(Row { of: Some(nth), text: RowText::Offer(nth) });
        if nth != chosen {
            continue;
        }
        let cover = if offer.cover_eye { "cover the eye: " } else { "" };
        let how = format!("{cover}{}", moves_in_words(&offer.moves, &offers.search.fitted));
        let said = [(how, theme.text), (offer.why.clone(), theme.quiet)].into_iter();
        let sure = by_hand(app, offers, offer).map(|said| (said, theme.text));
        let lines =
            said.chain(sure).flat_map(|(text, style)| wrapped(&text, width).into_iter().map(move |l| (l, style)));
        rows.extend(lines.map(|(line, style)| Row { of: Some(nth), text: RowText::Said(line, style) }));
    }
    rows
}

/// Draws the proposals: one line each, and under the chosen one how and why.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App) {
    let focused = app.ui.panel == Panel::Proposals;
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    let Some(offers) = app.offers() else {
        pen.heading(area, "stacks", focused);
        let wanted = app.settings.keys.key_of(CellsAction::Wanted);
        let text = format!("Nothing is wanted for the {} eye: {wanted} says which power.", app.ui.eye);
        pen.text(room, 0, 1, &text, pen.theme.quiet);
        return;
    };
    // the rule before it, the pointer and a space on either side
    let fits = |text: &String| text.chars().count() + 5 <= usize::from(area.width);
    let headings = [heading(app, &offers), in_short(app, &offers)];
    let heading = headings.iter().find(|text| fits(text)).unwrap_or(&headings[1]);
    pen.heading(area, heading, focused);
    let rows = body(pen, app, &offers, room.width);
    let chosen = app.ui.chosen_proposal;
    let height = usize::from(room.height);
    // the chosen one is seen whole, and air stands between proposals where there is room
    let last_of_chosen = rows.iter().rposition(|row| row.of == Some(chosen)).unwrap_or(0);
    let first = (last_of_chosen + 1).saturating_sub(height);
    let air = u16::from(rows.len() + offers.list.len() <= height);
    let mut at = 0;
    let mut before = rows.get(first).and_then(|row| row.of);
    for row in &rows[first..] {
        at += if row.of == before { 0 } else { air };
        before = row.of;
        if at >= room.height {
            break;
        }
        match &row.text {
            RowText::Offer(nth) => one(pen, room, at, *nth, &offers.list[*nth], focused && *nth == chosen),
            RowText::Said(text, style) => drop(pen.text(room, at, if row.of.is_some() { 4 } else { 1 }, text, *style)),
        }
        if let Some(nth) = row.of {
            pen.clickable(Rect { y: room.y + at, height: 1, ..room }, Target::Proposal(nth));
        }
        at += 1;
    }
}

/// The proposals, a line each, and how the chosen one is built.
pub fn in_words(app: &App) -> Vec<String> {
    let Some(offers) = app.offers() else { return Vec::new() };
    let mut lines = vec![heading(app, &offers)];
    if offers.list.is_empty() {
        lines.push("no stack can be made from what is free".to_owned());
    }
    if !offers.list.iter().any(|offer| offer.reaches) {
        lines.extend(offers.would_do.as_ref().map(|lens| format!("nothing reaches it; {lens} would do")));
    }
    lines.extend(offers.bound.map(stopped_early));
    for (nth, offer) in offers.list.iter().enumerate() {
        lines.push(format!("{}: {}, off by {:.2}", nth + 1, offer.lenses, offer.miss_d));
        if nth == app.ui.chosen_proposal.min(offers.list.len() - 1) {
            let cover = if offer.cover_eye { "cover the eye: " } else { "" };
            lines.push(format!("   {cover}{}", moves_in_words(&offer.moves, &offers.search.fitted)));
            lines.push(format!("   {}", offer.why));
            lines.extend(by_hand(app, &offers, offer).map(|said| format!("   {said}")));
        }
    }
    lines
}

fn heading(app: &App, offers: &Offers) -> String {
    let power = |power| words::power(power, app.ui.form);
    match (offers.search.sought, &app.ui.instead) {
        (Sought::One(eye, wanted), Some(instead)) if instead.eye == eye => {
            format!("stacks, {eye} eye, instead of {}: {}", instead.lens, power(wanted))
        }
        (Sought::One(eye, wanted), _) => format!("stacks, {eye} eye: {}", power(wanted)),
        (Sought::Both(Eyes { right, left }), _) => {
            format!("stacks, both eyes: right {}, left {}", power(right), power(left))
        }
    }
}

/// The heading where there is little room.
fn in_short(app: &App, offers: &Offers) -> String {
    match offers.search.sought {
        Sought::One(eye, wanted) => format!("stacks, {eye} eye: {}", words::power(wanted, app.ui.form)),
        Sought::Both(_) => "stacks, both eyes".to_owned(),
    }
}

fn one(pen: &mut Pen<'_>, area: Rect, row: u16, nth: usize, offer: &Offer, chosen: bool) {
    // what belongs together is read in one glance
    let area = Rect { width: area.width.min(MOST_TEXT), ..area };
    let theme = pen.theme;
    let style = if chosen { theme.focus } else { theme.text };
    let pointer = if chosen { pen.glyphs.pointer } else { " " };
    let miss_style = if offer.reaches { theme.quiet } else { theme.warning };
    // the lenses are never cut for what they cost
    let room = usize::from(area.width).saturating_sub(offer.lenses.chars().count() + 5);
    let miss = format!("{:.2}", offer.miss_d);
    let beside = [format!("cost {:.2}, off by {miss}", offer.cost), format!("off by {miss}")];
    let miss = beside.into_iter().find(|text| text.len() + 2 <= room).unwrap_or(miss);
    let tail = miss.len() as u16 + 2;
    let head = Rect { width: area.width.saturating_sub(tail), ..area };
    let number = pen.text(head, row, 0, &format!("{pointer}{} ", nth + 1), if chosen { style } else { theme.key });
    pen.text(head, row, number, &offer.lenses, style);
    pen.text(area, row, area.width.saturating_sub(tail - 1), &miss, miss_style);
}

/// What a hand may spoil of the stacks of an offer, with what to set with care; nothing when it is too little to be told.
fn by_hand(app: &App, offers: &Offers, offer: &Offer) -> Option<String> {
    let both = offer.stacks.len() > 1;
    let of_stack = |stack: &Proposal| {
        let sure = stack.sureness(&offers.search.fitted, app.settings.mark_tolerance)?;
        let said: Vec<String> = sure.cares().into_iter().chain(sure.in_words()).collect();
        let eye = if both { format!("{}: ", stack.eye) } else { String::new() };
        (!said.is_empty()).then(|| format!("{eye}{}", said.join("; ")))
    };
    let said: Vec<String> = offer.stacks.iter().filter_map(of_stack).collect();
    (!said.is_empty()).then(|| said.join("; "))
}

/// The moves in order, with the eye in front of its own where both are in play.
fn moves_in_words(moves: &[Move], fitted: &FittedFrame) -> String {
    if moves.is_empty() {
        return "nothing to move".to_owned();
    }
    let around = Around { fitted, moves };
    let both = moves.windows(2).any(|pair| pair[0].eye() != pair[1].eye());
    let of_one_eye = |moves: &[Move]| {
        let all: Vec<String> = moves.iter().map(|step| words::movement(step, &around)).collect();
        let lead = moves.first().filter(|_| both).map(|step| format!("{}: ", step.eye())).unwrap_or_default();
        lead + &all.join(", ")
    };
    moves.chunk_by(|one, next| one.eye() == next.eye()).map(of_one_eye).collect::<Vec<_>>().join("; ")
}
