//! Pictures in the terminal's own pixels: what is sent is the picture, once for each change, and nothing of it stays behind.
#![expect(clippy::unwrap_used, reason = "a test may stop")]

use std::collections::{BTreeMap, BTreeSet};
use std::io::Read as _;
use std::iter::zip;

use dioptray::practice::picture::raster::{Grid, Shown};
use dioptray::screen::pictures::{Placed, Wanted};
use dioptray::screen::settings::{Characters, PixelProtocol, ThemeName};
use dioptray::screen::terminal::left::Kept;
use dioptray::screen::terminal::pixels::{CharacterPixels, Pixels};
use dioptray::screen::terminal::sixel;
use dioptray::screen::theme::Glyphs;
use dioptray::screen::view::{self, pen::Hits};
use dioptray::screen::{App, Settings, Surroundings};
use ratatui::buffer::{Buffer, CellDiffOption};
use ratatui::layout::Rect;
use ratatui::style::Color;

use super::Failure;
use super::bench::walk_with;
use super::laws::press;
use super::sight_page::case;

const EVERY: [PixelProtocol; 3] = [PixelProtocol::Kitty, PixelProtocol::Sixel, PixelProtocol::Iterm2];
const LARGE: (u16, u16) = (120, 36);
const SMALL: (u16, u16) = (80, 24);
/// Each of the four pictures, with a lens that leaves much astigmatism.
const FOUR: [&str; 4] = ["-1.50<enter>V", "-1.50<enter>VV", "-1.50<enter>VVV", "+0.50<enter>VVVV<right><right>"];

/// The practice page after some keys, in a terminal with pixels or without.
fn page(keys: &str, theme: ThemeName, in_pixels: bool) -> App {
    let start = case("oblique", Settings { theme, ..Settings::shipped().unwrap() }).unwrap();
    let mut app = App::new(start.session, start.settings);
    app.in_pixels = in_pixels;
    press(&mut app, keys).unwrap();
    app
}

/// Nothing drawn yet in a terminal of its own.
pub fn pixels(protocol: PixelProtocol, wide: u16, high: u16) -> Pixels {
    Pixels::new(protocol, CharacterPixels { wide, high }, Box::leak(Box::new(Kept::nothing())))
}

/// The cells of a frame before pictures are put into them.
fn cells(app: &App, (columns, rows): (u16, u16)) -> (Buffer, Hits) {
    let mut buffer = Buffer::empty(Rect::new(0, 0, columns, rows));
    let hits = view::draw(app, Glyphs::chosen(Characters::Unicode), &mut buffer);
    (buffer, hits)
}

/// A whole frame, and which pictures are in it.
fn frame(app: &App, pixels: &mut Pixels, size: (u16, u16)) -> (Buffer, Vec<Placed>) {
    let (mut buffer, hits) = cells(app, size);
    pixels.draw(&hits.pictures, &app.pictures, &mut buffer);
    (buffer, hits.pictures)
}

/// What was sent with the first cell of a picture: columns and rows in pixels, and each pixel's red, green and blue.
struct Received {
    columns: usize,
    rows: usize,
    colours: Vec<[u8; 3]>,
}

/// Reads a picture as its terminal would: base64 and PNG by the libraries that everybody has, sixels by the decoder of a crate.
fn received(protocol: PixelProtocol, sent: &str, cells: Rect) -> Received {
    match protocol {
        PixelProtocol::Kitty => of_kitty(sent, cells),
        PixelProtocol::Sixel => {
            let from = sent.find("\u{1b}P").unwrap();
            let decoded = icy_sixel::SixelImage::decode(&sent.as_bytes()[from..]).unwrap();
            let colours: Vec<_> = decoded.pixels.chunks(4).map(|pixel| [pixel[0], pixel[1], pixel[2]]).collect();
            let said = sent[from..].split_once("q\"1;1;").unwrap().1.split_once('#').unwrap().0;
            let (columns, rows) = said.split_once(';').unwrap();
            let (columns, rows): (usize, usize) = (columns.parse().unwrap(), rows.parse().unwrap());
            // it decodes the last band whole, also where the picture ends within it
            assert_eq!((decoded.width, decoded.height), (columns, rows.next_multiple_of(6)));
            Received { columns, rows, colours: colours[..columns * rows].to_vec() }
        }
        PixelProtocol::Iterm2 => {
            let (what, rest) = sent.split_once("]1337;File=").unwrap().1.split_once(':').unwrap();
            let said: BTreeMap<&str, &str> = what.split(';').map(|pair| pair.split_once('=').unwrap()).collect();
            assert_eq!((said["width"], said["height"]), (&*cells.width.to_string(), &*cells.height.to_string()));
            assert_eq!((said["inline"], said["preserveAspectRatio"], said["doNotMoveCursor"]), ("1", "0", "1"));
            let file = base64_simd::STANDARD.decode_to_vec(rest.strip_suffix('\u{7}').unwrap()).unwrap();
            assert_eq!(said["size"], file.len().to_string());
            let picture = image::load_from_memory(&file).unwrap().to_rgb8();
            let colours = picture.pixels().map(|pixel| pixel.0).collect();
            Received { columns: picture.width() as usize, rows: picture.height() as usize, colours }
        }
    }
}

/// The terminal graphics protocol of kitty (public description, from memory): keys before `;`, base64 after it, in parts of at
/// most 4096 characters of which all but the last say `m=1`; `o=z` is zlib (RFC 1950), `f=32` red, green, blue and how opaque.
fn of_kitty(sent: &str, cells: Rect) -> Received {
    let mut said = BTreeMap::new();
    let mut bytes = Vec::new();
    let mut is_over = false;
    for part in sent.split("\u{1b}_G").skip(1) {
        assert!(!is_over, "nothing follows the last part");
        let (keys, rest) = part.split_once(';').unwrap();
        let (data, _) = rest.split_once("\u{1b}\\").unwrap();
        assert!(data.len() <= 4096);
        let keys: BTreeMap<&str, &str> = keys.split(',').filter_map(|key| key.split_once('=')).collect();
        // no answer is asked for: it would come among the keys
        assert_eq!(keys["q"], "2");
        is_over = keys["m"] == "0";
        bytes.extend(base64_simd::STANDARD.decode_to_vec(data).unwrap());
        if said.is_empty() {
            said = keys;
        }
    }
    assert!(is_over);
    assert_eq!((said["a"], said["U"], said["f"]), ("T", "1", "32"));
    assert_eq!(said["o"], "z");
    let mut raw = Vec::new();
    flate2::read::ZlibDecoder::new(&bytes[..]).read_to_end(&mut raw).unwrap();
    let bytes = raw;
    assert_eq!((said["c"], said["r"]), (&*cells.width.to_string(), &*cells.height.to_string()));
    let (columns, rows) = (said["s"].parse().unwrap(), said["v"].parse().unwrap());
    assert!(bytes.chunks(4).all(|pixel| pixel[3] == 255), "nothing shines through");
    Received { columns, rows, colours: bytes.chunks(4).map(|pixel| [pixel[0], pixel[1], pixel[2]]).collect() }
}

/// The picture itself, by the law of what the eye sees.
fn computed(app: &App, placed: &Placed, columns: usize, rows: usize) -> std::rc::Rc<Grid> {
    app.pictures.of(Wanted { subject: placed.subject, columns, rows, shown: Shown::Pixels })
}

fn levels(grid: &Grid) -> Vec<f64> {
    (0..grid.rows()).flat_map(|row| grid.row(row).to_vec()).collect()
}

#[test]
fn what_is_sent_is_the_picture_pixel_by_pixel() {
    for (protocol, keys) in EVERY.into_iter().flat_map(|protocol| FOUR.map(|keys| (protocol, keys))) {
        for theme in [ThemeName::Dark, ThemeName::Daylight] {
            let app = page(keys, theme, true);
            // so small that nothing is enlarged
            let (buffer, pictures) = frame(&app, &mut pixels(protocol, 3, 6), SMALL);
            assert!(!pictures.is_empty(), "{protocol:?} {keys}");
            for placed in &pictures {
                let sent = buffer[placed.area.as_position()].symbol();
                let Received { columns, rows, colours } = received(protocol, sent, placed.area);
                let area = (usize::from(placed.area.width) * 3, usize::from(placed.area.height) * 6);
                assert_eq!((columns, rows), area, "{protocol:?} {keys}");
                let grid = computed(&app, placed, columns, rows);
                // sixels have so many tones, each told in percents, of which a decoder makes 255ths again
                let within = match protocol {
                    PixelProtocol::Sixel => 127.5 / (sixel::TONES - 1) as f64 + 2.55,
                    PixelProtocol::Kitty | PixelProtocol::Iterm2 => 0.0,
                };
                assert_eq!(colours.len(), columns * rows);
                for (level, colour) in zip(levels(&grid), colours) {
                    for (part, of_level) in zip(colour, placed.ramp.rgb(level)) {
                        let off = (f64::from(part) - f64::from(of_level)).abs();
                        assert!(off <= within, "{protocol:?} {keys}: {colour:?} at {level}");
                    }
                }
            }
        }
    }
}

/// How far one picture is off another, level by level in the mean.
fn off(one: &[f64], other: &[f64]) -> f64 {
    zip(one, other).map(|(one, other)| (one - other).abs()).sum::<f64>() / one.len() as f64
}

/// No second optics: in the pixels of a half block is, in their mean, what the half block shows; neither mirrored nor turned.
#[test]
fn it_shows_what_the_half_blocks_show() {
    for (protocol, keys) in EVERY.into_iter().flat_map(|protocol| FOUR.map(|keys| (protocol, keys))) {
        let app = page(keys, ThemeName::Daylight, true);
        let (buffer, pictures) = frame(&app, &mut pixels(protocol, 10, 20), LARGE);
        let (mut seen, mut drawn, mut mirrored, mut upside_down) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        for placed in &pictures {
            let sent = received(protocol, buffer[placed.area.as_position()].symbol(), placed.area);
            let (columns, rows) = (usize::from(placed.area.width), 2 * usize::from(placed.area.height));
            seen.extend(means(&sent, placed, columns, rows));
            let half_blocks = levels(&computed(&app, placed, columns, rows));
            mirrored.extend(half_blocks.chunks(columns).flat_map(|row| row.iter().rev()));
            upside_down.extend(half_blocks.chunks(columns).rev().flatten());
            drawn.extend(half_blocks);
        }
        let as_it_is = off(&seen, &drawn);
        assert!(as_it_is < 0.05, "{protocol:?} {keys}: {as_it_is}");
        let lies = off(&seen, &mirrored).min(off(&seen, &upside_down));
        assert!(as_it_is < lies / 2.0, "{protocol:?} {keys}: {as_it_is}, and {lies} otherwise");
    }
}

/// The mean level of the pixels of each half block.
fn means(sent: &Received, placed: &Placed, columns: usize, rows: usize) -> Vec<f64> {
    let mut sums = vec![(0.0, 0.0); columns * rows];
    let [none, full] = [0.0, 1.0].map(|level| f64::from(placed.ramp.rgb(level)[0]));
    for (at, colour) in sent.colours.iter().enumerate() {
        let (column, row) = (at % sent.columns * columns / sent.columns, at / sent.columns * rows / sent.rows);
        let sum = &mut sums[row * columns + column];
        *sum = (sum.0 + (f64::from(colour[0]) - none) / (full - none), sum.1 + 1.0);
    }
    sums.into_iter().map(|(sum, pixels)| sum / pixels).collect()
}

/// In every cell that is no picture's, and wherever words are drawn over the page, the frame is the one without pixels.
#[test]
fn beside_the_pictures_nothing_differs() {
    for (keys, has_pictures) in [
        ("-1.50<enter>V", true),
        ("-1.50<enter>VVV", true),
        ("-1.50<enter>VVVV", true),
        ("-1.50<enter>V?", false),
        ("-1.50<enter>V!", false),
        ("-1.50<enter>Vh-0.5", true),
        ("-1.50<enter>V<esc>", false),
        ("Vo", false),
        ("V<esc>B", false),
    ] {
        for size in [LARGE, SMALL] {
            let (with, hits) = cells(&page(keys, ThemeName::Dark, true), size);
            let (without, _) = cells(&page(keys, ThemeName::Dark, false), size);
            assert_eq!(!hits.pictures.is_empty(), has_pictures, "{keys}");
            let is_picture = |position| hits.pictures.iter().any(|placed| placed.area.contains(position));
            for position in with.area.positions().filter(|&position| !is_picture(position)) {
                assert_eq!(with[position], without[position], "{keys} at {position}");
            }
            // what a picture leaves behind it on the last row would scroll everything
            assert!(hits.pictures.iter().all(|placed| placed.area.bottom() < with.area.bottom()), "{keys}");
        }
    }
}

/// Where characters alone are wanted, or colours none, there are no pixels either.
#[test]
fn whoever_has_no_tones_has_no_pixels() {
    let app = page("-1.50<enter>V", ThemeName::Plain, true);
    assert!(cells(&app, SMALL).1.pictures.is_empty());
    let app = page("-1.50<enter>V", ThemeName::Dark, true);
    let mut buffer = Buffer::empty(Rect::new(0, 0, 80, 24));
    let hits = view::draw(&app, Glyphs::chosen(Characters::Ascii), &mut buffer);
    assert!(hits.pictures.is_empty());
}

#[test]
fn a_picture_is_sent_once_and_again_when_it_changes() {
    for protocol in EVERY {
        let mut app = page("-1.50<enter>V", ThemeName::Dark, true);
        let mut pixels = pixels(protocol, 10, 20);
        let empty = Buffer::empty(Rect::new(0, 0, LARGE.0, LARGE.1));
        let bytes = |before: &Buffer, after: &Buffer| -> usize {
            before.diff(after).iter().map(|(_, _, cell)| cell.symbol().len()).sum()
        };
        let (first, pictures) = frame(&app, &mut pixels, LARGE);
        assert!(bytes(&empty, &first) > 5_000, "{protocol:?}");
        let (second, _) = frame(&app, &mut pixels, LARGE);
        assert!(bytes(&first, &second) < 100, "{protocol:?}: {}", bytes(&first, &second));
        let (third, _) = frame(&app, &mut pixels, LARGE);
        assert_eq!(bytes(&second, &third), 0, "{protocol:?}");
        // another power before the eye, the page with its picture in the same cells
        press(&mut app, "-2.00x40<enter>").unwrap();
        let (other, others) = frame(&app, &mut pixels, LARGE);
        assert_eq!(others[0].area, pictures[0].area);
        assert_ne!(others[0].subject, pictures[0].subject);
        assert!(bytes(&third, &other) > 5_000, "{protocol:?}");
        // sent again after the terminal was cleared, with characters of another size
        pixels.begin_again(CharacterPixels { wide: 9, high: 18 });
        let (again, _) = frame(&app, &mut pixels, LARGE);
        assert!(bytes(&empty, &again) > 5_000, "{protocol:?}");
        let sent = received(protocol, again[others[0].area.as_position()].symbol(), others[0].area);
        let own = (usize::from(others[0].area.width) * 9, usize::from(others[0].area.height) * 18);
        match protocol {
            PixelProtocol::Sixel => assert_eq!((sent.columns, sent.rows), own),
            // what is larger is enlarged by the terminal
            PixelProtocol::Kitty | PixelProtocol::Iterm2 => assert!(sent.columns < own.0 && sent.rows < own.1),
        }
    }
}

/// Which numbers a frame shows, by the ink of its cells.
fn numbers_shown(buffer: &Buffer, pictures: &[Placed]) -> BTreeSet<u32> {
    let ink = |placed: &Placed| -> u32 {
        let inks: BTreeSet<u32> = placed
            .area
            .positions()
            .map(|position| {
                assert!(buffer[position].symbol().contains('\u{10eeee}'), "each cell stands for its part");
                let Color::Rgb(red, green, blue) = buffer[position].fg else { unreachable!("a number is three bytes") };
                u32::from_be_bytes([0, red, green, blue])
            })
            .collect();
        assert_eq!(inks.len(), 1);
        *inks.first().unwrap()
    };
    pictures.iter().map(ink).collect()
}

/// What a terminal keeps that reads this: every picture that was sent and not deleted.
fn keep(kept: &mut BTreeSet<u32>, written: &str) {
    let number =
        |keys: &str| keys.split(',').find_map(|key| key.strip_prefix("i=")).map(|id| id.parse::<u32>().unwrap());
    for command in written.split("\u{1b}_G").skip(1) {
        let keys = command.split([';', '\u{1b}']).next().unwrap();
        if keys.contains("a=T") {
            assert!(kept.insert(number(keys).unwrap()), "no picture takes the place of one that is kept");
        } else if keys.contains("a=d,d=I") {
            assert!(kept.remove(&number(keys).unwrap()), "only what is kept is deleted");
        }
    }
}

#[test]
fn a_terminal_that_keeps_pictures_keeps_those_that_are_shown_and_no_other() {
    let mut app = page("-1.50<enter>", ThemeName::Dark, true);
    let mut pixels = pixels(PixelProtocol::Kitty, 10, 20);
    let mut kept = BTreeSet::new();
    let mut before = Buffer::empty(Rect::new(0, 0, LARGE.0, LARGE.1));
    let mut most = 0;
    for keys in [
        "V",
        "]",
        "?",
        "<esc>",
        "V",
        "h-0.50<enter>",
        "f",
        "f",
        "V",
        "T",
        "T",
        "T",
        "V",
        "<right>",
        "]",
        "o",
        "o",
        "<esc>",
        "V",
        "<esc>",
        "B",
    ] {
        press(&mut app, keys).unwrap();
        let (after, pictures) = frame(&app, &mut pixels, LARGE);
        for (_, _, cell) in before.diff(&after) {
            keep(&mut kept, cell.symbol());
        }
        let mut written = Vec::new();
        pixels.settle(&mut written).unwrap();
        keep(&mut kept, &String::from_utf8(written).unwrap());
        assert_eq!(kept, numbers_shown(&after, &pictures), "after {keys}");
        assert!(!pixels.has_left_cells(), "by its number a picture goes wherever it is");
        most = most.max(kept.len());
        before = after;
    }
    assert_eq!(most, 15, "three lines of five signs");
    assert!(kept.is_empty(), "the page was left");
}

/// Whatever fills the cells of a picture after it is written there, or the terminal is cleared.
#[test]
fn cells_of_a_picture_that_is_gone_are_drawn_over() {
    for protocol in [PixelProtocol::Sixel, PixelProtocol::Iterm2] {
        let mut app = page("-1.50<enter>V", ThemeName::Dark, true);
        let mut pixels = pixels(protocol, 10, 20);
        let (shown, pictures) = frame(&app, &mut pixels, LARGE);
        press(&mut app, "]").unwrap();
        frame(&app, &mut pixels, LARGE);
        assert!(!pixels.has_left_cells(), "the same cells show another picture");
        pixels.settle(&mut Vec::new()).unwrap();
        press(&mut app, "<esc>").unwrap();
        let (after, _) = frame(&app, &mut pixels, LARGE);
        assert!(pixels.has_left_cells(), "{protocol:?}");
        let written: BTreeSet<(u16, u16)> = shown.diff(&after).into_iter().map(|(x, y, _)| (x, y)).collect();
        assert!(pictures[0].area.positions().all(|position| written.contains(&(position.x, position.y))));
        pixels.begin_again(pixels.character());
        assert!(!pixels.has_left_cells());
    }
}

/// Where the terminal cannot have a picture, half blocks stand for it, and the ground alone never does.
#[test]
fn what_cannot_be_sent_is_drawn_in_half_blocks() {
    let app = page("-1.50<enter>V", ThemeName::Dark, true);
    let placed = cells(&app, LARGE).1.pictures[0].clone();
    // more columns than there are marks for, and every number in use
    for (mut pixels, columns) in [(pixels(PixelProtocol::Kitty, 10, 20), 298), (all_in_use(), 60)] {
        let placed = Placed { area: Rect::new(1, 1, columns, 30), ..placed.clone() };
        let mut buffer = Buffer::empty(Rect::new(0, 0, 300, 40));
        for position in placed.area.positions() {
            buffer[position].set_bg(placed.ramp.colour(0.0));
        }
        pixels.draw(&[placed], &app.pictures, &mut buffer);
        assert!(buffer.content().iter().filter(|cell| cell.symbol() == "▀").count() > 100, "{columns}");
        assert!(buffer.content().iter().all(|cell| !cell.symbol().contains('\u{1b}')));
    }
}

fn all_in_use() -> Pixels {
    let kept: &'static Kept = Box::leak(Box::new(Kept::nothing()));
    while kept.next().is_some() {}
    Pixels::new(PixelProtocol::Kitty, CharacterPixels::ASSUMED, kept)
}

/// A word that somebody draws over a picture one day is read, and the picture is not shown.
#[test]
fn no_word_lies_under_a_picture() {
    for protocol in EVERY {
        let app = page("-1.50<enter>V", ThemeName::Dark, true);
        let (mut buffer, hits) = cells(&app, LARGE);
        let area = hits.pictures[0].area;
        buffer.set_string(area.x + 3, area.y + 2, "a word", ratatui::style::Style::new());
        let words = buffer.clone();
        pixels(protocol, 10, 20).draw(&hits.pictures, &app.pictures, &mut buffer);
        assert_eq!(buffer, words, "{protocol:?}");
        assert!(buffer.content().iter().all(|cell| cell.diff_option == CellDiffOption::None));
    }
}

#[test]
fn a_character_is_as_large_as_the_terminal_says_where_that_can_be() {
    let of = |pixels, cells| CharacterPixels::of(pixels, cells).map(|CharacterPixels { wide, high }| (wide, high));
    assert_eq!(of((1200, 720), (120, 36)), Some((10, 20)));
    // what is left over is no pixel of a character
    assert_eq!(of((1205, 755), (120, 36)), Some((10, 20)));
    assert_eq!(of((0, 0), (120, 36)), None, "it does not say");
    assert_eq!(of((1200, 720), (0, 0)), None);
    assert_eq!(of((100, 36), (120, 36)), None, "less than a pixel");
    assert_eq!(of((u16::MAX, u16::MAX), (80, 24)), None, "nobody has such characters");
}

/// A printed frame goes to a file or a pipe, whatever the terminal can draw.
#[test]
fn a_printed_frame_has_no_pixels() -> Result<(), Failure> {
    for keys in FOUR {
        let plain = walk_with(case("oblique", Settings::shipped()?)?, keys, "120x36")?;
        for protocol in EVERY {
            let settings = Settings { pictures: Some(protocol), ..Settings::shipped()? };
            assert_eq!(walk_with(case("oblique", settings)?, keys, "120x36")?, plain);
        }
    }
    Ok(())
}

#[test]
fn a_terminal_that_would_swallow_or_write_out_a_picture_gets_none() -> Result<(), Failure> {
    for (term, protocol, is_drawn) in [
        ("xterm-kitty", PixelProtocol::Kitty, true),
        ("xterm-256color", PixelProtocol::Iterm2, true),
        ("tmux-256color", PixelProtocol::Sixel, true),
        ("tmux-256color", PixelProtocol::Kitty, false),
        ("screen", PixelProtocol::Iterm2, false),
        ("linux", PixelProtocol::Sixel, false),
        ("dumb", PixelProtocol::Kitty, false),
    ] {
        let mut settings = Settings { pictures: Some(protocol), ..Settings::shipped()? };
        Surroundings { utf8: true, term: term.to_owned(), ..Surroundings::default() }.adapt(&mut settings);
        assert_eq!(settings.pictures, is_drawn.then_some(protocol), "{term}");
    }
    Ok(())
}
