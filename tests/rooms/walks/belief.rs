//! What a refraction by likelihood believes is drawn while it asks, small, at either size.

use dioptray::exam::{Complaint, Detail, Event, Exam, Opening, ProcedureName, Strategy};
use dioptray::frame::{FittedFrame, shipped::demo_frame};
use dioptray::guide::{self, Guide};
use dioptray::kit::{Stock, shipped::demo_box};
use dioptray::optics::Eye;
use dioptray::screen::{ScreenStart, Settings};

use super::Failure;
use super::bench::{session, walk_with};
use super::guide::{app_led, outreach_led};
use super::person::{lead, long_sighted, off, short_sighted};
use crate::pictures::Album;
use crate::steady::{Person, rx};

/// The guide after so many answers of somebody with an oblique astigmatism.
fn asked_after(answers: usize) -> Result<ScreenStart, Failure> {
    let fitted = FittedFrame::new(demo_frame()?, Stock::of(&demo_box()?));
    let mut exam = Exam::open(Opening::of(fitted));
    exam.apply(&[Event::Detail(Detail::AgeYears(50)), Event::Detail(Detail::Strategy(Strategy::Belief))])?;
    exam.accept(guide::begin(&Guide::of(&exam), &exam, ProcedureName::Likelihood, Some(Eye::Right))?);
    let needs = rx(-1.5, -2.0, 40.0);
    let mut person = Person::new(needs, needs, 50, Complaint::FarBlur);
    for _ in 0..answers {
        let led = Guide::of(&exam);
        let answer = person.answers(led.presentation(), &exam);
        exam.accept(guide::answer(&led, &exam, answer)?);
    }
    Ok(ScreenStart {
        session: session(exam),
        settings: Settings::shipped()?,
        choices: None,
        goes_on: None,
        cautions: false,
        offers_kit: false,
        learns: false,
        said: dioptray::screen::AtStart::default(),
        sends: None,
        reports_keys: false,
    })
}

#[test]
fn the_equivalent_stands_on_a_ruler_and_the_axis_as_a_sector_of_the_dial() -> Result<(), Failure> {
    let album = Album::of("guide");
    for size in ["120x36", "80x24"] {
        album.screen(&format!("belief-1-early-{size}"), "", &walk_with(asked_after(2)?, "", size)?);
        album.screen(&format!("belief-2-late-{size}"), "", &walk_with(asked_after(9)?, "", size)?);
    }
    Ok(())
}

#[test]
fn what_nobody_chose_otherwise_is_led_by_likelihood_from_an_empty_frame_to_a_written_prescription()
-> Result<(), Failure> {
    assert_eq!(Settings::shipped()?.strategy, Strategy::Belief);
    let album = Album::of("guide");
    for (name, mut person) in [("short-sighted", short_sighted()), ("long-sighted", long_sighted())] {
        let led = lead(app_led(Strategy::Belief)?, &mut person, |_| None)?;
        assert_eq!(led.app.state().person.strategy, Some(Strategy::Belief), "the exam keeps its way");
        for eye in Eye::BOTH {
            assert_eq!(led.app.state().refracted(eye), Some(Strategy::Belief), "{name}, {eye}");
            let (m, cylinder) = off(&led.app, &person, eye)?;
            assert!(m.abs() <= 0.25 && cylinder <= 0.60, "{name}, {eye}: {m:+.2} and {cylinder:.2} off");
        }
        let last = led.all_keys();
        for size in ["120x36", "80x24"] {
            album.screen(
                &format!("belief-3-{name}-written-{size}"),
                &last,
                &walk_with(outreach_led(Strategy::Belief)?, &last, size)?,
            );
        }
    }
    Ok(())
}
