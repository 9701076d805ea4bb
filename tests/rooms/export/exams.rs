//! Invented exams for the checks of the record.

use dioptray::exam::prescription::CylinderForm;
use dioptray::exam::{
    Accepted, AcuityNote, Complaint, Detail, Event, Exam, ExamError, Judgement, Opening, Through, Tried,
};
use dioptray::export::{Record, RecordHead};
use dioptray::frame::{DeclaredFrame, FittedFrame};
use dioptray::kit::Stock;
use dioptray::optics::{Acuity, AcuityNotation, Eye, Millimetres, Power, Prism, SpheroCylinder};

use crate::plain::{box_of, four_cells};

pub fn rx(sphere: f64, cylinder: f64, axis: f64) -> SpheroCylinder {
    SpheroCylinder { sphere, cylinder, axis }
}

/// An exam with an empty four-cell frame 12 mm from the cornea; no lens is moved in these checks.
pub fn opened() -> Exam {
    let frame = DeclaredFrame { name: "Four-cell adjustable".to_owned(), ..four_cells() };
    let declared = box_of("Hillside outreach", Vec::new());
    Exam::open(Opening::of(FittedFrame::new(frame, Stock::of(&declared))))
}

pub fn read(eye: Eye, through: Through, acuity: Acuity) -> Event {
    Event::Acuity(AcuityNote { eye: Some(eye), through, acuity })
}

pub fn tried(eye: Eye, power: Power, acuity: Acuity) -> Event {
    Event::Tried(Tried { eye, power, acuity: Some(acuity), judgement: Some(Judgement::Better), kept: true })
}

pub fn accepted(eye: Eye, power: SpheroCylinder) -> Event {
    Event::Accepted(Accepted::Refraction(eye, Some(power.power())))
}

pub fn with_letters(denominator: f64, letters: i8) -> Acuity {
    Acuity::Line { mar: denominator / 6.0, letters }
}

/// A short-sighted adult with astigmatism in the right eye, everything recorded, closed and amended. The two eyes differ
/// in every figure, so that one taken for the other shows.
pub fn adult() -> Result<Exam, ExamError> {
    let right = rx(-5.37, -0.80, 174.0).power();
    let left = rx(-2.70, 0.0, 180.0).power();
    let details = [
        Detail::Label("K.M.".to_owned()),
        Detail::AgeYears(47),
        Detail::Complaint(Complaint::FarBlur),
        Detail::EyePd(Eye::Right, Millimetres(31.5)),
        Detail::EyePd(Eye::Left, Millimetres(30.0)),
        Detail::PlannedVertex(Millimetres(14.0)),
        Detail::ChartMetres(6.0),
        Detail::NearMetres(0.4),
        Detail::OldGlasses(Eye::Right, rx(-5.25, -0.75, 180.0)),
        Detail::OldGlasses(Eye::Left, rx(-1.25, -0.50, 90.0)),
        Detail::OldAddition(0.75),
    ];
    let mut steps: Vec<Event> = details.map(Event::Detail).into();
    steps.extend([
        read(Eye::Right, Through::Unaided, Acuity::NoLetter),
        read(Eye::Right, Through::Pinhole, Acuity::of_6_m(18.0)),
        read(Eye::Left, Through::Unaided, Acuity::of_6_m(60.0)),
        read(Eye::Left, Through::Pinhole, Acuity::of_6_m(12.0)),
        read(Eye::Left, Through::OldGlasses, Acuity::of_6_m(24.0)),
        tried(Eye::Right, rx(-5.00, 0.0, 180.0).power(), Acuity::of_6_m(12.0)),
        tried(Eye::Right, right, with_letters(6.0, -2)),
        tried(Eye::Left, left, Acuity::of_6_m(5.0)),
        Event::Accepted(Accepted::Retinoscopy(Eye::Right, Some(rx(-5.25, -1.00, 170.0).power()))),
        Event::Accepted(Accepted::Retinoscopy(Eye::Left, Some(rx(-2.25, 0.0, 180.0).power()))),
        Event::Accepted(Accepted::Refraction(Eye::Right, Some(right))),
        Event::Accepted(Accepted::Refraction(Eye::Left, Some(left))),
        Event::Accepted(Accepted::Addition(Some(1.25))),
        Event::Accepted(Accepted::Prism(Eye::Right, Some(Prism { x: 2.0, y: 1.0 }))),
        Event::Note("Reads mostly at a desk; asked for \"one pair for all\".".to_owned()),
        Event::Finished,
        Event::Amended("Old glasses were single vision.".to_owned()),
    ]);
    applied(opened(), &steps)
}

/// An exam after further steps, each a step of its own.
pub fn applied(mut exam: Exam, events: &[Event]) -> Result<Exam, ExamError> {
    for event in events {
        exam.apply(std::slice::from_ref(event))?;
    }
    Ok(exam)
}

/// The record of an exam that began on a morning in Nairobi's time.
pub fn record(exam: &Exam, form: CylinderForm, examiner: Option<&str>) -> Result<Record, jiff::Error> {
    Ok(Record::of(exam.state(), head(form, examiner)?))
}

/// What the record of such an exam needs beside its state.
pub fn head(form: CylinderForm, examiner: Option<&str>) -> Result<RecordHead, jiff::Error> {
    Ok(RecordHead {
        id: None,
        exam: 14,
        seat: None,
        opened: "2026-03-14T09:30:00+03:00[+03:00]".parse()?,
        closed: Some("2026-03-14T10:02:00+03:00[+03:00]".parse()?),
        examiner: examiner.map(str::to_owned),
        form,
        acuity: AcuityNotation::SixMetres,
        axis_step_deg: 1,
        additions_unread: 0,
    })
}
