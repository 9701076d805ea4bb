//! Present glasses from the files of other systems: FHIR and DICOM, our own exports among them, and every way in which such a
//! file may leave something open.

use dioptray::exam::prescription::CylinderForm;
use dioptray::exam::{Accepted, Detail, Event};
use dioptray::export::RecordForm;
use dioptray::import::file::LARGEST_FILE;
use dioptray::import::{glasses_of, read_glasses};
use dioptray::optics::{Eye, Prism, SpheroCylinder};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::export::exams::{accepted, adult, applied, opened, record, rx};

type Checked = Result<(), Box<dyn std::error::Error>>;

/// HL7's own example of a vision prescription, as far as its lenses go (FHIR R5, visionprescription-example), with a left
/// lens that can be a lens of glasses.
fn prescription() -> Value {
    json!({
        "resourceType": "VisionPrescription",
        "status": "active",
        "created": "2014-06-15",
        "dateWritten": "2014-06-15",
        "lensSpecification": [
            {
                "product": { "coding": [{ "system": "http://terminology.hl7.org/CodeSystem/ex-visionprescriptionproduct", "code": "lens" }] },
                "eye": "right",
                "sphere": -2.00,
                "prism": [{ "amount": 0.5, "base": "down" }],
                "add": 2.00
            },
            {
                "product": { "coding": [{ "system": "http://terminology.hl7.org/CodeSystem/ex-visionprescriptionproduct", "code": "lens" }] },
                "eye": "left",
                "sphere": -1.00,
                "cylinder": -0.50,
                "axis": 180,
                "prism": [{ "amount": 0.5, "base": "up" }],
                "add": 2.00
            }
        ]
    })
}

fn events_of(value: &Value) -> Result<Vec<Event>, dioptray::import::Flaw> {
    Ok(glasses_of(value.to_string().as_bytes())?.events())
}

fn old(eye: Eye, power: SpheroCylinder) -> Event {
    Event::Detail(Detail::OldGlasses(eye, power))
}

#[test]
fn a_prescription_becomes_old_glasses_and_what_has_no_place_a_note() -> Checked {
    let note = "Present glasses, from a file: right eye prism 0.50 base down; left eye prism 0.50 base up.";
    let expected = [
        old(Eye::Right, rx(-2.0, 0.0, 180.0)),
        old(Eye::Left, rx(-1.0, -0.5, 180.0)),
        Event::Detail(Detail::OldAddition(2.0)),
        Event::Note(note.to_owned()),
    ];
    assert_eq!(events_of(&prescription())?, expected);
    let bundle = json!({ "resourceType": "Bundle", "type": "collection", "entry": [
        { "resource": { "resourceType": "Patient" } }, { "resource": prescription() }
    ] });
    assert_eq!(events_of(&bundle)?, expected);
    Ok(())
}

#[test]
fn additions_that_differ_are_not_made_one() -> Checked {
    let mut differ = prescription();
    differ["lensSpecification"][1]["add"] = json!(2.25);
    let events = events_of(&differ)?;
    assert!(!events.iter().any(|event| matches!(event, Event::Detail(Detail::OldAddition(_)))), "{events:?}");
    let note = events.iter().find_map(|event| if let Event::Note(note) = event { Some(note.as_str()) } else { None });
    assert!(note.is_some_and(|note| note.contains("addition +2.00") && note.contains("addition +2.25")), "{note:?}");
    Ok(())
}

/// A way to spoil the prescription, the place that is named, and a word of what is said.
type Spoilt = (fn(&mut Value), &'static str, &'static str);

fn lens(value: &mut Value, index: usize) -> &mut Value {
    &mut value["lensSpecification"][index]
}

#[test]
fn nothing_in_fhir_is_guessed_at() {
    let cases: [Spoilt; 27] = [
        (|v| v["resourceType"] = json!("Observation"), "resourceType", "is Observation"),
        (|v| v["resourceType"] = Value::Null, "resourceType", "is missing"),
        (|v| v["status"] = json!("draft"), "VisionPrescription.status", "is draft"),
        (|v| v["status"] = json!("entered-in-error"), "VisionPrescription.status", "entered-in-error, not active"),
        (|v| v["status"] = Value::Null, "VisionPrescription.status", "is missing"),
        (|v| v["lensSpecification"] = Value::Null, "VisionPrescription.lensSpecification", "no power"),
        (|v| v["modifierExtension"] = json!([{}]), "VisionPrescription.modifierExtension", "not known here"),
        (|v| lens(v, 0)["modifierExtension"] = json!([{}]), "lensSpecification[0].modifierExtension", "not known here"),
        (|v| lens(v, 0)["eye"] = json!("both"), "lensSpecification[0].eye", "is both, not right or left"),
        (|v| lens(v, 0)["eye"] = Value::Null, "lensSpecification[0].eye", "is missing"),
        (|v| lens(v, 1)["eye"] = json!("right"), "lensSpecification[1]", "second lens of the right eye"),
        (|v| lens(v, 0)["sphere"] = json!("-2.00"), "lensSpecification[0].sphere", "not a number"),
        (|v| lens(v, 0)["sphere"] = json!(-52.0), "lensSpecification[0].sphere", "outside"),
        (|v| lens(v, 1)["sphere"] = Value::Null, "lensSpecification[1].cylinder", "without a sphere"),
        (|v| lens(v, 1)["sphere"] = json!(-39.75), "lensSpecification[1]", "beyond 40 D in a meridian"),
        (|v| lens(v, 1)["axis"] = Value::Null, "lensSpecification[1].cylinder", "without an axis"),
        (|v| lens(v, 1)["axis"] = json!(200), "lensSpecification[1].axis", "outside"),
        (|v| lens(v, 1)["axis"] = json!(90.5), "lensSpecification[1].axis", "whole number"),
        (|v| lens(v, 0)["axis"] = json!(90), "lensSpecification[0].axis", "without a cylinder"),
        (|v| lens(v, 0)["add"] = json!(-2.0), "lensSpecification[0].add", "outside"),
        (|v| lens(v, 0)["prism"][0]["base"] = json!("nasal"), "prism[0].base", "not up, down, in or out"),
        (|v| lens(v, 0)["prism"][0]["amount"] = json!(-1), "prism[0].amount", "outside"),
        (|v| lens(v, 0)["prism"][0]["amount"] = Value::Null, "prism[0].amount", "is missing"),
        (|v| lens(v, 0)["prism"] = json!("2 in"), "lensSpecification[0].prism", "not a list"),
        (
            |v| lens(v, 0)["product"]["coding"][0]["code"] = json!("contact"),
            "lensSpecification[0].product",
            "contact lens",
        ),
        (|v| lens(v, 0)["backCurve"] = json!(8.7), "lensSpecification[0].backCurve", "contact lens"),
        (
            |v| {
                let two = json!([{ "resource": v.clone() }, { "resource": v.clone() }]);
                *v = json!({ "resourceType": "Bundle", "entry": two });
            },
            "Bundle.entry",
            "2 VisionPrescriptions (2014-06-15, 2014-06-15)",
        ),
    ];
    for (spoil, place, what) in cases {
        let mut spoilt = prescription();
        spoil(&mut spoilt);
        let flaw = glasses_of(spoilt.to_string().as_bytes()).err().map(|flaw| flaw.to_string()).unwrap_or_default();
        assert!(flaw.contains(&format!("{place}: ")) && flaw.contains(what), "{place}: {what} is not said in: {flaw}");
    }
}

/// An element of a DICOM file in explicit little endian (PS3.5, 7.1.2).
fn element((group, number): (u16, u16), vr: &str, value: &[u8]) -> Vec<u8> {
    let mut bytes = [group.to_le_bytes(), number.to_le_bytes()].concat();
    bytes.extend(vr.as_bytes());
    let padded = value.len() + value.len() % 2;
    let length = u32::try_from(padded).unwrap_or(u32::MAX);
    if ["SQ", "OB"].contains(&vr) {
        bytes.extend([0, 0]);
        bytes.extend(length.to_le_bytes());
    } else {
        bytes.extend(u16::try_from(length).unwrap_or(u16::MAX).to_le_bytes());
    }
    bytes.extend(value);
    bytes.resize(bytes.len() + padded - value.len(), if vr == "UI" { 0 } else { b' ' });
    bytes
}

fn sequence(tag: (u16, u16), items: &[Vec<u8>]) -> Vec<u8> {
    let items: Vec<u8> = items
        .iter()
        .flat_map(|item| {
            let length = u32::try_from(item.len()).unwrap_or(u32::MAX);
            [&[0xfe, 0xff, 0x00, 0xe0][..], &length.to_le_bytes(), item].concat()
        })
        .collect();
    element(tag, "SQ", &items)
}

fn number(tag: (u16, u16), value: f64) -> Vec<u8> {
    element(tag, "FD", &value.to_le_bytes())
}

/// A DICOM file of a kind with some elements of its own.
fn file(sop_class: &str, own: &[Vec<u8>]) -> Vec<u8> {
    let meta = [
        element((2, 1), "OB", &[0, 1]),
        element((2, 2), "UI", sop_class.as_bytes()),
        element((2, 3), "UI", b"2.25.1"),
        element((2, 0x10), "UI", b"1.2.840.10008.1.2.1"),
        element((2, 0x12), "UI", b"2.25.2"),
    ]
    .concat();
    let length = u32::try_from(meta.len()).unwrap_or_default();
    let object = [element((8, 0x16), "UI", sop_class.as_bytes()), own.concat()].concat();
    [&[0; 128][..], b"DICM", &element((2, 0), "UL", &length.to_le_bytes()), &meta, &object].concat()
}

const LENSOMETRY: &str = "1.2.840.10008.5.1.4.1.1.78.1";
const RIGHT_LENS: (u16, u16) = (0x46, 0x14);
const LEFT_LENS: (u16, u16) = (0x46, 0x15);

fn laterality(letter: &str) -> Vec<u8> {
    element((0x24, 0x113), "CS", letter.as_bytes())
}

/// What a lensmeter writes of one lens: sphere, cylinder and axis, a prism with both bases, an addition.
fn measured(sphere: f64, cylinder: f64, axis: f32) -> Vec<u8> {
    let of_cylinder = [element((0x22, 9), "FL", &axis.to_le_bytes()), number((0x46, 0x147), cylinder)].concat();
    let prism = [
        number((0x46, 0x30), 1.5),
        element((0x46, 0x32), "CS", b"OUT"),
        number((0x46, 0x34), 0.0),
        element((0x46, 0x36), "CS", b"UP"),
    ]
    .concat();
    let near = number((0x46, 0x104), 1.75);
    [
        sequence((0x46, 0x18), &[of_cylinder]),
        sequence((0x46, 0x28), &[prism]),
        sequence((0x46, 0x100), &[near]),
        number((0x46, 0x146), sphere),
    ]
    .concat()
}

#[test]
fn what_a_lensmeter_measured_becomes_old_glasses() -> Checked {
    let right = sequence(RIGHT_LENS, &[measured(-4.25, -0.75, 10.0)]);
    let left = sequence(LEFT_LENS, &[measured(2.5, 0.0, 90.0)]);
    let events = glasses_of(&file(LENSOMETRY, &[laterality("B"), right, left]))?.events();
    let note = "Present glasses, from a file: right eye prism 1.50 base out; left eye prism 1.50 base out.";
    let expected = [
        old(Eye::Right, rx(-4.25, -0.75, 10.0)),
        old(Eye::Left, rx(2.5, 0.0, 180.0)),
        Event::Detail(Detail::OldAddition(1.75)),
        Event::Note(note.to_owned()),
    ];
    assert_eq!(events, expected);
    Ok(())
}

#[test]
fn nothing_in_dicom_is_guessed_at() {
    let lens = || measured(-4.25, -0.75, 10.0);
    let unspecified = sequence((0x46, 0x16), &[lens()]);
    let cases: [(Vec<u8>, &str); 9] = [
        (file("1.2.840.10008.5.1.4.1.1.78.2", &[]), "SOPClassUID: is \"1.2.840.10008.5.1.4.1.1.78.2\""),
        (file(LENSOMETRY, &[laterality("B")]), "no lens of either eye"),
        (file(LENSOMETRY, &[unspecified]), "UnspecifiedLateralityLensSequence: is a lens of which nobody said"),
        (
            file(LENSOMETRY, &[laterality("L"), sequence(RIGHT_LENS, &[lens()])]),
            "RightLensSequence: is of the right eye",
        ),
        (file(LENSOMETRY, &[sequence(RIGHT_LENS, &[lens(), lens()])]), "RightLensSequence: has 2 items"),
        (file(LENSOMETRY, &[sequence(RIGHT_LENS, &[measured(-4.25, -0.75, 200.0)])]), "axis: axis 200° is outside"),
        (file(LENSOMETRY, &[sequence(LEFT_LENS, &[measured(f64::NAN, 0.0, 0.0)])]), "SpherePower: is not a number"),
        (file(LENSOMETRY, &[sequence(LEFT_LENS, &[number((0x46, 0x104), 1.0)])]), "SpherePower: is missing"),
        (file(LENSOMETRY, &[sequence(LEFT_LENS, &[lens()])])[..300].to_vec(), "DICOM: the file cannot be read"),
    ];
    for (bytes, said) in cases {
        let flaw = glasses_of(&bytes).err().map(|flaw| flaw.to_string()).unwrap_or_default();
        assert!(flaw.contains(said), "{said} is not said in: {flaw}");
    }
}

/// The reader goes into each item from within the one around it: so many of them would lead it too deep.
#[test]
fn a_file_of_nothing_but_beginnings_is_refused() {
    let begins = |times: usize| {
        let tag = [&[0x46, 0, 0x14, 0][..], b"SQ\0\0\xff\xff\xff\xff", &[0xfe, 0xff, 0, 0xe0], &[0xff; 4]].concat();
        glasses_of(&file(LENSOMETRY, &[tag.repeat(times)])).err().map(|flaw| flaw.to_string()).unwrap_or_default()
    };
    assert!(begins(100_000).contains("100000 items of sequences"), "{}", begins(100_000));
    assert!(begins(256).contains("the file cannot be read"), "{}", begins(256));
}

#[test]
fn what_was_exported_comes_back_in_each_eye_in_either_cylinder_form() -> Checked {
    for form in [CylinderForm::Minus, CylinderForm::Plus] {
        let record = record(&adult()?, form, None)?;
        for exported in [RecordForm::Fhir, RecordForm::FhirR4b, RecordForm::Dicom] {
            let glasses = glasses_of(&exported.write(&record)?)?;
            for eye in record.eyes() {
                let lens = glasses.lenses[eye.eye].as_ref().ok_or("an eye is lost")?;
                assert_eq!(lens.power, eye.written, "{exported}");
                assert_eq!(lens.addition, eye.addition, "{exported}");
                let prism: Vec<(f64, String)> = lens.prism.iter().map(|p| (p.amount, p.base.to_string())).collect();
                let given: Vec<(f64, String)> = eye.prism.iter().map(|p| (p.amount, p.base.to_string())).collect();
                assert_eq!(prism, given, "{exported}");
            }
            let begun = applied(opened(), &glasses.events())?;
            assert_eq!(begun.state().person.old_glasses, record.eyes().map(|eye| eye.written), "{exported}");
            assert_eq!(begun.state().person.old_addition, record.addition, "{exported}");
        }
    }
    Ok(())
}

#[test]
fn a_draft_a_prism_alone_and_an_acuity_alone_come_back_as_what_they_are() -> Checked {
    let draft = record(&applied(opened(), &[accepted(Eye::Left, rx(-1.0, 0.0, 180.0))])?, CylinderForm::Minus, None)?;
    let flaw = glasses_of(&RecordForm::Fhir.write(&draft)?).err().map(|flaw| flaw.to_string()).unwrap_or_default();
    assert!(flaw.contains("is draft"), "{flaw}");
    let prism = Event::Accepted(Accepted::Prism(Eye::Right, Some(Prism { x: 2.0, y: 0.0 })));
    let alone = record(&applied(opened(), &[prism, Event::Finished])?, CylinderForm::Minus, None)?;
    let events = glasses_of(&RecordForm::Fhir.write(&alone)?)?.events();
    assert_eq!(events, [Event::Note("Present glasses, from a file: right eye prism 2.00 base in.".to_owned())]);
    let files = RecordForm::Dicom.files(&record(&adult()?, CylinderForm::Minus, None)?)?;
    let (_, acuity) = files.beside.first().ok_or("no acuity")?;
    let flaw = glasses_of(acuity).err().map(|flaw| flaw.to_string()).unwrap_or_default();
    assert!(flaw.contains("SOPClassUID"), "{flaw}");
    Ok(())
}

#[test]
fn a_file_that_is_neither_or_too_large_or_not_there_is_said_so() -> Checked {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("glasses");
    let said = || read_glasses(&path).err().map(|error| error.to_string()).unwrap_or_default();
    assert!(said().contains("there is no such file"), "{}", said());
    std::fs::write(&path, "-4.25/-0.75x180")?;
    assert!(said().contains("neither FHIR in JSON") && said().contains("nor DICOM"), "{}", said());
    std::fs::write(&path, "{\"resourceType\": \"VisionPrescription\",\n oops}")?;
    assert!(said().contains("line 2, column 2: this is not JSON"), "{}", said());
    std::fs::File::create(&path)?.set_len(LARGEST_FILE + 1)?;
    assert!(said().contains("16777217 bytes") && said().contains("16 MB"), "{}", said());
    let is_folder = read_glasses(folder.path()).err().map(|error| error.to_string()).unwrap_or_default();
    assert!(is_folder.contains("not a plain file"), "{is_folder}");
    std::fs::write(&path, format!("\u{feff}{}", prescription()))?;
    assert!(read_glasses(&path).is_ok(), "a byte-order mark is no fault");
    Ok(())
}

proptest! {
    #[test]
    fn no_bytes_of_any_kind_stop_the_program(at in 0_usize..2000, byte in any::<u8>(), cut in 0_usize..3000) {
        let right = sequence(RIGHT_LENS, &[measured(-4.25, -0.75, 10.0)]);
        let mut bytes = file(LENSOMETRY, &[laterality("R"), right]);
        if let Some(found) = bytes.get_mut(at) {
            *found = byte;
        }
        bytes.truncate(cut.max(132));
        let _ = glasses_of(&bytes);
        let mut text = prescription().to_string().into_bytes();
        if let Some(found) = text.get_mut(at) {
            *found = byte;
        }
        text.truncate(cut);
        let _ = glasses_of(&text);
    }
}
