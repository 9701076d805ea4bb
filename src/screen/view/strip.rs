//! The cells before an eye from the side, to scale of the gaps between them: the eye, then each lens in its place, and under it the
//! cell and what is special about the piece. Where all of it does not fit abreast, places share rows in their order.

use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::app::App;
use super::super::spot::Spot;
use super::super::ui::{Target, Ui};
use super::super::words;
use super::cells::remarks;
use super::pen::Pen;
use crate::frame::FittedFrame;
use crate::frame::fitted::HAND_GAP;
use crate::kit::{Lens, Mark, StockedPiece};
use crate::optics::Eye;

/// One row for the lenses, one for their cells.
const ROWS: u16 = 2;
/// Columns of the eye and its distance.
const EYE: u16 = 8;
/// Columns of a place where places share rows: enough for `3 -0.75x180`.
const PLACE: u16 = 13;

/// How many rows cells and hand take.
pub fn rows(app: &App, width: u16) -> u16 {
    rows_of(&app.state().fitted, width)
}

/// How many rows the cells and the hand of a frame take.
pub fn rows_of(fitted: &FittedFrame, width: u16) -> u16 {
    let places = fitted.frame.cells.len() as u16 + 1;
    places.div_ceil(abreast(width)).max(ROWS)
}

fn abreast(width: u16) -> u16 {
    (width / PLACE).max(1)
}

/// A place with what is in it.
struct Placed<'a> {
    spot: Spot,
    from_eye_mm: f64,
    there: Option<(&'a StockedPiece, String)>,
}

impl Placed<'_> {
    fn symbol(&self) -> Option<&'static str> {
        self.there.as_ref().map(|(stocked, _)| symbol(&stocked.piece.lens))
    }

    fn lens(&self, pen: &Pen<'_>, with_symbol: bool) -> String {
        match (&self.there, self.symbol()) {
            (Some((_, lens)), Some(symbol)) if with_symbol => format!("{symbol} {lens}"),
            (Some((_, lens)), _) => lens.clone(),
            (None, _) if self.spot == Spot::Hand => pen.glyphs.empty.to_owned(),
            (None, _) => pen.glyphs.slot.to_owned(),
        }
    }

    fn style(&self, pen: &Pen<'_>) -> Style {
        match &self.there {
            None => pen.theme.quiet,
            Some((stocked, _)) if stocked.piece.lens.occludes() => pen.theme.warning,
            Some((stocked, _)) => pen.theme.signed(stocked.piece.lens.mark().map_or(0.0, Mark::dioptres)),
        }
    }
}

/// The frame that is drawn, and what the keys work on, where it is the one that they move lenses in.
#[derive(Clone, Copy)]
struct Drawn<'a> {
    fitted: &'a FittedFrame,
    ui: Option<&'a Ui>,
    eye: Eye,
}

impl Drawn<'_> {
    fn in_focus(&self, spot: Spot) -> bool {
        self.ui.is_some_and(|ui| ui.works_in(self.eye, spot))
    }

    fn is_carried(&self, spot: Spot) -> bool {
        self.ui.is_some_and(|ui| ui.carrying == Some((self.eye, spot)))
    }
}

fn placed(fitted: &FittedFrame, eye: Eye) -> Vec<Placed<'_>> {
    let mut from_eye_mm = fitted.frame.vertex.0;
    let mut places = Vec::new();
    let lens = |stocked: &StockedPiece, direction| words::lens(&stocked.piece.lens, direction, eye);
    for cell in fitted.frame.cell_numbers() {
        if cell > 1 {
            from_eye_mm += fitted.frame.cell(cell).map_or(0.0, |spec| spec.gap.0);
        }
        let there = fitted.in_cell(eye, cell);
        let there = there.map(|there| (there.stocked, lens(there.stocked, there.direction.degrees())));
        places.push(Placed { spot: Spot::Cell(cell), from_eye_mm, there });
    }
    let held = fitted.held(eye).map(|held| (held.stocked, lens(held.stocked, held.direction.degrees())));
    places.push(Placed { spot: Spot::Hand, from_eye_mm: from_eye_mm + HAND_GAP.0, there: held });
    places
}

/// Draws cells and hand.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, eye: Eye) {
    draw_places(pen, area, Drawn { fitted: &app.state().fitted, ui: Some(&app.ui), eye });
}

/// Draws the cells and the hand of a frame that is only looked at.
pub fn draw_frame(pen: &mut Pen<'_>, area: Rect, fitted: &FittedFrame, eye: Eye) {
    draw_places(pen, area, Drawn { fitted, ui: None, eye });
}

/// What stands in the cells of a frame that is only looked at and is held before it, a line a lens.
pub fn frame_in_words(fitted: &FittedFrame, eye: Eye) -> Vec<String> {
    let line = |place: Placed<'_>| {
        let name = place.spot.cell().map_or_else(|| "hand".to_owned(), |cell| format!("cell {cell}"));
        place.there.map(|(_, lens)| format!("{name}: {lens}"))
    };
    placed(fitted, eye).into_iter().filter_map(line).collect()
}

fn draw_places(pen: &mut Pen<'_>, area: Rect, drawn: Drawn<'_>) {
    let places = placed(drawn.fitted, drawn.eye);
    let fits = |with_symbols: bool| {
        let widths: Vec<u16> =
            places.iter().map(|place| place.lens(pen, with_symbols).chars().count() as u16).collect();
        columns(area.width, &places, &widths).map(|columns| (with_symbols, columns))
    };
    match [true, false].into_iter().find_map(fits).filter(|_| area.height >= ROWS) {
        Some((with_symbols, columns)) => to_scale(pen, area, drawn, &places, &columns, with_symbols),
        None => in_rows(pen, area, drawn, &places),
    }
}

/// The columns of the places: to scale as far as their texts leave each other room; `None` where they do not.
fn columns(width: u16, places: &[Placed<'_>], widths: &[u16]) -> Option<Vec<u16>> {
    let (first_mm, most_mm) = (places.first()?.from_eye_mm, places.last()?.from_eye_mm);
    let last = width.checked_sub(1 + widths.last()?)?.max(EYE);
    // the hand stands at the right edge of the scale, the eye's distance is written
    let scale = f64::from(last - EYE) / (most_mm - first_mm).max(1.0);
    let mut columns: Vec<u16> = Vec::new();
    let mut free = EYE;
    for (place, width) in places.iter().zip(widths) {
        let column = (((place.from_eye_mm - first_mm) * scale).round() as u16 + EYE).max(free);
        columns.push(column);
        free = column + width + 2;
    }
    let mut end = width;
    for (column, width) in columns.iter_mut().zip(widths).rev() {
        *column = (*column).min(end.checked_sub(1 + width)?);
        end = column.checked_sub(1)?;
    }
    (end + 1 >= EYE).then_some(columns)
}

fn to_scale(
    pen: &mut Pen<'_>,
    area: Rect,
    drawn: Drawn<'_>,
    places: &[Placed<'_>],
    columns: &[u16],
    with_symbols: bool,
) {
    pen.text(area, 0, 1, pen.glyphs.eye, pen.theme.title);
    pen.text(area, 1, 1, &format!("{} mm", drawn.fitted.frame.vertex.0), pen.theme.quiet);
    for (nth, (place, &column)) in places.iter().zip(columns).enumerate() {
        let next = columns.get(nth + 1).copied().unwrap_or(area.width);
        let in_focus = drawn.in_focus(place.spot);
        pointer(pen, area, column, drawn, place.spot);
        let style = if in_focus { pen.theme.focus } else { place.style(pen) };
        pen.text(area, 0, column, &place.lens(pen, with_symbols), style);
        let room = usize::from(next.saturating_sub(column + 1));
        let label = labels(drawn.fitted, place).into_iter().find(|label| label.chars().count() <= room);
        let style = if in_focus { pen.theme.focus } else { pen.theme.quiet };
        pen.text(area, 1, column, &label.unwrap_or_default(), style);
        if drawn.ui.is_some() {
            let target = Target::Spot(drawn.eye, place.spot);
            pen.clickable(Rect { x: area.x + column, width: next - column, ..area }, target);
        }
    }
}

/// What stands under a place, the most telling first, and what is left of it where there is less room.
fn labels(fitted: &FittedFrame, place: &Placed<'_>) -> Vec<String> {
    let remarks = place.there.as_ref().map(|(stocked, _)| remarks(stocked, &fitted.stock.rims)).unwrap_or_default();
    let Some(cell) = place.spot.cell() else {
        return vec![format!("hand {remarks}").trim_end().to_owned(), "hand".to_owned(), "h".to_owned()];
    };
    let spec = fitted.frame.cell(cell);
    let name = spec.map_or("", |spec| spec.name.as_str());
    let turns = if spec.is_some_and(|spec| spec.turns) { " turns" } else { "" };
    let mut labels = vec![format!("{cell} {name}{turns}"), format!("{cell}{turns}"), format!("{cell} {name}")];
    if !remarks.is_empty() {
        labels.insert(0, format!("{cell} {remarks}"));
        labels.insert(0, format!("{cell} {name}, {remarks}"));
    }
    labels.push(cell.to_string());
    labels
}

/// Marks the place that the keys work on, or whose lens is being moved, without a colour.
fn pointer(pen: &mut Pen<'_>, area: Rect, column: u16, drawn: Drawn<'_>, spot: Spot) {
    let mark = if drawn.is_carried(spot) {
        "*"
    } else if drawn.in_focus(spot) {
        pen.glyphs.pointer
    } else {
        return;
    };
    pen.text(area, 0, column.saturating_sub(1), mark, pen.theme.focus);
}

/// Cells and hand in their order, as many to a row as fit, each with its number before it.
fn in_rows(pen: &mut Pen<'_>, area: Rect, drawn: Drawn<'_>, places: &[Placed<'_>]) {
    let abreast = abreast(area.width);
    let width = area.width / abreast;
    for (nth, place) in places.iter().enumerate() {
        let nth = nth as u16;
        let (row, column) = (nth / abreast, nth % abreast * width);
        let last = place.spot == Spot::Hand || nth % abreast == abreast - 1;
        let width = if last { area.width - column } else { width };
        let at = Rect { x: area.x + column, y: area.y + row, width, height: u16::from(row < area.height) };
        let in_focus = drawn.in_focus(place.spot);
        pointer(pen, at, 1, drawn, place.spot);
        let name = place.spot.cell().map_or_else(|| "h".to_owned(), |cell| cell.to_string());
        let style = |style: Style| if in_focus { pen.theme.focus } else { style };
        let (quiet, lens_style) = (style(pen.theme.quiet), style(place.style(pen)));
        let next = pen.text(at, 0, 1, &format!("{name} "), quiet);
        pen.text(at, 0, next, &place.lens(pen, false), lens_style);
        if drawn.ui.is_some() {
            pen.clickable(at, Target::Spot(drawn.eye, place.spot));
        }
    }
}

/// The cut of a lens: a plus lens bulges, a minus lens is hollow, a cylinder is flat on one side, a prism has a base.
fn symbol(lens: &Lens) -> &'static str {
    let power = lens.mark().map_or(0.0, Mark::dioptres);
    match lens {
        Lens::Sphere(_) if power > 0.0 => "()",
        Lens::Sphere(_) if power < 0.0 => ")(",
        Lens::Sphere(_) => "||",
        Lens::Cylinder(_) if power > 0.0 => "|)",
        Lens::Cylinder(_) => "|(",
        Lens::Prism(_) => "/|",
        Lens::CrossCylinder(_) => "><",
        Lens::Accessory(_) if lens.occludes() => "##",
        Lens::Accessory(_) => "[]",
    }
}
