//! A tray: the labelled places of a box in columns, one character for each piece.
//!
//! | character | the piece is | ASCII |
//! | --- | --- | --- |
//! | • | here | o |
//! | – | lost | - |
//! | L | lent | L |
//! | ? | in two places | ? |
//! | d | here and damaged | d |
//! | ~ | here and off its mark | ~ |
//! | R l | in front of the right, the left eye | R l |
//! | s | before an eye at another seat | s |
//! | * | marked for what is noted next | * |

use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::ui::Target;
use super::pen::Pen;
use crate::kit::{Place, StockedPiece};
use crate::optics::Eye;

/// The character of a piece that is here.
const HERE: &str = "•";

/// What the characters mean, in the order in which they are explained.
const MEANINGS: [(&str, &str); 10] = [
    (HERE, "here"),
    ("–", "lost"),
    ("L", "lent"),
    ("?", "in two places"),
    ("d", "damaged"),
    ("~", "off its mark"),
    ("R", "right eye"),
    ("l", "left eye"),
    ("s", "at another seat"),
    ("*", "marked"),
];

/// The character of a piece that is marked for what is noted next.
pub const MARKED: char = '*';

/// More pieces of one lens than these are counted.
const MOST_MARKS: usize = 6;
/// Columns between two places at least, where the tray is what is looked at.
pub const CLOSE: u16 = 1;
/// Columns between two places at least, where it stands among other panels.
pub const APART: u16 = 2;
/// Columns between two places at most, where there is room.
const MOST_BETWEEN: u16 = 5;
/// A tray with more rows would not be seen at a glance.
const MOST_ROWS: u16 = 60;

/// The character of a piece; none for one that has left the set.
pub fn mark(stocked: &StockedPiece) -> Option<char> {
    // taken apart, so that whatever else is known of a piece has its character or is left out on purpose
    let StockedPiece { piece: _, place, damaged, measured } = stocked;
    match place {
        Place::Box if *damaged => Some('d'),
        Place::Box if measured.is_some() => Some('~'),
        Place::Box => Some('•'),
        Place::Cell { eye: Eye::Right, .. } | Place::Hand { eye: Eye::Right } => Some('R'),
        Place::Cell { eye: Eye::Left, .. } | Place::Hand { eye: Eye::Left } => Some('l'),
        Place::Lost => Some('–'),
        Place::Lent { .. } => Some('L'),
        Place::InTwoPlaces => Some('?'),
        Place::Retired | Place::Moved { .. } => None,
    }
}

/// The characters of some pieces of which other seats have so many before an eye: those that are here, the last first.
pub fn with_elsewhere(marks: &str, mut elsewhere: usize) -> String {
    let mut marks: Vec<char> = marks.chars().collect();
    for mark in marks.iter_mut().rev().filter(|mark| matches!(mark, '•' | 'd' | '~')) {
        if elsewhere == 0 {
            break;
        }
        (*mark, elsewhere) = ('s', elsewhere - 1);
    }
    marks.into_iter().collect()
}

/// The characters of many pieces, each with how often it stands there: `97•2–`; those of a few as they are.
pub fn in_short(marks: &str) -> String {
    if marks.chars().count() <= MOST_MARKS {
        return marks.to_owned();
    }
    let mut kinds: Vec<(char, usize)> = Vec::new();
    for mark in marks.chars() {
        match kinds.iter_mut().find(|(kind, _)| *kind == mark) {
            Some((_, times)) => *times += 1,
            None => kinds.push((mark, 1)),
        }
    }
    kinds.into_iter().map(|(mark, times)| times.to_string() + mark.encode_utf8(&mut [0; 4])).collect()
}

/// A labelled place of the tray.
pub struct TrayPlace {
    /// What its label says.
    pub label: String,
    /// Its pieces, a character each.
    pub pieces: String,
    /// How the label is drawn.
    pub style: Style,
    /// Whether it is the chosen one.
    pub is_chosen: bool,
    /// What a click on it does.
    pub target: Option<Target>,
}

/// Places that belong together.
pub struct TrayGroup {
    /// What stands above them.
    pub name: String,
    /// The places, in their order.
    pub places: Vec<TrayPlace>,
}

impl TrayGroup {
    fn label_width(&self) -> u16 {
        self.places.iter().map(|place| place.label.chars().count() as u16).max().unwrap_or(0)
    }

    fn pieces_width(&self) -> u16 {
        self.places.iter().map(|place| place.pieces.chars().count() as u16).max().unwrap_or(0)
    }

    /// Columns of one column of places, with one before the label for what points at it.
    fn width(&self, is_named: bool) -> u16 {
        let places = 1 + self.label_width() + 1 + self.pieces_width();
        if is_named { places.max(1 + self.name.chars().count() as u16) } else { places }
    }

    fn columns(&self, rows: u16, is_named: bool) -> u16 {
        (self.places.len() as u16).div_ceil(rows.saturating_sub(is_named.into()).max(1))
    }
}

/// Columns that groups take, each in columns of its own, drawn so many rows high.
fn width(groups: &[TrayGroup], rows: u16, least: u16) -> u16 {
    let named = groups.len() > 1;
    let of = |group: &TrayGroup| group.columns(rows, named) * (group.width(named) + least);
    groups.iter().map(of).sum::<u16>().saturating_sub(least)
}

/// How many groups from the first on fit abreast; one at least, of which there may be pages.
pub fn fitting(groups: &[TrayGroup], area: Rect, least: u16) -> usize {
    (1..=groups.len()).rev().find(|count| width(&groups[..*count], area.height, least) <= area.width).unwrap_or(1)
}

/// In how many of the rows of an area places are drawn, so that what stays empty beside and below them is least.
fn rows_to_use(groups: &[TrayGroup], area: Rect, least: u16) -> u16 {
    let empty = |rows: &u16| {
        let beside = area.width.saturating_sub(width(groups, *rows, least));
        (beside * area.height).max((area.height - rows) * area.width)
    };
    let fit = (1..=area.height).filter(|rows| width(groups, *rows, least) <= area.width);
    fit.min_by_key(empty).unwrap_or(area.height)
}

/// The fewest rows in which all places fit abreast, if they do.
pub fn rows(groups: &[TrayGroup], columns: u16, least: u16) -> Option<u16> {
    let fewest = if groups.len() > 1 { 2 } else { 1 };
    (fewest..MOST_ROWS).find(|rows| width(groups, *rows, least) <= columns)
}

/// Places that stand below each other in a column, drawn in an area.
pub fn rows_of_a_column(groups: &[TrayGroup], area: Rect, least: u16) -> u16 {
    rows_to_use(groups, area, least).saturating_sub(u16::from(groups.len() > 1)).max(1)
}

/// Draws groups of places in as many rows as the area has, and gives how many places there was no room for.
///
/// A single group has its name on the panel, and shows the page on which the chosen place is.
pub fn draw(pen: &mut Pen<'_>, area: Rect, groups: &[TrayGroup], least: u16) -> usize {
    if area.is_empty() {
        return groups.iter().map(|group| group.places.len()).sum();
    }
    let area = Rect { height: rows_to_use(groups, area, least), ..area };
    let named = groups.len() > 1;
    let taken = width(groups, area.height, least);
    let columns: u16 = groups.iter().map(|group| group.columns(area.height, named)).sum();
    let spare = area.width.saturating_sub(taken) / columns.saturating_sub(1).max(1);
    let between = least + spare.min(MOST_BETWEEN - least);
    let mut x = area.x;
    let mut left_out = 0;
    for group in groups {
        let rows = usize::from(area.height.saturating_sub(named.into()).max(1));
        let fit =
            usize::from(((area.right().saturating_sub(x) + between) / (group.width(named) + between)).max(1)) * rows;
        // whole pages, so that the list does not creep while the choice moves
        let chosen = group.places.iter().position(|place| place.is_chosen).unwrap_or(0);
        let first = chosen / fit * fit;
        left_out += group.places.len().saturating_sub(fit);
        let shown = &group.places[first..group.places.len().min(first + fit)];
        for (nth, column) in shown.chunks(rows).enumerate() {
            let place = Rect { x, width: group.width(named).min(area.right().saturating_sub(x)), ..area };
            if named && nth == 0 {
                pen.text(place, 0, 1, &group.name, pen.theme.title);
            }
            let below = Rect { y: area.y + u16::from(named), height: rows as u16, ..place };
            for (row, shown) in column.iter().enumerate() {
                one(pen, below, row as u16, shown, group.label_width());
            }
            x += group.width(named) + between;
        }
    }
    left_out
}

fn one(pen: &mut Pen<'_>, area: Rect, row: u16, place: &TrayPlace, label_width: u16) {
    let (pointer, style) = if place.is_chosen { (pen.glyphs.pointer, pen.theme.focus) } else { (" ", place.style) };
    let label = format!("{pointer}{:<width$} ", place.label, width = usize::from(label_width));
    let column = pen.text(area, row, 0, &label, style);
    let style = if place.is_chosen { pen.theme.focus } else { pen.theme.text };
    pen.text(area, row, column, &place.pieces, style);
    if let Some(target) = place.target {
        pen.clickable(Rect { y: area.y + row, height: 1, ..area }, target);
    }
}

/// Explains the characters that stand in a tray, but those that need no word.
pub fn legend(groups: &[TrayGroup], columns: u16) -> String {
    let stands = |mark: &str| groups.iter().flat_map(|group| &group.places).any(|place| place.pieces.contains(mark));
    let said = MEANINGS.iter().filter(|(mark, _)| stands(mark)).map(|(mark, meaning)| format!("{mark} {meaning}"));
    let said: Vec<String> = said.collect();
    let fits = |text: &String| text.chars().count() + 2 <= usize::from(columns);
    // what is here goes without saying before anything is cut
    let unusual = || said.iter().filter(|text| !text.starts_with(HERE)).cloned().collect::<Vec<_>>().join("  ");
    [said.join("   "), said.join("  ")].into_iter().find(fits).unwrap_or_else(unusual)
}
