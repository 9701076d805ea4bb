//! What to buy for a box, and a bag of it.

use std::path::Path;

use ratatui::layout::Rect;

use super::super::super::app::App;
use super::super::super::box_page::{BoxPage, Buying};
use super::super::super::box_words::label;
use super::super::pen::Pen;
use super::told;
use crate::keeping::percent;
use crate::kit::Lens;

/// The dearest losses that are named.
const MOST_LOSSES: usize = 8;

const WAITS: &str = "being computed: go on meanwhile, it is shown when it is there";

fn plain(lines: Vec<String>) -> Vec<(String, bool)> {
    lines.into_iter().map(|line| (line, false)).collect()
}

/// What to buy, line by line.
pub fn to_buy(app: &App, page: &BoxPage) -> Vec<String> {
    let Some(advice) = app.advised(&page.now.stock, &page.buying) else { return vec![WAITS.to_owned()] };
    let mut lines = Vec::new();
    if advice.buy.is_empty() {
        lines.push("nothing you would notice".to_owned());
    }
    for of in &advice.buy {
        let pieces = if of.pieces == 1 { "1 piece".to_owned() } else { format!("{} pieces", of.pieces) };
        let price = of.price.map(|price| format!(", {price:.2}")).unwrap_or_default();
        lines.push(format!("{}, {pieces}{price}: adds {}; {}", of.lens, percent(of.gains), of.why));
    }
    if advice.buy.iter().any(|of| of.price.is_some()) {
        let sum: f64 = advice.buy.iter().filter_map(|of| of.price).sum();
        lines.push(format!("{sum:.2} in all"));
    }
    lines.push(format!(
        "{} of people with at most two lenses, both eyes alike, now; {} with all of it",
        percent(advice.now),
        percent(advice.then)
    ));
    lines.push(format!("no ten pieces make more than {}", percent(advice.bound)));
    lines
}

fn losses(app: &App, page: &BoxPage) -> Vec<String> {
    let Some(losses) = app.losses(&page.now.stock) else { return Vec::new() };
    let felt = losses.iter().filter(|of| of.share > 0.0).take(MOST_LOSSES);
    felt.map(|of| format!("{}: {}", of.lens, of.in_words())).collect()
}

/// With what is bought, for a heading.
fn title(page: &BoxPage) -> String {
    let Buying { prices, budget } = &page.buying;
    let of = prices.as_ref().map(|list| format!(" of {}", file_name(&list.file))).unwrap_or_default();
    let most = budget.map(|budget| format!(", for {budget:.2} at most")).unwrap_or_default();
    format!("what to buy next, ten pieces{of}{most}")
}

fn file_name(file: &Path) -> String {
    file.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned())
}

/// What one lost piece of a lens would cost.
pub fn cost_of_one(app: &App, page: &BoxPage, lens: &Lens) -> String {
    if !lens.is_stacked() {
        return "it is no part of a stack: there is no figure for its loss".to_owned();
    }
    let Some(losses) = app.losses(&page.now.stock) else { return "what a loss costs is being computed".to_owned() };
    match losses.iter().find(|of| of.lens == *lens) {
        Some(of) if of.share > 0.0 => {
            format!("one lost: {} with at most two lenses, both eyes alike", of.in_words())
        }
        Some(of) => format!("one lost: {}", of.in_words()),
        None => "none of it is here to be lost".to_owned(),
    }
}

/// Draws what to buy.
pub fn buy(pen: &mut Pen<'_>, area: Rect, app: &App, page: &BoxPage) {
    let (lines, lose) = (plain(to_buy(app, page)), plain(losses(app, page)));
    let above = told::rows(&lines, area.width).min(area.height);
    told::draw(pen, Rect { height: above, ..area }, &title(page), &lines);
    let below = Rect { y: area.y + above, height: area.height - above, ..area };
    if below.height >= 3 && !lose.is_empty() {
        told::draw(pen, below, "what one lost lens would cost", &lose);
    }
}

/// A bag, line by line: what it makes, and what is in it by row of the tray.
pub fn bag(app: &App, page: &BoxPage, pieces: usize) -> Vec<String> {
    let Some(packed) = app.packed(&page.now.stock, pieces) else { return vec![WAITS.to_owned()] };
    let with = |lenses: usize| percent(packed.both.at_most(lenses));
    let mut lines = vec![
        format!(
            "{} of people with at most two lenses, both eyes alike; no bag of as many makes more than {}",
            percent(packed.bag.share),
            percent(packed.bag.bound)
        ),
        format!("with three lenses {}, with four {}", with(3), with(4)),
    ];
    let count = |lens: &Lens| -> u8 {
        let stacked = packed.bag.take.iter().filter(|of| of.lens == *lens).map(|of| of.pieces);
        let beside = packed.beside.iter().filter(|(of, _)| of == lens).map(|(_, pieces)| *pieces);
        stacked.chain(beside).sum()
    };
    for row in page.rows.iter() {
        let taken = row.lenses.iter().map(|lens| (lens, count(lens))).filter(|(_, count)| *count > 0);
        let words = taken.map(|(lens, count)| match count {
            1 => label(lens),
            count => format!("{} x{count}", label(lens)),
        });
        let words: Vec<String> = words.collect();
        if !words.is_empty() {
            lines.push(format!("{}: {}", row.name, words.join(", ")));
        }
    }
    lines
}

/// What losing one piece of the bag would cost.
fn bag_losses(app: &App, page: &BoxPage, pieces: usize) -> Vec<String> {
    let Some(packed) = app.packed(&page.now.stock, pieces) else { return Vec::new() };
    let felt = packed.bag.lose.iter().filter(|of| of.share > 0.0).take(MOST_LOSSES);
    felt.map(|of| format!("{}: {}", of.lens, of.in_words())).collect()
}

/// Draws a bag.
pub fn pack(pen: &mut Pen<'_>, area: Rect, app: &App, page: &BoxPage, pieces: usize) {
    let (lines, lose) = (plain(bag(app, page, pieces)), plain(bag_losses(app, page, pieces)));
    let above = told::rows(&lines, area.width).min(area.height);
    told::draw(pen, Rect { height: above, ..area }, &format!("a bag of {pieces} pieces"), &lines);
    let below = Rect { y: area.y + above, height: area.height - above, ..area };
    if below.height >= 3 && !lose.is_empty() {
        told::draw(pen, below, "if one were lost on the way", &lose);
    }
}
