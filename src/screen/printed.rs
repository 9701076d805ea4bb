//! A frame outside a terminal: as text, as text with the colours of a terminal, as a picture.

use std::fmt::Write as _;

use anstyle::{Ansi256Color, RgbColor, Style as Ansi};
use anstyle_lossy::{color_to_rgb, palette};
use ratatui::buffer::{Buffer, Cell};
use ratatui::style::{Color, Modifier};
use unicode_width::UnicodeWidthStr as _;

use super::marks::Mark;

/// The cells that are drawn of each row, with their columns: a wide character has taken the cells after it.
fn rows(buffer: &Buffer) -> impl Iterator<Item = Vec<(usize, &Cell)>> {
    buffer.content().chunks(usize::from(buffer.area.width.max(1))).map(|row| {
        let mut next = 0;
        let drawn = row.iter().enumerate().filter(move |(column, cell)| {
            let is_drawn = *column >= next;
            if is_drawn {
                next = column + cell.symbol().width().max(1);
            }
            is_drawn
        });
        drawn.collect()
    })
}

/// As text alone; spaces at the ends of lines are left out.
pub fn text(buffer: &Buffer) -> String {
    let mut text = String::new();
    for row in rows(buffer) {
        let line: String = row.iter().map(|(_, cell)| cell.symbol()).collect();
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

/// As text with the colours that a terminal understands (ISO 8613-6), each line ended by a line feed.
pub fn ansi(buffer: &Buffer) -> String {
    let mut text = String::new();
    for row in rows(buffer) {
        for run in row.chunk_by(|one, other| style(one.1) == style(other.1)) {
            let style = style(run[0].1);
            let symbols: String = run.iter().map(|(_, cell)| cell.symbol()).collect();
            // writing to a text does not fail
            let _ = write!(text, "{style}{symbols}{style:#}");
        }
        text.push('\n');
    }
    text
}

fn style(cell: &Cell) -> Ansi {
    let mut style = Ansi::new().fg_color(colour(cell.fg)).bg_color(colour(cell.bg));
    for (modifier, effect) in [
        (Modifier::BOLD, anstyle::Effects::BOLD),
        (Modifier::DIM, anstyle::Effects::DIMMED),
        (Modifier::REVERSED, anstyle::Effects::INVERT),
        (Modifier::UNDERLINED, anstyle::Effects::UNDERLINE),
    ] {
        if cell.modifier.contains(modifier) {
            style = style.effects(style.get_effects() | effect);
        }
    }
    style
}

/// The colour of a terminal; none where it is the terminal's own.
fn colour(colour: Color) -> Option<anstyle::Color> {
    // the sixteen colours are numbered in this order
    let sixteen = [
        Color::Black,
        Color::Red,
        Color::Green,
        Color::Yellow,
        Color::Blue,
        Color::Magenta,
        Color::Cyan,
        Color::Gray,
        Color::DarkGray,
        Color::LightRed,
        Color::LightGreen,
        Color::LightYellow,
        Color::LightBlue,
        Color::LightMagenta,
        Color::LightCyan,
        Color::White,
    ];
    match colour {
        Color::Indexed(index) => Some(Ansi256Color(index).into()),
        Color::Rgb(red, green, blue) => Some(RgbColor(red, green, blue).into()),
        named => sixteen.iter().position(|of| *of == named).map(|index| Ansi256Color(index as u8).into()),
    }
}

/// Width and height of a character cell of the picture.
const CELL: (usize, usize) = (9, 18);
/// Where characters stand in it, from its top.
const BASELINE: usize = 14;
/// What a picture has where the terminal has its own colours.
const OWN_INK: RgbColor = RgbColor(0x20, 0x20, 0x20);
const OWN_GROUND: RgbColor = RgbColor(0xff, 0xff, 0xff);

/// As a picture in SVG, 9 by 18 units a cell.
pub fn svg(buffer: &Buffer) -> String {
    let (width, height) = (usize::from(buffer.area.width) * CELL.0, usize::from(buffer.area.height) * CELL.1);
    let mut shapes = String::new();
    for (row, cells) in rows(buffer).enumerate() {
        for run in cells.chunk_by(|one, other| look(one.1) == look(other.1)) {
            draw_run(&mut shapes, row * CELL.1, run);
        }
    }
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" \
         font-family=\"DejaVu Sans Mono, Menlo, Consolas, monospace\" font-size=\"14\" shape-rendering=\"crispEdges\">\n\
         {shapes}</svg>\n"
    )
}

/// Ink, ground, and whether it is bold.
fn look(cell: &Cell) -> (RgbColor, RgbColor, bool) {
    let rgb = |of: Color, own| colour(of).map_or(own, |colour| color_to_rgb(colour, palette::DEFAULT));
    let (ink, ground) = (rgb(cell.fg, OWN_INK), rgb(cell.bg, OWN_GROUND));
    let (ink, ground) = if cell.modifier.contains(Modifier::REVERSED) { (ground, ink) } else { (ink, ground) };
    (ink, ground, cell.modifier.contains(Modifier::BOLD))
}

/// Cells of one look beside each other: their ground, what blocks and lines are in them as shapes, and the words.
fn draw_run(shapes: &mut String, top: usize, run: &[(usize, &Cell)]) {
    let (ink, ground, bold) = look(run[0].1);
    let (first, last) = (run[0].0, run[run.len() - 1]);
    let wide = (last.0 + last.1.symbol().width().max(1) - first) * CELL.0;
    let _ = writeln!(
        shapes,
        "<rect x=\"{}\" y=\"{top}\" width=\"{wide}\" height=\"{}\" fill=\"{}\"/>",
        first * CELL.0,
        CELL.1,
        hex(ground)
    );
    let mark = |cell: &Cell| cell.symbol().chars().next().and_then(Mark::of);
    let mut rects = String::new();
    let of_marks = run
        .iter()
        .filter_map(|(column, cell)| Some((column * CELL.0, mark(cell)?)))
        .flat_map(|(left, mark)| mark.rects(CELL).into_iter().map(move |rect| (left, rect)));
    for (left, (x, y, width, height)) in of_marks {
        let _ = write!(rects, "M{} {}h{width}v{height}h-{width}z", left + x, top + y);
    }
    if !rects.is_empty() {
        let _ = writeln!(shapes, "<path d=\"{rects}\" fill=\"{}\"/>", hex(ink));
    }
    for words in run.split(|(_, cell)| mark(cell).is_some() || cell.symbol().trim().is_empty()) {
        let Some(((left, _), (end, cell))) = words.first().zip(words.last()) else { continue };
        let symbols: String = words.iter().map(|(_, cell)| escaped(cell.symbol())).collect();
        let _ = writeln!(
            shapes,
            "<text x=\"{}\" y=\"{}\" textLength=\"{}\" fill=\"{}\"{}>{symbols}</text>",
            left * CELL.0,
            top + BASELINE,
            (end + cell.symbol().width().max(1) - left) * CELL.0,
            hex(ink),
            if bold { " font-weight=\"bold\"" } else { "" },
        );
    }
}

fn hex(RgbColor(red, green, blue): RgbColor) -> String {
    format!("#{red:02x}{green:02x}{blue:02x}")
}

fn escaped(symbol: &str) -> String {
    symbol.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

/// Seconds that a frame of a recording stands, and one in which a line is being typed.
const STANDS_S: f64 = 0.8;
const TYPED_S: f64 = 0.2;

/// Frames to be played in a terminal, one after the other (asciicast, version 2: a line of JSON for the size, and one an output).
#[derive(Debug)]
pub struct Recording {
    lines: String,
    at_s: f64,
    /// The rows of the last frame.
    last: Vec<String>,
}

impl Recording {
    /// One of a terminal of that size in character cells, without a frame.
    pub fn of(columns: u16, rows: u16) -> Self {
        let lines = format!("{{\"version\": 2, \"width\": {columns}, \"height\": {rows}}}\n");
        Self { lines, at_s: 0.0, last: Vec::new() }
    }

    /// Adds a frame, where it is another than the last: of it those rows that are others.
    pub fn show(&mut self, buffer: &Buffer, is_typed: bool) {
        let rows: Vec<String> = ansi(buffer).lines().map(str::to_owned).collect();
        let mut output = String::new();
        for (nth, row) in rows.iter().enumerate().filter(|(nth, row)| self.last.get(*nth) != Some(row)) {
            // writing to a text does not fail
            let _ = write!(output, "\u{1b}[{};1H{row}", nth + 1);
        }
        if output.is_empty() {
            return;
        }
        self.add(&output);
        self.at_s += if is_typed { TYPED_S } else { STANDS_S };
        self.last = rows;
    }

    fn add(&mut self, output: &str) {
        // a text is always JSON
        let output = serde_json::Value::from(output);
        let _ = writeln!(self.lines, "[{:.1}, \"o\", {output}]", self.at_s);
    }

    /// The whole of it; the last frame stands as long as the others.
    pub fn played(mut self) -> String {
        self.add("");
        self.lines
    }
}
