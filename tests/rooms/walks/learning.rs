//! The first exam step by step, and lessons part by part.

use dioptray::exam::{Answer, Exam, Opening, ProcedureName};
use dioptray::frame::FittedFrame;
use dioptray::frame::shipped::demo_frame;
use dioptray::guide::Question;
use dioptray::kit::Stock;
use dioptray::kit::shipped::full_box;
use dioptray::optics::Eye;
use dioptray::practice::seat::{Seat, Who};
use dioptray::screen::keys::strokes::{self, Stroke};
use dioptray::screen::ui::Input;
use dioptray::screen::{App, ScreenStart, Settings};

use super::Failure;
use super::bench::{options, session, walk_with};
use crate::pictures::Album;

fn begun() -> Result<ScreenStart, Failure> {
    let seat = Seat::of(Who::Case { name: "kits/eyes/simple-myope.yaml".into(), seed: 1 })?;
    let fitted = FittedFrame::new(demo_frame()?, Stock::of(&full_box()?));
    let exam = Exam::open(Opening { fitted, sitter: Some(seat.sitter()) });
    Ok(ScreenStart { session: session(exam), learns: true, ..options(Settings::shipped()?)? })
}

fn learning() -> Result<App, Failure> {
    let begun = begun()?;
    let mut app = App::new(begun.session, begun.settings);
    app.ui.learns = Some(0);
    Ok(app)
}

fn press(app: &mut App, keys: &str) -> Result<(), Failure> {
    for stroke in strokes::parse(keys)? {
        if let Stroke::Key(chord) = stroke {
            app.handle(&Input::Key(chord));
        }
    }
    Ok(())
}

#[test]
fn whoever_does_what_is_said_comes_to_the_end_of_the_first_exam() -> Result<(), Failure> {
    let mut app = learning()?;
    // a step, and what is pressed for it
    for (step, keys) in
        [(1, "V"), (2, "VV"), (3, "n"), (4, "-1.00<enter>"), (5, "n"), (6, "h-0.25<enter>"), (7, "fc"), (8, "<esc>g")]
    {
        assert_eq!(app.ui.learns, Some(step - 1), "before {keys}");
        press(&mut app, keys)?;
        assert_eq!(app.ui.learns, Some(step), "after {keys}");
    }
    let chooses = |app: &App| matches!(app.guide().presentation().question, Question::Next(_) | Question::Ready);
    for _ in 0..400 {
        if app.ui.learns != Some(8) && app.ui.learns != Some(9) {
            break;
        }
        let key = if chooses(&app) { "1" } else { "n" };
        press(&mut app, key)?;
    }
    assert_eq!(app.ui.learns, Some(10), "the right eye is done");
    // it offers the left eye, and the prescription by its digit
    let writes = app.guide().presentation().choices.iter().find(|choice| match choice.answer {
        Answer::Go { procedure, .. } => procedure == ProcedureName::Writing,
        _ => false,
    });
    let digit = writes.ok_or("the prescription is not offered")?.digit;
    press(&mut app, &digit.to_string())?;
    for _ in 0..20 {
        if app.guide().findings().written {
            break;
        }
        let key = if chooses(&app) { "1" } else { "n" };
        press(&mut app, key)?;
    }
    assert!(app.state().results.refraction[Eye::Right].is_some(), "it is written down");
    press(&mut app, "<esc>Z2y")?;
    assert_eq!(app.ui.learns, Some(11), "how it went is read");
    press(&mut app, "Z")?;
    press(&mut app, "<enter>")?;
    assert_eq!(app.ui.learns, None, "the first exam is over");
    Ok(())
}

#[test]
fn nothing_else_goes_on_with_a_step_but_the_key_that_skips_it() -> Result<(), Failure> {
    let mut app = learning()?;
    for keys in ["<tab>", "<tab>", "-1.00<enter>", "u", "?", "<esc>", "i", "<esc>"] {
        press(&mut app, keys)?;
        assert_eq!(app.ui.learns, Some(0), "{keys}");
    }
    press(&mut app, "<f9>")?;
    assert_eq!(app.ui.learns, Some(1));
    // whoever ends early is led to how it went
    press(&mut app, "Z2y")?;
    assert_eq!(app.ui.learns, Some(11));
    Ok(())
}

#[test]
fn a_screen_without_room_for_what_is_said_says_so() -> Result<(), Failure> {
    for (size, rows) in [("60x20", Some(25)), ("80x23", Some(24)), ("60x25", None), ("80x24", None)] {
        let screen = walk_with(begun()?, "", size)?;
        assert_eq!(screen.contains("first exam, 1 of 12"), rows.is_none(), "{size}: {screen}");
        let needs = |rows: u16| screen.contains(&format!("the first exam needs {rows} rows"));
        assert!(rows.is_none_or(needs), "{size}: {screen}");
    }
    // at the usual size every step is said whole
    for step in 0..12 {
        let screen = walk_with(begun()?, &"<f9>".repeat(step), "80x24")?;
        assert!(screen.contains(&format!("first exam, {} of 12", step + 1)), "{screen}");
    }
    Ok(())
}

#[test]
fn the_first_exam_and_a_lesson_at_both_sizes() -> Result<(), Failure> {
    let album = Album::of("learning");
    let own = || options(Settings::shipped()?);
    for size in ["120x36", "80x24"] {
        for (name, keys) in [("begins", ""), ("asks", "VVVn"), ("led", "VVVn-1.00<enter>nh-0.25<enter>fc<esc>g")] {
            album.screen(&format!("{name}-{size}"), keys, &walk_with(begun()?, keys, size)?);
        }
        for (name, keys) in [("lessons", "Z7"), ("lesson", "Z71"), ("lesson-goes-on", "Z71<enter>")] {
            album.screen(&format!("{name}-{size}"), keys, &walk_with(own()?, keys, size)?);
        }
    }
    Ok(())
}
