//! What the details of the exam are now, and what holds where nothing was typed.

use super::app::App;
use super::field::Field;
use super::words;
use crate::exam::prescription::{prism_parts, too_plus_of_near_chart};
use crate::exam::{Complaint, Through};
use crate::optics::notation::{LensToken, Style, write_lens, write_worn};
use crate::optics::{Acuity, ChartPlace, Millimetres, PrismPart, SpheroCylinder};

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
        Field::Complaint => person.complaint.map(|complaint| {
            match complaint {
                Complaint::FarBlur => "blur at distance",
                Complaint::BlurEverywhere => "blur at all distances",
                Complaint::NearOnly => "near work",
                Complaint::Nothing => "none",
            }
            .to_owned()
        }),
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
        Field::Prism(eye) => {
            let prism = state.results.prism[eye]?;
            let part =
                |part: &PrismPart| write_lens(&LensToken::Prism { amount: part.amount, base: part.base }, Style::Ascii);
            Some(prism_parts(prism, eye).iter().map(part).collect::<Vec<_>>().join(" "))
        }
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
        Field::FrameVertex => Some(format!("{frame_vertex} mm, declared, not measured")),
        Field::StaysOn(_) => Some("nothing".to_owned()),
        Field::Label
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
        | Field::Prism(_)
        | Field::Addition
        | Field::RedFlags
        | Field::PresentGlasses
        | Field::NearTask
        | Field::Note => None,
        Field::Drops => Some("none".to_owned()),
    }
}
