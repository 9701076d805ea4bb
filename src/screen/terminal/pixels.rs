//! Pictures in pixels of the terminal's own: encoded once for each change, put into the cells that were left for them, and gone
//! when the frame has them no more.
//!
//! Nothing is asked of the terminal: the protocol is named in the settings, and how large a character is says the system.

use std::io::{self, Write};

use image::{DynamicImage, RgbImage};
use ratatui::buffer::Buffer;
use ratatui::layout::{Rect, Size};
use ratatui::widgets::Widget;
use ratatui_image::Image;
use ratatui_image::protocol::Protocol;
use ratatui_image::protocol::iterm2::Iterm2;
use ratatui_image::protocol::kitty::Kitty;
use ratatui_image::protocol::sixel::Sixel;

use super::super::pictures::{Pictures, Placed, Wanted};
use super::super::ramp::Ramp;
use super::super::settings::PixelProtocol;
use super::super::view::sight::tones::stand_in;
use super::left::{Kept, Number};
use super::sixel;
use crate::practice::picture::raster::{Grid, Shown};

/// The most columns or rows that a picture of numbered parts can have: there are so many marks for them (the terminal graphics
/// protocol of kitty, public description, from memory).
const MOST_PLACES: u16 = 297;

/// How large a character is, in pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CharacterPixels {
    /// From left to right.
    pub wide: u16,
    /// From top to bottom.
    pub high: u16,
}

impl CharacterPixels {
    /// Where the terminal does not say it: as a VT340 has them, which terminals with sixels stand for (from memory). By the other
    /// protocols the terminal fits a picture into its cells itself.
    pub const ASSUMED: Self = Self { wide: 10, high: 20 };
    /// The largest that is believed, so that no picture grows without end.
    const MOST: Self = Self { wide: 64, high: 128 };

    /// That of this terminal.
    pub fn here() -> Self {
        let said = crossterm::terminal::window_size().ok();
        said.and_then(|size| Self::of((size.width, size.height), (size.columns, size.rows))).unwrap_or(Self::ASSUMED)
    }

    /// That of a terminal of so many pixels, and so many columns and rows; none where these do not make characters.
    pub fn of((wide, high): (u16, u16), (columns, rows): (u16, u16)) -> Option<Self> {
        let character = Self { wide: wide.checked_div(columns)?, high: high.checked_div(rows)? };
        let is_one = (1..=Self::MOST.wide).contains(&character.wide) && (1..=Self::MOST.high).contains(&character.high);
        is_one.then_some(character)
    }

    /// The pixels of an area, from left to right and from top to bottom.
    fn of_area(self, area: Rect) -> [usize; 2] {
        [usize::from(area.width) * usize::from(self.wide), usize::from(area.height) * usize::from(self.high)]
    }
}

/// The pictures of the frame that the terminal shows.
#[derive(Debug)]
pub struct Pixels {
    protocol: PixelProtocol,
    character: CharacterPixels,
    shown: Vec<Sent>,
    /// Those of the frame before that are not shown any more.
    gone: Vec<Sent>,
    /// What the terminal keeps.
    kept: &'static Kept,
}

/// A picture as it was sent.
struct Sent {
    placed: Placed,
    protocol: Protocol,
    /// Its number, where the terminal keeps it under one.
    number: Option<Number>,
}

impl std::fmt::Debug for Sent {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Sent").field("placed", &self.placed).field("number", &self.number).finish_non_exhaustive()
    }
}

impl Pixels {
    /// Nothing drawn yet, by a protocol, with characters so large, in a terminal that keeps this.
    pub fn new(protocol: PixelProtocol, character: CharacterPixels, kept: &'static Kept) -> Self {
        Self { protocol, character, shown: Vec::new(), gone: Vec::new(), kept }
    }

    /// Puts the pictures of a frame into the cells that were left for them. What is drawn over a picture is read, and not the
    /// picture.
    pub fn draw(&mut self, placed: &[Placed], pictures: &Pictures, buffer: &mut Buffer) {
        let mut before = std::mem::take(&mut self.shown);
        for placed in placed {
            if !is_left(placed, buffer) {
                continue;
            }
            let sent = match before.iter().position(|sent| sent.placed == *placed) {
                Some(at) => Some(before.swap_remove(at)),
                None => self.sent(placed, pictures),
            };
            let Some(sent) = sent else {
                stand_in(buffer, placed, pictures);
                continue;
            };
            Image::new(&sent.protocol).render(placed.area, buffer);
            if sent.number.is_some() {
                fit_into_cells(placed.area, buffer);
            }
            self.shown.push(sent);
        }
        self.gone.append(&mut before);
    }

    /// Whether cells may still show a picture that is gone: then everything has to be drawn again on a terminal that was
    /// cleared.
    pub fn has_left_cells(&self) -> bool {
        match self.protocol {
            // by its number it goes wherever it is
            PixelProtocol::Kitty => false,
            PixelProtocol::Sixel | PixelProtocol::Iterm2 => {
                let is_covered = |gone: &Sent| self.shown.iter().any(|shown| shown.placed.area == gone.placed.area);
                !self.gone.iter().all(is_covered)
            }
        }
    }

    /// Sends everything again with the next frame: the terminal was cleared, or its characters are so large now.
    pub fn begin_again(&mut self, character: CharacterPixels) {
        match self.protocol {
            // what was cleared with its cells is still kept under its number
            PixelProtocol::Kitty => self.gone.append(&mut self.shown),
            PixelProtocol::Sixel | PixelProtocol::Iterm2 => {
                self.gone.clear();
                if self.character != character {
                    self.shown.clear();
                }
            }
        }
        self.character = character;
    }

    /// Has the terminal take away what the frame that was drawn does not show.
    ///
    /// # Errors
    /// When nothing can be written.
    pub fn settle(&mut self, out: &mut impl Write) -> io::Result<()> {
        for number in self.gone.drain(..).filter_map(|sent| sent.number) {
            self.kept.take_away(number, out)?;
        }
        out.flush()
    }

    /// How large a character is.
    pub fn character(&self) -> CharacterPixels {
        self.character
    }

    /// A picture made ready; none where it cannot be.
    fn sent(&self, placed: &Placed, pictures: &Pictures) -> Option<Sent> {
        let Placed { area, subject, ramp } = placed;
        let [wide, high] = self.character.of_area(*area);
        let [columns, rows] = computed_pixels([wide, high], subject.most_pixels_on_a_side());
        let grid = pictures.of(Wanted { subject: *subject, columns, rows, shown: Shown::Pixels });
        let size = Size::new(area.width, area.height);
        let mut number = None;
        let protocol = match self.protocol {
            PixelProtocol::Kitty => {
                if area.width.max(area.height) > MOST_PLACES {
                    return None;
                }
                let next = self.kept.next()?;
                // compressed: so a sweep can be followed from afar too
                let kitty = Kitty::new(image(&grid, ramp), size, next.id(), false, true);
                number = Some(next);
                Protocol::Kitty(kitty.ok()?)
            }
            PixelProtocol::Sixel => {
                Protocol::Sixel(Sixel { data: sixel::encoded(&grid, wide, high, ramp), size, is_tmux: false })
            }
            PixelProtocol::Iterm2 => {
                let mut iterm2 = Iterm2::new(image(&grid, ramp), size, false).ok()?;
                iterm2.data = in_cells(&iterm2.data, &grid, size);
                Protocol::ITerm2(iterm2)
            }
        };
        Some(Sent { placed: placed.clone(), protocol, number })
    }
}

/// Whether the cells of a picture are still as they were left for it.
fn is_left(placed: &Placed, buffer: &Buffer) -> bool {
    let ground = placed.ramp.colour(0.0);
    let is_left = |position| buffer.cell(position).is_some_and(|cell| cell.symbol() == " " && cell.bg == ground);
    placed.area.positions().all(is_left)
}

/// The pixels that are computed of a picture: its own, or as many on its longer side as there may be.
fn computed_pixels(own: [usize; 2], most: usize) -> [usize; 2] {
    let longer = own[0].max(own[1]).max(1);
    let share = (most as f64 / longer as f64).min(1.0);
    own.map(|pixels| ((pixels as f64 * share).round() as usize).max(1))
}

/// A grid in the colours of a ramp.
fn image(grid: &Grid, ramp: &Ramp) -> DynamicImage {
    let colours = (0..grid.rows()).flat_map(|row| grid.row(row)).flat_map(|&level| ramp.rgb(level)).collect();
    // a grid has as many levels as it says
    RgbImage::from_raw(grid.columns() as u32, grid.rows() as u32, colours).unwrap_or_default().into()
}

/// Says in how many columns and rows a picture has to fit that is sent with this frame: without them it would be shown pixel by
/// pixel.
fn fit_into_cells(area: Rect, buffer: &mut Buffer) {
    if let Some(cell) = buffer.cell_mut(area.as_position())
        && cell.symbol().contains(",U=1,")
    {
        let fitted = cell.symbol().replacen(",U=1,", &format!(",U=1,c={},r={},", area.width, area.height), 1);
        cell.set_symbol(&fitted);
    }
}

/// The same for a picture whose size is told in pixels.
fn in_cells(data: &str, grid: &Grid, size: Size) -> String {
    let in_pixels = format!("width={}px;height={}px;", grid.columns(), grid.rows());
    let in_cells = format!("width={};height={};preserveAspectRatio=0;", size.width, size.height);
    data.replacen(&in_pixels, &in_cells, 1)
}
