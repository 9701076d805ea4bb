//! Blocks, braille and lines as rectangles: a picture draws them itself, since fonts leave gaps between their cells.

/// A character that is drawn and not written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// Quarters of the cell: upper left 1, upper right 2, lower left 4, lower right 8.
    Quarters(u8),
    /// The lower eighths of the cell.
    Lower(u8),
    /// The left eighths of the cell.
    Left(u8),
    /// Dots of braille, as Unicode numbers them.
    Dots(u8),
    /// Lines from the middle of the cell: left 1, right 2, up 4, down 8.
    Lines(u8),
}

/// The block characters by the quarters that they fill: upper left 1, upper right 2, lower left 4, lower right 8 (Unicode, *Block
/// Elements*).
pub const QUARTERS: [&str; 16] = [" ", "▘", "▝", "▀", "▖", "▌", "▞", "▛", "▗", "▚", "▐", "▜", "▄", "▙", "▟", "█"];

impl Mark {
    /// The mark that a character is, if it is one.
    pub fn of(character: char) -> Option<Self> {
        if let Some(bits) = (1..16).find(|&bits| QUARTERS[usize::from(bits)].starts_with(character)) {
            return Some(Self::Quarters(bits));
        }
        Some(match character {
            '\u{2581}'..='\u{2588}' => Self::Lower((u32::from(character) - 0x2580) as u8),
            '\u{2589}'..='\u{258f}' => Self::Left((0x2590 - u32::from(character)) as u8),
            '\u{2800}'..='\u{28ff}' => Self::Dots((u32::from(character) - 0x2800) as u8),
            '─' => Self::Lines(1 | 2),
            '│' => Self::Lines(4 | 8),
            '┌' => Self::Lines(2 | 8),
            '┐' => Self::Lines(1 | 8),
            '└' => Self::Lines(2 | 4),
            '┘' => Self::Lines(1 | 4),
            '├' => Self::Lines(2 | 4 | 8),
            '┤' => Self::Lines(1 | 4 | 8),
            '┬' => Self::Lines(1 | 2 | 8),
            '┴' => Self::Lines(1 | 2 | 4),
            '┼' => Self::Lines(15),
            _ => return None,
        })
    }

    /// Its rectangles in a cell of that width and height: left, top, width, height.
    pub fn rects(self, (width, height): (usize, usize)) -> Vec<(usize, usize, usize, usize)> {
        let (middle, half) = (width / 2, height / 2);
        let of_bits = |bits: u8, places: &[(u8, usize, usize, usize, usize)]| {
            places.iter().filter(|place| bits & place.0 != 0).map(|&(_, x, y, w, h)| (x, y, w, h)).collect()
        };
        match self {
            Self::Quarters(bits) => of_bits(
                bits,
                &[
                    (1, 0, 0, middle, half),
                    (2, middle, 0, width - middle, half),
                    (4, 0, half, middle, height - half),
                    (8, middle, half, width - middle, height - half),
                ],
            ),
            Self::Lower(eighths) => {
                let high = height * usize::from(eighths) / 8;
                vec![(0, height - high, width, high)]
            }
            Self::Left(eighths) => vec![(0, 0, width * usize::from(eighths) / 8, height)],
            Self::Dots(bits) => {
                // dots 1, 2, 3 and 7 go down on the left, 4, 5, 6 and 8 on the right
                let places = [(0, 0), (0, 1), (0, 2), (1, 0), (1, 1), (1, 2), (0, 3), (1, 3)];
                let dot = |(x, y): (usize, usize)| (x * width / 2 + 1, y * height / 4 + 1, 2, 2);
                (0..8).filter(|nth| bits & (1 << nth) != 0).map(|nth| dot(places[nth])).collect()
            }
            Self::Lines(bits) => of_bits(
                bits,
                &[
                    (1, 0, half, middle + 1, 1),
                    (2, middle, half, width - middle, 1),
                    (4, middle, 0, 1, half + 1),
                    (8, middle, half, 1, height - half),
                ],
            ),
        }
    }
}
