//! What holds while the guide leads: a kill, undo, taking over by hand, a missing lens, going back along the trail.
#![expect(clippy::unwrap_used, reason = "a test may stop")]

use std::cell::Cell;
use std::rc::Rc;

use dioptray::exam::{Answer, CheckedStep, Complaint, Event, Exam, GuideEvent, Opening, ProcedureName, Strategy};
use dioptray::frame::{FittedFrame, shipped::demo_frame};
use dioptray::guide::{Question, Remark};
use dioptray::kit::{Lens, Stock, shipped::demo_box};
use dioptray::optics::{Eye, Eyes, Power};
use dioptray::screen::decide::{self, Decision};
use dioptray::screen::keys::strokes::{self, Stroke};
use dioptray::screen::settings::Characters;
use dioptray::screen::ui::{Input, Panel, Sheet};
use dioptray::screen::{App, ScreenStart, Settings};
use dioptray::session::{Journal, RecordError, SaveError, Session, Step};

use super::Failure;
use super::bench::{copy, session, walk_with};
use super::guide::{app, app_led, outreach};
use super::laws::{press, refused};
use super::person::{easy, lead, long_sighted, short_sighted};
use crate::pictures::Album;
use crate::steady::{Person, rx};

/// The exam of an app as another program would read it from a logbook: its steps as text and back.
fn read_back(app: &App) -> Result<App, Failure> {
    let text = serde_json::to_string(app.exam().standing_steps())?;
    let steps: Vec<Vec<Event>> = serde_json::from_str(&text)?;
    let exam = Exam::replay(app.exam().opening().clone(), steps).map_err(|(_, error)| error)?;
    Ok(App::new(session(exam), app.settings.clone()))
}

#[test]
fn killed_after_any_key_the_guide_asks_the_same_again() -> Result<(), Failure> {
    let led_in = |strategy| {
        let people = [(short_sighted(), false), (long_sighted(), false), (short_sighted(), true)];
        people.map(|(person, retinoscopy)| (strategy, person, retinoscopy))
    };
    for (strategy, mut person, retinoscopy) in Strategy::ALL.into_iter().flat_map(led_in) {
        let way = |app: &App| (retinoscopy && app.guide().findings().done.len() == 1).then_some("2");
        let led = lead(app_led(strategy)?, &mut person, way)?;
        let mut walked = app_led(strategy)?;
        press(&mut walked, "g")?;
        for asked in &led.asked {
            press(&mut walked, &asked.keys)?;
            let again = read_back(&walked)?;
            assert_eq!(again.guide(), walked.guide(), "after {} at {:?}", asked.keys, asked.presentation.question);
            assert_eq!(again.state(), walked.state());
            if walked.is_led() {
                assert_eq!(again.ui.panel, Panel::Guide, "the guide opens by itself");
                assert_eq!(again.ui.eye, walked.guide().presentation().eye.unwrap_or(again.ui.eye));
            }
        }
    }
    Ok(())
}

#[test]
fn one_answer_is_one_step_and_undo_takes_it_back_with_its_lenses() -> Result<(), Failure> {
    let led = lead(app()?, &mut easy(), |_| None)?;
    let mut walked = app()?;
    press(&mut walked, "g")?;
    for asked in &led.asked {
        let (before, steps) = (walked.state().clone(), walked.exam().standing_steps().len());
        press(&mut walked, &asked.keys)?;
        let after = walked.state().clone();
        assert_eq!(walked.exam().standing_steps().len(), steps + 1);
        let mut taken_back = copy(&walked);
        taken_back.ui.sheet = None;
        press(&mut taken_back, "u")?;
        assert_eq!(taken_back.state(), &before, "{:?}", asked.presentation.question);
        assert_eq!(*taken_back.guide().presentation(), asked.presentation);
        press(&mut taken_back, "r")?;
        assert_eq!(taken_back.state(), &after);
    }
    Ok(())
}

#[test]
fn the_eye_in_focus_is_the_eye_that_is_asked_about() -> Result<(), Failure> {
    let led = lead(app()?, &mut short_sighted(), |_| None)?;
    let mut walked = app()?;
    press(&mut walked, "g")?;
    let mut seen = Eyes::both(false);
    for asked in &led.asked {
        if let Some(eye) = asked.presentation.eye {
            assert_eq!(walked.ui.eye, eye, "{:?}", asked.presentation.question);
            seen[eye] = true;
        }
        press(&mut walked, &asked.keys)?;
    }
    assert_eq!(seen, Eyes::both(true));
    Ok(())
}

/// Keys that lead an adult of 50 into the search for the sphere of the right eye.
fn to_the_sphere() -> Result<String, Failure> {
    let mut person = Person::of_whole_lines(6.0, rx(-1.25, 0.0, 180.0), rx(-1.0, 0.0, 180.0), 50, Complaint::FarBlur);
    let led = lead(app()?, &mut person, |_| None)?;
    led.keys_to(|p| p.procedure == Some(ProcedureName::BestSphere))
}

#[test]
fn lenses_moved_by_hand_are_where_the_guide_goes_on() -> Result<(), Failure> {
    let album = Album::of("guide");
    let keys = to_the_sphere()?;
    let mut walked = app()?;
    press(&mut walked, &keys)?;
    press(&mut walked, "<esc>-3<enter>")?;
    assert!(walked.guide().is_taken_over());
    press(&mut walked, "g")?;
    assert!(!walked.guide().is_taken_over());
    let step = walked.exam().standing_steps().last().unwrap();
    assert!(step.iter().any(|event| matches!(event, Event::Guide(GuideEvent::TakenOver(_)))));
    let from = walked.guide().presentation().from.right.unwrap();
    let stands = walked.state().fitted.in_front_of(Eye::Right).net;
    assert!(from.miss(stands) < 0.01 && (stands.m - -3.0).abs() < 0.1, "{from:?} {stands:?}");
    for size in ["120x36", "80x24"] {
        let by_hand = format!("{keys}<esc>-3<enter>");
        album.screen(&format!("by-hand-1-moved-{size}"), &by_hand, &walk_with(outreach()?, &by_hand, size)?);
        let goes_on = format!("{by_hand}g");
        album.screen(&format!("by-hand-2-goes-on-{size}"), &goes_on, &walk_with(outreach()?, &goes_on, size)?);
    }
    Ok(())
}

/// The outreach box without weak spheres.
fn without_quarters() -> Result<ScreenStart, Failure> {
    let mut declared = demo_box()?;
    let weak = |lens: &Lens| matches!(lens, Lens::Sphere(mark) if mark.dioptres().abs() < 0.45);
    declared.lines.retain(|line| !weak(&line.lens));
    let fitted = FittedFrame::new(demo_frame()?, Stock::of(&declared));
    Ok(ScreenStart { session: session(Exam::open(Opening::of(fitted))), ..outreach()? })
}

#[test]
fn a_missing_lens_is_said_and_the_moves_say_what_is_done_instead() -> Result<(), Failure> {
    let album = Album::of("guide");
    let start = without_quarters()?;
    let app = App::new(start.session, start.settings);
    let led = lead(app, &mut easy(), |_| None)?;
    let otherwise = |remark: &Remark| matches!(remark, Remark::OtherStep { .. } | Remark::InTheCells { .. });
    let keys = led.keys_to(|presentation| presentation.remarks.iter().any(otherwise))?;
    for size in ["120x36", "80x24"] {
        album.screen(&format!("missing-1-{size}"), &keys, &walk_with(without_quarters()?, &keys, size)?);
    }
    Ok(())
}

#[test]
fn answers_that_do_not_agree_are_said() -> Result<(), Failure> {
    let album = Album::of("guide");
    let keys = format!("{}1a3", to_the_sphere()?);
    for size in ["120x36", "80x24"] {
        let frame = walk_with(outreach()?, &keys, size)?;
        assert!(frame.contains("! right eye: these answers do not"), "{frame}");
        album.screen(&format!("contradiction-1-{size}"), &keys, &frame);
    }
    Ok(())
}

#[test]
fn the_other_ways_to_astigmatism_are_led_too() -> Result<(), Failure> {
    let album = Album::of("guide");
    let keys = to_the_sphere()?;
    for (name, way) in
        [("fan-1-asked", "c7"), ("fan-2-cylinder", "c731"), ("slit-1-turned", "c8"), ("slit-2-along", "c81")]
    {
        let keys = format!("{keys}{way}");
        for size in ["120x36", "80x24"] {
            album.screen(&format!("{name}-{size}"), &keys, &walk_with(outreach()?, &keys, size)?);
        }
    }
    Ok(())
}

#[test]
fn any_point_of_the_trail_is_one_key_away_and_one_step() -> Result<(), Failure> {
    let led = lead(app()?, &mut short_sighted(), |_| None)?;
    for eye in Eye::BOTH {
        let mut there = copy(&led.app);
        there.ui.sheet = None;
        press(&mut there, "j")?;
        there.ui.eye = eye;
        let points: Vec<_> = there.state().trail.iter().rev().filter(|tried| tried.eye == eye).copied().collect();
        assert!(points.len() > 6, "{} points", points.len());
        let keys = "123456789abcdefhijklmnopsvwxz";
        let other = there.state().fitted.in_front_of(eye.other()).net;
        for (tried, key) in points.iter().zip(keys.chars()) {
            let mut back = copy(&there);
            press(&mut back, &key.to_string())?;
            assert_eq!(refused(&back), None);
            let steps = back.exam().standing_steps().len() - there.exam().standing_steps().len();
            assert!(steps <= 1, "{steps} steps");
            let before = back.state().fitted.in_front_of(eye);
            assert!(before.net_with_hand.miss(tried.power) <= 0.13, "{:?} for {:?}", before.net_with_hand, tried.power);
            assert_eq!(back.state().fitted.in_front_of(eye.other()).net, other, "the other eye keeps its lenses");
            press(&mut back, if steps == 1 { "u" } else { "" })?;
            assert_eq!(back.state(), there.state());
        }
    }
    Ok(())
}

// ours, no source
#[test]
fn what_was_held_comes_back_at_its_mark() -> Result<(), Failure> {
    let led = lead(app()?, &mut short_sighted(), |_| None)?;
    let mut gone_back = 0;
    for (asked, answered) in led.asked.iter().zip(1..) {
        let (shown, Some(eye)) = (asked.presentation.shown, asked.presentation.eye) else { continue };
        let wanted = shown.wanted(eye);
        if wanted.miss(shown.to[eye]) < 0.008 {
            continue;
        }
        let mut back = app()?;
        press(&mut back, &led.keys_before(answered))?;
        let tried = back.state().trail.last().unwrap().power;
        assert!(tried.miss(shown.to[eye]) < 1e-9, "the trail has what stood there: {tried:?}");
        back.ui.sheet = None;
        back.ui.eye = eye;
        press(&mut back, "j1")?;
        let stands = back.state().fitted.in_front_of(eye).net_with_hand;
        assert!(stands.miss(wanted) < 0.005, "{stands:?} for {wanted:?}, held as {tried:?}");
        gone_back += 1;
    }
    assert!(gone_back > 0);
    Ok(())
}

#[test]
fn the_very_lenses_come_back_where_they_stood_in_the_cells() -> Result<(), Failure> {
    let led = lead(app()?, &mut easy(), |_| None)?;
    let read = led.asked.iter().position(|asked| {
        asked.presentation.procedure == Some(ProcedureName::FinalSphere)
            && asked.presentation.question == Question::LineRead
            && asked.presentation.show == dioptray::guide::Show::AsItIs
    });
    let mut then = app()?;
    press(&mut then, &led.keys_before(read.unwrap()))?;
    let stood: Vec<_> = then.state().fitted.in_cells(Eye::Right).map(|l| (l.cell, l.stocked.piece.clone())).collect();
    let tried = then.state().trail.len();
    let mut now = copy(&led.app);
    now.ui.sheet = None;
    press(&mut now, "j")?;
    now.ui.eye = Eye::Right;
    press(&mut now, "<esc>X+4<enter>j")?;
    now.ui.chosen_tried = now.state().trail.iter().skip(tried + 1).filter(|tried| tried.eye == Eye::Right).count();
    press(&mut now, "<enter>")?;
    let stands: Vec<_> = now.state().fitted.in_cells(Eye::Right).map(|l| (l.cell, l.stocked.piece.clone())).collect();
    assert_eq!(stands, stood);
    Ok(())
}

#[test]
fn the_prescription_on_the_screen_is_the_one_that_is_kept() -> Result<(), Failure> {
    let led = lead(app()?, &mut short_sighted(), |_| None)?;
    assert_eq!(led.app.ui.sheet, Some(Sheet::Prescription(0)), "it stands on the screen at the end");
    let shown = walk_with(outreach()?, &led.all_keys(), "120x36")?;
    let before = walk_with(outreach()?, &led.keys_before(led.asked.len() - 1), "120x36")?;
    let kept = dioptray::exam::Prescription::of(led.app.state(), 1);
    for eye in Eye::BOTH {
        let of_eye = kept.eye(eye).unwrap();
        let row = format!("{eye:<6}{}", dioptray::screen::words::power(of_eye.written.power(), led.app.ui.form));
        assert!(shown.contains(&row), "{row}\n{shown}");
        assert!(before.contains(&row), "what is to be written is what then is: {row}\n{before}");
    }
    Ok(())
}

#[test]
fn a_cross_cylinder_is_laid_back_by_the_name_it_was_held_by() -> Result<(), Failure> {
    let led = lead(app()?, &mut short_sighted(), |_| None)?;
    let held = |p: &dioptray::guide::Presentation| matches!(p.show, dioptray::guide::Show::CrossCylinder { .. });
    let first = led.asked.iter().position(|asked| held(&asked.presentation)).ok_or("no cross cylinder")?;
    // it stays in the hand while the next procedure uses it
    for step in first + 1..led.asked.len() {
        let frame = walk_with(outreach()?, &led.keys_before(step), "120x36")?;
        if frame.contains("right: put ±0.25 back") {
            return Ok(());
        }
        assert!(!frame.contains("put ±") && frame.contains("±0.25"), "{frame}");
    }
    Err("it is never laid back".into())
}

#[test]
fn an_answer_can_be_clicked_where_it_stands() -> Result<(), Failure> {
    let keys = to_the_sphere()?;
    for size in ["120x36", "80x24"] {
        let frame = walk_with(outreach()?, &keys, size)?;
        let row = frame.lines().position(|line| line.contains("1 clearer")).unwrap();
        let column = |text: &str| {
            let line = frame.lines().find(|line| line.contains(text)).unwrap();
            line[..line.find(text).unwrap()].chars().count()
        };
        let clicked = walk_with(outreach()?, &format!("{keys}<click:{},{row}>", column("1 clearer")), size)?;
        assert_eq!(clicked, walk_with(outreach()?, &format!("{keys}1"), size)?);
    }
    Ok(())
}

#[test]
fn what_was_typed_wrongly_is_refused_and_stays() -> Result<(), Failure> {
    let cases = [
        ("g11200<enter>", "age 200 is outside 1 to 120 years"),
        ("g114.5<enter>", "age 4.5 is not a whole number"),
        ("g111x<enter>", "only its unit may follow the number: age is from 1 to 120 years"),
        ("g1142<enter>1<enter>60<enter>", "chart distance 60 m is outside 0.5 to 10 m: 0.6 m?"),
        ("g1142<enter>165<enter>", "pupillary distance of one eye 5 mm is outside 15 to 45 mm"),
        (
            "g1142<enter>1630<enter>30<enter>143<enter>0.5<enter>",
            "0.5 could be the decimal (6/12) or the logMAR (6/19): write 0.5 decimal or 0.5logMAR",
        ),
    ];
    for (keys, message) in cases {
        let mut walked = app()?;
        press(&mut walked, keys)?;
        assert_eq!(refused(&walked).as_deref(), Some(message), "{keys}");
        assert!(walked.ui.prompt.is_some(), "{keys}: the line stays to be mended");
    }
    let mut walked = app()?;
    press(&mut walked, "g1142<enter>1630<enter>30<enter>143<enter>20/40-2<enter>")?;
    assert_eq!(walked.state().acuities[0].acuity, "6/12-2".parse()?);
    Ok(())
}

#[test]
fn poor_terminals_get_the_guide_and_the_trail_in_ascii() -> Result<(), Failure> {
    let album = Album::of("guide");
    let led = lead(app()?, &mut short_sighted(), |_| None)?;
    let start = || -> Result<ScreenStart, Failure> {
        let mut start = outreach()?;
        start.settings.characters = Characters::Ascii;
        Ok(start)
    };
    for (nth, _) in led.asked.iter().enumerate().step_by(7) {
        let frame = walk_with(start()?, &led.keys_before(nth), "120x36")?;
        assert!(frame.is_ascii(), "{frame}");
    }
    // high figures leave the guide the rows that they do not need
    let shows_why = |frame: &str| frame.contains("why: ");
    let mut shown = [0; 2];
    for (nth, asked) in led.asked.iter().enumerate().step_by(3) {
        let keys = led.keys_before(nth);
        let (frame, usual) = (walk_with(start()?, &keys, "80x24")?, walk_with(outreach()?, &keys, "80x24")?);
        let has_a_cylinder = frame.matches("no cylinder").count() < 2;
        if shows_why(&usual) {
            // with a cylinder many answers may still need its row
            assert!(shows_why(&frame) || has_a_cylinder, "{:?}: {frame}", asked.presentation.question);
            if !shows_why(&frame) {
                continue;
            }
            let times = &mut shown[usize::from(has_a_cylinder)];
            if *times == 0 {
                let name = if has_a_cylinder { "ascii-5-why-with-a-cylinder-80x24" } else { "ascii-4-why-80x24" };
                album.screen(name, &keys, &frame);
            }
            *times += 1;
        }
    }
    assert!(shown.iter().all(|times| *times > 3), "the reason is shown {shown:?} times");
    for size in ["120x36", "80x24"] {
        let keys = format!("{}<esc>j", led.all_keys());
        let frame = walk_with(start()?, &keys, size)?;
        assert!(frame.is_ascii(), "{frame}");
        album.screen(&format!("ascii-3-trail-{size}"), &keys, &frame);
    }
    Ok(())
}

#[test]
fn the_guide_and_the_trail_are_drawn_at_every_size() -> Result<(), Failure> {
    let album = Album::of("guide");
    let led = lead(app()?, &mut easy(), |_| None)?;
    let middle = led.keys_before(led.asked.len() / 2);
    for keys in ["g", "gc", &middle, &format!("{middle}j"), &led.all_keys()] {
        for columns in [1, 20, 59, 60, 61, 80, 109, 110, 120, 200] {
            for rows in [1, 10, 19, 20, 21, 24, 33, 34, 36, 60] {
                let frame = walk_with(outreach()?, keys, &format!("{columns}x{rows}"))?;
                assert_eq!(frame.lines().count(), rows);
                assert!(frame.lines().all(|line| line.chars().count() <= columns), "{columns}x{rows}");
            }
        }
    }
    // at the least size the power of both eyes, the answers and the eye are still there
    let keys = led.keys_to(|p| p.procedure == Some(ProcedureName::BestSphere))?;
    album.screen("small-4-guide-60x20", &keys, &walk_with(outreach()?, &keys, "60x20")?);
    Ok(())
}

/// A logbook in which retinoscopy came out half a dioptre too plus every time.
struct Earlier {
    asked: Rc<Cell<usize>>,
    pairs: usize,
}

impl Journal for Earlier {
    fn save(&mut self, _step: &CheckedStep) -> Result<(), SaveError> {
        Ok(())
    }

    fn lasts(&self) -> bool {
        true
    }

    fn retinoscopy_pairs(&self) -> Result<Vec<(Power, Power)>, RecordError> {
        self.asked.set(self.asked.get() + 1);
        let pair = |nth: usize| {
            let found = rx(nth as f64 * 0.25 - 2.0, 0.0, 180.0);
            (found + rx(if nth.is_multiple_of(2) { 0.48 } else { 0.52 }, 0.0, 180.0), found)
        };
        Ok((0..self.pairs).map(pair).collect())
    }
}

#[test]
fn a_steady_difference_of_earlier_retinoscopy_is_offered_to_be_taken_off_once_ten_pairs_agree() -> Result<(), Failure> {
    for (pairs, offered) in [(12, true), (9, false)] {
        let asked = Rc::new(Cell::new(0));
        let earlier = Box::new(Earlier { asked: Rc::clone(&asked), pairs });
        let mut walked = App::new(Session::new(app()?.exam().clone(), earlier), Settings::shipped()?);
        let mut person = easy();
        press(&mut walked, "g1")?;
        assert_eq!(asked.get(), 1, "as the exam begins");
        press(&mut walked, "125<enter>1631<enter>31<enter>1399<esc>gl2")?;
        assert_eq!(asked.get(), 1, "not while a key is handled");
        while walked.guide().running().is_some() && walked.guide().presentation().question != Question::YesOrNo {
            let presentation = walked.guide().presentation().clone();
            let answer = person.answers(&presentation, walked.exam());
            let key =
                presentation.choices.iter().find(|choice| choice.answer == answer).map_or(1, |choice| choice.digit);
            press(&mut walked, &key.to_string())?;
        }
        assert_eq!(walked.guide().running().is_some(), offered, "{pairs} pairs");
        if !offered {
            continue;
        }
        let seen = walked.state().results.retinoscopy;
        let stood = walked.state().fitted.in_front_of(Eye::Right).net;
        let question = walked.guide().presentation().clone();
        let said = question.instruction.to_string();
        assert!(said.contains("12 earlier eyes") && said.contains("+0.50"), "{said}");
        assert!(question.choices.iter().any(|choice| choice.answer == Answer::Yes));
        press(&mut walked, "1")?;
        assert_eq!(walked.state().results.retinoscopy, seen, "the record keeps what was seen");
        let stands = walked.state().fitted.in_front_of(Eye::Right).net;
        assert!((stood.m - stands.m - 0.5).abs() < 0.07, "{stood:?} {stands:?}");
        assert_eq!(read_back(&walked)?.guide(), walked.guide(), "it is part of the exam");
        press(&mut walked, "c2")?;
        assert_eq!(asked.get(), 1, "looked up once");
        press(&mut walked, "<esc>NNext<enter>n")?;
        assert_eq!(asked.get(), 2, "once more for another exam: {:?}", walked.ui.says);
    }
    Ok(())
}

/// A logbook whose earlier exams cannot be read.
struct Unreadable;

impl Journal for Unreadable {
    fn save(&mut self, _step: &CheckedStep) -> Result<(), SaveError> {
        Ok(())
    }

    fn lasts(&self) -> bool {
        true
    }

    fn retinoscopy_pairs(&self) -> Result<Vec<(Power, Power)>, RecordError> {
        Err(RecordError::NoLogbook)
    }
}

#[test]
fn where_earlier_exams_cannot_be_read_retinoscopy_begins_and_says_so() -> Result<(), Failure> {
    let mut walked = App::new(Session::new(app()?.exam().clone(), Box::new(Unreadable)), Settings::shipped()?);
    press(&mut walked, "g1")?;
    assert_eq!(refused(&walked), None, "only where it matters");
    press(&mut walked, "125<enter>1631<enter>31<enter>1399<esc>gl2")?;
    assert_eq!(walked.guide().running(), Some((ProcedureName::Retinoscopy, None)));
    let said = refused(&walked).ok_or("nothing is said")?;
    assert!(said.starts_with("earlier retinoscopy cannot be read: "), "{said}");
    Ok(())
}

#[test]
fn a_step_of_the_guide_is_not_checked_once_more() -> Result<(), Failure> {
    let mut walked = app()?;
    for keys in ["g", "1", "1", "2", "5", "<enter>", "s", "a", "l", "3", "1"] {
        for stroke in strokes::parse(keys)? {
            let Stroke::Key(chord) = stroke else { continue };
            let input = Input::Key(chord);
            let Decision { step, .. } = decide::decide(&walked, &input);
            let led = step.events().iter().any(|event| matches!(event, Event::Guide(_)));
            assert_eq!(led, matches!(step, Step::Checked(_)), "{keys}");
            walked.handle(&input);
        }
    }
    assert!(
        walked.exam().standing_steps().iter().flatten().filter(|event| matches!(event, Event::Guide(_))).count() > 4
    );
    Ok(())
}

#[test]
fn settings_that_the_prescription_depends_on_become_part_of_the_exam() -> Result<(), Failure> {
    let start = outreach()?;
    let settings = Settings::read("planned_vertex_mm: 14\n", "settings.yaml")?;
    let mut walked = App::new(start.session, settings);
    press(&mut walked, "g1")?;
    assert_eq!(walked.state().person.planned_vertex.map(|vertex| vertex.0), Some(14.0));
    Ok(())
}

#[test]
fn an_exam_can_be_closed_from_the_guide_once_it_is_written() -> Result<(), Failure> {
    let led = lead(app()?, &mut easy(), |_| None)?;
    let keys = format!("{}<esc>Cy", led.all_keys());
    let frame = walk_with(outreach()?, &keys, "120x36")?;
    assert!(frame.contains("Exam 1 is closed"), "{frame}");
    let mut closed = app()?;
    press(&mut closed, &keys)?;
    assert!(closed.state().finished);
    assert_eq!(closed.ui.panel, Panel::Cells, "a closed exam is not led");
    press(&mut closed, "g")?;
    assert_eq!(refused(&closed).as_deref(), Some("this exam is closed: the guide leads open ones"));
    Ok(())
}
