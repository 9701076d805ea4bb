//! A day on the screen.

use dioptray::day::PersonState;
use dioptray::exam::screening_pass::{ScreeningFault, ScreeningStep, next_step};
use dioptray::exam::{Complaint, Detail, Outcome};
use dioptray::optics::Eye;
use dioptray::screen::field::{Field, rows};
use dioptray::screen::{App, Settings};

use super::bench::options;
use super::laws::{press, refused};
use super::{Failure, pictures};
use crate::pictures::Album;

const BEGIN: &str = "Db School at Ford<enter>";
const THREE: &str = "a5B-1 8<enter>a5B-2 9<enter>a5B-3 9<enter>";

#[test]
fn a_day_is_begun_and_its_list_filled() -> Result<(), Failure> {
    let album = Album::of("day");
    pictures(&album, "1-none", "D")?;
    pictures(&album, "2-begun", BEGIN)?;
    pictures(&album, "3-waiting", &format!("{BEGIN}{THREE}"))?;
    pictures(&album, "4-next-person", &format!("{BEGIN}N"))
}

#[test]
fn a_screening_pass_is_led() -> Result<(), Failure> {
    let album = Album::of("day");
    let called = format!("{BEGIN}{THREE}<enter>Ds");
    pictures(&album, "5-screening-reads", &called)?;
    pictures(&album, "6-screening-plus", &format!("{called}77"))?;
    pictures(&album, "7-screening-near", &format!("{called}7722"))?;
    pictures(&album, "8-screening-passes", &format!("{called}77221"))?;
    pictures(&album, "9-screening-fails", &format!("{called}4"))?;
    pictures(&album, "10-screened", &format!("{called}77221<enter>"))
}

#[test]
fn an_outcome_is_chosen() -> Result<(), Failure> {
    let album = Album::of("day");
    let called = format!("{BEGIN}{THREE}<enter>O");
    pictures(&album, "11-outcome", &called)?;
    pictures(&album, "12-refer-how-soon", &format!("{called}4a white pupil<enter>"))?;
    pictures(&album, "13-referred", &format!("{called}4a white pupil<enter>1<enter>"))?;
    pictures(&album, "14-come-back", &format!("{called}5"))?;
    pictures(&album, "15-drops", &format!("{BEGIN}{THREE}<enter>Ddcyclopentolate 60<enter>D<down><enter>D"))
}

pub fn app() -> Result<App, Failure> {
    let start = options(Settings::shipped()?)?;
    Ok(App::new(start.session, start.settings))
}

fn states(app: &mut App) -> Result<Vec<PersonState>, Failure> {
    let now = app.session.day()?.ok_or("no day")?;
    Ok(now.lines.iter().map(|line| line.state).collect())
}

#[test]
fn who_passes_takes_at_most_twelve_keys() -> Result<(), Failure> {
    let mut app = app()?;
    press(&mut app, BEGIN)?;
    // from next person to next person, label and age among them: a label of two digits, an age of one or two
    let passer = "N12 9<enter>77221<enter>";
    let keys = |keys: &str| keys.replace("<enter>", "!").len();
    // the pass is begun with the first person, and with everybody after
    press(&mut app, "N12 9<enter>Ds77221<enter>")?;
    press(&mut app, passer)?;
    assert_eq!(states(&mut app)?, [PersonState::Done, PersonState::Done]);
    let now = app.session.day()?.ok_or("no day")?;
    assert_eq!(now.lines[0].label.as_deref(), Some("12"));
    assert_eq!(now.lines[0].outcome, Some(Outcome::NoGlasses));
    assert_eq!(keys(passer), 12);
    Ok(())
}

#[test]
fn what_is_set_once_holds_for_everybody_and_what_was_entered_is_in_the_exam() -> Result<(), Failure> {
    let mut app = app()?;
    press(&mut app, "i")?;
    app.session.take(vec![
        dioptray::exam::Event::Detail(Detail::ChartMetres(3.0)),
        dioptray::exam::Event::Detail(Detail::NearMetres(0.35)),
    ])?;
    press(&mut app, "<esc>")?;
    press(&mut app, BEGIN)?;
    press(&mut app, THREE)?;
    for (age, label) in [(8, "5B-1"), (9, "5B-2"), (9, "5B-3")] {
        press(&mut app, "<enter>")?;
        let person = &app.state().person;
        assert_eq!((person.age_years, person.label.as_deref()), (Some(age), Some(label)));
        assert_eq!((person.chart_metres, person.near_metres), (Some(3.0), Some(0.35)));
        press(&mut app, "O1<enter>")?;
        assert_eq!(refused(&app), None);
    }
    assert_eq!(states(&mut app)?, [PersonState::Done; 3]);
    Ok(())
}

#[test]
fn who_waits_goes_on_where_the_exam_stood_and_takes_no_lens_from_the_next() -> Result<(), Failure> {
    let mut app = app()?;
    press(&mut app, BEGIN)?;
    press(&mut app, THREE)?;
    press(&mut app, "<enter>-2<enter>D")?;
    assert!(states(&mut app)?[0] == PersonState::InExam);
    press(&mut app, "<enter>")?;
    // the lens that stood before the first is back in the box, and can be taken
    press(&mut app, "-2<enter>")?;
    assert_eq!(refused(&app), None);
    assert_eq!(app.state().person.label.as_deref(), Some("5B-2"));
    press(&mut app, "D<up><up><enter>")?;
    assert_eq!(refused(&app), None);
    assert_eq!(app.state().person.label.as_deref(), Some("5B-1"));
    assert!(app.state().fitted.in_front_of(Eye::Right).net.m.abs() < 1e-9);
    // the step by which it was emptied can be taken back like any other
    press(&mut app, "u")?;
    assert!((app.state().fitted.in_front_of(Eye::Right).net.m + 2.0).abs() < 0.2);
    Ok(())
}

#[test]
fn nothing_of_a_day_is_done_without_one() -> Result<(), Failure> {
    let mut app = app()?;
    for key in ["D<enter>", "DN", "Da", "Dw", "Dx"] {
        press(&mut app, key)?;
        assert!(app.session.day()?.is_none(), "{key}");
        press(&mut app, "<esc><esc>")?;
    }
    // an outcome needs no day
    press(&mut app, "O2")?;
    assert_eq!(app.state().outcome, Some(Outcome::Glasses));
    press(&mut app, "<enter>")?;
    assert!(app.state().finished);
    Ok(())
}

#[test]
fn a_setting_that_is_changed_in_an_exam_holds_for_everybody_where_that_is_said() -> Result<(), Failure> {
    let mut app = app()?;
    press(&mut app, BEGIN)?;
    press(&mut app, THREE)?;
    let chart = rows().position(|row| row.field(Eye::Right) == Field::Chart).ok_or("no such row")?;
    press(&mut app, &format!("<enter>i{}", "<down>".repeat(chart)))?;
    press(&mut app, "4<enter>")?;
    assert_eq!(app.state().person.chart_metres, Some(4.0));
    assert!(app.ui.asks.is_some());
    press(&mut app, "n<esc>D<enter>")?;
    assert_eq!(app.state().person.chart_metres, None, "it held for one alone");
    press(&mut app, &format!("i{}4<enter>y<esc>D<enter>", "<down>".repeat(chart)))?;
    assert_eq!(refused(&app), None);
    assert_eq!(app.state().person.chart_metres, Some(4.0));
    Ok(())
}

#[test]
fn drops_are_of_both_eyes_or_of_the_one_that_is_named() -> Result<(), Failure> {
    let mut app = app()?;
    press(&mut app, &format!("{BEGIN}{THREE}<enter>"))?;
    for (typed, eye) in [("cyclopentolate 60", None), ("cyclopentolate 1 60 LEFT", Some(Eye::Left))] {
        press(&mut app, &format!("Dd{typed}<enter>"))?;
        let put = app.state().person.drops_put.last().ok_or("nothing was noted")?;
        assert_eq!((put.eye, put.ready_after_min), (eye, 60), "{typed}");
    }
    // a time that is set need not be typed
    press(&mut app, "DdTropicamide left<enter>")?;
    let put = app.state().person.drops_put.last().ok_or("nothing was noted")?;
    assert_eq!((put.eye, put.ready_after_min), (Some(Eye::Left), 45));
    press(&mut app, "<esc>Ddcyclopentolate<enter>")?;
    assert!(refused(&app).is_some_and(|why| why.contains("after how many minutes")));
    assert_eq!(app.state().person.drops_put.len(), 3);
    Ok(())
}

#[test]
fn the_line_of_a_screening_pass_is_set() -> Result<(), Failure> {
    for (line, fails) in [("6/9", true), ("6/12", false)] {
        let start = options(Settings::read(&format!("screening_line: {line}\n"), "")?)?;
        let mut app = App::new(start.session, start.settings);
        // both eyes read 6/12
        press(&mut app, &format!("{BEGIN}{THREE}<enter>Ds<enter>6/12<enter>"))?;
        let step = next_step(app.state(), app.settings.screening_line);
        assert_eq!(step == ScreeningStep::Fails(ScreeningFault::ReadsLess(Eye::Right)), fails, "{line}: {step:?}");
    }
    Ok(())
}

#[test]
fn what_somebody_came_for_is_typed_behind_the_age() -> Result<(), Failure> {
    let typed = [
        ("5B-1 11 far", Some("5B-1"), Some(11), Some(Complaint::FarBlur)),
        ("7 40 Nothing", Some("7"), Some(40), Some(Complaint::Nothing)),
        ("11 near", None, Some(11), Some(Complaint::NearOnly)),
        // without an age it may be of the label
        ("Hill far", Some("Hill far"), None, None),
        ("far 8", Some("far"), Some(8), None),
    ];
    for (typed, label, age, complaint) in typed {
        let mut app = app()?;
        press(&mut app, &format!("{BEGIN}N{typed}<enter>"))?;
        assert_eq!(refused(&app), None, "{typed}");
        let person = &app.state().person;
        assert_eq!((person.label.as_deref(), person.age_years, person.complaint), (label, age, complaint), "{typed}");
    }
    Ok(())
}
