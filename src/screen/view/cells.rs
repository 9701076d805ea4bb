//! The cells from rear to front with the lens in each, then the hand.

use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::app::App;
use super::super::spot::Spot;
use super::super::ui::Target;
use super::super::words;
use super::pen::Pen;
use crate::kit::{Lens, Mark, Rims, StockedPiece};
use crate::optics::Eye;

/// Columns of a place where several share a row: enough for `3 -0.75x180`.
const PLACE_WIDTH: u16 = 13;
/// The most places that each have a row of their own.
const MOST_ROWS: u16 = 6;

fn places(app: &App) -> u16 {
    app.state().fitted.frame.cells.len() as u16 + 1
}

/// How many rows the cells and the hand take.
pub fn rows(app: &App, width: u16, large: bool) -> u16 {
    let places = places(app);
    if large && places <= MOST_ROWS { places } else { places.div_ceil(abreast(width)) }
}

fn abreast(width: u16) -> u16 {
    (width / PLACE_WIDTH).max(1)
}

/// What is in the cells and the hand, a line each.
pub fn in_words(app: &App, eye: Eye) -> Vec<String> {
    let fitted = &app.state().fitted;
    let cells = fitted.frame.cell_numbers().filter_map(|cell| {
        let there = fitted.in_cell(eye, cell)?;
        let lens = words::lens(&there.stocked.piece.lens, there.direction.degrees(), eye);
        Some(format!("{}: {lens}", words::place(eye, Spot::Cell(cell))))
    });
    let held = fitted.held(eye).map(|held| {
        let lens = words::lens(&held.stocked.piece.lens, held.direction.degrees(), eye);
        format!("held before the {eye} eye: {lens}")
    });
    cells.chain(held).collect()
}

/// Draws the cells.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, eye: Eye) {
    let spots = app.state().fitted.frame.cell_numbers().map(Spot::Cell).chain([Spot::Hand]);
    let own_rows = area.height >= places(app);
    for (nth, spot) in spots.enumerate() {
        let nth = nth as u16;
        let place = if own_rows {
            Rect { y: area.y + nth, height: 1, ..area }
        } else {
            let abreast = abreast(area.width);
            let width = area.width / abreast;
            let last = spot == Spot::Hand || nth % abreast == abreast - 1;
            let x = area.x + nth % abreast * width;
            Rect { x, y: area.y + nth / abreast, width: if last { area.right() - x } else { width }, height: 1 }
        };
        if place.y < area.bottom() {
            one(pen, place, app, eye, spot, own_rows);
        }
    }
}

fn one(pen: &mut Pen<'_>, area: Rect, app: &App, eye: Eye, spot: Spot, with_names: bool) {
    let theme = pen.theme;
    let fitted = &app.state().fitted;
    let there = match spot {
        Spot::Cell(cell) => fitted.in_cell(eye, cell).map(|there| (there.stocked, there.direction)),
        Spot::Hand => fitted.held(eye).map(|held| (held.stocked, held.direction)),
    };
    let in_focus = app.ui.works_in(eye, spot);
    let carried = app.ui.carrying == Some((eye, spot));
    let pointer = if carried {
        "*"
    } else if in_focus {
        pen.glyphs.pointer
    } else {
        " "
    };
    let name = match (spot, with_names) {
        (Spot::Cell(cell), true) => {
            let spec = fitted.frame.cell(cell);
            let turns = spec.is_some_and(|spec| spec.turns);
            let name: String = spec.map_or("", |spec| &spec.name).chars().take(11).collect();
            format!("{cell} {name:<11}{}", if turns { " turns" } else { "      " })
        }
        (Spot::Cell(cell), false) => cell.to_string(),
        (Spot::Hand, true) => format!("{:<19}", "hand"),
        (Spot::Hand, false) if area.width < 2 * PLACE_WIDTH => "h".to_owned(),
        (Spot::Hand, false) => "hand".to_owned(),
    };
    let focus_or = |style: Style| if in_focus { theme.focus } else { style };
    let mut column = pen.text(area, 0, 0, &format!("{pointer}{name} "), focus_or(theme.quiet));
    match there {
        None => {
            pen.text(area, 0, column, pen.glyphs.empty, focus_or(theme.quiet));
        }
        Some((stocked, direction)) => {
            let power = stocked.piece.lens.mark().map_or(0.0, Mark::dioptres);
            let text = words::lens(&stocked.piece.lens, direction.degrees(), eye);
            column = pen.text(area, 0, column, &text, focus_or(theme.signed(power)));
            if with_names {
                pen.text(area, 0, column + 1, &remarks(stocked, &fitted.stock.rims), theme.quiet);
            }
        }
    }
    pen.clickable(area, Target::Spot(eye, spot));
}

/// What is special about a piece: how its rim is marked, its measured power, damage.
fn remarks(stocked: &StockedPiece, rims: &Rims) -> String {
    // taken apart, so that whatever else is known of a piece is remarked here or left out on purpose
    let StockedPiece { piece, place: _, damaged, measured } = stocked;
    let mut remarks = Vec::new();
    remarks.extend(rim(&piece.lens, rims));
    remarks.extend(measured.map(|power| format!("measured {}", words::dioptres(power))));
    remarks.extend(damaged.then(|| "damaged".to_owned()));
    remarks.join(", ")
}

/// The word for the rim of a lens, where the box marks its rims.
pub fn rim(lens: &Lens, rims: &Rims) -> Option<String> {
    let word = match lens {
        Lens::Sphere(mark) | Lens::Cylinder(mark) if mark.dioptres() > 0.0 => rims.plus.as_ref(),
        Lens::Sphere(mark) | Lens::Cylinder(mark) if mark.dioptres() < 0.0 => rims.minus.as_ref(),
        Lens::Sphere(_) | Lens::Cylinder(_) | Lens::Prism(_) | Lens::CrossCylinder(_) | Lens::Accessory(_) => None,
    };
    word.map(|word| format!("{word} rim"))
}
