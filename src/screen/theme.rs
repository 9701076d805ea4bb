//! Colours by meaning, and the characters to draw with. Panels speak of plus, minus or a warning, never of a colour.

use ratatui::style::{Color, Modifier, Style};

use super::settings::{Characters, Colours, ThemeName};

/// One style for every meaning, in three brightnesses: what counts now (net, question, focus, warnings), how things stand (facts,
/// cells, tray), and what is there when it is looked for (reasons, the words of hints, rules). Each is read at 4.5 to 1 or more
/// (WCAG 2.1, success criterion 1.4.3), which a test computes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Theme {
    /// The ground of the whole screen and ordinary text.
    pub text: Style,
    /// What is there to be found when looked for.
    pub quiet: Style,
    /// Headings.
    pub title: Style,
    /// The eye, cell or line that the keys work on.
    pub focus: Style,
    /// The net power.
    pub net: Style,
    /// The net power of the eye that the keys do not work on.
    pub net_other: Style,
    /// A plus lens.
    pub plus: Style,
    /// A minus lens.
    pub minus: Style,
    /// A lens that is not available.
    pub missing: Style,
    /// The cylinder axis on the dial.
    pub axis: Style,
    /// The rim of the dial.
    pub dial: Style,
    /// What was done.
    pub done: Style,
    /// What is refused, or needs care.
    pub warning: Style,
    /// The name of a key in hints and help.
    pub key: Style,
}

const fn on(ground: u8, ink: u8) -> Style {
    Style::new().fg(Color::Indexed(ink)).bg(Color::Indexed(ground))
}

const fn bold(style: Style) -> Style {
    style.add_modifier(Modifier::BOLD)
}

/// For a dark room: long wavelengths alone. No ink has anything of the blue primary, and the ground gives no light.
const DARK: Theme = Theme {
    text: on(16, 172),
    quiet: on(16, 136),
    title: bold(on(16, 178)),
    focus: bold(on(52, 220)),
    net: bold(on(16, 220)),
    net_other: on(16, 178),
    plus: on(16, 142),
    minus: on(16, 208),
    missing: on(16, 136),
    axis: bold(on(16, 220)),
    dial: on(16, 136),
    done: on(16, 178),
    warning: bold(on(16, 202)),
    key: bold(on(16, 214)),
};

const DAYLIGHT: Theme = Theme {
    text: on(231, 236),
    quiet: on(231, 241),
    title: bold(on(231, 18)),
    focus: bold(on(153, 16)),
    net: bold(on(231, 16)),
    net_other: on(231, 238),
    plus: on(231, 22),
    minus: on(231, 88),
    missing: on(231, 241),
    axis: bold(on(231, 16)),
    dial: on(231, 241),
    done: on(231, 22),
    warning: bold(on(231, 160)),
    key: bold(on(231, 18)),
};

const PLAIN: Theme = Theme {
    text: Style::new(),
    quiet: Style::new(),
    title: bold(Style::new()),
    focus: Style::new().add_modifier(Modifier::REVERSED),
    net: bold(Style::new()),
    net_other: Style::new(),
    plus: Style::new(),
    minus: Style::new(),
    missing: Style::new(),
    axis: bold(Style::new()),
    dial: Style::new(),
    done: Style::new(),
    warning: bold(Style::new()),
    key: bold(Style::new()),
};

/// On a terminal that has only sixteen colours, whose ground and hues are its own: nothing in blue, which is hardly read on
/// black, nothing dim, and only words that say the same without their colour.
const SIXTEEN: Theme = Theme {
    plus: Style::new().fg(Color::Green),
    minus: Style::new().fg(Color::Magenta),
    done: Style::new().fg(Color::Green),
    warning: bold(Style::new().fg(Color::Red)),
    ..PLAIN
};

impl Theme {
    /// The theme with a name, in the colours that the terminal has.
    pub const fn shown(name: ThemeName, colours: Colours) -> &'static Self {
        match (colours, name) {
            (Colours::Sixteen, ThemeName::Dark | ThemeName::Daylight) => &SIXTEEN,
            (Colours::Many | Colours::All, _) | (Colours::Sixteen, ThemeName::Plain) => Self::named(name),
        }
    }

    /// The theme with a name.
    pub const fn named(name: ThemeName) -> &'static Self {
        match name {
            ThemeName::Dark => &DARK,
            ThemeName::Daylight => &DAYLIGHT,
            ThemeName::Plain => &PLAIN,
        }
    }

    /// The style for a power of either sign.
    pub fn signed(&self, power: f64) -> Style {
        if power > 0.0 {
            self.plus
        } else if power < 0.0 {
            self.minus
        } else {
            self.text
        }
    }
}

/// The characters that lines, marks and dots are drawn with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Glyphs {
    /// Whether only ASCII can be drawn.
    pub ascii: bool,
    /// A horizontal rule.
    pub rule: &'static str,
    /// In front of what the keys work on.
    pub pointer: &'static str,
    /// An empty cell.
    pub empty: &'static str,
    /// Between parts of a line.
    pub dot: &'static str,
    /// The eye from the side.
    pub eye: &'static str,
    /// A cell from the side, empty.
    pub slot: &'static str,
    /// Degrees.
    pub degree: &'static str,
    /// Prism dioptres.
    pub prism: &'static str,
    /// Between the eyes.
    pub divider: &'static str,
    /// Whether the two halves of a cell can be shown in two tones.
    pub has_halves: bool,
    /// A part of a large figure that has whole cells: a space in reverse video, or what stands for it in a printed text.
    pub filled: &'static str,
}

const UNICODE: Glyphs = Glyphs {
    ascii: false,
    rule: "─",
    pointer: "▸",
    empty: "·",
    dot: "·",
    eye: "◖",
    slot: "┊",
    degree: "°",
    prism: "Δ",
    divider: "│",
    has_halves: true,
    filled: " ",
};

/// The same in a text without colours.
const UNICODE_PRINTED: Glyphs = Glyphs { has_halves: false, ..UNICODE };

const ASCII: Glyphs = Glyphs {
    ascii: true,
    rule: "-",
    pointer: ">",
    empty: ".",
    dot: "|",
    eye: "(",
    slot: ":",
    degree: " deg",
    prism: " pd",
    divider: "|",
    has_halves: false,
    filled: " ",
};

/// ASCII in a text without colours.
const ASCII_PRINTED: Glyphs = Glyphs { filled: "#", ..ASCII };

/// Whether a character is not seen and turns the direction of others (Unicode Standard Annex 9, table 4).
fn turns_direction(character: char) -> bool {
    matches!(character, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

impl Glyphs {
    /// The characters for a setting.
    pub const fn chosen(characters: Characters) -> &'static Self {
        match characters {
            Characters::Ascii => &ASCII,
            Characters::Auto | Characters::Unicode => &UNICODE,
        }
    }

    /// The characters for a frame that is printed as text.
    pub const fn printed(characters: Characters) -> &'static Self {
        match characters {
            Characters::Ascii => &ASCII_PRINTED,
            Characters::Auto | Characters::Unicode => &UNICODE_PRINTED,
        }
    }

    /// Text with every character that the terminal may lack replaced, where only ASCII can be drawn.
    ///
    /// Characters that only turn the direction of what follows are left out: they would move powers to the other eye.
    pub fn spell(&self, text: &str) -> String {
        if !self.ascii {
            return text.chars().filter(|&character| !turns_direction(character)).collect();
        }
        let mut spelt = String::with_capacity(text.len());
        for character in text.chars() {
            match character {
                '°' => spelt.push_str(" deg"),
                '•' => spelt.push('o'),
                'Δ' => spelt.push_str(" pd"),
                '×' => spelt.push('x'),
                '−' | '–' | '—' | '─' => spelt.push('-'),
                '±' => spelt.push_str("+/-"),
                '═' => spelt.push('='),
                '·' => spelt.push('|'),
                '“' | '”' => spelt.push('"'),
                '’' => spelt.push('\''),
                '…' => spelt.push_str("..."),
                '→' => spelt.push_str("->"),
                c if c.is_ascii() => spelt.push(c),
                c if turns_direction(c) => {}
                _ => spelt.push('?'),
            }
        }
        spelt
    }
}
