//! The proposals for the wanted power, each with its miss, its reason and its moves in order.

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::keys::CellsAction;
use super::super::proposals::{Offer, Offers, Sought};
use super::super::ui::{Panel, Target};
use super::super::words::{self, Around};
use super::pen::{Pen, wrapped};
use crate::frame::{FittedFrame, Move};
use crate::optics::Eyes;
use crate::stacking::Proposal;
use crate::stacking::proposal::stopped_early;

/// Draws the proposals: one line each, and under the chosen one why and how.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App) {
    let focused = app.ui.panel == Panel::Proposals;
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    let Some(offers) = app.offers() else {
        pen.heading(area, "proposals", focused);
        let wanted = app.settings.keys.key_of(CellsAction::Wanted);
        let text = format!("Nothing is wanted for the {} eye: {wanted} says which power.", app.ui.eye);
        pen.text(room, 0, 1, &text, pen.theme.quiet);
        return;
    };
    pen.heading(area, &heading(app, &offers), focused);
    let mut row = 0;
    if offers.list.is_empty() {
        pen.text(room, 0, 1, "no stack can be made from what is free", pen.theme.warning);
        return;
    }
    if !offers.list.iter().any(|offer| offer.reaches) {
        let would_do = offers.would_do.as_ref().map(|lens| format!("; {lens} would do"));
        let text = format!("nothing reaches it: the nearest first{}", would_do.unwrap_or_default());
        pen.text(room, 0, 1, &text, pen.theme.warning);
        row = 1;
    }
    if let Some(bound) = offers.bound {
        pen.text(room, row, 1, &stopped_early(bound), pen.theme.warning);
        row += 1;
    }
    let chosen = app.ui.chosen_proposal.min(offers.list.len() - 1);
    // the chosen one takes three rows; scroll so that it is always whole
    let above = usize::from(room.height.saturating_sub(3 + row));
    let first = chosen.saturating_sub(above);
    for (nth, offer) in offers.list.iter().enumerate().skip(first) {
        if row >= room.height {
            break;
        }
        let start = row;
        one(pen, room, row, nth, offer, focused && nth == chosen);
        row += 1;
        if nth == chosen {
            row = reasons(pen, room, row, app, &offers, offer);
        }
        let height = (row - start).min(room.height - start);
        pen.clickable(Rect { y: room.y + start, height, ..room }, Target::Proposal(nth));
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
        lines.push(format!("{}: {}, miss {:.2}", nth + 1, offer.lenses, offer.miss_d));
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
            format!("proposals, {eye} eye, instead of {}: {}", instead.lens, power(wanted))
        }
        (Sought::One(eye, wanted), _) => format!("proposals, {eye} eye: {}", power(wanted)),
        (Sought::Both(Eyes { right, left }), _) => {
            format!("proposals, both eyes: right {}, left {}", power(right), power(left))
        }
    }
}

fn one(pen: &mut Pen<'_>, area: Rect, row: u16, nth: usize, offer: &Offer, chosen: bool) {
    let theme = pen.theme;
    let style = if chosen { theme.focus } else { theme.text };
    let pointer = if chosen { pen.glyphs.pointer } else { " " };
    let miss_style = if offer.reaches { theme.quiet } else { theme.warning };
    let miss = format!("cost {:.2}, miss {:.2}", offer.cost, offer.miss_d);
    let tail = miss.len() as u16 + 2;
    let head = Rect { width: area.width.saturating_sub(tail), ..area };
    let number = pen.text(head, row, 0, &format!("{pointer}{} ", nth + 1), if chosen { style } else { theme.key });
    pen.text(head, row, number, &offer.lenses, style);
    pen.text(area, row, area.width.saturating_sub(tail - 1), &miss, miss_style);
}

/// How and why, on as many rows as they take; gives the row after them.
fn reasons(pen: &mut Pen<'_>, area: Rect, row: u16, app: &App, offers: &Offers, offer: &Offer) -> u16 {
    let cover = if offer.cover_eye { "cover the eye: " } else { "" };
    let width = usize::from(area.width.saturating_sub(5));
    let how = wrapped(&format!("{cover}{}", moves_in_words(&offer.moves, &offers.search.fitted)), width);
    let why = wrapped(&offer.why, width);
    let sure = by_hand(app, offers, offer).map_or_else(Vec::new, |said| wrapped(&said, width));
    let lines = how.iter().map(|line| (line, pen.theme.done)).chain(why.iter().map(|line| (line, pen.theme.quiet)));
    let lines = lines.chain(sure.iter().map(|line| (line, pen.theme.text)));
    let mut next = row;
    for (line, style) in lines {
        pen.text(area, next, 4, line, style);
        next += 1;
    }
    next
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
