//! The eye from the side: the eye, then the cells outward, to scale of their distances, each with its lens.

use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::app::App;
use super::super::spot::Spot;
use super::super::ui::Target;
use super::pen::Pen;
use crate::frame::fitted::HAND_GAP;
use crate::kit::Lens;
use crate::optics::Eye;

/// One row for the lenses, one for the numbers of their cells.
pub const ROWS: u16 = 2;

/// Draws the strip.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, eye: Eye) {
    let fitted = &app.state().fitted;
    let frame = &fitted.frame;
    let length_mm = frame.vertex.0 + frame.gaps().iter().map(|gap| gap.0).sum::<f64>() + HAND_GAP.0;
    let scale = f64::from(area.width.saturating_sub(4)) / length_mm.max(1.0);
    let column_at = |mm: f64| (mm * scale).round() as u16 + 1;
    pen.text(area, 0, 1, pen.glyphs.eye, pen.theme.title);
    pen.text(area, 1, 1, &format!("{} mm", frame.vertex.0), pen.theme.quiet);

    let mut places = Vec::new();
    let mut at_mm = frame.vertex.0;
    for cell in frame.cell_numbers() {
        if cell > 1 {
            at_mm += frame.cell(cell).map_or(0.0, |spec| spec.gap.0);
        }
        let lens = fitted.in_cell(eye, cell).map(|there| &there.stocked.piece.lens);
        places.push((column_at(at_mm), lens, cell.to_string(), Spot::Cell(cell)));
    }
    if let Some(held) = fitted.held(eye) {
        places.push((column_at(at_mm + HAND_GAP.0), Some(&held.stocked.piece.lens), "h".to_owned(), Spot::Hand));
    }
    let mut next_free = 0;
    for (to_scale, lens, label, spot) in places {
        // cells that scale would put on one another still stand beside each other, in their order
        let column = to_scale.max(next_free);
        next_free = column + 2;
        let (symbol, style) = lens.map_or((pen.glyphs.slot, pen.theme.quiet), |lens| symbol(pen, lens));
        let in_focus = app.ui.works_in(eye, spot);
        let label_style = if in_focus { pen.theme.focus } else { pen.theme.quiet };
        pen.text(area, 0, column, symbol, style);
        pen.text(area, 1, column, &label, label_style);
        if column < area.width {
            pen.clickable(
                Rect { x: area.x + column, width: 2.min(area.width - column), ..area },
                Target::Spot(eye, spot),
            );
        }
    }
}

/// The cut of a lens: a plus lens bulges, a minus lens is hollow, a cylinder is flat on one side, a prism has a base.
fn symbol(pen: &Pen<'_>, lens: &Lens) -> (&'static str, Style) {
    let power = lens.mark().map_or(0.0, crate::kit::Mark::dioptres);
    let style = pen.theme.signed(power);
    match lens {
        Lens::Sphere(_) if power > 0.0 => ("()", style),
        Lens::Sphere(_) if power < 0.0 => (")(", style),
        Lens::Sphere(_) => ("||", style),
        Lens::Cylinder(_) if power > 0.0 => ("|)", style),
        Lens::Cylinder(_) => ("|(", style),
        Lens::Prism(_) => ("/|", pen.theme.text),
        Lens::CrossCylinder(_) => ("><", pen.theme.text),
        Lens::Accessory(_) if lens.occludes() => ("##", pen.theme.warning),
        Lens::Accessory(_) => ("[]", pen.theme.text),
    }
}
