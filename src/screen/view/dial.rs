//! The eye from the front: a protractor with 0 at the right, anticlockwise, for both eyes, and the cylinder axis on it.

use ratatui::layout::Rect;
use ratatui::style::Color;
use ratatui::symbols::Marker;
use ratatui::widgets::Widget;
use ratatui::widgets::canvas::{Canvas, Circle, Line, Points};

use super::super::app::App;
use super::super::ui::Target;
use super::super::words;
use super::belief;
use super::pen::Pen;
use crate::optics::Eye;

/// Dots of a character cell: two across, four down, so that a dot is as wide as it is high.
const DOTS: (f64, f64) = (2.0, 4.0);
/// Where on the radius the longer marks begin, and the others.
const LONG_FROM: f64 = 0.75;
const SHORT_FROM: f64 = 0.88;
/// Where on the radius the arc of a sector lies, and how many degrees lie between its points.
const SECTOR_AT: f64 = 0.62;
const SECTOR_EVERY_DEG: f64 = 2.0;
/// Dots between the inner ends of two marks, so that they are not taken for one.
const LEAST_APART: f64 = 2.0;
/// Least rows for figures around the rim.
const FIGURES_FROM_ROWS: u16 = 7;

/// Draws the dial.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, eye: Eye) {
    let area = area.intersection(pen.buffer.area);
    let figures = area.height >= FIGURES_FROM_ROWS;
    let top = u16::from(figures);
    if area.width < 7 || area.height < top + 3 {
        return;
    }
    // room at the right for the 0, and above for the 90
    let inner = Rect { y: area.y + top, width: area.width - 2, height: area.height - top, ..area };
    pen.clickable(area, Target::Dial(eye));
    let (half_width, half_height) =
        (f64::from(inner.width) * DOTS.0 / 2.0 - 0.5, f64::from(inner.height) * DOTS.1 / 2.0 - 0.5);
    let radius = half_width.min(half_height);
    let net = app.ui.form.of(app.in_front_of(eye).net);
    let axis = words::is_written(net.cylinder).then_some(net.axis).filter(|axis| axis.is_finite());
    let ground = pen.theme.text.bg.unwrap_or(Color::Reset);
    let rim = pen.theme.dial.fg.unwrap_or(Color::Reset);
    let line = pen.theme.axis.fg.unwrap_or(Color::Reset);
    let (rim_marker, axis_marker) =
        if pen.glyphs.ascii { (Marker::Custom('.'), Marker::Custom('#')) } else { (Marker::Braille, Marker::Braille) };
    let sector = belief::sector_deg(app, eye).map(|sector| arcs(sector, SECTOR_AT * radius)).unwrap_or_default();
    let axis_marks_deg = u16::from(app.state().fitted.frame.axis_marks_deg);
    let least_apart = if pen.glyphs.ascii { LEAST_APART * (DOTS.0 + DOTS.1) / 2.0 } else { LEAST_APART };
    Canvas::default()
        .background_color(ground)
        .marker(rim_marker)
        .x_bounds([-half_width, half_width])
        .y_bounds([-half_height, half_height])
        .paint(|context| {
            context.draw(&Circle { x: 0.0, y: 0.0, radius, color: rim });
            for (degrees, from) in marks(axis_marks_deg, radius, least_apart) {
                context.draw(&ray(f64::from(degrees), radius * from, radius, rim));
            }
            context.draw(&Points { coords: &sector, color: line });
            if let Some(axis) = axis {
                context.marker(axis_marker);
                // two strokes beside each other, so that the axis is seen before the rim is
                for shift in [-0.5, 0.5] {
                    #[expect(clippy::disallowed_methods, reason = "only drawn")]
                    let (sin, cos) = axis.to_radians().sin_cos();
                    let (dx, dy) = if sin.abs() > cos.abs() { (shift, 0.0) } else { (0.0, shift) };
                    context.draw(&Line::new(
                        -radius * cos + dx,
                        -radius * sin - dy,
                        radius * cos + dx,
                        radius * sin - dy,
                        line,
                    ));
                }
            }
        })
        .render(inner, pen.buffer);
    let right = inner.right() - ((half_width - radius) / DOTS.0).floor() as u16;
    let (quiet, whole) = (pen.theme.quiet, pen.buffer.area);
    pen.text(whole, inner.y + inner.height / 2, right, "0", quiet);
    if figures {
        let above = inner.y + ((half_height - radius) / DOTS.1).floor() as u16 - 1;
        pen.text(whole, above, inner.x + inner.width / 2 - 1, "90", quiet);
    }
}

/// The arcs of a sector to either side of an axis, on both ends of it.
#[expect(clippy::disallowed_methods, reason = "only drawn")]
fn arcs([axis, aside]: [f64; 2], radius: f64) -> Vec<(f64, f64)> {
    let steps = (aside / SECTOR_EVERY_DEG).ceil().max(1.0);
    let along = (-steps as i32..=steps as i32).map(move |step| axis + f64::from(step) * aside / steps);
    let both = along.flat_map(|degrees| [degrees, degrees + 180.0]);
    both.map(|degrees| degrees.to_radians().sin_cos()).map(|(sin, cos)| (radius * cos, radius * sin)).collect()
}

/// The marks of the dial in degrees, and where on the radius each begins: those of the frame, as many of them as can be told apart,
/// and the longer ones among them at every 30°.
fn marks(of_frame_deg: u16, radius: f64, least_apart: f64) -> impl Iterator<Item = (u16, f64)> {
    // longer where a mark of the frame and a multiple of 30° meet
    let of_frame_deg = of_frame_deg.max(1);
    let longer = (1..=30).map(|times| times * of_frame_deg).find(|degrees| degrees % 30 == 0).unwrap_or(180);
    let apart = |degrees: u16| f64::from(degrees).to_radians() * radius * SHORT_FROM;
    let comes_out_even = |degrees: u16| longer % degrees == 0 || degrees.is_multiple_of(longer) && 180 % degrees == 0;
    let fits = |degrees: &u16| comes_out_even(*degrees) && apart(*degrees) >= least_apart;
    let every = (of_frame_deg..=180).step_by(usize::from(of_frame_deg)).find(fits).unwrap_or(180);
    (0..360)
        .step_by(usize::from(every))
        .map(move |degrees| (degrees, if degrees % longer == 0 { LONG_FROM } else { SHORT_FROM }))
}

#[expect(clippy::disallowed_methods, reason = "only drawn")]
fn ray(degrees: f64, from: f64, to: f64, color: Color) -> Line {
    let (sin, cos) = degrees.to_radians().sin_cos();
    Line::new(from * cos, from * sin, to * cos, to * sin, color)
}
