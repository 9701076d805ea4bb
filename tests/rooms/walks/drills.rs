//! Drills on the screen: the list with what is due first, an item that is marked at once, and what is kept of it.

use dioptray::practice::drills::{Level, Mark};
use dioptray::screen::App;
use dioptray::screen::drill_page::{Asking, BAR, DrillRow, DrillsPage};
use dioptray::screen::practice_page::PracticePage;

use super::day::app;
use super::practising::press;
use super::{Failure, pictures};
use crate::pictures::Album;

/// The list of the drills.
const DRILLS: &str = "Z6";

fn asking(app: &App) -> Result<&Asking, Failure> {
    Ok(app.ui.practice_page().and_then(PracticePage::asking).ok_or("nothing is asked")?)
}

fn rows(app: &App) -> Result<&[DrillRow], Failure> {
    match app.ui.practice_page().and_then(PracticePage::drills) {
        Some(DrillsPage::List(rows)) => Ok(rows),
        _ => Err("no list is shown".into()),
    }
}

#[test]
fn the_drills_and_one_that_is_asked() -> Result<(), Failure> {
    let album = Album::of("practising");
    pictures(&album, "drills", DRILLS)?;
    pictures(&album, "drill-asked", &format!("{DRILLS}<down><enter>"))?;
    pictures(&album, "drill-wrong", &format!("{DRILLS}<enter>+7.75<enter>"))
}

#[test]
fn a_sitting_is_marked_kept_and_spaced() -> Result<(), Failure> {
    let mut app = app()?;
    press(&mut app, DRILLS)?;
    assert_eq!(rows(&app)?.len(), 20, "each drill once");
    assert!(rows(&app)?.iter().all(|row| row.due == "new" && row.right.is_none() && row.skill.level == Level::One));
    // of drills that were never held, those come first in which a slip hurts most
    assert!(rows(&app)?.is_sorted_by_key(|row| row.skill.drill.hurts()));
    let first = rows(&app)?[0].skill;
    press(&mut app, "<enter>")?;
    for nth in 0..10 {
        let right = asking(&app)?.item().answer.write();
        // the first one is wrong: a figure with the other sign, or another word
        let typed = if nth == 0 { "+39.75".to_owned() } else { right };
        press(&mut app, &format!("{typed}<enter>"))?;
        let asked = asking(&app)?;
        assert_eq!(asked.marks.len(), nth + 1, "{typed}");
        assert_eq!(asked.marks[nth] == Mark::Right, nth != 0, "{typed}: {:?}", asked.item());
        assert_eq!(app.session.drilled()?.progress.skill(first).map(|known| known.answered), Some(nth as u32 + 1));
        press(&mut app, "<enter>")?;
    }
    // back at the list: most of a bar, and due on another day than the new ones
    let row = rows(&app)?.iter().find(|row| row.skill.drill == first.drill).ok_or("not listed")?;
    assert_eq!(row.right, Some(BAR - 1));
    assert_ne!(row.due, "new");
    Ok(())
}

#[test]
fn what_cannot_be_an_answer_is_not_marked_and_stays_to_be_mended() -> Result<(), Failure> {
    let mut app = app()?;
    press(&mut app, &format!("{DRILLS}<enter>1.00.5<enter>"))?;
    assert_eq!(asking(&app)?.marks, []);
    assert_eq!(app.ui.prompt.as_ref().map(|prompt| prompt.line.value()), Some("1.00.5"));
    assert!(app.session.drilled()?.progress.skills().next().is_none(), "nothing is kept");
    // the line is left, then the sitting, then the list
    press(&mut app, "<esc><esc>")?;
    assert_eq!(rows(&app)?.len(), 20);
    press(&mut app, "<esc>")?;
    assert!(app.ui.practice_page().is_some_and(|page| page.drills().is_none()));
    Ok(())
}
