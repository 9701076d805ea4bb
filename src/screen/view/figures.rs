//! The net power in figures of our own, the largest thing on the screen, from one table of shapes.
//!
//! A shape is drawn in quarter cells and grows with the screen: its strokes stay, the room between them is stretched. Where only
//! ASCII can be drawn a shape has whole cells.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

use super::super::marks::QUARTERS;
use super::super::theme::Glyphs;

/// The shapes of one table: bar, two rows above the waist, the waist, two below, bar; or in ASCII one row above and below.
type Table = &'static [(char, &'static [&'static str])];

/// Quarter cells, six to a digit: stems of two, bars of one, which a terminal's cells make equally strong.
const NARROW: Table = &[
    ('0', &[".XXXX.", "XX..XX", "XX..XX", "XX..XX", "XX..XX", "XX..XX", ".XXXX."]),
    ('1', &["..XX..", "XXXX..", "..XX..", "..XX..", "..XX..", "..XX..", "XXXXXX"]),
    ('2', &[".XXXX.", "XX..XX", "....XX", "...XX.", "..XX..", ".XX...", "XXXXXX"]),
    ('3', &["XXXXX.", "....XX", "....XX", "..XXX.", "....XX", "....XX", "XXXXX."]),
    ('4', &[".XX.XX", "XX..XX", "XX..XX", "XXXXXX", "....XX", "....XX", "....XX"]),
    ('5', &["XXXXXX", "XX....", "XX....", "XXXXX.", "....XX", "....XX", "XXXXX."]),
    ('6', &["..XXX.", ".XX...", "XX....", "XXXXX.", "XX..XX", "XX..XX", ".XXXX."]),
    ('7', &["XXXXXX", "....XX", "....XX", "...XX.", "..XX..", "..XX..", "..XX.."]),
    ('8', &[".XXXX.", "XX..XX", "XX..XX", ".XXXX.", "XX..XX", "XX..XX", ".XXXX."]),
    ('9', &[".XXXX.", "XX..XX", "XX..XX", ".XXXXX", "....XX", "...XX.", ".XXX.."]),
    ('-', &["......", "......", "......", "XXXXXX", "......", "......", "......"]),
    ('+', &["......", "..XX..", "..XX..", "XXXXXX", "..XX..", "..XX..", "......"]),
    (' ', &["......", "......", "......", "......", "......", "......", "......"]),
    ('.', &["..", "..", "..", "..", "..", "XX", "XX"]),
    ('x', &["......", "......", "XX..XX", ".XXXX.", "..XX..", ".XXXX.", "XX..XX"]),
    ('c', &["......", "......", ".XXXX.", "XX....", "XX....", "XX....", ".XXXX."]),
    ('d', &["....XX", "....XX", ".XXXXX", "XX..XX", "XX..XX", "XX..XX", ".XXXXX"]),
    ('e', &["......", "......", ".XXXX.", "XX..XX", "XXXXXX", "XX....", ".XXXX."]),
    ('f', &["..XXXX", ".XX...", "XXXXX.", ".XX...", ".XX...", ".XX...", ".XX..."]),
    ('o', &["......", "......", ".XXXX.", "XX..XX", "XX..XX", "XX..XX", ".XXXX."]),
    ('r', &["......", "......", "XX.XXX", "XXX...", "XX....", "XX....", "XX...."]),
    ('s', &["......", "......", ".XXXXX", "XX....", ".XXXX.", "....XX", "XXXXX."]),
    ('u', &["......", "......", "XX..XX", "XX..XX", "XX..XX", "XX..XX", ".XXXXX"]),
    ('v', &["......", "......", "XX..XX", "XX..XX", "XX..XX", ".XXXX.", "..XX.."]),
];

/// Quarter cells, eight to a digit.
const BROAD: Table = &[
    ('0', &[".XXXXXX.", "XX....XX", "XX....XX", "XX....XX", "XX....XX", "XX....XX", ".XXXXXX."]),
    ('1', &["...XX...", ".XXXX...", "...XX...", "...XX...", "...XX...", "...XX...", ".XXXXXX."]),
    ('2', &[".XXXXXX.", "XX....XX", "......XX", "....XXX.", "..XXX...", "XXX.....", "XXXXXXXX"]),
    ('3', &["XXXXXXX.", "......XX", "......XX", "..XXXXX.", "......XX", "......XX", "XXXXXXX."]),
    ('4', &["..XX..XX", ".XXX..XX", "XX....XX", "XXXXXXXX", "......XX", "......XX", "......XX"]),
    ('5', &["XXXXXXXX", "XX......", "XX......", "XXXXXXX.", "......XX", "......XX", "XXXXXXX."]),
    ('6', &["..XXXXX.", ".XX.....", "XX......", "XXXXXXX.", "XX....XX", "XX....XX", ".XXXXXX."]),
    ('7', &["XXXXXXXX", "......XX", ".....XX.", "....XX..", "...XX...", "...XX...", "...XX..."]),
    ('8', &[".XXXXXX.", "XX....XX", "XX....XX", ".XXXXXX.", "XX....XX", "XX....XX", ".XXXXXX."]),
    ('9', &[".XXXXXX.", "XX....XX", "XX....XX", ".XXXXXXX", "......XX", ".....XX.", ".XXXXX.."]),
];

/// Whole cells, four to a digit and five high; 0 has a slash.
const CELLS: Table = &[
    ('0', &[".XX.", "X.XX", "X..X", "XX.X", ".XX."]),
    ('1', &[".X.", "XX.", ".X.", ".X.", "XXX"]),
    ('2', &["XXX.", "...X", ".XX.", "X...", "XXXX"]),
    ('3', &["XXX.", "...X", ".XX.", "...X", "XXX."]),
    ('4', &["X..X", "X..X", "XXXX", "...X", "...X"]),
    ('5', &["XXXX", "X...", "XXX.", "...X", "XXX."]),
    ('6', &[".XX.", "X...", "XXX.", "X..X", ".XX."]),
    ('7', &["XXXX", "...X", "..X.", ".X..", ".X.."]),
    ('8', &[".XX.", "X..X", ".XX.", "X..X", ".XX."]),
    ('9', &[".XX.", "X..X", ".XXX", "...X", ".XX."]),
    ('-', &["..", "..", "XX", "..", ".."]),
    ('+', &["...", ".X.", "XXX", ".X.", "..."]),
    (' ', &["..", "..", "..", "..", ".."]),
    ('.', &[".", ".", ".", ".", "X"]),
    ('x', &["...", "...", "X.X", ".X.", "X.X"]),
    ('c', &["....", ".XXX", "X...", "X...", ".XXX"]),
    ('d', &["...X", ".XXX", "X..X", "X..X", ".XXX"]),
    ('e', &["....", ".XX.", "XXXX", "X...", ".XXX"]),
    ('f', &["..XX", ".X..", "XXX.", ".X..", ".X.."]),
    ('o', &["....", ".XX.", "X..X", "X..X", ".XX."]),
    ('r', &["....", "X.XX", "XX..", "X...", "X..."]),
    ('s', &["....", ".XXX", ".X..", "..X.", "XXX."]),
    ('u', &["....", "X..X", "X..X", "X..X", ".XXX"]),
    ('v', &["....", "X..X", "X..X", ".XX.", ".XX."]),
];

/// The widest power that is measured for: two figures before the point, three of the axis.
const WIDEST_SPHERE: &str = "-00.00";
const WIDEST_CYLINDER: &str = "-00.00x000";

/// Bars of two quarter cells from this many on.
const THICK_FROM_QUARTERS: u16 = 12;
/// Screens with fewer rows than this have figures of three rows and a half, so that two of them need no row between.
const TIGHT_BELOW_ROWS: u16 = 32;
/// A power alone takes a ninth of the screen's rows.
const SHARE_OF_ROWS: u16 = 9;
const MOST_ROWS: u16 = 8;

/// The kind of figures, and how large they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Face {
    table: Table,
    /// Columns are drawn so many times.
    across: u16,
    /// Height in quarter cells, or in cells where only ASCII can be drawn.
    high: u16,
    ascii: bool,
}

impl Face {
    /// The largest figures for an eye of so many columns on a screen of so many rows.
    pub fn fitting(ascii: bool, columns: u16, rows: u16) -> Self {
        let share = rows.div_ceil(SHARE_OF_ROWS);
        if ascii {
            let cells = |across| Self { table: CELLS, across, high: share.clamp(5, MOST_ROWS), ascii };
            return if share > 5 && cells(2).columns_of(WIDEST_CYLINDER) < columns { cells(2) } else { cells(1) };
        }
        let high = if rows < TIGHT_BELOW_ROWS { 7 } else { 2 * share.clamp(4, MOST_ROWS) };
        let of = |table, across| Self { table, across, high, ascii };
        let mut kinds = vec![of(BROAD, 1), of(NARROW, 1)];
        if high >= THICK_FROM_QUARTERS {
            kinds.insert(0, of(NARROW, 2));
        }
        // one column before them and one after
        let fits = |face: &Self| face.columns_of(WIDEST_CYLINDER) + 2 <= columns;
        kinds.into_iter().find(fits).unwrap_or(of(NARROW, 1))
    }

    /// Rows of cells that a power takes.
    pub fn rows(self) -> u16 {
        if self.ascii { self.high } else { self.high.div_ceil(2) }
    }

    /// Whether a row must be left free between two powers.
    pub fn needs_a_row_between(self) -> bool {
        self.ascii || self.high.is_multiple_of(2)
    }

    /// Columns that the widest sphere takes.
    pub fn columns_of_sphere(self) -> u16 {
        self.columns_of(WIDEST_SPHERE)
    }

    /// Columns that the widest cylinder with its axis takes.
    pub fn columns_of_cylinder(self) -> u16 {
        self.columns_of(WIDEST_CYLINDER)
    }

    /// Columns that a text takes, without one after it.
    pub fn columns_of(self, text: &str) -> u16 {
        let width = |character| shape(self.table, character).map_or(0, |shape| self.columns(shape) + self.gap());
        text.chars().map(width).sum::<u16>().saturating_sub(self.gap())
    }

    /// The face for words, which have one breadth.
    #[must_use]
    pub fn of_words(self) -> Self {
        Self { across: 1, table: if self.ascii { CELLS } else { NARROW }, ..self }
    }

    fn columns(self, shape: &[&str]) -> u16 {
        let across = shape[0].len() as u16 * self.across;
        if self.ascii { across } else { across.div_ceil(2) }
    }

    fn gap(self) -> u16 {
        if self.across > 1 && !self.ascii { 2 } else { 1 }
    }

    /// What a character fills, row by row, in quarter cells or cells; nothing for a character without a shape.
    pub fn filled(self, character: char) -> Vec<Vec<bool>> {
        let Some(shape) = shape(self.table, character) else { return Vec::new() };
        let rows = shape.iter().zip(stretched(self.high, shape.len() as u16));
        let row = |row: &str| row.bytes().flat_map(|at| std::iter::repeat_n(at == b'X', self.across.into())).collect();
        rows.flat_map(|(text, times)| std::iter::repeat_n(row(text), times.into())).collect::<Vec<Vec<bool>>>()
    }

    /// Writes a text into an area, as far as whole characters of it fit, and gives the column after it.
    pub fn write(self, buffer: &mut Buffer, area: Rect, text: &str, glyphs: &Glyphs, style: Style) -> u16 {
        let mut column = 0;
        for character in text.chars() {
            let filled = self.filled(character);
            let Some(across) = filled.first().map(Vec::len) else { continue };
            let cells = if self.ascii { across } else { across.div_ceil(2) } as u16;
            if column + cells > area.width {
                break;
            }
            let place = Rect { x: area.x + column, width: cells, ..area };
            self.draw(buffer, place, &filled, glyphs, style);
            column += cells + self.gap();
        }
        column
    }

    fn draw(self, buffer: &mut Buffer, place: Rect, filled: &[Vec<bool>], glyphs: &Glyphs, style: Style) {
        let at = |row: u16, column: u16| {
            filled.get(usize::from(row)).and_then(|row| row.get(usize::from(column))).copied().unwrap_or(false)
        };
        for row in 0..self.rows().min(place.height) {
            for column in 0..place.width {
                let (symbol, style) = if self.ascii {
                    let lit = at(row, column);
                    if !lit {
                        continue;
                    }
                    (glyphs.filled, if glyphs.filled == " " { style.add_modifier(Modifier::REVERSED) } else { style })
                } else {
                    let quarter = |down: u16, right: u16| usize::from(at(2 * row + down, 2 * column + right));
                    let bits = quarter(0, 0) | quarter(0, 1) << 1 | quarter(1, 0) << 2 | quarter(1, 1) << 3;
                    (QUARTERS[bits], style)
                };
                if let Some(cell) = buffer.cell_mut((place.x + column, place.y + row)) {
                    cell.set_symbol(symbol).set_style(style);
                }
            }
        }
    }
}

fn shape(table: Table, character: char) -> Option<&'static [&'static str]> {
    let of = |table: Table| table.iter().find(|(shown, _)| *shown == character).map(|(_, shape)| *shape);
    of(table).or_else(|| of(NARROW))
}

/// How often each row of a shape is drawn to make a height: bars and waist alike, the room above and below the waist the rest,
/// the lower half the larger.
fn stretched(high: u16, rows: u16) -> Vec<u16> {
    let room_rows = (rows - 3) / 2;
    let bar = if rows == 7 && high >= THICK_FROM_QUARTERS { 2 } else { 1 };
    let room = high.saturating_sub(3 * bar);
    let (above, below) = (room / 2, room.div_ceil(2));
    let shared = |room: u16| (0..room_rows).map(move |nth| (room + nth) / room_rows);
    let mut times = vec![bar];
    times.extend(shared(above));
    times.push(bar);
    times.extend(shared(below));
    times.push(bar);
    times
}
