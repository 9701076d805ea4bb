//! Whole exams led by the guide, with the outreach box that comes with the program, by keys alone.

use dioptray::exam::{Exam, Opening, Part, ProcedureName, Sentence, Strategy};
use dioptray::frame::{FittedFrame, shipped::demo_frame};
use dioptray::guide::{Presentation, Question, Remark, Show};
use dioptray::kit::{Stock, shipped::demo_box};
use dioptray::optics::Eye;
use dioptray::screen::{App, ScreenStart, Settings};

use super::Failure;
use super::bench::{session, walk_with};
use super::person::{Led, easy, lead, long_sighted, off, presbyope, short_sighted};
use crate::pictures::Album;

/// A screen on which the guide leads step by step.
pub fn outreach() -> Result<ScreenStart, Failure> {
    outreach_led(Strategy::Ladder)
}

/// A screen on which the guide leads in one of its ways.
pub fn outreach_led(strategy: Strategy) -> Result<ScreenStart, Failure> {
    let fitted = FittedFrame::new(demo_frame()?, Stock::of(&demo_box()?));
    Ok(ScreenStart {
        session: session(Exam::open(Opening::of(fitted))),
        settings: Settings { strategy, ..Settings::shipped()? },
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

pub fn app() -> Result<App, Failure> {
    app_led(Strategy::Ladder)
}

pub fn app_led(strategy: Strategy) -> Result<App, Failure> {
    let start = outreach_led(strategy)?;
    Ok(App::new(start.session, start.settings))
}

fn pictures(album: &Album, name: &str, keys: &str) -> Result<(), Failure> {
    for size in ["120x36", "80x24"] {
        album.screen(&format!("{name}-{size}"), keys, &walk_with(outreach()?, keys, size)?);
    }
    Ok(())
}

fn picture_of(album: &Album, led: &Led, name: &str, holds: impl Fn(&Presentation) -> bool) -> Result<(), Failure> {
    pictures(album, name, &led.keys_to(holds)?)
}

fn is(presentation: &Presentation, procedure: ProcedureName) -> bool {
    presentation.procedure == Some(procedure)
}

#[test]
fn a_short_sighted_astigmatic_adult_from_empty_frame_to_written_prescription() -> Result<(), Failure> {
    let album = Album::of("guide");
    let mut person = short_sighted();
    let led = lead(app()?, &mut person, |_| None)?;
    for eye in Eye::BOTH {
        let (m, cylinder) = off(&led.app, &person, eye)?;
        assert!(m.abs() <= 0.25 && cylinder <= 0.30, "{eye}: {m:+.2} and {cylinder:.2} off");
    }
    eprintln!("short-sighted: {} keys", led.count()?);
    pictures(&album, "guide-01-opened", "g")?;
    pictures(&album, "guide-19-choose", "gc")?;
    picture_of(&album, &led, "guide-02-age", |p| p.question == Question::Age)?;
    pictures(&album, "guide-03-age-typed", "g113")?;
    picture_of(&album, &led, "guide-04-complaint", |p| p.question == Question::Complaint)?;
    picture_of(&album, &led, "guide-05-unaided", |p| p.question == Question::LineRead)?;
    picture_of(&album, &led, "guide-06-pinhole", |p| matches!(p.show, Show::Pinhole { .. }))?;
    picture_of(&album, &led, "guide-07-first-lens", |p| is(p, ProcedureName::FirstLens))?;
    picture_of(&album, &led, "guide-08-sphere", |p| is(p, ProcedureName::BestSphere))?;
    let finer = |p: &Presentation| {
        is(p, ProcedureName::FinalSphere) && p.bracket.is_some_and(|b| b.least_d.is_some() || b.most_d.is_some())
    };
    picture_of(&album, &led, "guide-09-bracket", finer)?;
    picture_of(&album, &led, "guide-10-fogged", |p| {
        is(p, ProcedureName::FinalSphere) && p.question == Question::LineRead && p.show == Show::Compare
    })?;
    picture_of(&album, &led, "guide-11-search", |p| is(p, ProcedureName::CrossCylinderSearch))?;
    picture_of(&album, &led, "guide-12-axis", |p| is(p, ProcedureName::CrossCylinderAxis))?;
    picture_of(&album, &led, "guide-13-power", |p| is(p, ProcedureName::CrossCylinderPower))?;
    picture_of(&album, &led, "guide-14-left-eye", |p| is(p, ProcedureName::FinalSphere) && p.eye == Some(Eye::Left))?;
    picture_of(&album, &led, "guide-15-balance", |p| is(p, ProcedureName::Balance))?;
    picture_of(&album, &led, "guide-16-write", |p| is(p, ProcedureName::Writing) && p.question == Question::Ready)?;
    pictures(&album, "guide-17-written", &led.all_keys())?;
    pictures(&album, "guide-18-next", &format!("{}<esc>", led.all_keys()))?;
    pictures(&album, "trail-1-right", &format!("{}<esc>j<tab>", led.all_keys()))
}

#[test]
fn a_young_long_sighted_person_is_warned_of() -> Result<(), Failure> {
    let album = Album::of("guide");
    let mut person = long_sighted();
    let led = lead(app()?, &mut person, |_| None)?;
    for eye in Eye::BOTH {
        let (m, cylinder) = off(&led.app, &person, eye)?;
        assert!(m.abs() <= 0.25 && cylinder <= 0.25, "{eye}: {m:+.2} and {cylinder:.2} off");
    }
    picture_of(&album, &led, "young-1-first-lens", |p| is(p, ProcedureName::BestSphere))?;
    pictures(&album, "young-2-written", &led.all_keys())
}

#[test]
fn a_presbyope_before_a_near_chart_gets_an_addition_and_the_chart_taken_off_once() -> Result<(), Failure> {
    let album = Album::of("guide");
    let mut person = presbyope();
    let led = lead(app()?, &mut person, |_| None)?;
    for eye in Eye::BOTH {
        let (m, cylinder) = off(&led.app, &person, eye)?;
        assert!(m.abs() <= 0.25 && cylinder <= 0.25, "{eye}: {m:+.2} and {cylinder:.2} off");
    }
    let results = led.app.state().results;
    assert!(results.addition.is_some_and(|addition| (2.0..=2.5).contains(&addition)), "{results:?}");
    assert!(results.chart_allowance.is_some_and(|taken_off| (taken_off - 1.0 / 6.0).abs() < 1e-9), "{results:?}");
    picture_of(&album, &led, "presbyope-1-near", |p| is(p, ProcedureName::Near))?;
    picture_of(&album, &led, "presbyope-2-near-point", |p| p.question == Question::NearestClear)?;
    picture_of(&album, &led, "presbyope-3-near-chart", |p| {
        is(p, ProcedureName::Writing) && p.question == Question::YesOrNo
    })?;
    pictures(&album, "presbyope-4-written", &led.all_keys())
}

#[test]
fn an_easy_exam_of_two_eyes_takes_fewer_than_120_keys() -> Result<(), Failure> {
    let mut person = easy();
    let led = lead(app()?, &mut person, |_| None)?;
    let from_unaided = led.asked.iter().position(|asked| asked.presentation.question == Question::LineRead);
    let before = led.keys_before(from_unaided.ok_or("no unaided acuity")?);
    let count = led.count()? - dioptray::screen::keys::strokes::parse(&before)?.len();
    assert!(count < 120, "{count} keys from unaided acuity to the written prescription");
    assert!(led.count()? < 120, "{} keys with the history and frame", led.count()?);
    for eye in Eye::BOTH {
        let (m, cylinder) = off(&led.app, &person, eye)?;
        assert!(m.abs() <= 0.25 && cylinder == 0.0, "{eye}: {m:+.2} and {cylinder:.2} off");
    }
    Ok(())
}

#[test]
fn by_retinoscopy_first() -> Result<(), Failure> {
    let album = Album::of("guide");
    let mut person = short_sighted();
    let led = lead(app()?, &mut person, |app| {
        let findings = app.guide().findings().clone();
        let first = findings.done.len() == 1;
        first.then_some("2")
    })?;
    for eye in Eye::BOTH {
        let (m, cylinder) = off(&led.app, &person, eye)?;
        assert!(m.abs() <= 0.25 && cylinder <= 0.30, "{eye}: {m:+.2} and {cylinder:.2} off");
    }
    assert!(led.app.state().results.retinoscopy.all().is_some());
    picture_of(&album, &led, "retinoscopy-1-working-lens", |p| p.question == Question::WorkingLens)?;
    picture_of(&album, &led, "retinoscopy-2-sweep", |p| p.question == Question::Reflex)?;
    picture_of(&album, &led, "retinoscopy-3-taken-off", |p| {
        is(p, ProcedureName::Retinoscopy) && p.question == Question::Ready
    })?;
    picture_of(&album, &led, "retinoscopy-4-start-from", |p| matches!(p.question, Question::StartFrom { .. }))
}

/// Whether a frame holds a power with a minus cylinder, as `-2.50/-0.75x180`; a lens in the hand has its own mark.
fn has_minus_cylinder(frame: &str) -> bool {
    frame.match_indices("/-").any(|(at, _)| frame[at + 2..].starts_with(|c: char| c.is_ascii_digit()))
}

#[test]
fn with_plus_cylinders_chosen_no_sentence_of_the_guide_writes_a_minus_cylinder() -> Result<(), Failure> {
    let way = |app: &App| (app.guide().findings().done.len() == 1).then_some("2");
    let plus = || -> Result<ScreenStart, Failure> {
        Ok(ScreenStart { settings: Settings::read("form: plus\nacuity: decimal", "settings.yaml")?, ..outreach()? })
    };
    let (mut by_ladder, mut by_retinoscopy) = (short_sighted(), short_sighted());
    let start = || -> Result<App, Failure> {
        let start = plus()?;
        Ok(App::new(start.session, start.settings))
    };
    let ladder = lead(start()?, &mut by_ladder, |_| None)?;
    let retinoscopy = lead(start()?, &mut by_retinoscopy, way)?;
    let mut seen = 0;
    for led in [&ladder, &retinoscopy] {
        for (at, asked) in led.asked.iter().enumerate() {
            let remarks = asked.presentation.remarks.iter().map(Remark::sentence);
            let said = remarks.chain([asked.presentation.instruction.clone(), asked.presentation.why.clone()]);
            let has_power = |said: &Sentence| {
                said.parts().any(|part| matches!(part, Part::Power(power) if power.astigmatism() > 0.1))
            };
            // each frame is walked to from the start, so only those with a power to be written are looked at
            if said.filter(has_power).count() == 0 || at % 2 != 0 {
                continue;
            }
            seen += 1;
            let frame = walk_with(plus()?, &led.keys_before(at), "120x36")?;
            assert!(!has_minus_cylinder(&frame), "{frame}");
            assert!(frame.contains("/+"), "{frame}");
        }
    }
    assert!(seen >= 3, "{seen} frames with a cylinder in words");
    Ok(())
}

// common practice, no source: a procedure begins from the lenses that the examiner put in, and none of them is thrown out
#[test]
fn a_procedure_begins_from_the_lenses_in_the_frame() -> Result<(), Failure> {
    let album = Album::of("guide");
    super::pictures(&album, "begins-1-best-sphere", "-4<enter><right><right>-0.75x180<enter>gc4")?;
    super::pictures(&album, "begins-2-cylinder-power", "-1.00<enter><right><right>-0.50x90<enter>gca")?;
    super::pictures(&album, "begins-3-accepted-written", "-8<enter>a<tab>-8<enter>agce8881")
}

#[test]
fn a_question_and_its_warnings_are_read_together_on_a_small_screen() -> Result<(), Failure> {
    // an eye that reads no letter, nor through the pinhole: two warnings stand beside the next eye's question
    let keys = "g1162<enter>1631.5<enter>31<enter>14311";
    let screen = walk_with(outreach()?, keys, "80x24")?;
    for text in [
        "Which is the lowest line you can",
        "a pinhole does not improve this acuity",
        "Acuity worse than 6/60",
        "9 6/5",
    ] {
        assert!(screen.contains(text), "{text}\n{screen}");
    }
    Ok(())
}
