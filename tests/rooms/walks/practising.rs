//! Practice eyes on the screen: led by the guide to the end with the eye answering, and what the screen says of it.

use dioptray::exam::{Exam, Opening, Prescription};
use dioptray::frame::FittedFrame;
use dioptray::frame::shipped::demo_frame;
use dioptray::guide::Question;
use dioptray::kit::Stock;
use dioptray::kit::shipped::full_box;
use dioptray::optics::Eye;
use dioptray::practice::drills::Level;
use dioptray::practice::seat::{Hidden, Seat, Who};
use dioptray::practice::{Care, Law};
use dioptray::screen::keys::strokes::{self, Stroke};
use dioptray::screen::ui::Input;
use dioptray::screen::{App, ScreenStart, Settings};

use super::Failure;
use super::bench::{options, rows_of, session, walk_with};
use crate::pictures::Album;

pub fn seat(level: Level, seed: u64) -> Result<Seat, Failure> {
    Ok(Seat::of(Who::Drawn { level, care: Care::Careful, law: Law::Written, seed })?)
}

pub fn exam(seat: &Seat) -> Result<Exam, Failure> {
    let fitted = FittedFrame::new(demo_frame()?, Stock::of(&full_box()?));
    Ok(Exam::open(Opening { fitted, sitter: Some(seat.sitter()) }))
}

pub fn sat(seat: &Seat) -> Result<App, Failure> {
    Ok(App::new(session(exam(seat)?), Settings::shipped()?))
}

pub fn press(app: &mut App, keys: &str) -> Result<(), Failure> {
    for stroke in strokes::parse(keys)? {
        if let Stroke::Key(chord) = stroke {
            app.handle(&Input::Key(chord));
        }
    }
    Ok(())
}

/// The eye answers by its key until everything is written; what comes next is chosen as is usual.
fn led_to_the_end(app: &mut App) -> Result<u32, Failure> {
    press(app, "g")?;
    for questions in 0..1_000 {
        if app.guide().findings().written {
            return Ok(questions);
        }
        let chooses = matches!(app.guide().presentation().question, Question::Next(_) | Question::Ready);
        press(app, if chooses { "1" } else { "n" })?;
    }
    Err("the guide does not come to an end".into())
}

#[test]
fn an_eye_that_answers_by_its_key_is_refracted_to_what_it_needs() -> Result<(), Failure> {
    for seed in 1..7 {
        let seat = seat(Level::Two, seed)?;
        let mut app = sat(&seat)?;
        led_to_the_end(&mut app)?;
        let prescription = Prescription::of(app.state(), 1);
        for eye in Eye::BOTH {
            let written = prescription.eye(eye).ok_or("nothing is written")?.written.power();
            let off = (written - seat.person.needs()[eye]).m;
            // nine of ten lie within a quarter; none of these eyes is hard
            assert!(off.abs() < 0.75, "seed {seed}, {eye}: off by {off}");
        }
    }
    Ok(())
}

#[test]
fn the_head_says_practice_on_every_page() -> Result<(), Failure> {
    let mut app = sat(&seat(Level::One, 3)?)?;
    for keys in ["", "g", "<esc>Z", "<esc>i", "<esc>e", "<esc>?", "<esc>=", "<esc>d", "<esc>O"] {
        press(&mut app, keys)?;
        let head = rows_of(&app, Eye::Left, 120, 36).remove(0);
        assert!(head.contains("PRACTICE"), "{keys}: {head}");
    }
    Ok(())
}

#[test]
fn what_a_teacher_hides_is_hidden() -> Result<(), Failure> {
    let mut app = sat(&seat(Level::One, 3)?)?;
    press(&mut app, "-1.25<enter>")?;
    let shown = |app: &App| rows_of(app, Eye::Right, 120, 36).join("\n");
    let open = shown(&app);
    let Some(seated) = &mut app.ui.practice else { return Err("nobody sits there".into()) };
    let mut hides = Seat::clone(&seated.seat);
    hides.hidden = Hidden { guide: true, net: true, hints: true, picture: false };
    seated.seat = hides.into();
    let hidden = shown(&app);
    assert!(hidden.contains("net power is hidden") && !open.contains("hidden"), "{hidden}");
    // a lens that is not in the box is said to be missing, and nothing in its place
    press(&mut app, "-4.25<enter>")?;
    let says = app.ui.says.as_ref().map(|says| says.text.clone()).unwrap_or_default();
    assert!(says.contains("-4.25") && !says.contains("makes the same power"), "{says}");
    assert!(app.offers().is_none() && app.ui.instead.is_none());
    press(&mut app, "a")?;
    let says = app.ui.says.as_ref().map(|says| says.text.clone()).unwrap_or_default();
    assert!(says.contains("accepted for the right eye") && !says.contains("1.25"), "{says}");
    let would_show = [("j", "would show it"), ("i", "would show it"), ("=", "would show it")];
    let hidden_keys = [("g", "the guide is hidden"), ("w", "hints are hidden"), ("p", "hints are hidden")];
    for (keys, why) in hidden_keys.into_iter().chain(would_show) {
        press(&mut app, keys)?;
        let says = app.ui.says.as_ref().map(|says| says.text.clone()).unwrap_or_default();
        assert!(says.contains(why), "{keys}: {says}");
    }
    Ok(())
}

#[test]
fn no_box_and_no_day_is_touched() -> Result<(), Failure> {
    let mut app = sat(&seat(Level::One, 3)?)?;
    for keys in ["B", "D"] {
        press(&mut app, keys)?;
        assert!(app.ui.page.is_none(), "{keys}");
        let says = app.ui.says.as_ref().map(|says| says.text.clone()).unwrap_or_default();
        assert!(says.contains("this is practice"), "{keys}: {says}");
    }
    Ok(())
}

#[test]
fn the_page_of_practice_and_an_eye_that_is_led() -> Result<(), Failure> {
    let album = Album::of("practising");
    let begun = || -> Result<ScreenStart, Failure> {
        Ok(ScreenStart { session: session(exam(&seat(Level::Two, 5)?)?), ..options(Settings::shipped()?)? })
    };
    for size in ["120x36", "80x24"] {
        for (name, keys) in [("choices", "Z"), ("led", "g1nnnnnnn")] {
            album.screen(&format!("{name}-{size}"), keys, &walk_with(begun()?, keys, size)?);
        }
        album.screen(&format!("choose-{size}"), "Z", &walk_with(options(Settings::shipped()?)?, "Z", size)?);
        album.screen(&format!("cases-{size}"), "Z4", &walk_with(options(Settings::shipped()?)?, "Z4", size)?);
    }
    Ok(())
}
