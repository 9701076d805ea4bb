//! Acuities on the record: what is seen without a letter is said for what it is, and a chart that stood elsewhere with both its
//! figures and the true acuity.

use dioptray::exam::prescription::CylinderForm;
use dioptray::exam::{AcuityNote, Detail, Event, Through};
use dioptray::export::Record;
use dioptray::export::card::card;
use dioptray::export::csv::csv;
use dioptray::export::fhir::{Release, bundle};
use dioptray::export::json::json;
use dioptray::export::markdown::markdown;
use dioptray::optics::{Acuity, ChartPlace, Eye};
use serde_json::Value;

use super::Checked;
use super::exams::{accepted, applied, opened, read, record, rx, tried};

/// A person who sees little: every kind of seeing without a letter, and lines of a 6-m chart that stood at 3 m.
fn low_vision() -> Result<Record, Box<dyn std::error::Error>> {
    let at_3_m = ChartPlace { made_for_m: 6.0, stands_at_m: 3.0 };
    let right = rx(-4.0, 0.0, 180.0);
    let exam = applied(
        opened(),
        &[
            Event::Detail(Detail::ChartMetres(3.0)),
            Event::Detail(Detail::ChartMadeForMetres(6.0)),
            read(Eye::Right, Through::Unaided, Acuity::CountingFingers),
            read(Eye::Right, Through::Pinhole, Acuity::of_6_m(36.0).read_on(at_3_m)),
            read(Eye::Right, Through::OldGlasses, Acuity::HandMovements),
            read(Eye::Left, Through::Unaided, Acuity::NoLightPerception),
            read(Eye::Left, Through::Pinhole, Acuity::LightPerception),
            read(Eye::Left, Through::OldGlasses, Acuity::NoLetter),
            tried(Eye::Right, right.power(), Acuity::of_6_m(12.0).read_on(at_3_m)),
            accepted(Eye::Right, right),
        ],
    )?;
    Ok(record(&exam, CylinderForm::Minus, None)?)
}

#[test]
fn what_is_seen_without_a_letter_is_said_for_what_it_is() -> Checked {
    let record = low_vision()?;
    let words = ["CF (counting fingers)", "HM (hand movements)", "PL (light perception)", "NPL (no light perception)"];
    for text in [card(&record), markdown(&record)] {
        for word in words {
            assert!(text.contains(word), "{word} is not in {text}");
        }
        assert_eq!(text.matches("no letter").count(), 1, "{text}");
    }
    let value: Value = serde_json::from_str(&json(&record)?)?;
    assert_eq!(value["right"]["unaided"], "counting_fingers");
    assert_eq!(value["right"]["with_old_glasses"], "hand_movements");
    assert_eq!(value["left"]["unaided"], "no_light_perception");
    assert_eq!(value["left"]["pinhole"], "light_perception");
    assert_eq!(value["left"]["with_old_glasses"], "noletter");
    let table = csv(&record)?;
    let mut reader = csv::Reader::from_reader(table.trim_start_matches('\u{feff}').as_bytes());
    let headers = reader.headers()?.clone();
    let rows: Vec<csv::StringRecord> = reader.records().collect::<Result<_, _>>()?;
    let cell = |row: usize, name: &str| {
        let at = headers.iter().position(|header| header == name).ok_or(format!("no column {name}"))?;
        Ok::<_, String>(rows[row][at].to_owned())
    };
    for (row, name, words) in [
        (0, "unaided", "counting fingers"),
        (1, "unaided", "no light perception"),
        (1, "pinhole", "light perception"),
        (1, "old_glasses", "no letter"),
    ] {
        assert_eq!(cell(row, &format!("{name}_without_letters"))?, words);
        for figure in ["test_m", "line_m", "letters", "log_mar"] {
            assert_eq!(cell(row, &format!("{name}_{figure}"))?, "", "{name} has no {figure}");
        }
    }
    // the true one, 3/12, and what the chart said
    let figures = ["test_m", "line_m", "letters", "log_mar"].map(|figure| cell(0, &format!("prescription_{figure}")));
    assert_eq!(figures.into_iter().collect::<Result<Vec<_>, _>>()?, ["3", "12", "0", "0.60"]);
    assert_eq!(cell(0, "prescription_on_chart")?, "6/12, for 6 m at 3 m");
    assert_eq!((cell(0, "chart_m")?, cell(0, "chart_made_for_m")?), ("3".into(), "6".into()));
    assert_eq!(cell(0, "unaided_on_chart")?, "");
    Ok(())
}

#[test]
fn fhir_says_what_is_seen_without_a_letter_and_has_no_figure_for_it() -> Checked {
    let bundle = bundle(&low_vision()?, Release::R5)?;
    let entries = bundle["entry"].as_array().ok_or("no entries")?;
    let observed = |text: &str| {
        let of = |entry: &&Value| entry["resource"]["code"]["text"] == text;
        entries.iter().find(of).map(|entry| &entry["resource"]).ok_or(format!("no {text}"))
    };
    for (text, word) in [
        ("Uncorrected visual acuity, right eye", "counting fingers"),
        ("Uncorrected visual acuity, left eye", "no light perception"),
        ("Visual acuity through a pinhole, left eye", "light perception"),
        ("Visual acuity with the glasses worn until now, right eye", "hand movements"),
        ("Visual acuity with the glasses worn until now, left eye", "no letter of the chart"),
    ] {
        let observation = observed(text)?;
        assert_eq!(observation["valueCodeableConcept"], serde_json::json!({ "text": word }), "{text}");
        assert!(observation.get("valueQuantity").is_none(), "{text}");
    }
    // 6/12 of a 6-m chart at 3 m is 6/24, logMAR 0.60 (calculated: log10 4)
    let corrected = observed("Best corrected visual acuity, right eye")?;
    assert_eq!(corrected["valueQuantity"]["value"], serde_json::json!(0.6));
    assert_eq!(corrected["note"], serde_json::json!([{ "text": "On the chart 6/12, for 6 m at 3 m." }]));
    Ok(())
}

#[test]
fn a_chart_that_stood_elsewhere_stands_on_the_record_with_both() -> Checked {
    let record = low_vision()?;
    for text in [card(&record), markdown(&record)] {
        for said in ["6/24 (logMAR 0.60)", "6/12, for 6 m at 3 m", "6/72 (logMAR 1.08)", "6/36, for 6 m at 3 m"] {
            assert!(text.contains(said), "{said} is not in {text}");
        }
        let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains("Chart at 3 m, made for 6 m"), "{flat}");
    }
    let value: Value = serde_json::from_str(&json(&record)?)?;
    let on_chart = serde_json::json!({ "mar": 2.0, "made_for_m": 6.0, "stood_at_m": 3.0 });
    let line = serde_json::json!({ "line": { "mar": 4.0, "letters": 0, "on_chart": on_chart } });
    assert_eq!(value["right"]["with_prescription"], line);
    assert_eq!(value["chart_made_for_metres"], 6.0);
    Ok(())
}

#[test]
fn both_eyes_before_such_a_chart_are_said_with_both() -> Checked {
    let at_3_m = ChartPlace { made_for_m: 6.0, stands_at_m: 3.0 };
    let plano = rx(0.0, 0.0, 180.0);
    let acuity = Acuity::of_6_m(9.0).read_on(at_3_m);
    let both = Event::Acuity(AcuityNote { eye: None, through: Through::Frame, acuity });
    let exam = applied(opened(), &[accepted(Eye::Right, plano), accepted(Eye::Left, plano), both])?;
    let record = record(&exam, CylinderForm::Minus, None)?;
    let said = card(&record).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("Both eyes together read 6/18 (logMAR 0.48), on the chart 6/9, for 6 m at 3 m."), "{said}");
    assert!(csv(&record)?.contains("\"6/9, for 6 m at 3 m\""));
    Ok(())
}
