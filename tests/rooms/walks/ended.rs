//! The end of an exam of a practice eye on the screen: what is said of it, in order, and the step that is replayed.

use dioptray::guide::Question;
use dioptray::practice::drills::Level;
use dioptray::practice::feedback::harms::Harm;
use dioptray::screen::practice_page::PracticePage;
use dioptray::screen::{App, ScreenStart, Settings};

use super::Failure;
use super::bench::{options, session, walk_with};
use super::practising::{exam, press, sat, seat};
use crate::pictures::Album;

/// Ends the exam of the eye that sits there.
const DONE: &str = "<esc><esc>Cy";

/// The right eye is given far too much minus, one lens after the other; nobody refracts the left one.
const BY_HAND: &str = "-1.00<enter><down>-0.50<enter><down>-1.25<enter>a";

/// The keys with which the eye answers until everything is written.
fn led_keys(level: Level, seed: u64) -> Result<String, Failure> {
    let mut app = sat(&seat(level, seed)?)?;
    let mut keys = "g".to_owned();
    press(&mut app, &keys)?;
    while !app.guide().findings().written {
        let chooses = matches!(app.guide().presentation().question, Question::Next(_) | Question::Ready);
        let key = if chooses { "1" } else { "z" };
        press(&mut app, key)?;
        keys.push_str(key);
        assert!(keys.len() < 1_000, "the guide does not come to an end");
    }
    Ok(keys)
}

fn after(level: Level, seed: u64, keys: &str) -> Result<App, Failure> {
    let mut app = sat(&seat(level, seed)?)?;
    press(&mut app, keys)?;
    Ok(app)
}

#[test]
fn how_it_went_is_said_at_the_end_and_the_step_replayed() -> Result<(), Failure> {
    let album = Album::of("practising");
    let led = led_keys(Level::Two, 5)?;
    let walks = [
        ("ended-led", 5, format!("{led}{DONE}")),
        ("ended-by-hand", 3, format!("{BY_HAND}{DONE}")),
        ("ended-by-hand-below", 3, format!("{BY_HAND}{DONE}<pagedown>")),
        ("ended-replayed", 3, format!("{BY_HAND}{DONE}r")),
        ("ended-choices", 3, format!("{BY_HAND}{DONE}<enter>")),
    ];
    for (name, seed, keys) in walks {
        for size in ["120x36", "80x24"] {
            let session = session(exam(&seat(Level::Two, seed)?)?);
            let begun = ScreenStart { session, ..options(Settings::shipped()?)? };
            album.screen(&format!("{name}-{size}"), &keys, &walk_with(begun, &keys, size)?);
        }
    }
    Ok(())
}

#[test]
fn the_page_scrolls_no_further_than_it_goes_and_leads_back() -> Result<(), Failure> {
    let mut app = after(Level::Two, 3, &format!("{BY_HAND}{DONE}"))?;
    app.page_rows.set(10);
    let top = |app: &App| app.ui.practice_page().and_then(PracticePage::ended).map(|ended| ended.top);
    assert_eq!(top(&app), Some(0));
    press(&mut app, "<down><down>")?;
    assert_eq!(top(&app), Some(2));
    for _ in 0..40 {
        press(&mut app, "<pagedown>")?;
    }
    let ended = app.ui.practice_page().and_then(PracticePage::ended).ok_or("nothing is said")?;
    let lines = ended.lines(app.ui.form, app.settings.acuity).len();
    assert_eq!(ended.top, lines - 10, "the last line stands at the foot");
    press(&mut app, "r")?;
    let replays = |app: &App| app.ui.practice_page().and_then(PracticePage::ended).map(|ended| ended.replays);
    assert_eq!(replays(&app), Some(true));
    press(&mut app, "<esc>")?;
    assert_eq!(replays(&app), Some(false));
    press(&mut app, "<esc>")?;
    assert!(app.ui.practice_page().is_some_and(|page| page.ended().is_none()), "the choices");
    press(&mut app, "2")?;
    assert_eq!(top(&app), Some(0), "and how it went again");
    Ok(())
}

#[test]
fn nothing_is_said_of_several_eyes_before_the_last_of_an_exam() -> Result<(), Failure> {
    let mut app = sat(&seat(Level::Two, 3)?)?;
    let Some(seated) = &mut app.ui.practice else { return Err("nobody sits there".into()) };
    let mut in_exam = (*seated.seat).clone();
    (in_exam.is_exam, in_exam.number, in_exam.of) = (true, 1, 3);
    seated.seat = in_exam.into();
    press(&mut app, &format!("{BY_HAND}{DONE}"))?;
    assert!(app.ui.practice_page().is_some_and(|page| page.ended().is_none()));
    press(&mut app, "2")?;
    assert!(app.ui.practice_page().is_some_and(|page| page.ended().is_none()));
    Ok(())
}

#[test]
fn what_was_done_by_hand_is_called_by_its_harm() -> Result<(), Failure> {
    let app = after(Level::Two, 3, &format!("{BY_HAND}{DONE}"))?;
    let ended = app.ui.practice_page().and_then(PracticePage::ended).ok_or("nothing is said")?;
    let over_minus = ended.feedback.harms.iter().any(|harm| matches!(harm, Harm::OverMinus { .. }));
    assert!(over_minus, "{:?}", ended.feedback.harms);
    assert!(ended.feedback.eyes.left.off.is_none(), "nobody refracted the left eye");
    assert!(ended.feedback.cost.guide.is_some_and(|guide| guide.presentations > 0));
    Ok(())
}
