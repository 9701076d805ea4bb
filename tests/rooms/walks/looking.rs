//! Looking through lenses on the Box screen: pairs held together, and a lens without a mark.

use std::collections::BTreeSet;

use dioptray::kit::Motion;
use dioptray::screen::keys::Context;
use dioptray::screen::looking::Unmarked;
use dioptray::screen::{App, Settings};

use super::bench::options;
use super::laws::press;
use super::{Failure, pictures};
use crate::pictures::Album;

#[test]
fn pairs_that_are_held_together() -> Result<(), Failure> {
    let album = Album::of("box");
    pictures(&album, "pairs-1-asked", "Bh")?;
    pictures(&album, "pairs-2-answered", "Bh13")?;
    pictures(&album, "pairs-3-taken-back", "Bh13u")
}

#[test]
fn a_lens_that_nobody_knows() -> Result<(), Failure> {
    let album = Album::of("box");
    pictures(&album, "unknown-1-turned", "Bi")?;
    pictures(&album, "unknown-2-held", "Bi112")?;
    // +3.25 by a hand without noise: one of them is lost from this box
    pictures(&album, "unknown-3-found", "Bi122112")?;
    pictures(&album, "unknown-4-one-back", "Bi112u")
}

fn app() -> Result<App, Failure> {
    let start = options(Settings::shipped()?)?;
    Ok(App::new(start.session, start.settings))
}

#[test]
fn an_answer_to_a_pair_is_noted_and_taken_back() -> Result<(), Failure> {
    let mut app = app()?;
    press(&mut app, "Bh")?;
    let pairs = |app: &App| app.ui.box_page().and_then(|page| page.shown.pairs().cloned());
    let asked = pairs(&app).and_then(|pairs| pairs.next).ok_or("nothing to hold")?;
    press(&mut app, "2")?;
    let looked = app.ui.box_page().ok_or("no box")?.now.looked.clone();
    assert_eq!(looked.len(), 1);
    assert_eq!(looked[0].looked(), Some((asked, Motion::Against)));
    assert_eq!(pairs(&app).map(|pairs| pairs.looks), Some(1));
    press(&mut app, "u")?;
    assert_eq!(pairs(&app).map(|pairs| pairs.looks), Some(0));
    Ok(())
}

#[test]
fn what_is_seen_of_an_unknown_lens_is_taken_in_and_back() -> Result<(), Failure> {
    let mut app = app()?;
    press(&mut app, "Bi")?;
    let words = |app: &App| app.ui.box_page().and_then(|page| page.shown.unmarked().map(Unmarked::words));
    for (key, said) in [
        ("2", vec!["scissors"]),
        ("1", vec!["scissors", "with"]),
        ("2", vec!["scissors", "with", "against"]),
        ("u", vec!["scissors", "with"]),
    ] {
        press(&mut app, key)?;
        assert_eq!(words(&app), Some(said), "after {key}");
    }
    Ok(())
}

/// Every place of the key table that is on a box is one that keys lead to: else its keys never work.
#[test]
fn keys_lead_to_every_place_on_a_box() -> Result<(), Failure> {
    let mut reached = BTreeSet::new();
    for keys in ["B", "Bo", "Bs", "Bsb", "Bsw", "Bc", "By", "Bk", "Bh", "Bi", "Bi1"] {
        let mut app = app()?;
        press(&mut app, keys)?;
        reached.insert(app.ui.context().name());
    }
    // without a logbook there is no list of boxes, no sheet, no new frame and no other seat: `box_kept.rs`, `new_frame.rs` and
    // `box_of_seats.rs` open them
    reached.extend([Context::Boxes, Context::Sheets, Context::Framing, Context::Unsettled].map(Context::name));
    let settings = Settings::shipped()?;
    let places = settings.keys.bindings().iter().flat_map(|binding| &binding.contexts);
    let on_a_box: BTreeSet<&str> = places.filter(|place| place.is_of_a_box()).map(|place| place.name()).collect();
    assert_eq!(reached, on_a_box);
    Ok(())
}
