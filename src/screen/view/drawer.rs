//! The lenses of the box as a tray: all of them where there is room, else the shelf that is shown.

use std::collections::BTreeMap;

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::shelf::{self, DrawerLine, Shelf};
use super::super::ui::{Panel, Target};
use super::cells::rim;
use super::pen::Pen;
use super::tray::{self, TrayGroup, TrayPlace};
use crate::kit::{Lens, Mark};

/// Rows for the name of the panel and for what the characters mean.
const BESIDE_ROWS: u16 = 2;

/// How many rows the tray would like to have.
pub fn rows(pen: &Pen<'_>, app: &App, columns: u16) -> u16 {
    let all = groups(pen, app, app.ui.filter.is_empty() && app.ui.shelf != Shelf::All);
    let of_shelf = || groups(pen, app, false);
    BESIDE_ROWS
        + tray::rows(&all, columns, tray::APART).or_else(|| tray::rows(&of_shelf(), columns, tray::APART)).unwrap_or(1)
}

/// Draws the tray.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App) {
    let focused = app.ui.panel == Panel::Drawer;
    let lines = shelf::lines(&app.state().fitted.stock, app.ui.shelf, &app.ui.filter);
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    if lines.is_empty() {
        pen.heading(area, &heading(app, &lines, true), focused);
        pen.text(room, 0, 1, "no lens matches", pen.theme.quiet);
        return;
    }
    let chosen = &lines[app.ui.chosen_lens.min(lines.len() - 1)];
    // what is chosen is said in words, else what the characters mean
    let said = focused.then(|| format!("{}: {}", chosen.lens, pieces_in_words(app, chosen)));
    let legend_rows = u16::from(room.height > 1);
    let places = Rect { height: room.height - legend_rows, ..room };
    let mut shown = groups(pen, app, app.ui.filter.is_empty() && app.ui.shelf != Shelf::All);
    // the shelf in use first, and after it as many as there is room for
    let whole = tray::fitting(&shown, places, tray::APART) == shown.len();
    if !whole {
        let at = shown.iter().position(|group| group.name == app.ui.shelf.name()).unwrap_or(0);
        shown.rotate_left(at);
        shown.truncate(tray::fitting(&shown, places, tray::APART));
    }
    let groups = shown;
    pen.heading(area, &heading(app, &lines, groups.len() > 1), focused);
    let left_out = tray::draw(pen, places, &groups, tray::APART);
    if left_out > 0 {
        let more = format!(" {left_out} more ");
        pen.text(area, 0, area.width.saturating_sub(more.len() as u16 + 1), &more, pen.theme.quiet);
    }
    let below = Rect { y: places.bottom(), height: legend_rows, ..room };
    let style = if said.is_some() { pen.theme.text } else { pen.theme.quiet };
    let legend = said.unwrap_or_else(|| tray::legend(&groups, below.width));
    pen.text(below, 0, 1, &legend, style);
}

/// Every line of the shelf in words.
pub fn in_words(app: &App) -> Vec<String> {
    let lines = shelf::lines(&app.state().fitted.stock, app.ui.shelf, &app.ui.filter);
    let mut said = vec![heading(app, &lines, false)];
    if lines.is_empty() {
        said.push("no lens matches".to_owned());
    }
    let chosen = |nth: usize| if nth == app.ui.chosen_lens.min(lines.len() - 1) { "chosen: " } else { "" };
    let of =
        |(nth, line): (usize, &DrawerLine)| format!("{}{}: {}", chosen(nth), line.lens, pieces_in_words(app, line));
    said.extend(lines.iter().enumerate().map(of));
    said
}

fn heading(app: &App, lines: &[DrawerLine], shows_more: bool) -> String {
    let as_of = app.lenses_as_of().map(|clock| format!(", others' lenses as of {clock}")).unwrap_or_default();
    shelves_in_words(app, lines, shows_more) + &as_of
}

fn shelves_in_words(app: &App, lines: &[DrawerLine], shows_more: bool) -> String {
    let filter = &app.ui.filter;
    let filter = if filter.is_empty() { String::new() } else { format!(" with \"{filter}\"") };
    let rims = &app.state().fitted.stock.rims;
    if shows_more {
        let of = |sign: &str, word: &Option<String>| word.as_ref().map(|word| format!("{sign} {word}"));
        let marked: Vec<String> = [of("-", &rims.minus), of("+", &rims.plus)].into_iter().flatten().collect();
        let rims = if marked.is_empty() { String::new() } else { format!(", rims: {}", marked.join(", ")) };
        return format!("tray: {}{rims}", app.ui.shelf.name());
    }
    let rim = lines.first().and_then(|line| rim(&line.lens, rims)).filter(|_| app.ui.shelf != Shelf::All);
    let rim = rim.map(|rim| format!(", {rim}")).unwrap_or_default();
    format!("tray: {}{rim}{filter}", app.ui.shelf.name())
}

/// What is free of a lens, and where the rest is.
fn pieces_in_words(app: &App, line: &DrawerLine) -> String {
    let DrawerLine { lens, free, damaged, elsewhere } = line;
    let elsewhere_now = app.held_elsewhere().get(&lens.to_string()).copied().unwrap_or(0);
    let free = free.saturating_sub(elsewhere_now);
    let mut said = vec![if free == 0 { "none".to_owned() } else { format!("{free} free") }];
    said.extend((*damaged > 0).then(|| format!("{damaged} damaged")));
    said.extend((!elsewhere.is_empty()).then(|| line.elsewhere_in_words()));
    said.extend(app.seats_of(lens));
    said.join(", ")
}

/// The places of the tray: of every shelf, or of the one that is shown, filtered.
fn groups(pen: &Pen<'_>, app: &App, all: bool) -> Vec<TrayGroup> {
    let stock = &app.state().fitted.stock;
    let mut pieces: BTreeMap<&Lens, String> = BTreeMap::new();
    for stocked in stock.pieces().iter() {
        pieces.entry(&stocked.piece.lens).or_default().extend(tray::mark(stocked));
    }
    let elsewhere = app.held_elsewhere();
    let mut groups: Vec<(Option<Shelf>, TrayGroup)> = Vec::new();
    let (shelf, filter) = if all { (Shelf::All, "") } else { (app.ui.shelf, app.ui.filter.as_str()) };
    let focused = app.ui.panel == Panel::Drawer;
    let mut in_shelf = 0;
    for line in shelf::lines(stock, shelf, filter) {
        let of = Shelf::of(&line.lens);
        let key = all.then_some(of);
        let is_shown = app.ui.shelf == Shelf::All || of == app.ui.shelf;
        let place = TrayPlace {
            label: label(&line, all || app.ui.shelf != Shelf::All),
            pieces: tray::in_short(&tray::with_elsewhere(
                pieces.get(&line.lens).map_or("", String::as_str),
                elsewhere.get(&line.lens.to_string()).copied().unwrap_or(0),
            )),
            style: if line.free == 0 {
                pen.theme.missing
            } else {
                pen.theme.signed(line.lens.mark().map_or(0.0, Mark::dioptres))
            },
            is_chosen: focused && is_shown && in_shelf == app.ui.chosen_lens,
            target: is_shown.then_some(Target::Lens(in_shelf)),
        };
        in_shelf += usize::from(is_shown);
        match groups.last_mut() {
            Some((last, group)) if *last == key => group.places.push(place),
            _ => groups.push((key, TrayGroup { name: of.name().to_owned(), places: vec![place] })),
        }
    }
    groups.into_iter().map(|(_, group)| group).collect()
}

/// A place of a shelf of one kind needs no kind on its label.
fn label(line: &DrawerLine, of_one_kind: bool) -> String {
    if !of_one_kind {
        return line.lens.to_string();
    }
    match &line.lens {
        Lens::Sphere(mark) => mark.to_string(),
        Lens::Cylinder(mark) => format!("{mark}x"),
        Lens::Prism(mark) => format!("{}Δ", mark.dioptres()),
        Lens::CrossCylinder(mark) => format!("±{}", mark.unsigned()),
        lens @ Lens::Accessory(_) => lens.to_string(),
    }
}
