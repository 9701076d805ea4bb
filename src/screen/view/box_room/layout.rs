//! Where the panels of the Box screen stand.
//!
//! ```text
//! tray ─────────────────────────────  the chosen place ───────────
//! spheres -   spheres +   cylinders   its pieces, what happened
//! ...                                 keys ───────────────────────
//! by kind ────────  away ───────────                                  from 90 columns on; below, tray, place and keys
//! ```

use ratatui::layout::{Constraint, Layout, Rect};

use super::super::layout::TWO_FROM;

/// Columns beside the tray, and between the two.
const BESIDE: (u16, u16) = (36, 52);
const BETWEEN: u16 = 2;
/// Rows of the place at least, its heading among them; and of keys and counts, below which they are left out.
const LEAST_OF_THE_PLACE: u16 = 4;
const LEAST_OF_A_PANEL: u16 = 3;
/// Below the tray counts and what is away stand side by side from so many columns on.
const ABREAST_FROM: u16 = 64;

/// What is to be placed.
pub struct Asked<'a> {
    /// All below the top line.
    pub area: Rect,
    /// The fewest rows in which the whole tray is seen, of so many columns, if it is.
    pub tray_rows: &'a dyn Fn(u16) -> Option<u16>,
    /// Rows that the chosen place would like, of so many columns.
    pub place_rows: &'a dyn Fn(u16) -> u16,
    /// Rows of the counts.
    pub counts_rows: u16,
}

/// Where everything stands.
#[derive(Debug, Clone, Copy)]
pub struct BoxPlan {
    /// All places of the box.
    pub tray: Rect,
    /// The chosen place.
    pub place: Rect,
    /// Pieces by kind.
    pub counts: Rect,
    /// Pieces that are away, or not as they should be.
    pub away: Rect,
    /// The keys that work now.
    pub keys: Rect,
}

/// Places everything.
pub fn plan(asked: &Asked<'_>) -> BoxPlan {
    let area = asked.area;
    if area.width < TWO_FROM { one_column(asked) } else { two_columns(area, asked) }
}

fn one_column(asked: &Asked<'_>) -> BoxPlan {
    let area = asked.area;
    let most = area.height.saturating_sub(LEAST_OF_THE_PLACE);
    let tray = 1 + (asked.tray_rows)(area.width).unwrap_or(most).min(most.saturating_sub(1));
    let left = area.height - tray;
    let place = (asked.place_rows)(area.width).clamp(LEAST_OF_THE_PLACE.min(left), left);
    let place = if left - place < LEAST_OF_A_PANEL { left } else { place };
    let [tray, place, keys] =
        Layout::vertical([Constraint::Length(tray), Constraint::Length(place), Constraint::Min(0)]).areas(area);
    BoxPlan { tray, place, counts: Rect::default(), away: Rect::default(), keys }
}

fn two_columns(area: Rect, asked: &Asked<'_>) -> BoxPlan {
    let beside = (area.width * 3 / 10).clamp(BESIDE.0, BESIDE.1);
    let [left, right] =
        Layout::horizontal([Constraint::Min(0), Constraint::Length(beside)]).spacing(BETWEEN).areas(area);
    let most = left.height.saturating_sub(1);
    let tray = 1 + (asked.tray_rows)(left.width).unwrap_or(most).min(most);
    let tray = if left.height - tray < LEAST_OF_A_PANEL { left.height } else { tray };
    let [tray, below] = Layout::vertical([Constraint::Length(tray), Constraint::Min(0)]).areas(left);
    let (counts, away) = if below.is_empty() {
        (below, below)
    } else if below.width >= ABREAST_FROM {
        let [counts, away] = Layout::horizontal([Constraint::Fill(1); 2]).spacing(BETWEEN).areas(below);
        (counts, away)
    } else {
        let [counts, away] =
            Layout::vertical([Constraint::Length(asked.counts_rows), Constraint::Min(0)]).areas(below);
        (counts, away)
    };
    let place = (asked.place_rows)(right.width).clamp(LEAST_OF_THE_PLACE, right.height);
    let place = if right.height - place < LEAST_OF_A_PANEL { right.height } else { place };
    let [place, keys] = Layout::vertical([Constraint::Length(place), Constraint::Min(0)]).areas(right);
    BoxPlan { tray, place, counts, away, keys }
}
