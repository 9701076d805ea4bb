//! The page where it is shown what a practice eye sees: the picture follows what stands there, what is asked and judged is kept.
#![expect(clippy::unwrap_used, reason = "a test may stop")]

use std::rc::Rc;

use dioptray::exam::{Answer, AnsweredBy, AskedByHand, ByHand, Exam, Opening};
use dioptray::frame::FittedFrame;
use dioptray::kit::Stock;
use dioptray::optics::{Acuity, Eye};
use dioptray::practice::seat::{Seat, Who};
use dioptray::screen::printed::{ansi, text};
use dioptray::screen::settings::{Characters, Colours, ThemeName};
use dioptray::screen::theme::Glyphs;
use dioptray::screen::view::sight::words::mirrored;
use dioptray::screen::{App, ScreenStart, Settings, view};
use ratatui::buffer::{Buffer, Cell};
use ratatui::layout::Rect;

use super::Failure;
use super::bench::{options, outreach_box, session, walk_with};
use super::laws::{press, refused};
use crate::pictures::Album;
use crate::plain::four_cells;

/// A screen on a shipped case that sits at the frame.
pub fn case(name: &str, settings: Settings) -> Result<ScreenStart, Failure> {
    let seat = Seat::of(Who::Case { name: format!("kits/eyes/{name}.yaml").into(), seed: 7 })?;
    let fitted = FittedFrame::new(four_cells(), Stock::of(&outreach_box()?));
    let exam = Exam::open(Opening { fitted, sitter: Some(seat.sitter()) });
    Ok(ScreenStart { session: session(exam), ..options(settings)? })
}

/// The case with −1.00/−3.00×40 before the right eye.
fn oblique() -> App {
    let start = case("oblique", Settings::shipped().unwrap()).unwrap();
    App::new(start.session, start.settings)
}

fn drawn(app: &App, (columns, rows): (u16, u16), glyphs: &'static Glyphs) -> Buffer {
    let mut buffer = Buffer::empty(Rect::new(0, 0, columns, rows));
    view::draw(app, glyphs, &mut buffer);
    buffer
}

fn in_half_blocks(app: &App) -> Buffer {
    drawn(app, (80, 24), Glyphs::chosen(Characters::Unicode))
}

fn asked(app: &App) -> Vec<AskedByHand> {
    app.state().practised.clone().unwrap().asked
}

#[test]
fn pages_of_sight() -> Result<(), Failure> {
    let album = Album::of("sight");
    for (name, keys) in [
        ("1-fan", "-1.50<enter>V"),
        ("2-fan-asked", "-1.50<enter>Vn3"),
        ("3-rings-with-lens", "-1.50<enter>VVh-0.50<enter>nc"),
        ("4-rings-lens-away", "-1.50<enter>VVh-0.50<enter>ncf"),
        ("5-letters-with-cylinder", "-1.00<enter>-2.00x40<enter>VVV<down><down><enter>"),
        ("6-streak", "+0.50<enter>VVVV<right><right>2{{1n"),
        ("7-covered", "Vo"),
    ] {
        for size in ["120x36", "80x24"] {
            let frame = walk_with(case("oblique", Settings::shipped()?)?, keys, size)?;
            album.screen(&format!("page-{name}-{size}"), keys, &frame);
        }
    }
    for (name, characters, colours) in
        [("ascii", Characters::Ascii, Colours::Many), ("mixed", Characters::Auto, Colours::All)]
    {
        for (size, at) in [("80x24", (80, 24)), ("120x36", (120, 36))] {
            let settings = Settings { characters, colours, theme: ThemeName::Daylight, ..Settings::shipped()? };
            let start = case("oblique", settings)?;
            let mut app = App::new(start.session, start.settings);
            press(&mut app, "-1.50<enter>V")?;
            let buffer = drawn(&app, at, Glyphs::chosen(characters));
            let shown = if name == "ascii" { text(&buffer) } else { ansi(&buffer) };
            album.text(&format!("page-{name}-{size}"), &shown);
        }
    }
    Ok(())
}

/// What stands right of the eye: the picture with its headings.
fn picture(app: &App) -> Vec<Cell> {
    let buffer = in_half_blocks(app);
    buffer.content().chunks(80).skip(1).take(21).flat_map(|row| row[40..].to_vec()).collect()
}

#[test]
fn a_flick_of_the_lens_changes_the_picture_and_back_exactly() -> Result<(), Failure> {
    let mut before = oblique();
    press(&mut before, "-1.50<enter>VV")?;
    let mut app = oblique();
    press(&mut app, "-1.50<enter>VVh-0.50<enter>")?;
    let with = picture(&app);
    press(&mut app, "f")?;
    let without = picture(&app);
    assert_ne!(with, without);
    press(&mut app, "f")?;
    assert_eq!(with, picture(&app));
    // without it the eye sees what it saw before the lens was held
    press(&mut app, "fl")?;
    assert!(!app.ui.sight.is_away);
    assert_eq!(picture(&app), picture(&before));
    // below the heading, which says that it is away
    assert_eq!(without[40..], picture(&before)[40..]);
    // a flick is nothing that happens in the exam
    assert_eq!(app.exam().standing_steps().len(), 3);
    Ok(())
}

#[test]
fn a_flick_flips_a_cross_cylinder() -> Result<(), Failure> {
    let mut app = oblique();
    press(&mut app, "VVh+-0.25x40<enter>")?;
    assert!(app.state().fitted.held(Eye::Right).is_some(), "{:?}", app.ui.says);
    let degrees = |app: &App| app.state().fitted.held(Eye::Right).unwrap().direction.degrees().unwrap();
    let before = degrees(&app);
    press(&mut app, "f")?;
    assert_eq!((degrees(&app) + 90) % 180, before % 180);
    press(&mut app, "c3")?;
    let asked = asked(&app);
    assert_eq!(asked.len(), 2);
    assert!(asked.iter().all(|asked| asked.question == ByHand::CrossCylinder));
    assert!(asked[0].answer.prefers_first().is_some() || asked[0].answer == Answer::Same);
    assert_eq!(asked[1].answer, Answer::Same);
    Ok(())
}

#[test]
fn what_is_asked_and_judged_is_kept_and_taken_back() -> Result<(), Failure> {
    let mut app = oblique();
    press(&mut app, "V3")?;
    let of_student =
        |question, answer| AskedByHand { eye: Some(Eye::Right), question, answer, by: AnsweredBy::TheStudent };
    assert_eq!(asked(&app), [of_student(ByHand::Fan, Answer::HalfHours(6))]);
    // two side by side: then the lower hour of them
    press(&mut app, "72")?;
    assert_eq!(asked(&app)[1], of_student(ByHand::Fan, Answer::HalfHours(5)));
    press(&mut app, "8")?;
    assert_eq!(asked(&app)[2], of_student(ByHand::Fan, Answer::Same));
    press(&mut app, "n")?;
    assert_eq!((asked(&app)[3].by, asked(&app)[3].question), (AnsweredBy::TheEye, ByHand::Fan));
    press(&mut app, "uu")?;
    assert_eq!(asked(&app).len(), 2);
    press(&mut app, "V<down><enter>")?;
    assert_eq!(asked(&app)[2], of_student(ByHand::Letters, Answer::Read(Acuity::of_6_m(9.0))));
    // nothing can be compared without a lens in the hand, and a digit begins no lens
    press(&mut app, "1")?;
    assert!(refused(&app).is_some() && app.ui.prompt.is_none());
    assert_eq!(asked(&app).len(), 3);
    press(&mut app, "h+0.50<enter>1cVV<tab>4n")?;
    let last = &asked(&app)[3..];
    assert_eq!(last[0], of_student(ByHand::WithLens, Answer::Clearer));
    assert_eq!((last[1].by, last[1].question), (AnsweredBy::TheEye, ByHand::WithLens));
    let along = ByHand::Reflex { along: 0 };
    assert_eq!(last[2], AskedByHand { eye: Some(Eye::Left), ..of_student(along, Answer::Against { dull: true }) });
    assert_eq!((last[3].by, last[3].question), (AnsweredBy::TheEye, along));
    Ok(())
}

#[test]
fn an_eye_that_is_covered_sees_nothing_and_a_person_has_no_picture() -> Result<(), Failure> {
    let mut app = oblique();
    press(&mut app, "Von")?;
    assert!(refused(&app).unwrap().contains("covered"), "{:?}", app.ui.says);
    assert!(asked(&app).is_empty());
    let start = options(Settings::shipped()?)?;
    let mut of_person = App::new(start.session, start.settings);
    press(&mut of_person, "V")?;
    assert_eq!(of_person.ui.page, None);
    Ok(())
}

#[test]
fn a_picture_that_the_teacher_hides_is_not_drawn() -> Result<(), Failure> {
    let mut app = oblique();
    Rc::make_mut(&mut app.ui.practice.as_mut().unwrap().seat).hidden.picture = true;
    press(&mut app, "V")?;
    for _ in 0..4 {
        assert!(text(&in_half_blocks(&app)).contains("your teacher has hidden the picture"));
        assert!(picture(&app).iter().all(|cell| cell.symbol() != "▀"));
        press(&mut app, "V")?;
    }
    Ok(())
}

/// The rule of 30 (a common rule of refraction: thirty times the lower clock hour of the clearest line is the minus axis).
#[test]
fn the_sentence_that_mirrors_agrees_with_the_rule_of_30() {
    let said = mirrored(Some(2));
    assert_eq!(
        said,
        "1 to 7 for the person is the line at 120 on your dial, and the minus axis lies at right angles, at 30."
    );
    for hour in 1..=6_u8 {
        let said = mirrored(Some(2 * hour));
        assert!(said.ends_with(&format!("at right angles, at {}.", 30 * u16::from(hour))), "{said}");
    }
    assert_eq!(
        mirrored(Some(13)),
        "Between 6 and 7 for the person is the line at 105 on your dial, and the minus axis lies at right angles, at 15."
    );
}

#[test]
fn the_streak_is_turned_swept_and_moved_away_and_the_picture_follows() -> Result<(), Failure> {
    let mut app = oblique();
    press(&mut app, "VVVV")?;
    assert!(app.ui.sight.streak().lies_deg == 90.0 && app.ui.sight.sweeps_along().degrees() == 180);
    let mut pictures = vec![in_half_blocks(&app)];
    for key in ["<right>", "]", "}", "{", "[", "s", "d", "d", "d", "<left>"] {
        press(&mut app, key)?;
        pictures.push(in_half_blocks(&app));
    }
    for pair in pictures.windows(2) {
        assert_ne!(pair[0], pair[1]);
    }
    press(&mut app, "{{]")?;
    assert_eq!(app.ui.sight.streak().lies_deg, 35.0);
    press(&mut app, "}}}}]]]]]")?;
    assert_eq!(app.ui.sight.streak().lies_deg, 180.0, "35 + 120 + 25");
    assert_eq!(app.state().person.working_metres, Some(2.0 / 3.0));
    // where the examiner sits is a fact of the exam
    press(&mut app, "duuu")?;
    assert_eq!(app.state().person.working_metres, Some(0.5));
    Ok(())
}
