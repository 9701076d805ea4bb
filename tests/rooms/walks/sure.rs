//! What a hand may spoil, on the screen; the marks of the frame on the dial; lenses to take out that could be mixed up.

use std::collections::BTreeSet;

use dioptray::exam::{Exam, Opening};
use dioptray::frame::{DeclaredFrame, FittedFrame};
use dioptray::kit::Stock;
use dioptray::optics::Eye;
use dioptray::screen::{App, ScreenStart, Settings};

use super::Failure;
use super::bench::{options, outreach_box, rows_of, session, walk_with};
use super::laws::press;
use crate::pictures::Album;
use crate::plain::four_cells;

/// A screen on a four-cell frame whose dial has marks so many degrees apart.
fn with_marks(axis_marks_deg: u8, settings: &str) -> Result<ScreenStart, Failure> {
    let frame = DeclaredFrame { axis_marks_deg, ..four_cells() };
    let fitted = FittedFrame::new(frame, Stock::of(&outreach_box()?));
    let session = session(Exam::open(Opening::of(fitted)));
    Ok(ScreenStart { session, ..options(Settings::read(settings, "")?)? })
}

fn screen(axis_marks_deg: u8, settings: &str, keys: &str) -> Result<App, Failure> {
    let start = with_marks(axis_marks_deg, settings)?;
    let mut app = App::new(start.session, start.settings);
    press(&mut app, keys)?;
    Ok(app)
}

/// A cylinder of 2.00 D turned by half of 10° leaves 2.00 sin 5° = 0.174 D (IACLE module 3, lecture 3.3, appendix B: 0.17).
#[test]
fn what_a_hand_may_spoil_stands_among_the_facts() -> Result<(), Failure> {
    let album = Album::of("frame");
    let keys = "-4<enter><right><right>-2x30<enter><tab>-10<enter><right>-4.00<enter>";
    for (size, columns, rows) in [("120x36", 120, 36), ("80x24", 80, 24)] {
        let app = screen(10, "", keys)?;
        let text = |app: &App, eye: Eye| rows_of(app, eye, columns, rows).join("\n");
        assert!(text(&app, Eye::Right).contains("0.17 D off by hand: axis of 3"), "{}", text(&app, Eye::Right));
        // −13.7 at 12 mm is −11.8 at the cornea, of which a millimetre spoils F²/1000 (calc)
        assert!(text(&app, Eye::Left).contains("0.14 D"), "{}", text(&app, Eye::Left));
        let finer = screen(5, "", keys)?;
        assert!(!text(&finer, Eye::Right).contains("by hand"), "{}", text(&finer, Eye::Right));
        // 0.12 of the sphere and half of it of the cylinder, and 0.06 across
        let marks = screen(5, "mark_tolerance_d: 0.12", keys)?;
        assert!(text(&marks, Eye::Right).contains("0.21 D off by hand"), "{}", text(&marks, Eye::Right));
        album.screen(&format!("by-hand-{size}"), keys, &walk_with(with_marks(10, "")?, keys, size)?);
    }
    Ok(())
}

/// The words of a frame, without what stands in the column on the right.
fn left_panels(frame: &str, size: &str) -> String {
    let columns = if size == "120x36" { 59 } else { 80 };
    let rows = frame.lines().map(|row| row.chars().take(columns).collect::<String>());
    rows.collect::<Vec<_>>().join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_proposal_says_what_a_hand_may_spoil() -> Result<(), Failure> {
    for size in ["120x36", "80x24"] {
        let keys = "w-4.00/-2.00x30<enter>p";
        let flat = |marks, settings: &str| -> Result<String, Failure> {
            let frame = walk_with(with_marks(marks, settings)?, keys, size)?;
            Ok(left_panels(&frame, size))
        };
        let said = flat(10, "")?;
        let figures = "may be 0.17 D off by hand: axes 0.17, gaps 0.00, marks of lenses not counted";
        // where rows are short, what to do comes before the figures
        assert!(said.contains(figures) || size == "80x24", "{said}");
        assert!(said.contains("set the axis of cell 3 with care: half a mark spoils 0.17 D"), "{said}");
        assert!(!flat(5, "")?.contains("by hand"));
        assert!(flat(5, "mark_tolerance_d: 0.12")?.contains("off by hand: axes 0.09, gaps 0.00, marks 0.1"));
    }
    Ok(())
}

/// The lit dots of the dial before the right eye, from its middle, in parts of its radius.
fn dots(app: &App, (columns, rows): (u16, u16)) -> (Vec<(f64, f64)>, f64) {
    let mut lit = Vec::new();
    for (row, text) in rows_of(app, Eye::Right, columns, rows).iter().enumerate().take(11) {
        for (column, character) in text.chars().enumerate() {
            let bits = u32::from(character).wrapping_sub(0x2800);
            // the eight dots of a braille character, by their bits
            let places = [(0, 0), (0, 1), (0, 2), (1, 0), (1, 1), (1, 2), (0, 3), (1, 3)];
            for (bit, (x, y)) in places.into_iter().enumerate().filter(|_| bits < 0x100) {
                if bits & (1 << bit) != 0 {
                    lit.push(((2 * column + x) as f64, -((4 * row + y) as f64)));
                }
            }
        }
    }
    let middle = |of: fn(&(f64, f64)) -> f64| {
        let (least, most) = lit.iter().map(of).fold((f64::MAX, f64::MIN), |(a, b), at| (a.min(at), b.max(at)));
        (f64::midpoint(least, most), (most - least) / 2.0)
    };
    let ((x, radius), (y, _)) = (middle(|dot| dot.0), middle(|dot| dot.1));
    (lit.into_iter().map(|dot| ((dot.0 - x) / radius, (dot.1 - y) / radius)).collect(), radius)
}

/// At how many places on a circle inside the rim something is lit: neighbours count as one.
fn marks_at(app: &App, size: (u16, u16), share: f64) -> usize {
    let (lit, radius) = dots(app, size);
    let lit: BTreeSet<(i64, i64)> =
        lit.into_iter().map(|(x, y)| ((x * radius * 2.0).round() as i64, (y * radius * 2.0).round() as i64)).collect();
    let is_lit = |tenths: i32| {
        let (sin, cos) = (f64::from(tenths) / 10.0).to_radians().sin_cos();
        // the lattice of dots lies on whole or half dots from the middle
        let near = |at: f64, half: i64| ((at * radius * share * 2.0 - half as f64) / 2.0).round() as i64 * 2 + half;
        let half = |of: fn(&(i64, i64)) -> i64| lit.iter().next().map_or(0, |dot| of(dot).rem_euclid(2));
        lit.contains(&(near(cos, half(|dot| dot.0)), near(sin, half(|dot| dot.1))))
    };
    let around: Vec<bool> = (0..3600).map(is_lit).collect();
    (0..3600).filter(|&at| around[at] && !around[(at + 3599) % 3600]).count()
}

/// ISO 8429 counts the dial in degrees; which marks a frame has is its own, and a screen shows as many as its dots can keep apart.
#[test]
fn the_dial_has_the_marks_of_the_frame_as_far_as_they_can_be_told_apart() -> Result<(), Failure> {
    let album = Album::of("frame");
    let (small, large) = ((80, 24), (160, 50));
    let drawn = |marks: u8, (columns, rows): (u16, u16)| -> Result<Vec<String>, Failure> {
        Ok(rows_of(&screen(marks, "", "")?, Eye::Right, columns, rows))
    };
    // the same marks are drawn where those between them would smear
    assert_eq!(drawn(5, small)?, drawn(15, small)?);
    assert_eq!(drawn(1, small)?, drawn(15, small)?);
    assert_eq!(drawn(10, small)?, drawn(30, small)?);
    assert_ne!(drawn(15, small)?, drawn(30, small)?);
    assert_eq!(drawn(5, large)?, drawn(10, large)?);
    for (one, other) in [(10, 15), (15, 30), (30, 45), (45, 36)] {
        assert_ne!(drawn(one, large)?, drawn(other, large)?, "{one} and {other}");
    }
    for marks in [1, 2, 3, 5, 10, 15, 30, 45] {
        let app = screen(marks, "", "")?;
        for size in [small, large] {
            let places = marks_at(&app, size, 0.90);
            assert!((4..=36).contains(&places), "{marks}° at {size:?}: {places} marks");
        }
        let (places, longer) = (marks_at(&app, large, 0.90), marks_at(&app, large, 0.77));
        assert!((3..=14).contains(&longer), "{marks}°: {longer} longer marks");
        if 30 % marks == 0 && marks < 30 {
            assert!(places > longer, "{marks}°: {places} marks, {longer} longer ones");
        }
        for size in ["120x36", "80x24"] {
            album.screen(&format!("dial-{marks}-{size}"), "", &walk_with(with_marks(marks, "")?, "", size)?);
        }
    }
    Ok(())
}

/// Two lenses with one mark before an eye are told apart by their kind; others by their marks alone.
#[test]
fn a_lens_to_take_out_is_named_with_its_kind_where_two_could_be_mixed_up() -> Result<(), Failure> {
    let cases = [
        (
            "-0.75<enter><right><right>-0.75x180<enter>w-3<enter>p",
            vec!["take the -0.75 sphere from 1", "take the -0.75 cylinder from 3"],
        ),
        ("-0.50<enter><right><right>-0.75x180<enter>w-3<enter>p", vec!["take -0.50 from 1", "take -0.75 from 3"]),
        ("h-0.75<enter><right><right>-0.75x180<enter>w-3<enter>p", vec!["take the -0.75 cylinder from 3"]),
        // what is before the other eye is not mixed up with it
        ("<tab>-0.75<enter><tab><right><right>-0.75x180<enter>w-3<enter>p", vec!["take -0.75 from 3"]),
        // a sphere that goes in while a cylinder of the same mark comes out
        ("<right><right>-0.75x180<enter>w-0.75<enter>p", vec!["take the -0.75 cylinder from 3"]),
    ];
    for (keys, wanted) in cases {
        for size in ["120x36", "80x24"] {
            let frame = walk_with(with_marks(5, "")?, keys, size)?;
            let flat = left_panels(&frame, size);
            for words in &wanted {
                assert!(flat.contains(words), "{words} after {keys}:\n{frame}");
            }
        }
    }
    Ok(())
}

/// The guide names them alike: it takes over what stands there, and takes both out for a weaker power.
#[test]
fn the_guide_names_the_kind_too() -> Result<(), Failure> {
    let mut seen = 0;
    for answers in ["1", "2", "3"] {
        let mut app = screen(5, "", "-0.75<enter><right><right>-0.75x180<enter>gc4")?;
        for _ in 0..6 {
            press(&mut app, answers)?;
            for (columns, rows) in [(120, 36), (80, 24)] {
                let mut buffer = ratatui::buffer::Buffer::empty(ratatui::layout::Rect::new(0, 0, columns, rows));
                let glyphs = dioptray::screen::theme::Glyphs::chosen(app.settings.characters);
                dioptray::screen::view::draw(&app, glyphs, &mut buffer);
                let text: String = buffer.content().iter().map(ratatui::buffer::Cell::symbol).collect();
                let both = app.state().fitted.in_cell(Eye::Right, 1).is_some();
                assert!(!both || !text.contains("take -0.75 from"), "{text}");
                seen += usize::from(text.contains("take the -0.75 sphere from 1"));
            }
        }
    }
    assert!(seen > 0, "the guide never took the sphere out");
    Ok(())
}
