//! The details of an exam: keys on the page, what is typed into a row, and accepting what is in the cells.

use super::super::app::App;
use super::super::detail_values::{chart_metres, chart_place, value};
use super::super::field::{COMPLAINTS, Field, GLASSES, NEAR_TASKS, RED_FLAGS, SEEN_BY, row_count, rows};
use super::super::keys::DetailsAction;
use super::super::page::Page;
use super::super::settings::Settings;
use super::super::ui::{Purpose, Ui};
use super::super::words;
use super::decision::Decision;
use super::fault::LineFault;
use crate::exam::prescription::{in_cells, most_chart_allowance};
use crate::exam::{Accepted, AcuityNote, Detail, DeviationAt, Event, RedFlag, State, Through};
use crate::optics::bounds::{self, Range};
use crate::optics::notation::{LensToken, parse_figure, parse_lens, parse_prescription, parse_worn};
use crate::optics::{Acuity, Eye, Millimetres, Prism, PrismDioptres, WornLens};

/// Does a command on the details, or accepts what is in the cells.
pub fn act(app: &App, mut ui: Ui, action: DetailsAction) -> Decision {
    match action {
        DetailsAction::Open => {
            ui.page = Some(Page::Details(0));
            Decision::of(ui)
        }
        DetailsAction::RightEye => {
            ui.eye = Eye::Right;
            Decision::of(ui)
        }
        DetailsAction::LeftEye => {
            ui.eye = Eye::Left;
            Decision::of(ui)
        }
        DetailsAction::EnterDetail if app.state().finished => {
            Decision::refused(app, format!("{} is closed: it can be amended, not changed", app.heading()))
        }
        DetailsAction::EnterDetail => {
            let Some(field) = chosen(&ui) else { return Decision::of(ui) };
            if let Some(eye) = field.taken_from_cells() {
                return accept(app, ui, eye);
            }
            ui.start_line(Purpose::Detail(field), "");
            Decision::of(ui)
        }
        DetailsAction::TakeBack => match chosen(&ui).and_then(|field| Some((field, taken_back(field)?))) {
            Some((field, event)) if value(field, app).is_some() => {
                ui.done(format!("{} taken back", field.full_name()));
                Decision::of(ui).with_step(event)
            }
            _ => Decision::refused(app, "there is nothing here to take back; a new value takes the place of the old"),
        },
        DetailsAction::Accept => {
            let eye = ui.eye;
            accept(app, ui, eye)
        }
    }
}

/// Whether a command on the details would do something now.
pub fn is_available(app: &App, action: DetailsAction) -> bool {
    let ui = &app.ui;
    match action {
        DetailsAction::Accept => has_power(app, ui.eye),
        DetailsAction::EnterDetail => {
            chosen(ui).and_then(Field::taken_from_cells).is_none_or(|eye| has_power(app, eye))
        }
        DetailsAction::TakeBack => {
            chosen(ui).is_some_and(|field| taken_back(field).is_some() && value(field, app).is_some())
        }
        DetailsAction::Open | DetailsAction::RightEye | DetailsAction::LeftEye => true,
    }
}

/// The detail in focus, when the details are open.
pub fn chosen(ui: &Ui) -> Option<Field> {
    match ui.page {
        Some(Page::Details(row)) => rows().nth(row).map(|row| row.field(ui.eye)),
        Some(Page::Records(_) | Page::Box(_) | Page::Day(_) | Page::Practice(_) | Page::Sight) | None => None,
    }
}

/// Accepts the net power of the cells for the record.
fn accept(app: &App, mut ui: Ui, eye: Eye) -> Decision {
    let state = app.state();
    let Some(net) = in_cells(state, eye).filter(|net| net.is_finite()) else {
        let text = format!("the {eye} eye is covered, or light comes to a focus in its cells: no power to accept");
        return Decision::refused(app, text);
    };
    let hand = if state.fitted.held(eye).is_some() { ", without what the hand holds" } else { "" };
    let hides = ui.practice.as_ref().is_some_and(|seated| seated.seat.hidden.net);
    let power = if hides { "what stands in its cells".to_owned() } else { words::power(net, ui.form) };
    ui.done(format!("accepted for the {eye} eye: {power}{hand}"));
    let mut step = assumed(state, &app.settings);
    step.push(Event::Accepted(Accepted::Refraction(eye, Some(net))));
    Decision::of(ui).with_step(step)
}

/// What the settings say and the exam does not: the record must not be written for another distance than the screen shows.
pub fn assumed(state: &State, settings: &Settings) -> Vec<Event> {
    let vertex = settings.planned_vertex.filter(|_| state.person.planned_vertex.is_none());
    let chart = Some(settings.chart_m).filter(|_| state.person.chart_metres.is_none());
    let vertex = vertex.map(|distance| Event::Detail(Detail::PlannedVertex(distance)));
    vertex.into_iter().chain(chart.map(|metres| Event::Detail(Detail::ChartMetres(metres)))).collect()
}

/// The event that takes a detail back, for those that can be.
pub fn taken_back(field: Field) -> Option<Event> {
    let accepted = match field {
        Field::Accepted(eye) => Accepted::Refraction(eye, None),
        Field::Prism(eye) => Accepted::Prism(eye, None),
        Field::Addition => Accepted::Addition(None),
        Field::ChartAllowance => Accepted::ChartAllowance(None),
        Field::StaysOn(eye) => return Some(Event::Detail(Detail::StaysOn(eye, None))),
        Field::NeutralisedFar(eye) => return Some(Event::Detail(Detail::Neutralised(DeviationAt::Far, eye, None))),
        Field::NeutralisedNear(eye) => return Some(Event::Detail(Detail::Neutralised(DeviationAt::Near, eye, None))),
        Field::ReserveFar => return Some(Event::Detail(Detail::Reserve(DeviationAt::Far, None))),
        Field::ReserveNear => return Some(Event::Detail(Detail::Reserve(DeviationAt::Near, None))),
        Field::DeviationSeenBy
        | Field::Label
        | Field::Age
        | Field::Complaint
        | Field::DominantEye
        | Field::EyePd(_)
        | Field::FramePd(_)
        | Field::FrameVertex
        | Field::Tilt
        | Field::FaceForm
        | Field::PlannedVertex
        | Field::Chart
        | Field::Near
        | Field::Working
        | Field::OldGlasses(_)
        | Field::OldAddition
        | Field::Unaided(_)
        | Field::ThroughPinhole(_)
        | Field::ThroughOldGlasses(_)
        | Field::ThroughFrame(_)
        | Field::BothThroughFrame
        | Field::RedFlags
        | Field::PresentGlasses
        | Field::NearTask
        | Field::Drops
        | Field::Note => return None,
    };
    Some(Event::Accepted(accepted))
}

/// Does what the line says for a detail, and goes on to the next one.
pub fn confirm(app: &App, mut ui: Ui, field: Field, text: &str) -> Result<Decision, LineFault> {
    let step = match taken_back(field) {
        Some(event) if text.is_empty() || text.eq_ignore_ascii_case("none") => vec![event],
        _ => read(app, field, text)?,
    };
    go_on(&mut ui, field);
    Ok(Decision::of(ui).with_step(step))
}

/// To the left eye of the same row, else to the next row.
fn go_on(ui: &mut Ui, field: Field) {
    let Some(Page::Details(row)) = &mut ui.page else { return };
    match field.eye() {
        Some(Eye::Right) => return ui.eye = Eye::Left,
        Some(Eye::Left) => ui.eye = Eye::Right,
        None => {}
    }
    *row = (*row + 1).min(row_count() - 1);
}

fn read(app: &App, field: Field, text: &str) -> Result<Vec<Event>, LineFault> {
    let detail = match field {
        Field::Label => Detail::Label(text.to_owned()),
        Field::Age => Detail::AgeYears(parse_figure(text, &bounds::AGE_YEARS)? as u8),
        Field::Complaint => Detail::Complaint(one_of(text, &COMPLAINTS)?),
        Field::DominantEye => Detail::DominantEye(one_of(text, &[("right", Eye::Right), ("left", Eye::Left)])?),
        Field::EyePd(eye) => Detail::EyePd(eye, millimetres(text, &bounds::MONOCULAR_PD_MM)?),
        Field::FramePd(eye) => Detail::FramePd(eye, millimetres(text, &bounds::MONOCULAR_PD_MM)?),
        Field::DeviationSeenBy => Detail::DeviationSeenBy(one_of(text, &SEEN_BY)?),
        Field::NeutralisedFar(eye) => Detail::Neutralised(DeviationAt::Far, eye, Some(neutralises(app, text, eye)?)),
        Field::NeutralisedNear(eye) => Detail::Neutralised(DeviationAt::Near, eye, Some(neutralises(app, text, eye)?)),
        Field::ReserveFar => Detail::Reserve(DeviationAt::Far, Some(reserve(text)?)),
        Field::ReserveNear => Detail::Reserve(DeviationAt::Near, Some(reserve(text)?)),
        Field::StaysOn(eye) => Detail::StaysOn(eye, Some(stays_on(app, text)?)),
        Field::FrameVertex => Detail::FrameVertex(frame_vertex(app, text)?),
        Field::Tilt => Detail::TiltDegrees(parse_figure(text, &bounds::TILT_DEG)?),
        Field::FaceForm => Detail::FaceFormDegrees(parse_figure(text, &bounds::FACE_FORM_DEG)?),
        Field::PlannedVertex => Detail::PlannedVertex(millimetres(text, &bounds::VERTEX_MM)?),
        Field::Chart => return chart(text),
        Field::Near => Detail::NearMetres(parse_figure(text, &bounds::NEAR_M)?),
        Field::Working => Detail::WorkingMetres(parse_figure(text, &bounds::WORKING_M)?),
        Field::OldGlasses(eye) => Detail::OldGlasses(eye, parse_prescription(text)?),
        Field::OldAddition => Detail::OldAddition(parse_figure(text, &bounds::ADDITION)?),
        Field::Unaided(eye) => return acuity(app, Through::Unaided, Some(eye), text),
        Field::ThroughPinhole(eye) => return acuity(app, Through::Pinhole, Some(eye), text),
        Field::ThroughOldGlasses(eye) => return acuity(app, Through::OldGlasses, Some(eye), text),
        Field::ThroughFrame(eye) => return acuity(app, Through::Frame, Some(eye), text),
        Field::BothThroughFrame => return acuity(app, Through::Frame, None, text),
        Field::Accepted(_) => return Err(LineFault::plain("a power is accepted from the cells, not typed")),
        Field::Prism(eye) => return prism_wanted(app, text, eye),
        Field::Addition => {
            return Ok(vec![Event::Accepted(Accepted::Addition(Some(parse_figure(text, &bounds::ADDITION)?)))]);
        }
        Field::ChartAllowance => {
            let metres = chart_metres(app);
            let range = Range { most: down_to_hundredths(most_chart_allowance(metres)), ..bounds::CHART_ALLOWANCE };
            let dioptres = parse_figure(text, &range).map_err(|error| {
                let fault = LineFault::from(error);
                LineFault { problem: format!("{}: the chart stands at {metres} m", fault.problem), ..fault }
            })?;
            return Ok(vec![Event::Accepted(Accepted::ChartAllowance(Some(dioptres)))]);
        }
        Field::RedFlags => Detail::RedFlags(red_flags(text)?),
        Field::PresentGlasses => Detail::PresentGlasses(one_of(text, &GLASSES)?),
        Field::NearTask => Detail::NearTask(one_of(text, &NEAR_TASKS)?),
        Field::Drops => Detail::Drops(one_of(text, &[("yes", true), ("no", false)])?),
        Field::Note => return Ok(vec![Event::Note(text.to_owned())]),
    };
    Ok(vec![Event::Detail(detail)])
}

/// What stays on, where the frame can stand in front of it.
fn stays_on(app: &App, text: &str) -> Result<WornLens, LineFault> {
    let worn = parse_worn(text)?;
    let frame = app.state().fitted.frame.vertex;
    if worn.vertex.0 > frame.0 {
        return Err(LineFault::plain(format!(
            "the frame stands at {} mm, behind these glasses: measure its vertex over them first, and type it under frame vertex",
            frame.0
        )));
    }
    Ok(worn)
}

/// The vertex distance of the frame as it was measured: in front of what stays on.
fn frame_vertex(app: &App, text: &str) -> Result<Millimetres, LineFault> {
    let measured = millimetres(text, &bounds::VERTEX_MM)?;
    let worn = app.state().person.stays_on.into_iter().flatten();
    match worn.map(|worn| worn.vertex.0).find(|&worn| worn > measured.0) {
        Some(worn) => {
            Err(LineFault::plain(format!("glasses stay on at {worn} mm: the frame cannot stand behind them")))
        }
        None => Ok(measured),
    }
}

/// Where the chart stands, and for which distance it is made where that is said: `3`, `3 for 6`.
fn chart(text: &str) -> Result<Vec<Event>, LineFault> {
    let Some((stands_at, made_for)) = text.split_once(MADE_FOR) else {
        return Ok(vec![Event::Detail(Detail::ChartMetres(parse_figure(text, &bounds::CHART_M)?))]);
    };
    let start = stands_at.chars().count() + MADE_FOR.len();
    let made_for = parse_figure(made_for, &bounds::CHART_M).map_err(|error| {
        let fault = LineFault::from(error);
        LineFault { place: fault.place.map(|place| place + start), ..fault }
    });
    let stands_at = parse_figure(stands_at, &bounds::CHART_M)?;
    let details = [Detail::ChartMetres(stands_at), Detail::ChartMadeForMetres(made_for?)];
    Ok(details.map(Event::Detail).into())
}

/// What stands between the distance of a chart and that for which it is made.
const MADE_FOR: &str = " for ";

pub(super) fn acuity(app: &App, through: Through, eye: Option<Eye>, text: &str) -> Result<Vec<Event>, LineFault> {
    let acuity = Acuity::read(text, app.settings.acuity, chart_place(app))?;
    let covered = |eye: Eye| app.state().fitted.in_front_of(eye).occluded;
    if let (Through::Frame, Some(eye)) =
        (through, eye.map_or_else(|| Eye::BOTH.into_iter().find(|eye| covered(*eye)), Some))
        && covered(eye)
    {
        return Err(LineFault::plain(format!("the {eye} eye is covered: it reads nothing through the frame")));
    }
    Ok(vec![Event::Acuity(AcuityNote { eye, through, acuity })])
}

/// The prism wanted before an eye as it is typed; or that of both eyes from the deviation that was neutralised: `half`, `all`
/// before this eye, `sheard`, each of what was found far away where `near` does not follow.
fn prism_wanted(app: &App, text: &str, eye: Eye) -> Result<Vec<Event>, LineFault> {
    let lower = text.trim().to_ascii_lowercase();
    let (way, at) = match lower.strip_suffix(" near") {
        Some(way) => (way.trim(), DeviationAt::Near),
        None => (lower.strip_suffix(" far").unwrap_or(&lower).trim(), DeviationAt::Far),
    };
    if !FROM_A_DEVIATION.contains(&way) {
        return Ok(vec![Event::Accepted(Accepted::Prism(eye, Some(prism(text, eye)?)))]);
    }
    let deviation = app.state().person.deviation(at);
    let Some(neutralised) = deviation.neutralised() else {
        return Err(LineFault::plain(format!("no deviation was neutralised {} yet: type it below first", at.shown())));
    };
    let wanted = match (way, deviation.reserve) {
        ("half", _) => neutralised.shared(),
        ("all", _) => neutralised.all_before(eye),
        (_, None) => {
            return Err(LineFault::plain(format!(
                "Sheard's rule needs the reserve {}: type it below first",
                at.shown()
            )));
        }
        (_, Some(_)) if neutralised.is_vertical_too() => {
            let why = "Sheard's rule is for a horizontal deviation, and this one has a vertical part: type the prism";
            return Err(LineFault::plain(why));
        }
        (_, Some(reserve)) => neutralised.by_sheard(reserve),
    };
    for prism in wanted {
        bounds::PRISM.check(prism.amount()).map_err(|refusal| LineFault::plain(refusal.to_string()))?;
    }
    Ok(Eye::BOTH.map(|eye| Event::Accepted(Accepted::Prism(eye, Some(wanted[eye])))).into())
}

/// The words that choose the prism from a deviation.
const FROM_A_DEVIATION: [&str; 3] = ["half", "all", "sheard"];

/// The prism that neutralised a deviation before an eye, as it is typed, or `cells` for what stands there with the hand.
fn neutralises(app: &App, text: &str, eye: Eye) -> Result<Prism, LineFault> {
    if !text.trim().eq_ignore_ascii_case("cells") {
        return prism(text, eye);
    }
    let there = app.in_front_of(eye);
    if there.prisms_do_not_add {
        return Err(LineFault::plain(
            "strong prisms stand there one behind the other, and do not add: measure what they do, and type it",
        ));
    }
    let within = bounds::PRISM.check(there.prism.amount());
    within.map(|_| there.prism).map_err(|refusal| LineFault::plain(refusal.to_string()))
}

fn reserve(text: &str) -> Result<PrismDioptres, LineFault> {
    Ok(PrismDioptres(parse_figure(text, &bounds::RESERVE)?))
}

/// One prism, or two that add up: `2BI 1BU`.
fn prism(text: &str, eye: Eye) -> Result<Prism, LineFault> {
    let mut sum = Prism::NONE;
    let mut at = 0;
    for part in text.split(' ') {
        let start = at;
        at += part.chars().count() + 1;
        if part.is_empty() {
            continue;
        }
        let behind = |fault: LineFault| LineFault { place: fault.place.map(|place| place + start), ..fault };
        let LensToken::Prism { amount, base } = parse_lens(part).map_err(|error| behind(error.into()))? else {
            let problem = "a prism is wanted here, like 2BI or 2BI 1BU".to_owned();
            return Err(LineFault { problem, place: Some(start) });
        };
        sum = sum + Prism::polar(amount, base.degrees(eye));
    }
    match bounds::PRISM.check(sum.amount()) {
        Ok(_) => Ok(sum),
        Err(refusal) => Err(LineFault { problem: refusal.to_string(), place: Some(0) }),
    }
}

/// The signs that are named, by their words; `none` for none.
fn red_flags(text: &str) -> Result<Vec<RedFlag>, LineFault> {
    if text.trim().eq_ignore_ascii_case("none") {
        return Ok(Vec::new());
    }
    let words = text.split([' ', ',']).filter(|word| !word.is_empty());
    words.map(|word| one_of(word, &RED_FLAGS)).collect()
}

fn millimetres(text: &str, row: &Range) -> Result<Millimetres, LineFault> {
    Ok(Millimetres(parse_figure(text, row)?))
}

fn one_of<T: Copy>(text: &str, words: &[(&str, T)]) -> Result<T, LineFault> {
    let found = words.iter().find(|(word, _)| word.eq_ignore_ascii_case(text));
    found.map(|(_, value)| *value).ok_or_else(|| {
        let all: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        LineFault { problem: format!("write one of {}", all.join(", ")), place: Some(0) }
    })
}

/// A limit in two places and never above it, so that what a message allows is taken when it is typed.
fn down_to_hundredths(limit: f64) -> f64 {
    (limit * 100.0 + 1e-9).floor() / 100.0
}

/// Whether there is a power before an eye that could be accepted.
pub fn has_power(app: &App, eye: Eye) -> bool {
    in_cells(app.state(), eye).is_some_and(crate::optics::Power::is_finite)
}
