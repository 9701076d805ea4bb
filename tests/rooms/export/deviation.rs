//! A neutralised deviation and the prism chosen from it, in every form of a record.

use dioptray::exam::cautions::{Caution, called_for};
use dioptray::exam::prescription::CylinderForm;
use dioptray::exam::{Accepted, Detail, DeviationAt, Event, Exam, ExamError, Prescription, SeenBy};
use dioptray::export::RecordForm;
use dioptray::optics::{Eye, Prism, PrismDioptres};
use serde_json::Value;

use super::Checked;
use super::exams::{accepted, applied, opened, record, rx};
use super::read_back::spreadsheet::{Cell, column};
use super::read_back::{dicom, spreadsheet};

/// 6 base in and 2 base up before the right eye far away, shared: 3 in 1 up before the right, 3 in 1 down before the left.
fn shared() -> Result<Exam, ExamError> {
    let neutralised = Prism { x: 6.0, y: 2.0 };
    let mut events = vec![
        Event::Detail(Detail::DeviationSeenBy(SeenBy::MaddoxRod)),
        Event::Detail(Detail::Neutralised(DeviationAt::Far, Eye::Right, Some(neutralised))),
        Event::Detail(Detail::Reserve(DeviationAt::Far, Some(PrismDioptres(12.0)))),
        accepted(Eye::Right, rx(-1.0, 0.0, 180.0)),
        accepted(Eye::Left, rx(-2.0, 0.0, 180.0)),
    ];
    let exam = applied(opened(), &events[..1])?;
    let measured = applied(exam, &events[1..3])?;
    let found = measured.state().person.deviation(DeviationAt::Far).neutralised();
    let halves = found.map(dioptray::exam::deviation::Neutralised::shared).unwrap_or_default();
    events = events.split_off(3);
    events.extend(Eye::BOTH.map(|eye| Event::Accepted(Accepted::Prism(eye, Some(halves[eye])))));
    applied(measured, &events)
}

#[test]
fn chosen_prism_has_the_right_base_before_each_eye_in_every_form() -> Checked {
    let shared = record(&shared()?, CylinderForm::Minus, None)?;
    let card = String::from_utf8(RecordForm::Card.write(&shared)?)?;
    assert!(card.contains("Prism in front of the right eye: 3.00 Δ base in with 1.00 Δ base up."), "{card}");
    assert!(card.contains("Prism in front of the left eye: 3.00 Δ base in with 1.00 Δ base down."), "{card}");
    let fhir: Value = serde_json::from_slice(&RecordForm::Fhir.write(&shared)?)?;
    let entries = fhir["entry"].as_array().ok_or("no entries")?;
    let prescription = entries.iter().map(|entry| &entry["resource"]);
    let prescription = prescription.into_iter().find(|it| it["resourceType"] == "VisionPrescription").ok_or("none")?;
    for (at, eye, vertical) in [(0, "right", "up"), (1, "left", "down")] {
        let lens = &prescription["lensSpecification"][at];
        assert_eq!(lens["eye"], eye);
        let wanted = serde_json::json!([{ "amount": 3.0, "base": "in" }, { "amount": 1.0, "base": vertical }]);
        assert_eq!(lens["prism"], wanted, "{eye}");
    }
    let table = spreadsheet::opened(&RecordForm::Csv.write(&shared)?)?;
    for (row, vertical) in [(1, "up"), (2, "down")] {
        assert_eq!(column(&table, row, "horizontal_prism_pdpt"), Some(&Cell::Number(3.0)));
        assert_eq!(column(&table, row, "horizontal_base"), Some(&Cell::Text("in".to_owned())));
        assert_eq!(column(&table, row, "vertical_base"), Some(&Cell::Text(vertical.to_owned())));
    }
    let object = dicom::Object::of_file(&RecordForm::Dicom.write(&shared)?)?;
    for (sequence, vertical) in [((0x0046, 0x0097), "UP"), ((0x0046, 0x0098), "DOWN")] {
        let prism = object.item(sequence).and_then(|lens| lens.item((0x0046, 0x0028))).ok_or("no prism")?;
        assert_eq!(prism.number((0x0046, 0x0030)), Some(3.0));
        assert_eq!(prism.text((0x0046, 0x0032)).as_deref(), Some("IN"));
        assert_eq!(prism.text((0x0046, 0x0036)).as_deref(), Some(vertical));
    }
    Ok(())
}

#[test]
fn the_deviation_stands_in_every_form_with_bases_in_words_and_degrees() -> Checked {
    let shared = record(&shared()?, CylinderForm::Minus, None)?;
    let said = "Deviation far by Maddox rod, neutralised: right eye 6.00 Δ base in (0°) with 2.00 Δ base up (90°), left eye none; \
                reserve 12.00 Δ to the blur.";
    for form in [
        RecordForm::Card,
        RecordForm::Markdown,
        RecordForm::Fhir,
        RecordForm::FhirR4b,
        RecordForm::Dicom,
        RecordForm::Csv,
    ] {
        let text = String::from_utf8_lossy(&form.write(&shared)?).into_owned();
        let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(said), "{form:?}: {flat}");
    }
    let value: Value = serde_json::from_slice(&RecordForm::Json.write(&shared)?)?;
    assert_eq!(value["deviations"][0]["right"][0], serde_json::json!({ "amount": 6.0, "base": "in" }));
    Ok(())
}

/// Above about 20 prism dioptres at one eye (Thompson and Guyton 1983), whatever is chosen from it.
#[test]
fn a_strong_deviation_is_never_recorded_without_a_word() -> Checked {
    let cautioned = |prism: Prism| -> Result<bool, ExamError> {
        let exam = applied(opened(), &[Event::Detail(Detail::Neutralised(DeviationAt::Near, Eye::Left, Some(prism)))])?;
        let cautions = called_for(exam.state(), &Prescription::of(exam.state(), 1));
        Ok(cautions.contains(&Caution::StrongPrism))
    };
    assert!(cautioned(Prism { x: 15.0, y: 15.0 })?);
    assert!(cautioned(Prism { x: -20.5, y: 0.0 })?);
    assert!(!cautioned(Prism { x: 20.0, y: 0.0 })?);
    Ok(())
}
