//! What an eye is to be warned of is on the screen, whatever its size and whatever else is.
#![expect(clippy::unwrap_used, reason = "a test may stop")]

use dioptray::exam::{Exam, Opening};
use dioptray::frame::FittedFrame;
use dioptray::kit::{LensLine, Stock};
use dioptray::optics::Eye;
use dioptray::screen::{App, Settings, words};
use proptest::prelude::*;

use super::bench::{options, outreach_box, rows_of, session};
use super::laws::press;
use super::{Failure, bench, pictures};
use crate::pictures::Album;
use crate::plain::four_cells;

/// The eyes are 30 mm from mid-nose, the frame is set to 34.
const FRAME_SET_WRONG: &str =
    "i<down><down><down><down><enter>30<enter><enter>30<enter><down><down><enter>34<enter><enter>34<enter><esc>";

/// Contact lenses stay on both eyes.
const CONTACT_LENSES: &str = concat!(
    "i<down><down><down><down><down><down><down><down><down><down><down><down><down><down><down><down><down><down><down>",
    "<down><down><down><down><down><down><down><enter>contact -3.00<enter><enter>contact +5.00/-1.00x30<enter><esc>"
);

/// The warnings that are missing from the rows of an eye.
fn missing(app: &App, eye: Eye, rows: &[String]) -> Vec<String> {
    let fitted = &app.state().fitted;
    let power = fitted.in_front_of(eye);
    let mut wanted: Vec<Vec<String>> = Vec::new();
    if !power.occluded && fitted.held(eye).is_some() {
        wanted.push(vec![format!("hand {}", words::power(power.net_with_hand, app.ui.form))]);
    }
    if !power.occluded && power.marked.miss(power.net) >= 0.06 {
        let marks = words::power(power.marked, app.ui.form);
        let off = format!("marks {:.2} D off net", power.marked.miss(power.net));
        wanted.push(vec![format!("marks {marks}"), off]);
    }
    let worn = app.state().person.stays_on[eye].filter(|_| !power.occluded);
    if let Some(total) = worn.and_then(|worn| worn.total(power.net, fitted.frame.vertex)) {
        wanted.push(vec![format!("total {}", words::power(total, app.ui.form))]);
    }
    if power.induced.amount() >= 0.05 {
        let induced = words::prism(power.induced, eye);
        wanted.push(vec![format!("{induced} from"), format!("PD adds {induced}")]);
    }
    if power.prisms_do_not_add {
        wanted.push(vec!["strong prisms do not add".to_owned()]);
    }
    let shown = |forms: &Vec<String>| rows.iter().any(|row| forms.iter().any(|form| row.contains(form.as_str())));
    wanted.iter().filter(|forms| !shown(forms)).map(|forms| forms[0].clone()).collect()
}

fn deeds() -> impl Strategy<Value = Vec<&'static str>> {
    let deed = prop::sample::select(vec![
        "-4<enter>",
        "-10<enter>",
        "+8<enter>",
        "<right><right>-0.75x30<enter>",
        "<right><right>-2x175<enter>",
        "3BU<enter>",
        "h-0.25<enter>",
        "h+-0.25x45<enter>",
        "o",
        "X",
        "S",
        "<tab>",
        "w-4.25/-0.75x180<enter>",
        "w-11/-0.75x30<enter><esc>",
        "a",
        "d",
        "<esc>",
        "j",
        "gc4",
        "g",
        "1",
        "t",
        FRAME_SET_WRONG,
        CONTACT_LENSES,
    ]);
    prop::collection::vec(deed, 1..14)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, ..ProptestConfig::default() })]

    #[test]
    fn a_warning_is_on_the_screen_at_any_size(deeds in deeds(), columns in 60u16..=200, rows in 20u16..=60) {
        let mut app = bench::copy(&App::new(options(Settings::shipped().unwrap()).unwrap().session, Settings::shipped().unwrap()));
        for deed in deeds {
            press(&mut app, deed).unwrap();
            if app.ui.page.is_some() || app.ui.sheet.is_some() {
                continue;
            }
            for eye in Eye::BOTH {
                let shown = rows_of(&app, eye, columns, rows);
                let missing = missing(&app, eye, &shown);
                prop_assert!(missing.is_empty(), "{eye} {columns}x{rows} after {deed}: {missing:?}\n{}", shown.join("\n"));
            }
        }
    }
}

#[test]
fn on_a_frame_with_many_cells_too() -> Result<(), Failure> {
    let mut frame = four_cells();
    for nth in 0..4 {
        let mut cell = frame.cells[3].clone();
        cell.name = format!("outer {nth}");
        frame.cells.push(cell);
    }
    let mut with_strong_prisms = outreach_box()?;
    for label in ["10 prism", "12 prism"] {
        with_strong_prisms.lines.push(LensLine { lens: label.parse()?, declared: 1, missing: 0 });
    }
    let fitted = FittedFrame::new(frame, Stock::of(&with_strong_prisms));
    let mut app = App::new(session(Exam::open(Opening::of(fitted))), Settings::shipped()?);
    press(&mut app, FRAME_SET_WRONG)?;
    press(&mut app, "-10<enter><right><right>-2x175<enter>h-0.25<enter>")?;
    // up to 20 Δ in all prisms add up, beyond that they do not (Thompson and Guyton, *Ophthalmology* 1983)
    press(&mut app, "<right>10BU<enter><right>3BD<enter>")?;
    assert!(!app.in_front_of(Eye::Right).prisms_do_not_add, "13 Δ");
    press(&mut app, "<right>12BU<enter>")?;
    assert!(app.in_front_of(Eye::Right).prisms_do_not_add, "25 Δ");
    for panel in ["", "gc4", "<esc>j"] {
        press(&mut app, panel)?;
        for (columns, rows) in [(60, 20), (80, 24), (120, 36)] {
            let shown = rows_of(&app, Eye::Right, columns, rows);
            assert_eq!(missing(&app, Eye::Right, &shown), Vec::<String>::new(), "{}", shown.join("\n"));
        }
    }
    Ok(())
}

#[test]
fn induced_prism_beside_wanted_and_accepted() -> Result<(), Failure> {
    let album = Album::of("frame");
    pictures(
        &album,
        "warning-1-induced",
        "-4<enter><tab>-4<enter><tab>i<down><down><down><down><enter>30<enter><enter>30<enter><down><down><enter>34<enter><esc><tab>h-0.50<enter>w-4.25<enter><esc>a",
    )
}
