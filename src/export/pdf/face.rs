//! The two faces of the page: their names in PDF, their widths, and the WinAnsi bytes of a text.

use pdf_writer::Name;

/// A face that every PDF reader has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Face {
    /// Helvetica.
    Plain,
    /// Helvetica-Bold.
    Bold,
}

/// Widths of Helvetica's letters from space to `~` in thousandths of the size (Adobe's font metrics for the core fonts).
const PLAIN_WIDTHS: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556, 556, 556, 556, 556,
    556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833,
    722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556,
    556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334,
    260, 334, 584,
];

/// The same of Helvetica-Bold.
const BOLD_WIDTHS: [u16; 95] = [
    278, 333, 474, 556, 556, 889, 722, 238, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556, 556, 556, 556, 556,
    556, 556, 556, 333, 333, 584, 584, 584, 611, 975, 722, 722, 722, 722, 667, 611, 778, 722, 278, 556, 722, 611, 833,
    722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 333, 278, 333, 584, 556, 333, 556, 611, 556, 611,
    556, 333, 611, 611, 278, 278, 556, 278, 889, 611, 611, 611, 611, 389, 556, 333, 611, 556, 778, 556, 556, 500, 389,
    280, 389, 584,
];

/// The code of a letter that WinAnsi lacks.
const LACKING: u8 = b'?';
/// The en dash, which stands for the minus sign: WinAnsi has no minus, and its hyphen is too short to be seen.
const EN_DASH: u8 = 0x96;

impl Face {
    /// The name in the page's resources.
    pub fn resource(self) -> Name<'static> {
        match self {
            Self::Plain => Name(b"F1"),
            Self::Bold => Name(b"F2"),
        }
    }

    /// The name of the font.
    pub fn base_font(self) -> Name<'static> {
        match self {
            Self::Plain => Name(b"Helvetica"),
            Self::Bold => Name(b"Helvetica-Bold"),
        }
    }

    /// The width of a text at a size, in points.
    pub fn width(self, size: f32, text: &str) -> f32 {
        let (bytes, _) = win_ansi(text);
        let thousandths: u32 = bytes.into_iter().map(|byte| u32::from(self.width_of(byte))).sum();
        thousandths as f32 * size / 1000.0
    }

    fn width_of(self, byte: u8) -> u16 {
        let widths = match self {
            Self::Plain => &PLAIN_WIDTHS,
            Self::Bold => &BOLD_WIDTHS,
        };
        match byte {
            0x20..=0x7e => widths[usize::from(byte - 0x20)],
            EN_DASH => 556,
            0xb1 | 0xd7 => 584,
            0xb0 => 400,
            0xb7 => 278,
            // accented capitals and small letters are as wide as their plain ones or narrower than these
            0xc0..=0xde => 778,
            _ => 611,
        }
    }
}

/// A text as WinAnsi bytes, and whether a letter of it had to be printed as `?`.
pub fn win_ansi(text: &str) -> (Vec<u8>, bool) {
    let mut lacking = false;
    let mut bytes = Vec::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '−' | '–' => bytes.push(EN_DASH),
            '—' => bytes.push(0x97),
            '‘' => bytes.push(0x91),
            '’' => bytes.push(0x92),
            '“' => bytes.push(0x93),
            '”' => bytes.push(0x94),
            '…' => bytes.push(0x85),
            '€' => bytes.push(0x80),
            'Δ' => bytes.extend(b"prism dioptres"),
            ' '..='~' | '\u{a0}'..='\u{ff}' => bytes.push(u8::try_from(u32::from(letter)).unwrap_or(LACKING)),
            _ => {
                lacking = true;
                bytes.push(LACKING);
            }
        }
    }
    (bytes, lacking)
}
