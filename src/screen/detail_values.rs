//! What the details of the exam are now, and what holds where nothing was typed.

use super::app::App;
use super::field::Field;
use super::words;
use crate::exam::prescription::{prism_parts, too_plus_of_near_chart};
use crate::exam::{Complaint, DeviationAt, Through};
use crate::export::words::hundredths;
use crate::optics::notation::{LensToken, Style, write_lens, write_worn};
use crate::optics::{Acuity, ChartPlace, Eye, Millimetres, Prism, PrismPart, SpheroCylinder, WornKind};

/// The chart distance in metres that holds: the exam's, or the settings' where it has none.
pub fn chart_metres(app: &App) -> f64 {
    app.state().person.chart_metres.unwrap_or(app.settings.chart_m)
}

/// The chart, where it is said for which distance it is made; else its figures are taken as true where it stands.
pub fn chart_place(app: &App) -> Option<ChartPlace> {
    let made_for_m = app.state().person.chart_made_for_metres?;
    Some(ChartPlace { made_for_m, stands_at_m: chart_metres(app) })
}

/// What it is now; `None` when it is not known.
pub fn value(field: Field, app: &App) -> Option<String> {
    let state = app.state();
    let person = &state.person;
    let fitted = &state.fitted;
    let millimetres = |distance: Millimetres| format!("{} mm", distance.0);
    let metres = |distance: f64| format!("{distance} m");
    let degrees = |degrees: f64| format!("{degrees}°");
    let power = |power: SpheroCylinder| words::power(power.power(), app.ui.form);
    let acuity = |acuity: Acuity| words::acuity_and_chart(acuity, app.settings.acuity);
    match field {
        Field::Label => person.label.clone(),
        Field::Age => person.age_years.map(|years| format!("{years} years")),
        Field::Complaint => person.complaint.map(|complaint| complained(complaint).to_owned()),
        Field::DominantEye => person.dominant_eye.map(|eye| eye.to_string()),
        Field::EyePd(eye) => fitted.eye_pd[eye].map(millimetres),
        Field::FramePd(eye) => fitted.frame_pd[eye].map(millimetres),
        Field::StaysOn(eye) => person.stays_on[eye].map(|worn| write_worn(&worn, app.ui.form, Style::Ascii)),
        Field::FrameVertex => person.measured_vertex.map(millimetres),
        Field::Tilt => person.tilt_deg.map(degrees),
        Field::FaceForm => person.face_form_deg.map(degrees),
        Field::PlannedVertex => person.planned_vertex.map(millimetres),
        Field::Chart => match (person.chart_metres, person.chart_made_for_metres) {
            (None, None) => None,
            (Some(stands_at), None) => Some(metres(stands_at)),
            (_, Some(made_for)) => Some(format!("{}, made for {}", metres(chart_metres(app)), metres(made_for))),
        },
        Field::Near => person.near_metres.map(metres),
        Field::Working => person.working_metres.map(metres),
        Field::OldGlasses(eye) => person.old_glasses[eye].map(|old| {
            let within = person.old_glasses_within[eye].map(|within| format!(", to within {within:.2} D"));
            power(old) + &within.unwrap_or_default()
        }),
        Field::OldAddition => person.old_addition.map(words::dioptres),
        Field::Unaided(eye) => state.last_read(eye, Through::Unaided).map(acuity),
        Field::ThroughPinhole(eye) => state.last_read(eye, Through::Pinhole).map(acuity),
        Field::ThroughOldGlasses(eye) => state.last_read(eye, Through::OldGlasses).map(acuity),
        Field::ThroughFrame(eye) => {
            let reading = state.readings.iter().rev().find(|reading| reading.eye == Some(eye))?;
            let with = reading.before[eye].map(|before| format!(" with {}", words::power(before, app.ui.form)));
            Some(acuity(reading.acuity) + &with.unwrap_or_default())
        }
        Field::BothThroughFrame => {
            let reading = state.readings.iter().rev().find(|reading| reading.eye.is_none())?;
            Some(acuity(reading.acuity))
        }
        Field::Accepted(eye) => state.results.refraction[eye].map(|found| words::power(found, app.ui.form)),
        Field::Prism(eye) => state.results.prism[eye].map(|prism| as_typed(prism, eye)),
        Field::DeviationSeenBy => person.deviation_seen_by.map(|by| by.shown().to_owned()),
        Field::NeutralisedFar(eye) => neutralised(app, DeviationAt::Far, eye),
        Field::NeutralisedNear(eye) => neutralised(app, DeviationAt::Near, eye),
        Field::ReserveFar => reserve(app, DeviationAt::Far),
        Field::ReserveNear => reserve(app, DeviationAt::Near),
        Field::Addition => state.results.addition.map(words::dioptres),
        Field::ChartAllowance => state.results.chart_allowance.map(|dioptres| format!("{dioptres:.2} D")),
        Field::RedFlags => person.red_flags.as_ref().map(|named| {
            let named: Vec<&str> = named.iter().map(|flag| flag.shown()).collect();
            if named.is_empty() { "none".to_owned() } else { named.join(", ") }
        }),
        Field::PresentGlasses => person.present_glasses.map(|glasses| glasses.shown().to_owned()),
        Field::NearTask => person.near_task.map(|task| task.shown().to_owned()),
        Field::Drops => person.drops.then(|| "yes: accommodation rests".to_owned()),
        Field::Note => match state.notes.as_slice() {
            [] => None,
            [note] => Some(note.clone()),
            notes => notes.last().map(|note| format!("{} notes, the last: {note}", notes.len())),
        },
    }
}

/// A prism in its parts as it is typed: `2BI 1BU`; `none`.
pub fn as_typed(prism: Prism, eye: Eye) -> String {
    let part = |part: &PrismPart| write_lens(&LensToken::Prism { amount: part.amount, base: part.base }, Style::Ascii);
    let parts = prism_parts(prism, eye);
    if parts.is_empty() { "none".to_owned() } else { parts.iter().map(part).collect::<Vec<_>>().join(" ") }
}

/// Shorter forms of what a detail is, the longest first, for where there is no room for the whole: no figure is ever cut.
pub fn shorter(field: Field, app: &App) -> Vec<String> {
    let person = &app.state().person;
    let form = app.ui.form;
    let prisms = |at: DeviationAt, eye: Eye| -> Vec<String> {
        let Some(prism) = person.deviation(at).before[eye] else { return Vec::new() };
        let with_degrees = prism_parts(prism, eye).into_iter().map(|part| {
            let lens = LensToken::Prism { amount: part.amount, base: part.base };
            format!("{} {}°", write_lens(&lens, Style::Ascii), part.base.degrees(eye))
        });
        vec![with_degrees.collect::<Vec<_>>().join(" "), as_typed(prism, eye)]
    };
    match field {
        Field::NeutralisedFar(eye) => prisms(DeviationAt::Far, eye),
        Field::NeutralisedNear(eye) => prisms(DeviationAt::Near, eye),
        Field::StaysOn(eye) => person.stays_on[eye].map_or_else(Vec::new, |worn| {
            let power = words::power(worn.power.power(), form);
            match worn.kind {
                WornKind::ContactLens => vec![format!("CL {power}")],
                WornKind::Glasses => vec![format!("{power} at {}", worn.vertex.0), power],
            }
        }),
        Field::Prism(eye) if app.state().results.prism[eye].is_none() => vec!["(half of it)".to_owned()],
        Field::Label
        | Field::Age
        | Field::Complaint
        | Field::DominantEye
        | Field::EyePd(_)
        | Field::OldGlasses(_)
        | Field::OldAddition
        | Field::FramePd(_)
        | Field::PlannedVertex
        | Field::Chart
        | Field::Near
        | Field::Working
        | Field::Unaided(_)
        | Field::ThroughPinhole(_)
        | Field::ThroughOldGlasses(_)
        | Field::ThroughFrame(_)
        | Field::BothThroughFrame
        | Field::Accepted(_)
        | Field::Prism(_)
        | Field::Addition
        | Field::ChartAllowance
        | Field::Note
        | Field::RedFlags
        | Field::PresentGlasses
        | Field::NearTask
        | Field::Drops
        | Field::FrameVertex
        | Field::Tilt
        | Field::FaceForm
        | Field::DeviationSeenBy
        | Field::ReserveFar
        | Field::ReserveNear => Vec::new(),
    }
}

/// The prism that neutralised a deviation before an eye, each base in a word and in degrees on the dial: `6 in, 0°; 2 up, 90°`.
fn neutralised(app: &App, at: DeviationAt, eye: Eye) -> Option<String> {
    let prism = app.state().person.deviation(at).before[eye]?;
    let parts = prism_parts(prism, eye);
    if parts.is_empty() {
        return Some("none".to_owned());
    }
    let part = |part: &PrismPart| {
        let degrees = part.base.degrees(eye);
        format!("{} {}, {degrees}°", hundredths(part.amount), part.base)
    };
    Some(parts.iter().map(part).collect::<Vec<_>>().join("; "))
}

fn reserve(app: &App, at: DeviationAt) -> Option<String> {
    let deviation = app.state().person.deviation(at);
    let reserve = deviation.reserve?;
    // the rule is for a horizontal deviation
    let sheard = deviation.neutralised().filter(|found| !found.is_vertical_too()).map(|found| {
        let each = found.by_sheard(reserve).right;
        match prism_parts(each, Eye::Right).first() {
            Some(part) => format!("; Sheard: {} {} each", hundredths(part.amount), part.base),
            None => "; Sheard: none".to_owned(),
        }
    });
    Some(format!("{} to the blur{}", hundredths(reserve.0), sheard.unwrap_or_default()))
}

/// The half of the deviation far away that would stand before an eye.
fn offered(app: &App, eye: Eye) -> Option<String> {
    let neutralised = app.state().person.deviation(DeviationAt::Far).neutralised()?;
    Some(format!("half: {}", as_typed(neutralised.shared()[eye], eye)))
}

/// What holds where nothing was typed, and why.
pub fn default(field: Field, app: &App) -> Option<String> {
    let frame_vertex = app.state().fitted.frame.vertex.0;
    match field {
        Field::PlannedVertex => Some(match app.settings.planned_vertex {
            Some(vertex) => format!("{} mm, as the settings say", vertex.0),
            None => format!("{frame_vertex} mm, as the frame"),
        }),
        Field::Chart => Some(format!("{} m, as the settings say", app.settings.chart_m)),
        Field::ChartAllowance => {
            let metres = chart_metres(app);
            let too_plus = too_plus_of_near_chart(metres);
            (too_plus > 0.0).then(|| format!("none; a chart at {metres} m calls for {too_plus:.2} D"))
        }
        Field::FramePd(eye) => app.state().fitted.eye_pd[eye].map(|_| "the person's".to_owned()),
        Field::FrameVertex => Some(format!("{frame_vertex} mm, not measured")),
        Field::StaysOn(_) => Some("nothing".to_owned()),
        Field::Prism(eye) => offered(app, eye),
        Field::DeviationSeenBy
        | Field::NeutralisedFar(_)
        | Field::NeutralisedNear(_)
        | Field::ReserveFar
        | Field::ReserveNear
        | Field::Label
        | Field::Age
        | Field::Complaint
        | Field::DominantEye
        | Field::EyePd(_)
        | Field::Near
        | Field::Working
        | Field::Tilt
        | Field::FaceForm
        | Field::OldGlasses(_)
        | Field::OldAddition
        | Field::Unaided(_)
        | Field::ThroughPinhole(_)
        | Field::ThroughOldGlasses(_)
        | Field::ThroughFrame(_)
        | Field::BothThroughFrame
        | Field::Accepted(_)
        | Field::Addition
        | Field::RedFlags
        | Field::PresentGlasses
        | Field::NearTask
        | Field::Note => None,
        Field::Drops => Some("none".to_owned()),
    }
}

/// What somebody complains of, in words.
pub fn complained(complaint: Complaint) -> &'static str {
    match complaint {
        Complaint::FarBlur => "blur at distance",
        Complaint::BlurEverywhere => "blur at all distances",
        Complaint::NearOnly => "near work",
        Complaint::Nothing => "none",
    }
}
