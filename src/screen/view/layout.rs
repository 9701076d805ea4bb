//! Where everything stands: from the size of the screen and what has something to say to rectangles. No panel computes its own.
//!
//! ```text
//! head
//! title RIGHT       ⡠⠤⠤⡀ │ title LEFT        ⡠⠤⠤⡀
//! ▄▄▄ net, sphere   ⠑⠤⠤⠊ │ ▄▄▄ net, sphere   ⠑⠤⠤⠊
//! ▄▄▄ cylinder x axis    │ ▄▄▄ cylinder x axis
//! facts, warnings first  │ facts
//! the cells to scale     │ the cells
//! guide ─────────────────  stacks ────────────────    in two columns from 90, in three from 150 columns on,
//!                          tray ──────────────────    in one below
//! the typed line, or what was done
//! hints
//! ```
//!
//! What has nothing to say gives its room to its neighbours. Beyond [`MOST_COLUMNS`] the block stands in the middle.

use ratatui::layout::{Constraint, Layout, Rect};

use super::figures::Face;
use crate::optics::Eyes;

/// The least screen that can be worked with.
pub const LEAST: (u16, u16) = (60, 20);
/// The block grows no wider.
pub const MOST_COLUMNS: u16 = 160;
/// No text runs wider.
pub const MOST_TEXT: u16 = 70;

/// From so many columns on there are two and three columns below the eyes.
pub const TWO_FROM: u16 = 90;
const THREE_FROM: u16 = 150;
/// Columns between two of three columns.
const BETWEEN: u16 = 2;
/// A typed line and the hints have a row each from so many rows on.
const OWN_LINE_FROM: u16 = 24;
/// There is a row between figures and facts from so many rows on.
const AIR_FROM: u16 = 34;
/// From so many rows on no list needs the rows of the facts.
const ROOMY_FROM: u16 = 30;
/// What is below the eyes has at least so many rows.
const LEAST_BELOW: u16 = 3;
/// Panels below the eyes need no more rows; what is beyond them has the keys, so that nothing moves with what is asked.
const MOST_OF_PANELS: u16 = 18;
const MOST_OF_PANELS_WITH_TRAIL: u16 = 26;
const LEAST_OF_KEYS: u16 = 5;
/// A panel with fewer rows is left out.
const LEAST_OF_A_PANEL: u16 = 3;
/// Columns of the dial beside its circle, for its figures.
const DIAL_FIGURES: u16 = 3;

/// A panel below the eyes, in the order in which they stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// What the guide shows and asks.
    Guide,
    /// Stacks for the wanted power.
    Stacks,
    /// The lenses of the box.
    Tray,
    /// What was tried.
    Trail,
}

/// What is to be placed.
#[expect(clippy::struct_excessive_bools, reason = "each is another fact of the screen")]
pub struct Asked<'a> {
    /// The whole screen.
    pub screen: Rect,
    /// Whether only ASCII can be drawn.
    pub ascii: bool,
    /// Whether no eye has a cylinder to be drawn.
    pub has_no_cylinder: bool,
    /// Whether more than one row of facts would take room from what is used now.
    pub is_busy_below: bool,
    /// Whether each row of facts would, but warnings.
    pub is_full_below: bool,
    /// Rows that the warnings of an eye take, of so many columns.
    pub warning_rows: &'a dyn Fn(u16) -> u16,
    /// Rows that cells and hand take, of so many columns.
    pub cell_rows: &'a dyn Fn(u16) -> u16,
    /// The panels that have something to say, the one in use first.
    pub parts: &'a [Part],
    /// Rows that a panel would like to have, of so many columns.
    pub rows_of: &'a dyn Fn(Part, u16) -> u16,
}

/// Where the parts of one eye stand.
#[derive(Debug, Clone, Copy)]
pub struct EyePlan {
    /// The name of the eye.
    pub title: Rect,
    /// The sphere of the net power, or a word in its place.
    pub sphere: Rect,
    /// The cylinder and its axis.
    pub cylinder: Rect,
    /// The dial.
    pub dial: Rect,
    /// What is known of the eye.
    pub facts: Rect,
    /// The cells and the hand.
    pub cells: Rect,
}

/// Where everything stands.
pub struct Plan {
    /// The figures of the net powers.
    pub face: Face,
    /// Box, frame and exam.
    pub head: Rect,
    /// The eyes, the right one on the left.
    pub eyes: Eyes<EyePlan>,
    /// Between the eyes.
    pub divider: Rect,
    /// The panels below the eyes.
    pub panels: Vec<(Part, Rect)>,
    /// The keys that work now, on a high screen; empty on others.
    pub keys: Rect,
    /// What is open instead of the frame.
    pub page: Rect,
    /// The most that a sheet takes: never the net powers, nor a warning.
    pub sheet: Rect,
    /// The rows that a sheet can take: those below the eyes, with the cells, with the facts too.
    pub sheet_rows: [u16; 3],
    /// What is being typed, what was done.
    pub line: Rect,
    /// The keys.
    pub hints: Rect,
}

/// Whether the exam can be drawn in an area.
pub fn fits(area: Rect) -> bool {
    area.width >= LEAST.0 && area.height >= LEAST.1
}

/// Rows of facts beside warnings.
fn fact_rows(rows: u16, is_busy_below: bool) -> u16 {
    match (rows, is_busy_below) {
        (0..22, true) => 0,
        (0..30, true) => 1,
        (0..46, true) | (0..36, false) => 2,
        _ => 3,
    }
}

/// Places everything on a screen that [`fits`].
pub fn plan(asked: &Asked<'_>) -> Plan {
    let screen = asked.screen;
    let width = screen.width.min(MOST_COLUMNS);
    let block = Rect { x: screen.x + (screen.width - width) / 2, width, ..screen };
    let eye_width = (width - 1) / 2;
    let face = Face::fitting(asked.ascii, eye_width, block.height);

    // high figures on a low screen leave what is below the eyes what they do not need
    let gives_way = asked.ascii && asked.is_busy_below && block.height < ROOMY_FROM;
    let is_tight = gives_way && !asked.has_no_cylinder;
    let gives_way = gives_way && asked.has_no_cylinder;
    let own_line = u16::from(block.height >= OWN_LINE_FROM && !is_tight);
    let air = u16::from(block.height >= AIR_FROM);
    let between = u16::from(face.needs_a_row_between());
    let of_cylinder = if gives_way { 1 } else { face.rows() };
    let between = if gives_way { 0 } else { between };
    let figures = 1 + face.rows() + between + of_cylinder;
    let cells = (asked.cell_rows)(eye_width);
    let warnings = (asked.warning_rows)(eye_width);
    let facts = if is_tight || asked.is_full_below && block.height < ROOMY_FROM {
        0
    } else {
        fact_rows(block.height, asked.is_busy_below)
    };
    let facts = warnings.max(facts);
    let most = block.height.saturating_sub(2 + own_line + LEAST_BELOW);
    // where rows are short the air goes first, then facts, never warnings
    let air = air.min(most.saturating_sub(figures + facts + cells));
    let facts = facts.min(most.saturating_sub(figures + cells).max(warnings));
    let eye_rows = figures + air + facts + cells;
    let [head, eyes, below, line, hints] = Layout::vertical([
        Constraint::Length(1),
        Constraint::Length(eye_rows.min(block.height - 2 - own_line)),
        Constraint::Min(0),
        Constraint::Length(own_line),
        Constraint::Length(1),
    ])
    .areas(block);
    let [right, divider, left] =
        Layout::horizontal([Constraint::Length(eye_width), Constraint::Length(1), Constraint::Length(eye_width)])
            .areas(eyes);
    let rows = [1, face.rows(), between, of_cylinder, air, facts, cells];
    let eyes = Eyes::new(right, left).map(|area| eye_plan(area, face, rows));
    let line = if own_line == 0 { hints } else { line };
    let most_of_panels = if asked.parts.contains(&Part::Trail) { MOST_OF_PANELS_WITH_TRAIL } else { MOST_OF_PANELS };
    let keys = below.height.saturating_sub(most_of_panels);
    let keys = if keys < LEAST_OF_KEYS { 0 } else { keys };
    let above = if warnings == 0 { [0, cells, cells + facts] } else { [0; 3] };
    let sheet_rows = above.map(|above| block.bottom() - below.y + above);
    let [below, keys] = Layout::vertical([Constraint::Min(0), Constraint::Length(keys)]).areas(below);
    Plan {
        face,
        head,
        eyes,
        divider: Rect { height: divider.height.min(figures + air + facts + cells), ..divider },
        panels: panels(below, eye_width, asked),
        keys,
        page: Rect { y: block.y + 1, height: line.y - block.y - 1, ..block },
        sheet: Rect { y: block.bottom() - sheet_rows[2], height: sheet_rows[2], ..block },
        sheet_rows,
        line,
        hints,
    }
}

/// Where everything stands on a page with a picture.
pub struct BesidePicture {
    /// The figures of the net power.
    pub face: Face,
    /// The eye.
    pub eye: EyePlan,
    /// What is said.
    pub words: Rect,
    /// The picture, with its heading.
    pub picture: Rect,
}

/// Columns of the eye beside a picture; the picture has what is left.
const EYE_BESIDE_PICTURE: u16 = 39;

/// One eye and what is said on the left of a page, a picture on its right.
///
/// ```text
/// title            ─ picture ─────────
/// ▄▄▄ net, sphere
/// ▄▄▄ cylinder
/// warnings
/// the cells
/// what is asked and answered
/// ```
pub fn beside_a_picture(
    page: Rect,
    ascii: bool,
    has_no_cylinder: bool,
    warning_rows: &dyn Fn(u16) -> u16,
    cell_rows: &dyn Fn(u16) -> u16,
) -> BesidePicture {
    let width = EYE_BESIDE_PICTURE.min((page.width - 1) / 2);
    let [left, _, picture] =
        Layout::horizontal([Constraint::Length(width), Constraint::Length(1), Constraint::Min(0)]).areas(page);
    let face = Face::fitting(ascii, width, page.height);
    let of_cylinder = if has_no_cylinder { 1 } else { face.rows() };
    let between = u16::from(face.needs_a_row_between() && !has_no_cylinder);
    let rows = [1, face.rows(), between, of_cylinder, 0, warning_rows(width), cell_rows(width)];
    let of_eye = rows.iter().sum::<u16>().min(left.height);
    let [eye, words] = Layout::vertical([Constraint::Length(of_eye), Constraint::Min(0)]).areas(left);
    BesidePicture { face, eye: eye_plan(eye, face, rows), words, picture }
}

fn eye_plan(area: Rect, face: Face, rows: [u16; 7]) -> EyePlan {
    let [title, sphere, between, cylinder, _, facts, cells] =
        Layout::vertical(rows.map(Constraint::Length)).areas(area);
    // nothing stands in the first column but what points at the eye
    let inset = |area: Rect| Rect { x: area.x + 1, width: area.width.saturating_sub(1), ..area };
    let (sphere, cylinder) = (inset(sphere), inset(cylinder));
    let beside = |columns: u16, height: u16| {
        let taken = (columns + 2).min(area.width);
        Rect { x: area.x + taken, y: area.y, width: area.width - taken, height }
    };
    let round = |dial: &Rect| dial.height.min(dial.width.saturating_sub(DIAL_FIGURES) / 2);
    let dials = [
        beside(face.columns_of_sphere(), 1 + sphere.height + between.height),
        beside(face.columns_of_cylinder(), 1 + sphere.height + between.height + cylinder.height),
    ];
    let dial = dials.into_iter().max_by_key(round).unwrap_or_default();
    EyePlan { title, sphere, cylinder, dial, facts, cells }
}

/// The panels in columns that are shared by all of them.
fn panels(below: Rect, eye_width: u16, asked: &Asked<'_>) -> Vec<(Part, Rect)> {
    let most = match below.width {
        THREE_FROM.. => 3,
        TWO_FROM.. => 2,
        _ => 1,
    };
    let shared = in_columns(asked.parts, most);
    let columns: Vec<Rect> = match shared.len() {
        0 | 1 => vec![below],
        // under the eyes
        2 => {
            let left = Rect { width: eye_width, ..below };
            let x = left.right() + 1;
            vec![left, Rect { x, width: below.right() - x, ..below }]
        }
        count => Layout::horizontal(vec![Constraint::Fill(1); count]).spacing(BETWEEN).split(below).to_vec(),
    };
    columns.into_iter().zip(shared).flat_map(|(area, parts)| one_below_the_other(area, &parts, asked)).collect()
}

/// Which panels share a column, the guide at the left.
fn in_columns(parts: &[Part], most: usize) -> Vec<Vec<Part>> {
    let mut order = parts.to_vec();
    order.sort();
    let guide_leads = order.first() == Some(&Part::Guide);
    match (order.as_slice(), most) {
        ([], _) => Vec::new(),
        (_, 1) => vec![order],
        (parts, most) if parts.len() <= most => parts.iter().map(|part| vec![*part]).collect(),
        (parts, 2) if guide_leads => vec![parts[..1].to_vec(), parts[1..].to_vec()],
        (_, 2) => vec![vec![Part::Stacks, Part::Trail], vec![Part::Tray]],
        _ => vec![vec![Part::Guide], vec![Part::Stacks, Part::Tray], vec![Part::Trail]],
    }
}

/// Panels in one column: each as many rows as it wants, the one in use first, and what is left to the last.
fn one_below_the_other(area: Rect, parts: &[Part], asked: &Asked<'_>) -> Vec<(Part, Rect)> {
    let mut left = area.height;
    let mut given: Vec<(Part, u16)> = Vec::new();
    for part in asked.parts.iter().filter(|part| parts.contains(part)) {
        let least = if given.is_empty() { 1 } else { LEAST_OF_A_PANEL };
        if left >= least {
            let rows = (asked.rows_of)(*part, area.width).clamp(least, left);
            left -= rows;
            given.push((*part, rows));
        }
    }
    given.sort_by_key(|(part, _)| *part);
    if let Some((_, rows)) = given.last_mut() {
        *rows += left;
    }
    let areas = Layout::vertical(given.iter().map(|(_, rows)| Constraint::Length(*rows))).split(area);
    given.iter().zip(areas.iter()).map(|((part, _), area)| (*part, *area)).collect()
}
