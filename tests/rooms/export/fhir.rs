//! FHIR: structure, the right eye on the right, our own checks, and the files for the outside checker.

use std::path::Path;

use dioptray::exam::prescription::CylinderForm;
use dioptray::exam::{Accepted, Event, Through};
use dioptray::export::fhir::check::check;
use dioptray::export::fhir::{Release, bundle};
use dioptray::export::{Record, RecordHead};
use dioptray::optics::{Acuity, Eye, Prism};
use serde_json::{Value, json};
use uuid::Uuid;

use super::Checked;
use super::exams::{accepted, adult, applied, head, opened, read, record, rx};

fn of_adult(release: Release) -> Result<Value, Box<dyn std::error::Error>> {
    Ok(bundle(&record(&adult()?, CylinderForm::Minus, Some("N. Examiner"))?, release)?)
}

fn resources<'a>(bundle: &'a Value, kind: &str) -> Vec<&'a Value> {
    let entries = bundle["entry"].as_array().map_or(&[][..], Vec::as_slice);
    entries.iter().map(|entry| &entry["resource"]).filter(|resource| resource["resourceType"] == kind).collect()
}

#[test]
fn prescription_has_each_eye_at_its_own_place() -> Checked {
    let bundle = of_adult(Release::R5)?;
    let [prescription] = resources(&bundle, "VisionPrescription")[..] else {
        return Err("not one prescription".into());
    };
    assert_eq!(prescription["status"], "active");
    assert_eq!(prescription["created"], "2026-03-14T10:02:00+03:00");
    assert_eq!(prescription["prescriber"], json!({ "display": "N. Examiner" }));
    let lenses = &prescription["lensSpecification"];
    assert_eq!(lenses.as_array().map(Vec::len), Some(2));
    let [right, left] = [&lenses[0], &lenses[1]];
    assert_eq!((&right["eye"], &left["eye"]), (&json!("right"), &json!("left")));
    assert_eq!((&right["sphere"], &right["cylinder"], &right["axis"]), (&json!(-5.5), &json!(-0.75), &json!(174)));
    assert_eq!(right["prism"], json!([{ "amount": 2.0, "base": "in" }, { "amount": 1.0, "base": "up" }]));
    assert_eq!(left["sphere"], json!(-2.75));
    for absent in ["cylinder", "axis", "prism"] {
        assert!(left.get(absent).is_none(), "{absent} in the left eye");
    }
    assert_eq!((&right["add"], &left["add"]), (&json!(1.25), &json!(1.25)));
    let notes = right["note"].to_string();
    assert!(notes.contains("14 mm") && notes.contains("not a medical device"));
    Ok(())
}

#[test]
fn acuities_carry_the_code_of_their_eye() -> Checked {
    let bundle = of_adult(Release::R4B)?;
    let observations = resources(&bundle, "Observation");
    let coded = |code: &str| observations.iter().find(|o| o["code"]["coding"][0]["code"] == code);
    // LOINC: 98499-7 and 98498-9 uncorrected right and left, 65893-0 and 65897-1 best corrected right and left
    let unaided_right = coded("98499-7").ok_or("no unaided acuity of the right eye")?;
    assert_eq!(unaided_right["bodySite"]["text"], "right eye");
    assert_eq!(unaided_right["valueCodeableConcept"]["text"], "no letter of the chart");
    // 6/60 is logMAR 1.00; 6/6 less two letters is 0.04; 6/5 is −0.08 (Holladay's table, 0.02 a letter)
    for (code, eye, log_mar) in
        [("98498-9", "left eye", 1.0), ("65893-0", "right eye", 0.04), ("65897-1", "left eye", -0.08)]
    {
        let observation = coded(code).ok_or(format!("no observation {code}"))?;
        assert_eq!(observation["bodySite"]["text"], eye, "{code}");
        assert_eq!(observation["valueQuantity"]["value"], json!(log_mar), "{code}");
        assert_eq!(observation["valueQuantity"]["code"], "{logMAR}");
    }
    let distance = |eye: &str| {
        let named = format!("Pupillary distance from the middle of the nose, {eye}");
        observations.iter().find(|o| o["code"]["text"] == named).map(|o| o["valueQuantity"]["value"].clone())
    };
    assert_eq!(distance("right eye"), Some(json!(31.5)));
    assert_eq!(distance("left eye"), Some(json!(30.0)));
    let vertex = observations.iter().find(|o| o["code"]["text"].to_string().contains("Vertex distance"));
    assert_eq!(vertex.map(|o| &o["valueQuantity"]["value"]), Some(&json!(14.0)));
    Ok(())
}

#[test]
fn what_is_not_known_is_left_out() -> Checked {
    let exam = applied(opened(), &[accepted(Eye::Left, rx(-1.0, -0.5, 180.0))])?;
    let draft = bundle(&record(&exam, CylinderForm::Plus, None)?, Release::R5)?;
    let [prescription] = resources(&draft, "VisionPrescription")[..] else { return Err("not one prescription".into()) };
    assert_eq!(prescription["status"], "draft");
    assert_eq!(prescription["prescriber"]["display"], "not stated");
    assert_eq!(prescription["prescriber"]["extension"][0]["valueCode"], "unknown");
    let lenses = &prescription["lensSpecification"];
    assert_eq!(lenses.as_array().map(Vec::len), Some(1), "a right eye was invented");
    assert_eq!((&lenses[0]["eye"], &lenses[0]["sphere"]), (&json!("left"), &json!(-1.5)));
    assert_eq!((&lenses[0]["cylinder"], &lenses[0]["axis"]), (&json!(0.5), &json!(90)));
    assert!(resources(&draft, "Patient")[0].get("identifier").is_none());
    assert_eq!(resources(&draft, "Observation").len(), 1, "only the vertex distance is known");
    let empty = bundle(&record(&opened(), CylinderForm::Minus, None)?, Release::R5)?;
    assert!(resources(&empty, "VisionPrescription").is_empty());
    Ok(())
}

#[test]
fn same_record_gives_same_bundle_and_releases_name_themselves() -> Checked {
    let r5 = of_adult(Release::R5)?;
    assert_eq!(r5, of_adult(Release::R5)?);
    let r4b = of_adult(Release::R4B)?;
    assert_eq!(r5["meta"]["profile"][0], "http://hl7.org/fhir/StructureDefinition/Bundle|5.0.0");
    assert_eq!(r4b["meta"]["profile"][0], "http://hl7.org/fhir/StructureDefinition/Bundle|4.3.0");
    assert_eq!(r5["id"], r4b["id"]);
    Ok(())
}

#[test]
fn ids_follow_from_the_identity_of_the_exam_and_from_nothing_else() -> Checked {
    let of = |id: Option<u128>, exam: u64| -> Result<Value, Box<dyn std::error::Error>> {
        let head = RecordHead { id: id.map(Uuid::from_u128), exam, ..head(CylinderForm::Minus, None)? };
        Ok(bundle(&Record::of(adult()?.state(), head), Release::R5)?)
    };
    let id = |bundle: Value| bundle["entry"][0]["resource"]["id"].clone();
    assert_eq!(id(of(Some(7), 14)?), id(of(Some(7), 3)?), "another number in another logbook is the same exam");
    assert_ne!(id(of(Some(7), 14)?), id(of(Some(8), 14)?), "two exams with one number are two");
    assert_ne!(id(of(None, 14)?), id(of(None, 3)?));
    Ok(())
}

#[test]
fn a_prism_without_a_power_is_a_lens_of_its_own() -> Checked {
    let prism = Some(Prism { x: 2.0, y: 0.0 });
    let exam = applied(
        opened(),
        &[
            accepted(Eye::Left, rx(-1.0, 0.0, 180.0)),
            Event::Accepted(Accepted::Addition(Some(2.0))),
            Event::Accepted(Accepted::Prism(Eye::Right, prism)),
        ],
    )?;
    for release in [Release::R5, Release::R4B] {
        let bundle = bundle(&record(&exam, CylinderForm::Minus, None)?, release)?;
        let lenses = &resources(&bundle, "VisionPrescription")[0]["lensSpecification"];
        assert_eq!(lenses.as_array().map(Vec::len), Some(2));
        assert_eq!(lenses[0]["eye"], "right");
        assert_eq!(lenses[0]["prism"], json!([{ "amount": 2.0, "base": "in" }]));
        for absent in ["sphere", "cylinder", "axis", "add"] {
            assert!(lenses[0].get(absent).is_none(), "{absent} was invented");
        }
        assert!(lenses[0]["note"].to_string().contains("no power is written for this eye"));
        assert_eq!((&lenses[1]["sphere"], &lenses[1]["add"]), (&json!(-1.0), &json!(2.0)));
    }
    Ok(())
}

#[test]
fn a_bundle_without_a_lens_carries_its_cautions_with_what_was_observed() -> Checked {
    let exam = applied(opened(), &[read(Eye::Right, Through::Unaided, Acuity::of_6_m(60.0))])?;
    let bundle = bundle(&record(&exam, CylinderForm::Minus, None)?, Release::R5)?;
    let [observation] = resources(&bundle, "Observation")[..] else { return Err("not one observation".into()) };
    let notes = observation["note"].to_string();
    assert!(
        notes.contains("The right eye is not refracted: no power is written for it.")
            && notes.contains("not a medical device")
    );
    assert!(resources(&of_adult(Release::R5)?, "Observation").iter().all(|with_lens| with_lens.get("note").is_none()));
    Ok(())
}

#[test]
fn base_in_is_nasal_in_both_eyes() -> Checked {
    // 0° on the dial is towards the nose of the right eye and towards the temple of the left (ISO 8429 dial)
    let prism = Some(Prism::polar(3.0, 0.0));
    let exam = applied(
        opened(),
        &[
            accepted(Eye::Right, rx(-1.0, 0.0, 180.0)),
            accepted(Eye::Left, rx(-1.0, 0.0, 180.0)),
            Event::Accepted(Accepted::Prism(Eye::Right, prism)),
            Event::Accepted(Accepted::Prism(Eye::Left, prism)),
        ],
    )?;
    let bundle = bundle(&record(&exam, CylinderForm::Minus, None)?, Release::R5)?;
    let lenses = &resources(&bundle, "VisionPrescription")[0]["lensSpecification"];
    assert_eq!(lenses[0]["prism"], json!([{ "amount": 3.0, "base": "in" }]));
    assert_eq!(lenses[1]["prism"], json!([{ "amount": 3.0, "base": "out" }]));
    Ok(())
}

/// A way to spoil a good bundle, the place of the problem and a word of it.
type Spoilt = (fn(&mut Value), &'static str, &'static str);

fn lens(bundle: &mut Value, index: usize) -> &mut Value {
    &mut bundle["entry"][1]["resource"]["lensSpecification"][index]
}

#[test]
fn our_checks_refuse_what_a_structure_checker_lets_pass() -> Checked {
    let good = of_adult(Release::R5)?;
    assert_eq!(check(&good), []);
    let cases: [Spoilt; 21] = [
        (|b| lens(b, 0)["product"]["coding"][0]["code"] = json!("contact"), "product.coding.code", "not one of lens"),
        (|b| lens(b, 0)["axis"] = json!(200), "lensSpecification[0].axis", "1 to 180"),
        (|b| lens(b, 0)["axis"] = json!(0), "lensSpecification[0].axis", "1 to 180"),
        (|b| lens(b, 0)["axis"] = json!(90.5), "lensSpecification[0].axis", "whole number"),
        (|b| lens(b, 0)["axis"] = Value::Null, "lensSpecification[0].cylinder", "without an axis"),
        (|b| lens(b, 0)["cylinder"] = Value::Null, "lensSpecification[0].axis", "without a cylinder"),
        (|b| lens(b, 0)["cylinder"] = json!(0.0), "lensSpecification[0].cylinder", "zero"),
        (|b| lens(b, 0)["sphere"] = json!(-52.5), "lensSpecification[0].sphere", "outside"),
        (|b| lens(b, 0)["sphere"] = json!(-39.5), "lensSpecification[0]", "beyond 40 D in a meridian"),
        (|b| lens(b, 0)["sphere"] = Value::Null, "lensSpecification[0].sphere", "not a number"),
        (|b| lens(b, 1)["sphere"] = Value::Null, "lensSpecification[1].sphere", "not a number"),
        (|b| lens(b, 1)["eye"] = json!("both"), "lensSpecification[1].eye", "right, left"),
        (|b| lens(b, 1)["eye"] = json!("right"), "lensSpecification[1].eye", "twice"),
        (|b| lens(b, 0)["prism"][0]["base"] = json!("nasal"), "prism[0].base", "up, down, in, out"),
        (|b| lens(b, 0)["prism"][0]["amount"] = json!(-2.0), "prism[0].amount", "outside"),
        (|b| lens(b, 0)["prism"][1]["base"] = json!("out"), "prism[1].base", "second horizontal"),
        (|b| lens(b, 0)["add"] = json!(-1.0), "lensSpecification[0].add", "above zero"),
        (|b| b["entry"][2]["resource"]["bodySite"]["text"] = json!("left eye"), "code.coding.code", "is the right eye"),
        (|b| b["entry"][3]["resource"]["valueQuantity"]["code"] = json!("[logMAR]"), "valueQuantity.code", "{logMAR}"),
        (|b| b["entry"][1]["resource"]["patient"]["reference"] = json!("urn:uuid:0"), "patient", "does not refer"),
        (|b| b["type"] = json!("batch"), "Bundle.type", "collection"),
    ];
    for (spoil, path, what) in cases {
        let mut spoilt = good.clone();
        spoil(&mut spoilt);
        let problems = check(&spoilt);
        assert!(
            problems.iter().any(|problem| problem.path.ends_with(path) && problem.what.contains(what)),
            "{path}: {what} is not among {problems:?}"
        );
    }
    Ok(())
}

/// Writes the bundles that `tests/outside/fhir_check.py` reads: see that file for how to run it.
#[test]
fn bundles_for_the_outside_checker() -> Checked {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("fhir");
    std::fs::create_dir_all(&folder)?;
    let draft = applied(opened(), &[accepted(Eye::Left, rx(0.0, -0.5, 180.0))])?;
    for (name, exam, examiner) in
        [("adult", adult()?, Some("N. Examiner")), ("draft", draft, None), ("empty", opened(), None)]
    {
        for (suffix, release) in [("r5", Release::R5), ("r4b", Release::R4B)] {
            let bundle = bundle(&record(&exam, CylinderForm::Minus, examiner)?, release)?;
            std::fs::write(folder.join(format!("{name}.{suffix}.json")), serde_json::to_string_pretty(&bundle)?)?;
        }
    }
    Ok(())
}
