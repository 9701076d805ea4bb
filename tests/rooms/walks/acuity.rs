//! Acuities typed on the screen: one reader by the examiner's notation, the lines of the chart by key, and a chart that stands
//! elsewhere than its figures say.

use dioptray::exam::{Answer, Detail, Event, GuideEvent, Through};
use dioptray::optics::{Acuity, ChartPlace, Eye};
use dioptray::screen::{App, ScreenStart, Settings};

use super::Failure;
use super::bench::{options, walk_with};
use super::details::down;
use super::laws::{press, refused};
use crate::pictures::Album;

/// Leads the guide to the unaided acuity of the right eye.
const TO_UNAIDED: &str = "g1142<enter>1630<enter>30<enter>143";

fn start(notation: &str) -> Result<ScreenStart, Failure> {
    options(Settings::read(&format!("acuity: {notation}\n"), "settings.yaml")?)
}

fn screen(notation: &str) -> Result<App, Failure> {
    let start = start(notation)?;
    Ok(App::new(start.session, start.settings))
}

fn unaided(app: &App) -> Option<Acuity> {
    let right = |note: &&dioptray::exam::AcuityNote| (note.eye, note.through) == (Some(Eye::Right), Through::Unaided);
    app.state().acuities.iter().rev().find(right).map(|note| note.acuity)
}

/// 0.3 of a logMAR chart is logMAR 0.30 (protocol in *Health Technol Assess* 2012;16(6), p. 149); the rest is the table of bare
/// numbers, common practice, no source.
#[test]
fn details_and_guide_read_an_acuity_alike_in_every_notation() -> Result<(), Failure> {
    let cases = [
        ("logMAR", "0.3", 0.30),
        ("logMAR", "-0.1", -0.10),
        ("6m", "12", 0.301),
        ("3m", "6", 0.301),
        ("20ft", "40", 0.301),
        ("20ft", "70", 0.544),
        ("decimal", "0,5", 0.301),
        ("letters", "70", 0.30),
        ("letters", "6/12-2", 0.341),
        ("6m", "85 letters", 0.0),
        ("6m", "4/8", 0.301),
    ];
    for (notation, typed, log_mar) in cases {
        for keys in [format!("i{}<enter>{typed}<enter>", down(12)), format!("{TO_UNAIDED}<enter>{typed}<enter>")] {
            let mut app = screen(notation)?;
            press(&mut app, &keys)?;
            let read =
                unaided(&app).and_then(Acuity::log_mar).ok_or(format!("{notation}, {typed}: {:?}", app.ui.says))?;
            assert!((read - log_mar).abs() < 0.0005, "{notation}, {typed}: {read}, not {log_mar}");
        }
    }
    for (notation, typed) in [("6m", "0.5"), ("20ft", "1"), ("decimal", "-0.1"), ("letters", "0.5"), ("6m", "7")] {
        for keys in [format!("i{}<enter>{typed}<enter>", down(12)), format!("{TO_UNAIDED}<enter>{typed}<enter>")] {
            let mut app = screen(notation)?;
            press(&mut app, &keys)?;
            assert_eq!(unaided(&app).is_some(), typed == "7", "{notation}, {typed}");
            assert_eq!(refused(&app).is_some() && app.ui.prompt.is_some(), typed != "7", "{notation}, {typed}");
        }
    }
    Ok(())
}

#[test]
fn the_keys_offer_the_lines_of_the_notation() -> Result<(), Failure> {
    let album = Album::of("guide");
    for notation in ["20ft", "logMAR", "letters", "decimal", "3m"] {
        for size in ["120x36", "80x24"] {
            let frame = walk_with(start(notation)?, TO_UNAIDED, size)?;
            album.screen(&format!("lines-{notation}-{size}"), TO_UNAIDED, &frame);
        }
    }
    // the tenth key is 0, and the key that is on the screen is the one that answers
    for (notation, key, line) in
        [("20ft", "0", "20/15"), ("20ft", "2", "20/200"), ("logMAR", "0", "-0.1logMAR"), ("6m", "9", "6/5")]
    {
        let mut app = screen(notation)?;
        press(&mut app, &format!("{TO_UNAIDED}{key}"))?;
        let read = unaided(&app).and_then(Acuity::log_mar).ok_or("not answered")?;
        let meant = line.parse::<Acuity>()?.log_mar().ok_or("no line")?;
        assert!((read - meant).abs() < 1e-9, "{notation}, {key}: {read}");
    }
    let mut app = screen("6m")?;
    press(&mut app, "g0")?;
    assert_eq!(refused(&app).as_deref(), Some("there is no answer 0"));
    // where a figure or a line can be typed, a digit that is no answer begins it
    let mut app = screen("6m")?;
    press(&mut app, &format!("{TO_UNAIDED}0"))?;
    assert_eq!(app.ui.prompt.as_ref().map(|prompt| prompt.line.value().to_owned()).as_deref(), Some("0"));
    let mut app = screen("6m")?;
    press(&mut app, "g110")?;
    assert_eq!(app.ui.prompt.as_ref().map(|prompt| prompt.line.value().to_owned()).as_deref(), Some("0"));
    Ok(())
}

/// A 6/12 line of a 6-m chart read at 3 m is 3/12 = 6/24 (any test distance is taken into account in the record: protocol in
/// *Health Technol Assess* 2012;16(6), p. 147).
#[test]
fn a_chart_made_for_another_distance_is_said_once_and_both_are_kept() -> Result<(), Failure> {
    let place = ChartPlace { made_for_m: 6.0, stands_at_m: 3.0 };
    let at_3_m = format!("i{}<enter>3 for 6<enter><esc>", down(9));
    let kept = Acuity::of_6_m(12.0).read_on(place);
    assert!((kept.denominator_6_m().unwrap_or(f64::NAN) - 24.0).abs() < 1e-9);
    let typed = format!("{at_3_m}i{}<enter>6/12<enter>", down(12));
    // the guide asks for the distance of the chart and is answered 3 m; the key of 6/12 is the line that the chart prints
    for keys in [typed.clone(), format!("{at_3_m}{TO_3_M}6"), format!("{at_3_m}{TO_3_M}<enter>6/12<enter>")] {
        let mut app = screen("6m")?;
        press(&mut app, &keys)?;
        assert_eq!(unaided(&app), Some(kept), "{keys}: {:?}", app.ui.says);
        let answers = app.state().guide.iter().filter_map(|event| match event {
            GuideEvent::Answered { answer: Answer::Read(read), .. } => Some(*read),
            _ => None,
        });
        assert!(answers.into_iter().all(|read| read == kept));
        // said once: it stays for the next person
        press(&mut app, "<esc>NB.<enter>n")?;
        assert_eq!(app.state().person.chart_made_for_metres, Some(6.0));
        assert_eq!(app.state().person.chart_metres, Some(3.0));
    }
    let mut app = screen("6m")?;
    press(&mut app, &format!("{typed}<esc>i{}<enter>3/12<enter>", down(12)))?;
    let last = app.state().acuities.last().map(|note| note.acuity);
    assert_eq!(last, Some(Acuity::of_6_m(24.0)), "said with the distance at which it stands: as it is");
    press(&mut app, &format!("<esc>i{}<enter>4/8<enter>", down(12)))?;
    assert!(refused(&app).is_some_and(|why| why.contains("made for 6 m and stands at 3 m")), "{:?}", app.ui.says);
    // without a word of what it is made for, nothing is converted wherever it stands
    let mut app = screen("6m")?;
    press(&mut app, &format!("i{}<enter>3<enter><esc>i{}<enter>6/12<enter>", down(9), down(12)))?;
    assert_eq!(unaided(&app), Some(Acuity::of_6_m(12.0)));
    assert_eq!(app.exam().standing_steps()[0], [Event::Detail(Detail::ChartMetres(3.0))]);

    let album = Album::of("details");
    for size in ["120x36", "80x24"] {
        album.screen(&format!("chart-made-for-{size}"), &typed, &walk_with(start("6m")?, &typed, size)?);
    }
    Ok(())
}

/// As [`TO_UNAIDED`] where the distance of the chart is known already.
const TO_3_M: &str = "g1142<enter>130<enter>30<enter>143";

/// What has no figure goes on as no letter does; what stands on the record is what was said.
#[test]
fn counting_fingers_and_less_lead_the_guide_as_no_letter_does() -> Result<(), Failure> {
    let led = |typed: &str| -> Result<(App, Vec<String>), Failure> {
        let mut app = screen("6m")?;
        press(&mut app, &format!("{TO_UNAIDED}<enter>{typed}<enter>"))?;
        // what is asked, without the line that it is compared with
        let question = |app: &App| {
            let question = format!("{:?}", app.guide().presentation().question);
            question.split(" {").next().unwrap_or_default().to_owned()
        };
        let mut asked = vec![question(&app)];
        // the pinhole the same, then the left eye at the chart, then on with the first lens
        for keys in ["1", "7", "1", "1"] {
            press(&mut app, keys)?;
            asked.push(format!("{} {:?}", question(&app), app.guide().presentation().shown.to));
        }
        Ok((app, asked))
    };
    let (_, without) = led("none")?;
    for (typed, seen) in [
        ("CF", Acuity::CountingFingers),
        ("hm", Acuity::HandMovements),
        ("LP", Acuity::LightPerception),
        ("NLP", Acuity::NoLightPerception),
    ] {
        let (app, asked) = led(typed)?;
        // a lens changes nothing for an eye that sees light alone, or none: what it sees is noted at once
        let lenses = dioptray::exam::poor_acuity::lenses_can_help(seen);
        assert_eq!(asked == without, lenses, "{typed}: {asked:?}");
        assert!(lenses || asked.iter().any(|asked| asked.starts_with("WithoutLetters")), "{typed}: {asked:?}");
        // the answer to what the eye sees, the first key there, is noted in its place
        assert_eq!(unaided(&app), Some(if lenses { seen } else { Acuity::NoLetter }), "{typed}");
    }
    let frame = walk_with(start("6m")?, &format!("i{}<enter>NPL<enter>", down(12)), "120x36")?;
    assert!(frame.contains("unaided               NPL"), "{frame}");
    Ok(())
}
