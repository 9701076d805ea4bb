//! Figures and lines that are typed where answers have digits as keys: what was typed counts, and never the answer whose key it
//! begins with.

use dioptray::exam::Through;
use dioptray::optics::{Acuity, AcuityNotation, Eye};
use dioptray::screen::Settings;
use dioptray::screen::keys::strokes::{self, Stroke};
use dioptray::screen::ui::Input;
use dioptray::screen::{App, ScreenStart};

use super::Failure;
use super::guide::outreach;

/// To the distance of the chart.
const TO_CHART: &str = "g1142<enter>1";
/// From there to what is done near.
const TO_NEAR: &str = "631<enter>31<enter>1";
/// From there to the unaided line of the right eye.
const TO_LINE: &str = "43";

fn after(keys: &str, acuity: AcuityNotation) -> Result<App, Failure> {
    let start = outreach()?;
    let start = ScreenStart { settings: Settings { acuity, ..start.settings }, ..start };
    let mut app = App::new(start.session, start.settings);
    for stroke in strokes::parse(keys)? {
        let Stroke::Key(chord) = stroke else { return Err("not a key".into()) };
        app.handle(&Input::Key(chord));
    }
    Ok(app)
}

fn unaided(app: &App) -> Option<f64> {
    app.state().last_read(Eye::Right, Through::Unaided)?.log_mar()
}

#[test]
fn a_chart_distance_typed_is_that_distance() -> Result<(), Failure> {
    for (keys, metres) in [("6", 6.0), ("5", 5.0), ("4", 4.0), ("3", 3.0), ("2", 2.0), ("3.5<enter>", 3.5)] {
        let app = after(&format!("{TO_CHART}{keys}"), AcuityNotation::SixMetres)?;
        assert_eq!(app.state().person.chart_metres, Some(metres), "{keys}");
    }
    Ok(())
}

#[test]
fn a_near_distance_typed_is_that_distance() -> Result<(), Failure> {
    for (keys, metres) in [("4", 0.40), ("3", 0.33), ("6", 0.60), ("45<enter>", 0.45), ("50<enter>", 0.50)] {
        let app = after(&format!("{TO_CHART}{TO_NEAR}{keys}"), AcuityNotation::SixMetres)?;
        assert_eq!(app.state().person.near_metres, Some(metres), "{keys}");
    }
    Ok(())
}

#[test]
fn a_line_typed_is_that_line_in_every_notation() -> Result<(), Failure> {
    for (acuity, keys, line) in [
        (AcuityNotation::SixMetres, "6/60<enter>", "6/60"),
        (AcuityNotation::SixMetres, "6/12-2<enter>", "6/12-2"),
        (AcuityNotation::ThreeMetres, "3/6<enter>", "6/12"),
        (AcuityNotation::TwentyFeet, "20/200<enter>", "6/60"),
        (AcuityNotation::Decimal, "0.5<enter>", "6/12"),
        (AcuityNotation::LogMar, "0.3<enter>", "6/12"),
        (AcuityNotation::LogMar, "1.0<enter>", "6/60"),
        (AcuityNotation::Letters, "70<enter>", "6/12"),
    ] {
        let app = after(&format!("{TO_CHART}{TO_NEAR}{TO_LINE}{keys}"), acuity)?;
        let meant = Acuity::read(line, AcuityNotation::SixMetres, None)?.log_mar().ok_or("a line of letters")?;
        let read = unaided(&app).ok_or(format!("{keys} in {acuity:?}: {:?}", app.ui.says))?;
        assert!((read - meant).abs() < 0.005, "{keys} in {acuity:?}: {read} log MAR, {:?}", app.ui.says);
    }
    Ok(())
}

#[test]
fn a_key_that_begins_nothing_takes_nothing_back() -> Result<(), Failure> {
    let keys = format!("{TO_CHART}{TO_NEAR}{TO_LINE}6");
    for other in ["x", "8", "<tab>/", "u6"] {
        let app = after(&format!("{keys}{other}"), AcuityNotation::SixMetres)?;
        assert!(unaided(&app).is_some(), "{other}: {:?}", app.ui.says);
    }
    Ok(())
}
