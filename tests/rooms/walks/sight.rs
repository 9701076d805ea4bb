//! What an eye sees and the light in its pupil, drawn: in half blocks, in ten levels of ASCII, and in which tones.
#![expect(clippy::unwrap_used, clippy::panic, reason = "a test may stop")]

use dioptray::optics::{Dioptres, Eye, Eyes, Power, SpheroCylinder};
use dioptray::practice::draws::Draws;
use dioptray::practice::examinee::ReflexSeen;
use dioptray::practice::picture::patch::Patch;
use dioptray::practice::picture::raster::Field;
use dioptray::practice::picture::readable::patch_of_look;
use dioptray::practice::picture::reflex::{PUPIL_MM, Streak, missing_at_retinoscope, reflex};
use dioptray::practice::picture::targets::Optotype;
use dioptray::practice::sight::{Condition, Look, PracticeEye};
use dioptray::practice::{Care, Examinee, Law, Person};
use dioptray::screen::printed::{ansi, text};
use dioptray::screen::ramp::Ramp;
use dioptray::screen::settings::{Colours, ThemeName};
use dioptray::screen::theme::{Glyphs, Theme};
use dioptray::screen::view::pen::{Hits, Pen};
use dioptray::screen::view::sight::{fan, letters, pupil};
use dioptray::screen::{App, Settings};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Color;

use super::bench::options;
use crate::pictures::Album;

/// The room for a picture on a screen of 80x24 and of 120x36.
const ROOMS: [(&str, u16, u16); 2] = [("80x24", 46, 20), ("120x36", 72, 32)];

fn app(theme: ThemeName, colours: Colours) -> App {
    let start = options(Settings { theme, colours, ..Settings::shipped().unwrap() }).unwrap();
    App::new(start.session, start.settings)
}

fn drawn(app: &App, glyphs: &'static Glyphs, (columns, rows): (u16, u16), draw: impl Fn(&mut Pen<'_>, Rect)) -> Buffer {
    let area = Rect::new(0, 0, columns, rows);
    let mut buffer = Buffer::empty(area);
    let theme = Theme::shown(app.ui.theme, app.settings.colours);
    buffer.set_style(area, theme.text);
    draw(&mut Pen { buffer: &mut buffer, theme, glyphs, hits: Hits::default() }, area);
    buffer
}

/// An eye of 34 that reads 6/5 at best.
fn eye(sphere: f64, cylinder: f64, axis: f64) -> PracticeEye {
    let needs = SpheroCylinder { sphere, cylinder, axis }.power();
    PracticeEye {
        needs,
        best_log_mar: -0.079_181_246_047_624_83,
        pupil: 1.0,
        accommodation: 1.0,
        age_years: 34.0,
        law: Law::Written,
    }
}

fn blur(eye: &PracticeEye, before: Power) -> Patch {
    patch_of_look(eye, &Look::at_chart(before, 6.0), Condition::default())
}

/// The fan and the lines of −1.00/−1.50×30 with −1.25 before it, the pupil of +1.50/−1.50×30 with +1.75 before it.
#[test]
fn pictures_of_sight_in_half_blocks_and_in_ascii() {
    let album = Album::of("sight");
    let blur = blur(&eye(-1.0, -1.5, 30.0), SpheroCylinder { sphere: -1.25, cylinder: 0.0, axis: 180.0 }.power());
    let line = |title: &str, denominator: f64, is_asked: bool| letters::Line {
        title: title.to_owned(),
        is_asked,
        stroke_minutes: denominator / 6.0,
        signs: [90.0, 0.0, 180.0, 270.0, 90.0].map(|gap_deg| Optotype::Ring { gap_deg }).to_vec(),
    };
    let lines = [line("6/12", 12.0, false), line("6/9", 9.0, true), line("6/6", 6.0, false)];
    let missing = SpheroCylinder { sphere: 1.5 + 1.5 - 1.75, cylinder: -1.5, axis: 30.0 }.power();
    let streak = Streak { lies_deg: 90.0, swept_mm: 1.0, width_mm: 2.0 };
    let swept = pupil::Swept { missing, streak, metres: 1.0 / 1.5 };
    for (size, columns, rows) in ROOMS {
        for (kind, glyphs, colours) in [
            ("ascii", Glyphs::chosen(dioptray::screen::settings::Characters::Ascii), Colours::Many),
            ("256", Glyphs::chosen(dioptray::screen::settings::Characters::Unicode), Colours::Many),
        ] {
            let app = app(ThemeName::Dark, colours);
            let show = |name: &str, draw: &dyn Fn(&mut Pen<'_>, Rect)| {
                let buffer = drawn(&app, glyphs, (columns, rows), draw);
                let shown = if kind == "ascii" { text(&buffer) } else { ansi(&buffer) };
                album.text(&format!("{name}-{kind}-{size}"), &shown);
            };
            show("fan", &|pen, area| fan::draw(pen, area, &app, blur));
            show("letters", &|pen, area| letters::draw(pen, area, &app, &lines, blur));
            show("pupil", &|pen, area| pupil::draw(pen, area, &app, swept));
        }
    }
}

/// A colour of a terminal as red, green and blue: those of the cube and the greys as xterm numbers them (xterm,
/// *256colres.h*: common practice).
fn rgb(colour: Color) -> [u8; 3] {
    let step = |level: u8| if level == 0 { 0 } else { 55 + 40 * level };
    match colour {
        Color::Rgb(red, green, blue) => [red, green, blue],
        Color::Indexed(index @ 232..) => [8 + 10 * (index - 232); 3],
        Color::Indexed(index) => [step((index - 16) / 36), step((index - 16) / 6 % 6), step((index - 16) % 6)],
        named => panic!("{named:?} is the terminal's own"),
    }
}

#[test]
fn more_ink_is_never_nearer_to_the_ground_and_a_dark_room_gets_no_blue() {
    let light = |colour: Color| {
        let [red, green, blue] = rgb(colour).map(f64::from);
        0.2126 * red + 0.7152 * green + 0.0722 * blue
    };
    for colours in [Colours::Many, Colours::All] {
        for (theme, towards_light, ramp) in [
            (ThemeName::Dark, true, Ramp::of_ink(ThemeName::Dark, colours)),
            (ThemeName::Dark, true, Ramp::of_light(ThemeName::Dark, colours)),
            (ThemeName::Daylight, false, Ramp::of_ink(ThemeName::Daylight, colours)),
            (ThemeName::Daylight, true, Ramp::of_light(ThemeName::Daylight, colours)),
        ] {
            let ramp = ramp.unwrap();
            let tones: Vec<Color> = (0..=100).map(|level| ramp.colour(f64::from(level) / 100.0)).collect();
            for pair in tones.windows(2) {
                let more = light(pair[1]) - light(pair[0]);
                assert!(if towards_light { more >= 0.0 } else { more <= 0.0 }, "{theme:?} {colours:?}: {pair:?}");
            }
            let mut different = tones.clone();
            different.dedup();
            assert!(different.len() >= 10, "{theme:?} {colours:?}: {} tones", different.len());
            if theme == ThemeName::Dark {
                assert!(tones.iter().all(|tone| rgb(*tone)[2] == 0), "{colours:?}");
            }
        }
    }
    for theme in [ThemeName::Dark, ThemeName::Daylight, ThemeName::Plain] {
        assert_eq!(Ramp::of_ink(theme, Colours::Sixteen), None);
    }
    assert_eq!(Ramp::of_ink(ThemeName::Plain, Colours::All), None);
}

/// How the light moves in a picture: what of it lies within the pupil with the streak on either side of its middle, as an
/// examiner would name it, by sums of ours over the finished picture.
#[test]
fn the_light_in_the_picture_moves_as_an_examiner_names_it() {
    const PIXELS: usize = 121;
    let metres = 2.0 / 3.0;
    let mut seen = std::collections::BTreeMap::<&str, u32>::new();
    for (sphere, cylinder, axis) in [(0.0, 0.0, 180.0), (1.0, -1.0, 180.0), (0.5, -2.0, 30.0), (-1.0, -3.0, 100.0)] {
        let needs = SpheroCylinder { sphere, cylinder, axis }.power();
        let mut person = Person::of_needs(Eyes::both(needs), 30, (Care::Typical, Law::Written), None, 1);
        person.traits.reflex_d = 0.0;
        let mut examinee = Examinee::new(person.clone(), Draws::new(1, 1));
        for quarter in -16..=16 {
            let before = Power::sphere(Dioptres(1.5 + sphere + 0.25 * f64::from(quarter)));
            let missing = missing_at_retinoscope(&person.eyes[Eye::Right], before, metres);
            for meridian_deg in [180.0_f64, 30.0, 45.0, 100.0, 120.0] {
                let lies_deg = meridian_deg + 90.0;
                let normal = (lies_deg - 90.0).to_radians();
                let (across, along) = ([normal.cos(), normal.sin()], [-normal.sin(), normal.cos()]);
                // within the pupil, away from its rim: how much is lit, and where that lies across and along the streak
                let lit = |swept_mm: f64| {
                    let streak = Streak { lies_deg, swept_mm, width_mm: 2.0 };
                    let grid = reflex(PIXELS, PIXELS, missing, streak, metres);
                    let field = Field::around(PIXELS, PIXELS, 1.7 * PUPIL_MM);
                    let mut sums = [0.0; 6];
                    for row in 0..PIXELS {
                        for column in 0..PIXELS {
                            let [x, y] = field.place(column, row);
                            if x.hypot(y) > 0.9 * PUPIL_MM / 2.0 {
                                continue;
                            }
                            let level = grid.level(column, row);
                            let (u, v) = (x * across[0] + y * across[1], x * along[0] + y * along[1]);
                            let parts = [level, level * u, level * u * v, level * v * v, level * u * u, 1.0];
                            sums.iter_mut().zip(parts).for_each(|(sum, part)| *sum += part);
                        }
                    }
                    sums
                };
                let (middle, [right, left]) = (lit(0.0), [lit(0.4), lit(-0.4)]);
                let moved = right[1] / right[0] - left[1] / left[0];
                // how far the longer way of what is lit lies off the streak
                let leans_deg = (0.5 * (2.0 * middle[2]).atan2(middle[3] - middle[4])).to_degrees().abs();
                match examinee.shows_reflex(Eye::Right, before, meridian_deg, metres) {
                    ReflexSeen::With { dull } => {
                        assert!(moved > 0.0, "with: {moved}");
                        *seen.entry(if dull { "with, dull" } else { "with" }).or_default() += 1;
                    }
                    ReflexSeen::Against { dull } => {
                        assert!(moved < 0.0, "against: {moved}");
                        *seen.entry(if dull { "against, dull" } else { "against" }).or_default() += 1;
                    }
                    ReflexSeen::Neutral => {
                        assert!(middle[0] > 0.9 * middle[5], "{before:?} along {meridian_deg}: not filled");
                        *seen.entry("neutral").or_default() += 1;
                    }
                    ReflexSeen::Breaks => {
                        assert!(leans_deg > 12.0, "{before:?} along {meridian_deg}: leans by {leans_deg} degrees");
                        *seen.entry("breaks").or_default() += 1;
                    }
                }
            }
        }
    }
    assert!(seen.len() == 6 && seen.values().all(|&times| times >= 4), "{seen:?}");
}
