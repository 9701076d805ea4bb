//! Where the panels of the Box screen stand.
//!
//! ```text
//! tray ─────────────────────────────  the chosen place ───────────
//! spheres -   spheres +   cylinders   its pieces, what happened
//! ...                                 to do ──────────────────────
//! keys ─────────────────────────────  by kind ────────────────────
//! x lost   f found                    away ───────────────────────    from 118 columns on; else one below the other
//! ```

use ratatui::layout::Rect;

/// From so many columns on panels stand beside the tray.
const TWO_FROM: u16 = 118;
/// Columns beside the tray at least and at most, and between the two.
const BESIDE: (u16, u16) = (36, 50);
const BETWEEN: u16 = 2;
/// Rows of the place at least, its heading among them.
const LEAST_OF_THE_PLACE: u16 = 4;
/// A panel with fewer rows is left out.
const LEAST_OF_A_PANEL: u16 = 3;
/// Of a high screen the tray has at least so many percent.
const LEAST_OF_THE_TRAY: u16 = 40;
/// Free rows between two panels at most.
const MOST_BETWEEN: u16 = 6;

/// A panel of the Box screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BoxPart {
    /// All places of the box.
    Tray,
    /// The chosen place.
    Place,
    /// What is to be done.
    ToDo,
    /// Pieces by kind.
    Counts,
    /// Pieces that are away, or not as they should be.
    Away,
    /// What happened lately.
    Lately,
    /// The keys that work now.
    Keys,
}

/// What is to be placed.
pub struct Asked<'a> {
    /// All below the top line.
    pub area: Rect,
    /// The fewest rows in which the whole tray is seen, of so many columns, if it is.
    pub tray_rows: &'a dyn Fn(u16) -> Option<u16>,
    /// Rows that another panel would like, of so many columns.
    pub rows_of: &'a dyn Fn(BoxPart, u16) -> u16,
}

/// Places everything.
pub fn plan(asked: &Asked<'_>) -> Vec<(BoxPart, Rect)> {
    if asked.area.width < TWO_FROM { one_column(asked) } else { two_columns(asked.area, asked) }
}

fn one_column(asked: &Asked<'_>) -> Vec<(BoxPart, Rect)> {
    let area = asked.area;
    let most = area.height.saturating_sub(LEAST_OF_THE_PLACE);
    let tray = 1 + (asked.tray_rows)(area.width).unwrap_or(most).min(most.saturating_sub(1));
    let (tray, below) = split(area, tray);
    let mut parts = vec![(BoxPart::Tray, tray)];
    let keys = (asked.rows_of)(BoxPart::Keys, area.width).min(below.height / 2);
    let (above, keys) = split(below, below.height - keys);
    let every = [BoxPart::Place, BoxPart::ToDo, BoxPart::Away, BoxPart::Counts, BoxPart::Lately];
    let mut below = column(above, &every, asked, keys.height >= LEAST_OF_A_PANEL);
    // what is left is for the keys
    let used = below.iter().map(|(_, area)| area.bottom()).max().unwrap_or(above.y);
    let rest = Rect { y: used, height: area.bottom() - used, ..area };
    if rest.height >= LEAST_OF_A_PANEL {
        below.push((BoxPart::Keys, rest));
    } else if let Some((_, last)) = below.last_mut() {
        last.height += rest.height;
    }
    parts.extend(below);
    parts
}

fn two_columns(area: Rect, asked: &Asked<'_>) -> Vec<(BoxPart, Rect)> {
    let beside = (area.width * 3 / 10).clamp(BESIDE.0, BESIDE.1);
    let left = Rect { width: area.width - beside - BETWEEN, ..area };
    let right = Rect { x: area.right() - beside, width: beside, ..area };
    let most = left.height.saturating_sub(1);
    let fewest = (asked.tray_rows)(left.width).unwrap_or(most).min(most);
    let tray = 1 + fewest.max(left.height * LEAST_OF_THE_TRAY / 100);
    let tray = if left.height - tray < LEAST_OF_A_PANEL { left.height } else { tray };
    let (tray, below) = split(left, tray);
    let mut parts = vec![(BoxPart::Tray, tray)];
    let mut at_the_right = vec![BoxPart::Place, BoxPart::ToDo, BoxPart::Away, BoxPart::Counts, BoxPart::Lately];
    if below.is_empty() {
        at_the_right.insert(2, BoxPart::Keys);
    } else {
        parts.push((BoxPart::Keys, below));
    }
    parts.extend(column(right, &at_the_right, asked, false));
    parts
}

fn split(area: Rect, rows: u16) -> (Rect, Rect) {
    let rows = rows.min(area.height);
    (Rect { height: rows, ..area }, Rect { y: area.y + rows, height: area.height - rows, ..area })
}

/// Panels in one column, the first first served; what is left goes to the last that there is room for, unless it is kept.
fn column(area: Rect, parts: &[BoxPart], asked: &Asked<'_>, keeps_rest: bool) -> Vec<(BoxPart, Rect)> {
    let mut left = area;
    let mut placed: Vec<(BoxPart, Rect)> = Vec::new();
    for part in parts {
        let wanted = (asked.rows_of)(*part, area.width).min(left.height);
        if wanted >= LEAST_OF_A_PANEL || placed.is_empty() {
            let (here, below) = split(left, wanted.max(LEAST_OF_THE_PLACE));
            placed.push((*part, here));
            left = below;
        }
    }
    if !keeps_rest {
        share_out(left.height, &mut placed);
    }
    placed
}

/// Free rows between panels: what is left, a few at most, and the last panel has the rest.
fn share_out(rows: u16, placed: &mut [(BoxPart, Rect)]) {
    let between = placed.len().saturating_sub(1) as u16;
    let each = rows.checked_div(between).unwrap_or(0).min(MOST_BETWEEN);
    for (nth, (_, area)) in placed.iter_mut().enumerate() {
        area.y += nth as u16 * each;
    }
    if let Some((_, last)) = placed.last_mut() {
        last.height += rows - between * each;
    }
}
