//! What stays on under the frame, the measured vertex distance and the declared tilt in every form of a record.

use dioptray::exam::prescription::{Against, CylinderForm, comparisons};
use dioptray::exam::{Accepted, Detail, Event, Exam, ExamError, Prescription};
use dioptray::export::{Record, RecordForm};
use dioptray::optics::{Eye, Millimetres, WornKind, WornLens};
use serde_json::Value;

use super::Checked;
use super::exams::{accepted, applied, opened, record, rx};
use super::read_back::spreadsheet::{Cell, column};
use super::read_back::{pdf, spreadsheet};

/// A contact lens of −3.00 stays on the right eye alone, and −1.00 is found over it: −4.19 at 12 mm by hand (see the outside
/// checks); the left eye takes −2.00 with nothing on.
fn over_a_contact_lens() -> Result<Exam, ExamError> {
    let worn = WornLens { kind: WornKind::ContactLens, power: rx(-3.0, 0.0, 180.0), vertex: Millimetres(0.0) };
    let events = [
        Event::Detail(Detail::StaysOn(Eye::Right, Some(worn))),
        accepted(Eye::Right, rx(-1.0, 0.0, 180.0)),
        accepted(Eye::Left, rx(-2.0, 0.0, 180.0)),
    ];
    applied(opened(), &events)
}

fn in_words(form: RecordForm, record: &Record) -> Result<String, Box<dyn std::error::Error>> {
    let text = if form == RecordForm::Pdf {
        let lines = pdf::lines(&form.write(record)?)?;
        lines.iter().map(|line| line.join(" ")).collect::<Vec<_>>().join(" ")
    } else {
        String::from_utf8_lossy(&form.write(record)?).into_owned()
    };
    Ok(text.split_whitespace().collect::<Vec<_>>().join(" "))
}

#[test]
fn every_form_says_that_it_is_over_what_stays_on_and_of_which_eye() -> Checked {
    let over = record(&over_a_contact_lens()?, CylinderForm::Minus, None)?;
    for &form in RecordForm::ALL {
        let text = in_words(form, &over)?;
        assert!(text.contains("The right eye was refracted over a contact lens that stays on"), "{form:?}: {text}");
        assert!(!text.contains("The left eye was refracted over"), "{form:?}: {text}");
    }
    for form in [
        RecordForm::Card,
        RecordForm::Pdf,
        RecordForm::Markdown,
        RecordForm::Fhir,
        RecordForm::FhirR4b,
        RecordForm::Dicom,
    ] {
        let text = in_words(form, &over)?;
        let said =
            "Right eye: found over contact lens −3.00, which stays on; both together are −4.19 as one lens at 12 mm.";
        assert!(text.contains(said), "{form:?}: {text}");
    }
    Ok(())
}

#[test]
fn the_written_power_is_that_over_the_lens_and_the_total_stands_beside_it() -> Checked {
    let exam = over_a_contact_lens()?;
    let over = record(&exam, CylinderForm::Minus, None)?;
    assert_eq!(over.right.written.map(|written| written.sphere), Some(-1.0));
    let total = over.right.total.ok_or("no total")?;
    assert!((total.sphere + 4.188_601).abs() < 1e-5 && total.cylinder.abs() < 1e-9, "{total:?}");
    assert_eq!((over.left.stays_on, over.left.total), (None, None), "the other eye has nothing on");
    let table = spreadsheet::opened(&RecordForm::Csv.write(&over)?)?;
    assert_eq!(column(&table, 1, "sphere_d"), Some(&Cell::Number(-1.0)));
    assert_eq!(column(&table, 1, "stays_on_sphere_d"), Some(&Cell::Number(-3.0)));
    assert_eq!(column(&table, 1, "total_m_d"), Some(&Cell::Number(-4.1886)));
    assert_eq!(column(&table, 2, "stays_on_sphere_d"), Some(&Cell::Empty));
    let value: Value = serde_json::from_slice(&RecordForm::Json.write(&over)?)?;
    assert_eq!(value["right"]["stays_on"]["kind"], "contact_lens");
    assert_eq!(value["left"]["stays_on"], Value::Null);
    Ok(())
}

/// Glasses worn until now are held against all that the eye takes: against the −1.00 alone the change would seem −3 D.
#[test]
fn present_glasses_are_held_against_the_total() -> Checked {
    let old = Event::Detail(Detail::OldGlasses(Eye::Right, rx(-4.0, 0.0, 180.0)));
    let exam = applied(over_a_contact_lens()?, &[old])?;
    let prescription = Prescription::of(exam.state(), 1);
    let compared = comparisons(exam.state(), &prescription, Eye::Right);
    let against = compared.iter().find(|compared| compared.against == Against::OldGlasses).ok_or("not compared")?;
    assert!((against.difference.m + 0.188_601).abs() < 1e-5, "{against:?}");
    Ok(())
}

#[test]
fn what_is_taken_back_leaves_no_trace_and_nothing_declared_changes_nothing() -> Checked {
    let plain =
        applied(opened(), &[accepted(Eye::Right, rx(-1.0, 0.0, 180.0)), accepted(Eye::Left, rx(-2.0, 0.0, 180.0))])?;
    let both = Eye::BOTH.map(|eye| Event::Detail(Detail::StaysOn(eye, None)));
    let taken_back = applied(over_a_contact_lens()?, &both)?;
    let records = [record(&plain, CylinderForm::Minus, None)?, record(&taken_back, CylinderForm::Minus, None)?];
    for &form in RecordForm::ALL {
        assert!(form.write(&records[0])? == form.write(&records[1])?, "{form:?}");
        let text = in_words(form, &records[0])?;
        assert!(!text.contains("stays on;") && !text.contains("refracted over"), "{form:?}: {text}");
    }
    Ok(())
}

/// −10.00 found in a frame that stands at 14 mm, not at the declared 12: for glasses at 12 mm −10 / (1 + 0.002 × 10) = −9.80,
/// and −9.75 written (calculated).
#[test]
fn a_measured_vertex_is_where_the_power_was_found() -> Checked {
    let events = [
        Event::Detail(Detail::FrameVertex(Millimetres(14.0))),
        Event::Detail(Detail::PlannedVertex(Millimetres(12.0))),
        Event::Accepted(Accepted::Refraction(Eye::Right, Some(rx(-10.0, 0.0, 180.0).power()))),
    ];
    let exam = applied(opened(), &events)?;
    let measured = record(&exam, CylinderForm::Minus, None)?;
    assert!(measured.measured_vertex_mm == Some(14.0) && measured.frame_vertex_mm == 14.0, "{measured:?}");
    let planned = measured.right.planned.ok_or("nothing planned")?;
    assert!((planned.sphere + 9.803_922).abs() < 1e-5, "{planned:?}");
    assert_eq!(measured.right.written.map(|written| written.sphere), Some(-9.75));
    let cornea = exam.state().fitted.in_front_of(Eye::Right).cornea;
    assert!(cornea.m.abs() < 1e-12, "the cells are empty");
    for form in [RecordForm::Card, RecordForm::Fhir, RecordForm::Dicom] {
        let text = in_words(form, &measured)?;
        assert!(text.contains("Found at a vertex distance of 14 mm, measured."), "{form:?}: {text}");
    }
    Ok(())
}

#[test]
fn a_declared_tilt_is_in_every_form_and_changes_no_power() -> Checked {
    let found = [accepted(Eye::Right, rx(-10.0, 0.0, 180.0)), accepted(Eye::Left, rx(15.0, 0.0, 180.0))];
    let plain = record(&applied(opened(), &found)?, CylinderForm::Minus, None)?;
    let declared = [Event::Detail(Detail::TiltDegrees(10.0)), Event::Detail(Detail::FaceFormDegrees(5.0))];
    let tilted = record(&applied(applied(opened(), &found)?, &declared)?, CylinderForm::Minus, None)?;
    for eye in Eye::BOTH {
        assert_eq!(plain.eye(eye), tilted.eye(eye));
    }
    for form in [
        RecordForm::Card,
        RecordForm::Pdf,
        RecordForm::Markdown,
        RecordForm::Fhir,
        RecordForm::FhirR4b,
        RecordForm::Dicom,
    ] {
        let text = in_words(form, &tilted)?;
        assert!(text.contains("Pantoscopic tilt 10° declared; no power here is changed for it."), "{form:?}: {text}");
        assert!(text.contains("Face form 5° declared"), "{form:?}: {text}");
    }
    let table = spreadsheet::opened(&RecordForm::Csv.write(&tilted)?)?;
    assert_eq!(column(&table, 1, "tilt_deg"), Some(&Cell::Number(10.0)));
    let value: Value = serde_json::from_slice(&RecordForm::Json.write(&tilted)?)?;
    assert_eq!((&value["tilt_deg"], &value["face_form_deg"]), (&Value::from(10.0), &Value::from(5.0)));
    Ok(())
}
