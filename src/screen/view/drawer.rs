//! The drawer: a shelf of the box, what of it is free and where the rest is.

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::shelf::{self, DrawerLine, Shelf};
use super::super::ui::{Panel, Target};
use super::cells::rim;
use super::pen::Pen;
use crate::kit::{Lens, Mark};

/// Columns for what is free and what is elsewhere, beside the lens.
const BESIDE: u16 = 18;

/// Draws the drawer.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App) {
    let focused = app.ui.panel == Panel::Drawer;
    let lines = shelf::lines(&app.state().fitted.stock, app.ui.shelf, &app.ui.filter);
    pen.heading(area, &heading(app, &lines), focused);
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    if lines.is_empty() {
        pen.text(room, 0, 1, "no lens fits", pen.theme.quiet);
        return;
    }
    let name_width = lines.iter().map(|line| name(app, line).len()).max().unwrap_or(0);
    let columns = (room.width / (name_width as u16 + BESIDE)).max(1);
    let fit = usize::from(columns * room.height).max(1);
    let chosen = app.ui.chosen_lens.min(lines.len() - 1);
    // whole pages, so that the list does not creep while the choice moves
    let first = chosen / fit * fit;
    let column_width = room.width / columns;
    for (nth, line) in lines.iter().enumerate().skip(first).take(fit) {
        let at = (nth - first) as u16;
        let place = Rect {
            x: room.x + at / room.height * column_width,
            y: room.y + at % room.height,
            width: column_width,
            height: 1,
        };
        let text = format!("{:<name_width$}", name(app, line));
        one(pen, place, line, &text, focused && nth == chosen);
        pen.clickable(place, Target::Lens(nth));
    }
    if lines.len() > fit {
        let pages = format!(" {}/{} ", first / fit + 1, lines.len().div_ceil(fit));
        pen.text(area, 0, area.width.saturating_sub(pages.len() as u16 + 1), &pages, pen.theme.quiet);
    }
}

fn heading(app: &App, lines: &[DrawerLine]) -> String {
    let rims = &app.state().fitted.stock.rims;
    let rim = lines.first().and_then(|line| rim(&line.lens, rims)).filter(|_| app.ui.shelf != Shelf::All);
    let rim = rim.map(|rim| format!(", {rim}")).unwrap_or_default();
    let filter = &app.ui.filter;
    let filter = if filter.is_empty() { String::new() } else { format!(" with \"{filter}\"") };
    format!("drawer: {}{rim}{filter}", app.ui.shelf.name())
}

/// A shelf of one kind needs no kind on its lines.
fn name(app: &App, line: &DrawerLine) -> String {
    match &line.lens {
        lens if app.ui.shelf == Shelf::All => lens.to_string(),
        Lens::Sphere(mark) | Lens::Cylinder(mark) => mark.to_string(),
        Lens::Prism(mark) => mark.dioptres().to_string(),
        lens @ (Lens::CrossCylinder(_) | Lens::Accessory(_)) => lens.to_string(),
    }
}

fn one(pen: &mut Pen<'_>, area: Rect, line: &DrawerLine, name: &str, chosen: bool) {
    let theme = pen.theme;
    let DrawerLine { lens, free, damaged, elsewhere } = line;
    let power = lens.mark().map_or(0.0, Mark::dioptres);
    let style = match (chosen, *free) {
        (true, _) => theme.focus,
        (false, 0) => theme.missing,
        (false, _) => theme.signed(power),
    };
    let pointer = if chosen { pen.glyphs.pointer } else { " " };
    let column = pen.text(area, 0, 0, &format!("{pointer}{name} "), style);
    let pieces = match free {
        0 => "none".to_owned(),
        free => format!("{free} free"),
    };
    let mut rest = Vec::new();
    rest.extend((*damaged > 0).then(|| format!(", {damaged} damaged")));
    rest.extend((!elsewhere.is_empty()).then(|| format!(", {}", line.elsewhere_in_words())));
    let column = pen.text(area, 0, column + 1, &pieces, if *free == 0 { theme.warning } else { theme.text });
    pen.text(area, 0, column, &rest.concat(), theme.quiet);
}
