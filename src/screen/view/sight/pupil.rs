//! The pupil as the examiner sees it: its rim, the light in it, and the streak on the skin above and below.

use ratatui::layout::Rect;

use super::super::super::app::App;
use super::super::super::pictures::Subject;
use super::super::pen::Pen;
use super::tones;
use crate::optics::Power;
use crate::practice::picture::reflex::Streak;

/// A pupil of fewer rows shows nothing.
const LEAST_ROWS: u16 = 6;

/// What is seen of a pupil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swept {
    /// What is missing at the retinoscope.
    pub missing: Power,
    /// Where the streak is.
    pub streak: Streak,
    /// How far away the examiner sits, in metres.
    pub metres: f64,
}

/// Draws the pupil, as large as the area lets it be.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, swept: Swept) {
    let rows = area.height.min(area.width / 2);
    if rows < LEAST_ROWS {
        pen.text(area, 0, 0, "no room for the pupil", pen.theme.quiet);
        return;
    }
    let place = Rect {
        x: area.x + (area.width - 2 * rows) / 2,
        y: area.y + (area.height - rows) / 2,
        width: 2 * rows,
        height: rows,
    };
    let Swept { missing, streak, metres } = swept;
    tones::light(pen, place, app, Subject::Pupil { missing, streak, metres });
}
