//! Ready-made pairs on the screen: the shelf of a day, what it has for somebody, and the pair that is given.

use dioptray::exam::Outcome;
use dioptray::optics::Eye;
use dioptray::screen::App;
use dioptray::screen::field::{Field, rows};

use super::day::app;
use super::laws::{press, refused};
use super::{Failure, pictures};
use crate::pictures::Album;

const SHELF: &str = "Db School at Ford<enter>kkits/shelf/demo.yaml<enter>";

/// The keys that write a detail: after that of the right eye that of the left one is asked.
fn detail(field: impl Fn(Eye) -> Field, typed: &[&str]) -> String {
    let at = rows().position(|row| row.field(Eye::Right) == field(Eye::Right)).unwrap_or_default();
    format!("i{}{}<enter><esc>", "<down>".repeat(at), typed.join("<enter>"))
}

/// Somebody of this age whose eyes were both refracted to the same lens, read unaided and with it, the pupils 62 mm apart.
fn person(age: u8, lens: &str, unaided: &str) -> String {
    let eye = format!("{lens}<enter>a<tab>");
    let read = [detail(Field::ThroughFrame, &["6/6"; 2]), detail(Field::Unaided, &[unaided; 2])].concat();
    format!("{SHELF}<esc>N12 {age}<enter>{eye}{eye}{read}{}", detail(Field::EyePd, &["31"; 2]))
}

#[test]
fn a_pair_off_the_shelf_is_looked_at_and_given() -> Result<(), Failure> {
    let album = Album::of("ready_made");
    pictures(&album, "1-shelf-asked", "Db School at Ford<enter>k")?;
    pictures(&album, "2-shelf", SHELF)?;
    let short = person(30, "-2", "6/24");
    pictures(&album, "3-serves", &format!("{short}O3"))?;
    pictures(&album, "4-given", &format!("{short}O31"))?;
    pictures(&album, "5-listed", &format!("{short}O31<enter>"))?;
    pictures(&album, "6-left", &format!("{short}O31<enter>k{}", "<down>".repeat(12)))?;
    pictures(&album, "7-child-with-plus", &format!("{}O3", person(9, "+2", "6/12")))?;
    let reading = format!("{}{}", person(55, "-1", "6/18"), detail(|_| Field::Addition, &["+2.50"]));
    pictures(&album, "8-for-near", &format!("{reading}O3"))
}

fn left(app: &mut App, sphere: f64, centres_mm: f64) -> Result<u32, Failure> {
    let day = app.session.day()?.ok_or("no day")?.day;
    let kinds = day.left_on_shelf();
    let kind = kinds.iter().find(|kind| kind.pair.sphere == sphere && kind.pair.centres_mm == centres_mm);
    Ok(kind.ok_or("no such pair")?.left())
}

#[test]
fn what_is_chosen_is_counted_off_and_comes_back_with_another_choice_and_with_undo() -> Result<(), Failure> {
    let mut app = app()?;
    press(&mut app, &person(30, "-2", "6/24"))?;
    assert_eq!(left(&mut app, -2.0, 60.0)?, 6);
    press(&mut app, "O31")?;
    assert_eq!(refused(&app), None);
    let off = app.state().outcome.as_ref().and_then(Outcome::off_the_shelf).ok_or("no pair")?;
    // pupils 62 mm apart: 60 and 64 are as near, and the wider is taken
    assert_eq!((off.pair.sphere, off.pair.near, off.pair.centres_mm), (-2.0, false, 64.0));
    assert_eq!(left(&mut app, -2.0, 64.0)?, 5);
    // another choice, and undo of that, and undo of the pair
    press(&mut app, "<esc>O2")?;
    assert_eq!(left(&mut app, -2.0, 64.0)?, 6);
    press(&mut app, "<esc><esc>u")?;
    assert_eq!((refused(&app), left(&mut app, -2.0, 64.0)?), (None, 5));
    press(&mut app, "u")?;
    assert_eq!((app.state().outcome.clone(), left(&mut app, -2.0, 64.0)?), (None, 6));
    press(&mut app, "r")?;
    assert_eq!(left(&mut app, -2.0, 64.0)?, 5);
    Ok(())
}

#[test]
fn another_pair_is_typed_and_only_what_the_shelf_has_is_taken() -> Result<(), Failure> {
    let mut app = app()?;
    press(&mut app, &person(30, "-2", "6/24"))?;
    press(&mut app, "O32-2.25<enter>")?;
    let outcome = app.state().outcome.clone().ok_or("nothing was chosen")?;
    let given = outcome.given().ok_or("nothing was given")?;
    assert!(!given.meets, "more minus than is needed is said to be so: {outcome}");
    assert_eq!(left(&mut app, -2.25, 64.0)?, 5);
    press(&mut app, "32-9<enter>")?;
    assert!(refused(&app).is_some_and(|why| why.contains("no pair -9 for distance is left")), "{:?}", refused(&app));
    Ok(())
}

#[test]
fn without_a_shelf_a_sphere_is_typed_and_nothing_is_counted() -> Result<(), Failure> {
    let mut app = app()?;
    press(&mut app, "Db School at Ford<enter>N12 30<enter>O3-1.50<enter>")?;
    let typed = Outcome::ReadyMade { sphere: -1.5, near: false, given: None };
    assert_eq!(app.state().outcome, Some(typed));
    // nor with an exam that is nobody's of the day
    let mut app = super::day::app()?;
    press(&mut app, "O3+2.00<enter>")?;
    assert!(app.state().outcome.as_ref().is_some_and(|outcome| outcome.given().is_none()));
    Ok(())
}

#[test]
fn a_shelf_with_faults_is_refused_where_it_is_named() -> Result<(), Failure> {
    let mut app = app()?;
    press(&mut app, "Db School at Ford<enter>ktests/invalid/shelf-no-pairs.yaml<enter>")?;
    assert!(refused(&app).is_some_and(|why| why.contains("shelf-no-pairs.yaml:1:1")), "{:?}", refused(&app));
    press(&mut app, "<esc>kkits/shelf/demo.yaml wider<enter>")?;
    let day = app.session.day()?.ok_or("no day")?.day;
    let limits = day.settings.shelf.as_ref().map(|shelf| shelf.limits.name());
    assert_eq!((refused(&app), limits), (None, Some("wider")));
    Ok(())
}
