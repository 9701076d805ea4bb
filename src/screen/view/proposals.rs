//! The proposals for the wanted power, each with its miss, its reason and its moves in order.

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::keymap::Action;
use super::super::proposals::{Offer, Offers, Question};
use super::super::ui::{Panel, Target};
use super::super::words;
use super::pen::Pen;
use crate::frame::Move;

/// Draws the proposals: one line each, and under the chosen one why and how.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App) {
    let focused = app.ui.panel == Panel::Proposals;
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    let Some(offers) = app.offers() else {
        pen.heading(area, "proposals", focused);
        let wanted = app.settings.keys.key_of(Action::Wanted);
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
            row = reasons(pen, room, row, offer);
        }
        let height = (row - start).min(room.height - start);
        pen.clickable(Rect { y: room.y + start, height, ..room }, Target::Proposal(nth));
    }
}

fn heading(app: &App, offers: &Offers) -> String {
    let power = |power| words::power(power, app.ui.form);
    match (offers.asked.question, &app.ui.instead) {
        (Question::One(eye, wanted), Some(instead)) if instead.eye == eye => {
            format!("proposals, {eye} eye, instead of {}: {}", instead.lens, power(wanted))
        }
        (Question::One(eye, wanted), _) => format!("proposals, {eye} eye: {}", power(wanted)),
        (Question::Both([right, left]), _) => {
            format!("proposals, both eyes: right {}, left {}", power(right), power(left))
        }
    }
}

fn one(pen: &mut Pen<'_>, area: Rect, row: u16, nth: usize, offer: &Offer, chosen: bool) {
    let theme = pen.theme;
    let style = if chosen { theme.focus } else { theme.text };
    let pointer = if chosen { pen.glyphs.pointer } else { " " };
    let lenses = if offer.count == 1 { "1 lens".to_owned() } else { format!("{} lenses", offer.count) };
    let miss_style = if offer.reaches { theme.quiet } else { theme.warning };
    let miss = format!("{lenses}, miss {:.2}", offer.miss_d);
    let tail = miss.len() as u16 + 2;
    let head = Rect { width: area.width.saturating_sub(tail), ..area };
    let number = pen.text(head, row, 0, &format!("{pointer}{} ", nth + 1), if chosen { style } else { theme.key });
    pen.text(head, row, number, &offer.lenses, style);
    pen.text(area, row, area.width.saturating_sub(tail - 1), &miss, miss_style);
}

fn reasons(pen: &mut Pen<'_>, area: Rect, row: u16, offer: &Offer) -> u16 {
    let eye_of_first = offer.moves.first().map(Move::eye);
    let both = offer.moves.iter().any(|step| Some(step.eye()) != eye_of_first);
    let moves: Vec<String> = offer.moves.iter().map(|step| in_words(step, both)).collect();
    let moves = if moves.is_empty() { "nothing to move".to_owned() } else { moves.join(", ") };
    let cover = if offer.cover_eye { "cover the eye: " } else { "" };
    pen.text(area, row, 4, &format!("{cover}{moves}"), pen.theme.done);
    pen.text(area, row + 1, 4, &offer.why, pen.theme.quiet);
    row + 2
}

/// A movement in words, with the eye where both are in play.
fn in_words(step: &Move, both: bool) -> String {
    if both { format!("{} {}", step.eye(), words::movement(step)) } else { words::movement(step) }
}
