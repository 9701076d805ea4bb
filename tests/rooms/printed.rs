//! A frame as colours and as a picture.

use std::num::NonZero;

use dioptray::screen::marks::Mark;
use dioptray::screen::printed::{Recording, ansi, svg, text};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Color, Style};

/// Of every block and pattern of dots, the share of the cell that its rectangles cover is the share that Unicode's chart draws.
#[test]
fn marks_cover_what_their_names_say() {
    let area = |character, cell: (usize, usize)| -> Option<usize> {
        let rects = Mark::of(character)?.rects(cell);
        for (one, a) in rects.iter().enumerate() {
            assert!(a.0 + a.2 <= cell.0 && a.1 + a.3 <= cell.1, "{character} leaves its cell: {a:?}");
            let apart = |b: &(usize, usize, usize, usize)| {
                a.0 + a.2 <= b.0 || b.0 + b.2 <= a.0 || a.1 + a.3 <= b.1 || b.1 + b.3 <= a.1
            };
            assert!(matches!(Mark::of(character), Some(Mark::Lines(_))) || rects[one + 1..].iter().all(apart));
        }
        Some(rects.iter().map(|rect| rect.2 * rect.3).sum())
    };
    let cell = (8, 16);
    for (character, eighths) in [
        ('█', 8),
        ('▀', 4),
        ('▄', 4),
        ('▌', 4),
        ('▐', 4),
        ('▁', 1),
        ('▇', 7),
        ('▏', 1),
        ('▉', 7),
        ('▖', 2),
        ('▗', 2),
        ('▘', 2),
        ('▝', 2),
        ('▚', 4),
        ('▞', 4),
        ('▙', 6),
        ('▛', 6),
        ('▜', 6),
        ('▟', 6),
    ] {
        assert_eq!(area(character, cell), Some(8 * 16 * eighths / 8), "{character}");
    }
    for dots in 0..=255_u32 {
        let braille = char::from_u32(0x2800 + dots).unwrap_or_default();
        assert_eq!(area(braille, (9, 18)), Some(4 * dots.count_ones() as usize), "{braille}");
    }
    // the quarter that is missing is the one that the name leaves out (Unicode, names of U+2599, U+259B, U+259C, U+259F)
    for (character, without) in [('▙', '▝'), ('▛', '▗'), ('▜', '▖'), ('▟', '▘')] {
        let missing = Mark::of(without).map(|mark| mark.rects(cell));
        let there = Mark::of(character).map(|mark| mark.rects(cell)).unwrap_or_default();
        assert!(missing.unwrap_or_default().iter().all(|rect| !there.contains(rect)), "{character}");
    }
}

fn frame() -> Buffer {
    let mut buffer = Buffer::empty(Rect::new(0, 0, 12, 2));
    buffer.set_string(0, 0, "a<b & 右", Style::new().fg(Color::Indexed(196)).bg(Color::Indexed(16)));
    buffer.set_string(0, 1, "▟█ ⠁─", Style::new().fg(Color::Rgb(1, 2, 3)));
    buffer
}

#[test]
fn colours_are_written_as_terminals_read_them() {
    let colours = ansi(&frame());
    // 38;5 and 48;5: one of 256 colours; 38;2: red, green, blue (ISO 8613-6)
    assert!(
        colours.contains("38;5;196") && colours.contains("48;5;16") && colours.contains("38;2;1;2;3"),
        "{colours:?}"
    );
    let mut parser =
        vt100::Parser::new(NonZero::<u16>::MIN.saturating_add(1), NonZero::<u16>::MIN.saturating_add(11), 0);
    parser.process(colours.replace('\n', "\r\n").trim_end().as_bytes());
    let lines = |text: &str| text.lines().map(|line| line.trim_end().to_owned()).collect::<Vec<_>>();
    assert_eq!(lines(&parser.screen().contents()), lines(&text(&frame())));
}

#[test]
fn a_picture_has_all_words_and_every_cell_its_place() {
    let picture = svg(&frame());
    assert!(picture.contains("a&lt;b") && picture.contains(">&amp;<") && picture.contains(">右<"), "{picture}");
    // the wide character stands in cells 6 and 7
    assert!(picture.contains("<text x=\"54\" y=\"14\" textLength=\"18\""), "{picture}");
    assert!(picture.contains("fill=\"#ff0000\"") && picture.contains("fill=\"#010203\""), "{picture}");
    assert!(!picture.contains('█') && !picture.contains('⠁'), "blocks are drawn: {picture}");
}

#[test]
fn a_recording_plays_every_frame_that_differs_in_its_order() -> Result<(), Box<dyn std::error::Error>> {
    let mut second = frame();
    second.set_string(0, 1, "end", Style::new());
    let mut recording = Recording::of(12, 2);
    recording.show(&frame(), false);
    recording.show(&frame(), false);
    recording.show(&second, true);
    let played = recording.played();
    let mut lines = played.lines();
    let head: serde_json::Value = serde_json::from_str(lines.next().ok_or("no head")?)?;
    assert_eq!((&head["version"], &head["width"], &head["height"]), (&2.into(), &12.into(), &2.into()));
    let mut parser =
        vt100::Parser::new(NonZero::<u16>::MIN.saturating_add(1), NonZero::<u16>::MIN.saturating_add(11), 0);
    let mut shown = Vec::new();
    let stands: [f64; 3] = [0.0, 0.8, 1.0];
    for (line, at) in lines.zip(stands) {
        let event: (f64, String, String) = serde_json::from_str(line)?;
        assert!((event.0 - at).abs() < 1e-9 && event.1 == "o", "{line}");
        parser.process(event.2.as_bytes());
        shown.push(parser.screen().contents().lines().last().unwrap_or_default().trim_end().to_owned());
    }
    assert!(!played.lines().nth(2).ok_or("no second frame")?.contains("a<b"), "a row that stays is not sent again");
    assert_eq!(shown, ["▟█ ⠁─", "end⠁─", "end⠁─"]);
    Ok(())
}
