//! The room stays from one person to the next, shown and on the record.

use dioptray::exam::{Detail, Event};
use dioptray::screen::{App, Settings};

use super::bench::options;
use super::laws::press;
use super::{Failure, pictures};
use crate::pictures::Album;

/// Sets the chart to 4 m, near work to 0.35 m and retinoscopy to 0.5 m.
const ROOM: &str =
    "i<down><down><down><down><down><down><down><down><down><enter>4<enter><enter>0.35<enter><enter>0.5<enter><esc>";

fn screen() -> Result<App, Failure> {
    let start = options(Settings::shipped()?)?;
    Ok(App::new(start.session, start.settings))
}

#[test]
fn chart_near_and_working_distance_stay_and_are_shown() -> Result<(), Failure> {
    let album = Album::of("details");
    pictures(&album, "room-1-next-person", &format!("{ROOM}-4<enter>NK.<enter>n"))?;
    pictures(
        &album,
        "room-2-details",
        &format!("{ROOM}-4<enter>NK.<enter>ni<down><down><down><down><down><down><down><down><down>"),
    )
}

#[test]
fn the_next_exam_begins_with_the_room_and_nothing_of_the_person() -> Result<(), Failure> {
    let mut app = screen()?;
    press(&mut app, ROOM)?;
    press(&mut app, "i<enter>A.<enter><enter>44<enter><esc>v14<enter>-4<enter>NB.<enter>n")?;
    let beginning = [
        Event::Detail(Detail::ChartMetres(4.0)),
        Event::Detail(Detail::NearMetres(0.35)),
        Event::Detail(Detail::WorkingMetres(0.5)),
        Event::Detail(Detail::Label("B.".to_owned())),
    ];
    assert_eq!(app.exam().standing_steps(), [beginning.to_vec()]);
    Ok(())
}

#[test]
fn a_room_alone_is_no_exam_to_be_closed() -> Result<(), Failure> {
    let mut app = screen()?;
    press(&mut app, ROOM)?;
    press(&mut app, "N<enter>")?;
    assert_eq!(app.ui.asks, None);
    assert!(app.exam().is_untouched() && app.state().person.chart_metres == Some(4.0));
    press(&mut app, "N<enter>")?;
    assert_eq!(app.state().person.chart_metres, Some(4.0), "and the one after has it too");
    Ok(())
}
