//! The drawn cells at every size: how high the figures stand, how far digits are apart, what stays empty, how wide text runs,
//! that nothing covers anything; and the light of the themes.
#![expect(clippy::unwrap_used, reason = "a test may stop")]

use dioptray::optics::Eye;
use dioptray::screen::settings::{Characters, Colours, Settings, ThemeName};
use dioptray::screen::theme::{Glyphs, Theme};
use dioptray::screen::view::figures::Face;
use dioptray::screen::view::layout::{self, Asked, MOST_COLUMNS, MOST_TEXT, Part};
use dioptray::screen::{App, view};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Color, Modifier, Style};

use super::bench::options;
use super::laws::press;
use super::person::{easy, lead};

/// The sizes that are named, and those between them.
fn sizes() -> Vec<(u16, u16)> {
    let named = [(80, 24), (100, 30), (120, 36), (160, 50), (200, 60), (91, 27), (133, 41)];
    let between = (80..=200).step_by(8).flat_map(|columns| (24..=60).step_by(4).map(move |rows| (columns, rows)));
    named.into_iter().chain(between).collect()
}

fn screen(settings: &str, keys: &str) -> App {
    let start = options(Settings::read(settings, "").unwrap()).unwrap();
    let mut app = App::new(start.session, start.settings);
    press(&mut app, keys).unwrap();
    app
}

fn drawn(app: &App, (columns, rows): (u16, u16)) -> Buffer {
    let mut buffer = Buffer::empty(Rect::new(0, 0, columns, rows));
    view::draw(app, Glyphs::chosen(app.settings.characters), &mut buffer);
    buffer
}

/// The block in the middle of a wide screen.
fn block((columns, rows): (u16, u16)) -> Rect {
    let width = columns.min(MOST_COLUMNS);
    Rect { x: (columns - width) / 2, y: 0, width, height: rows }
}

fn symbol(buffer: &Buffer, x: u16, y: u16) -> &str {
    buffer.cell((x, y)).unwrap().symbol()
}

/// A stack that comes near a wanted power.
const STACK: &str = "-4<enter><right><right>-0.75x30<enter>w-4.25/-0.75x180<enter>";

/// A box of which a little was noted.
const BOX: &str =
    "-4<enter>B-3<enter>f-2<enter>x-1<enter>dchipped<enter>-0.50x<enter>LClinic 3 until 2026-11-17<enter>";

/// The guide asks for the first time, and later whether a lens in the hand is clearer.
fn asks() -> Vec<(&'static str, String)> {
    let led = lead(screen("", ""), &mut easy(), |_| None).unwrap();
    let later = led.keys_before(led.asked.len() / 2);
    vec![("the guide asks first", "g".to_owned()), ("the guide asks later", later)]
}

/// Half rows from the first to the last with anything of a large figure in it, before an eye.
fn figure_half_rows(app: &App, size: (u16, u16), eye: Eye) -> u16 {
    let (buffer, block) = (drawn(app, size), block(size));
    let half = (block.width - 1) / 2;
    let first = block.x + if eye == Eye::Right { 0 } else { half + 1 };
    let ascii = app.settings.characters == Characters::Ascii;
    let is_lit = |x: u16, y: u16, upper: bool| {
        let cell = buffer.cell((x, y)).unwrap();
        if ascii {
            return cell.symbol() == " " && cell.modifier.contains(Modifier::REVERSED);
        }
        if upper { "▘▝▀▌▞▛▚▐▜▙▟█" } else { "▖▌▞▛▗▚▐▜▄▙▟█" }.contains(cell.symbol())
    };
    let lit = (0..2 * size.1).filter(|row| (first..first + half).any(|x| is_lit(x, row / 2, row % 2 == 0)));
    let lit: Vec<u16> = lit.collect();
    lit.last().map_or(0, |last| last - lit[0] + 1)
}

#[test]
fn the_net_power_takes_its_share_of_every_screen() {
    for settings in ["", "characters: ascii\n"] {
        let app = screen(settings, STACK);
        for size in sizes() {
            let both = f64::from(figure_half_rows(&app, size, Eye::Right)) / 2.0;
            assert!(both >= f64::from(size.1) / 6.0, "{settings}{size:?}: {both} rows of sphere and cylinder");
            let sphere = f64::from(figure_half_rows(&app, size, Eye::Left)) / 2.0;
            assert!(sphere >= f64::from(size.1) / 9.0, "{settings}{size:?}: {sphere} rows of a sphere");
        }
    }
}

/// In how many quarter cells, or cells, two shapes differ.
fn apart(one: &[Vec<bool>], other: &[Vec<bool>]) -> usize {
    let at = |shape: &[Vec<bool>], row: usize, column: usize| {
        shape.get(row).and_then(|row| row.get(column)).copied().unwrap_or(false)
    };
    let (rows, columns) = (one.len().max(other.len()), one[0].len().max(other[0].len()));
    (0..rows * columns)
        .filter(|nth| at(one, nth / columns, nth % columns) != at(other, nth / columns, nth % columns))
        .count()
}

#[test]
fn no_two_digits_are_taken_for_each_other() {
    for ascii in [false, true] {
        for (columns, rows) in sizes() {
            let face = Face::fitting(ascii, (columns.min(MOST_COLUMNS) - 1) / 2, rows);
            let least = match (ascii, columns >= 100 && rows >= 30) {
                (true, _) => 2,
                (false, true) => 6,
                (false, false) => 4,
            };
            for one in '0'..='9' {
                for other in ('0'..='9').filter(|other| *other > one) {
                    let differ = apart(&face.filled(one), &face.filled(other));
                    assert!(differ >= least, "{one} and {other} differ in {differ} at {columns}x{rows}, ascii {ascii}");
                }
            }
        }
    }
}

/// The largest rectangle without a mark, in cells.
fn largest_blank(buffer: &Buffer, block: Rect) -> (usize, Rect) {
    let ground = Theme::named(ThemeName::Dark).text.bg.unwrap();
    let mut high = vec![0_u16; usize::from(block.width)];
    let mut largest = (0, Rect::default());
    for y in block.rows().map(|row| row.y) {
        for (high, x) in high.iter_mut().zip(block.x..) {
            let cell = buffer.cell((x, y)).unwrap();
            *high = if cell.symbol() == " " && cell.bg == ground { *high + 1 } else { 0 };
        }
        for first in 0..high.len() {
            let mut least = u16::MAX;
            for (last, rows) in high.iter().enumerate().skip(first) {
                least = least.min(*rows);
                let cells = usize::from(least) * (last - first + 1);
                if least == 0 {
                    break;
                }
                if cells > largest.0 {
                    let (x, width) = (block.x + first as u16, (last - first + 1) as u16);
                    largest = (cells, Rect { x, y: y + 1 - least, width, height: least });
                }
            }
        }
    }
    largest
}

#[test]
fn no_large_field_stays_empty() {
    let mut misses = Vec::new();
    for (state, keys) in
        asks().into_iter().chain([("stack and wanted power", STACK.to_owned()), ("box", BOX.to_owned())])
    {
        let app = screen("", &keys);
        for size in sizes() {
            let block = block(size);
            let (cells, at) = largest_blank(&drawn(&app, size), block);
            let share = cells as f64 / f64::from(block.width * block.height);
            if share > 0.13 {
                misses.push(format!("{state} {size:?}: {:.1} % at {at:?}", 100.0 * share));
            }
        }
    }
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}

/// A row of figures, one for each prescription, is looked at and not read.
fn is_row_of_a_map(word: &str) -> bool {
    let word = word.trim_start_matches('▸');
    word.chars().count() > 20 && word.chars().all(|c| c.is_ascii_digit() || c == '·')
}

fn rows_of(buffer: &Buffer, block: Rect) -> Vec<String> {
    (0..block.height).map(|y| (block.x..block.right()).map(|x| symbol(buffer, x, y)).collect()).collect()
}

#[test]
fn a_heading_and_the_number_of_its_step_share_a_row() {
    for (state, keys) in asks().into_iter().skip(1) {
        let app = screen("", &keys);
        let step = app.guide().presentation().progress.unwrap().presentation.to_string();
        let procedure = app.guide().presentation().procedure.unwrap();
        for size in sizes() {
            let rows = rows_of(&drawn(&app, size), block(size));
            let heading = rows.iter().find(|row| row.contains("other covered:") || row.contains("alone:")).unwrap();
            assert!(heading.contains(procedure.in_few_words()), "{state} {size:?}: {heading}");
            assert!(heading.contains(&format!(" {step} ─")), "{state} {size:?}: {heading}");
        }
    }
}

#[test]
fn the_head_names_the_frame_in_full_where_there_is_room_for_it() {
    let app = screen("", "g1125<enter>1631.5<enter>31.5<enter>1");
    let name = &app.state().fitted.frame.name;
    assert!(app.state().fitted.eye_pd.all().is_some());
    for size in [(120, 36), (160, 50), (200, 60)] {
        let head = rows_of(&drawn(&app, size), block(size)).remove(0);
        assert!(head.contains(name.as_str()) && head.contains("PD 31.5 / 31.5"), "{size:?}: {head}");
    }
}

#[test]
fn the_legend_of_the_tray_is_not_cut() {
    for (state, keys) in asks().into_iter().chain([("stack and wanted power", STACK.to_owned())]) {
        let app = screen("", &keys);
        for size in sizes() {
            for row in rows_of(&drawn(&app, size), block(size)) {
                let legend = row.split("– lost").nth(1).unwrap_or_default();
                assert!(!legend.contains('…'), "{state} {size:?}: {row}");
            }
        }
    }
}

#[test]
fn what_a_box_does_not_make_is_a_point_in_ascii_too() {
    for (settings, not_made) in [("", "···"), ("characters: ascii\n", "...")] {
        let app = screen(settings, "Bc");
        for size in [(80, 24), (120, 36)] {
            let rows = rows_of(&drawn(&app, size), block(size));
            let row = rows.iter().find(|row| row.contains("cyl -4.00")).unwrap();
            assert!(row.contains(not_made) && !row.contains('|'), "{settings}{size:?}: {row}");
            let said = rows.iter().any(|row| row.contains(&format!("{} not made", &not_made[..not_made.len() / 3])));
            assert_eq!(said, size.0 > 80, "{settings}{size:?}");
        }
    }
}

#[test]
fn no_text_runs_wider_than_is_read_and_none_is_cut() {
    let keys = [
        STACK,
        "?",
        "i",
        "!",
        "=",
        "-4<enter>j",
        "d",
        "gc",
        "-3.25<enter>",
        BOX,
        "Bo",
        "Bs",
        "Bsxdchipped<enter>w",
        "B?",
        "Bc<enter>",
        "Bc[e<enter>",
        "By",
        "Bk",
        "Bi1",
        "Bh1",
    ]
    .map(str::to_owned);
    for keys in asks().into_iter().map(|(_, keys)| keys).chain(keys) {
        let app = screen("", &keys);
        for size in sizes() {
            let (buffer, block) = (drawn(&app, size), block(size));
            for y in 0..size.1 {
                let row: String = (block.x..block.right()).map(|x| symbol(&buffer, x, y)).collect();
                for run in row.split("  ").flat_map(|run| run.split(['─', '│'])) {
                    let text = run.split(' ').filter(|word| !is_row_of_a_map(word)).collect::<Vec<_>>().join(" ");
                    let columns = text.trim().chars().count();
                    assert!(columns <= usize::from(MOST_TEXT), "{keys} {size:?}, {columns} columns: {run}");
                }
                // the names of box and frame are cut on the top line, and nothing else
                assert!(y == 0 || !row.contains('…'), "{keys} {size:?}: {row}");
            }
            let outside = (0..size.0).filter(|x| *x < block.x || *x >= block.right());
            for (x, y) in outside.flat_map(|x| (0..size.1).map(move |y| (x, y))) {
                assert_eq!(symbol(&buffer, x, y), " ", "{keys} {size:?}: outside of the block");
            }
        }
    }
}

#[test]
fn nothing_stands_on_anything() {
    let every = [Part::Guide, Part::Stacks, Part::Tray, Part::Trail];
    for (columns, rows) in sizes().into_iter().chain([(60, 20), (61, 21), (99, 22)]) {
        for shown in 1_usize..16 {
            let parts: Vec<Part> =
                every.iter().enumerate().filter(|(nth, _)| shown >> nth & 1 == 1).map(|(_, p)| *p).collect();
            for (warnings, cells) in [(0, 2), (4, 3)] {
                let screen = Rect::new(0, 0, columns, rows);
                let plan = layout::plan(&Asked {
                    screen,
                    ascii: shown > 8,
                    has_no_cylinder: shown % 3 == 1,
                    is_busy_below: shown % 2 == 0,
                    is_full_below: shown % 3 == 0,
                    warning_rows: &|_| warnings,
                    cell_rows: &|_| cells,
                    parts: &parts,
                    rows_of: &|part, _| 4 + 3 * part as u16,
                });
                let mut places: Vec<Rect> = vec![plan.head, plan.divider, plan.keys, plan.hints];
                places.extend((plan.line != plan.hints).then_some(plan.line));
                places.extend(plan.panels.iter().map(|(_, area)| *area));
                for eye in plan.eyes {
                    places.extend([eye.sphere, eye.cylinder, eye.facts, eye.cells]);
                    assert!(eye.facts.height >= warnings, "{columns}x{rows}: no room for warnings");
                    assert!(
                        eye.dial.x >= eye.sphere.x + plan.face.columns_of_sphere(),
                        "{columns}x{rows}: dial on the sphere"
                    );
                    assert!(
                        !plan.sheet.intersects(eye.sphere) && !plan.sheet.intersects(eye.cylinder),
                        "sheet on the net"
                    );
                }
                for (nth, one) in places.iter().enumerate() {
                    assert_eq!(one.intersection(screen), *one, "{columns}x{rows} {parts:?}: {one:?} is off the screen");
                    let on = places[nth + 1..].iter().find(|other| one.intersects(**other) && !one.is_empty());
                    assert_eq!(on, None, "{columns}x{rows} {parts:?}: on {one:?}");
                }
            }
        }
    }
}

/// Red, green and blue of a colour of 256: a cube of six steps and greys, as terminals have them since xterm (its `256colres.pl`).
fn rgb(color: Color) -> [u8; 3] {
    let indexed = if let Color::Indexed(index) = color { Some(index) } else { None };
    let index = indexed.unwrap();
    assert!(index >= 16, "{index} is the terminal's own");
    let step = |level: u8| if level == 0 { 0 } else { 55 + 40 * level };
    match index {
        232.. => [8 + 10 * (index - 232); 3],
        _ => [step((index - 16) / 36), step((index - 16) / 6 % 6), step((index - 16) % 6)],
    }
}

/// Contrast of ink and ground: W3C, WCAG 2.1, *contrast ratio* and *relative luminance*.
fn contrast(style: Style) -> f64 {
    let luminance = |color: Color| {
        let linear = |part: u8| {
            let share = f64::from(part) / 255.0;
            if share <= 0.03928 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
        };
        let [red, green, blue] = rgb(color).map(linear);
        0.2126 * red + 0.7152 * green + 0.0722 * blue
    };
    let (ink, ground) = (luminance(style.fg.unwrap()), luminance(style.bg.unwrap()));
    (ink.max(ground) + 0.05) / (ink.min(ground) + 0.05)
}

/// Every style of a theme, by its meaning. Taken apart, so that a new one is measured.
fn styles(theme: &Theme) -> Vec<(&'static str, Style)> {
    macro_rules! listed {
        ($($field:ident),+) => {{
            let Theme { $($field),+ } = theme;
            vec![$((stringify!($field), *$field)),+]
        }};
    }
    listed!(text, quiet, title, focus, net, net_other, plus, minus, missing, axis, dial, done, warning, key)
}

#[test]
fn every_text_is_read_against_its_ground() {
    for name in [ThemeName::Dark, ThemeName::Daylight] {
        let theme = Theme::named(name);
        for (meaning, style) in styles(theme) {
            let ratio = contrast(style);
            assert!(ratio >= 4.5, "{name:?} {meaning}: {ratio:.2} to 1");
        }
        // what counts now, how things stand, what is looked for
        let [now, state, asked_for] = [theme.net, theme.text, theme.quiet].map(contrast);
        assert!(now > 1.2 * state && state > 1.1 * asked_for, "{name:?}: {now:.1}, {state:.1}, {asked_for:.1}");
    }
    // sixteen colours of the terminal's own: none of ours, no ground but its own, no blue
    for name in [ThemeName::Dark, ThemeName::Daylight] {
        for (meaning, style) in styles(Theme::shown(name, Colours::Sixteen)) {
            assert!(style.bg.is_none() && !style.add_modifier.intersects(Modifier::DIM), "{meaning}");
            let allowed = [None, Some(Color::Green), Some(Color::Magenta), Some(Color::Red)];
            assert!(allowed.contains(&style.fg), "{meaning}: {:?}", style.fg);
        }
    }
    // the terminal's own colours: nothing dimmed, nothing in a colour of ours, no stroke through a sign
    for (meaning, style) in styles(Theme::named(ThemeName::Plain)) {
        assert_eq!((style.fg, style.bg), (None, None), "{meaning}");
    }
    for name in [ThemeName::Dark, ThemeName::Daylight, ThemeName::Plain] {
        for (meaning, style) in styles(Theme::named(name)) {
            let through = style.add_modifier.intersects(Modifier::DIM | Modifier::CROSSED_OUT);
            assert!(!through, "{name:?} {meaning}");
        }
    }
}

#[test]
fn the_theme_for_a_dark_room_gives_no_light_of_the_blue_primary() {
    for (meaning, style) in styles(Theme::named(ThemeName::Dark)) {
        assert_eq!(rgb(style.fg.unwrap())[2], 0, "{meaning}");
        let [_, green, blue] = rgb(style.bg.unwrap());
        assert_eq!((green, blue), (0, 0), "{meaning}: its ground");
    }
}
