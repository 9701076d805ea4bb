//! What the receivers of an export make of it: a spreadsheet, a terminal and a printer with other scripts, a FHIR server, an
//! image archive.

use dioptray::exam::prescription::CylinderForm;
use dioptray::exam::{Accepted, Detail, Event, Through};
use dioptray::export::card::card;
use dioptray::export::csv::csv;
use dioptray::export::fhir::{Release, bundle};
use dioptray::export::listing::{ExamLine, list};
use dioptray::export::markdown::markdown;
use dioptray::export::{Record, RecordForm};
use dioptray::optics::{Acuity, Eye, Eyes, Millimetres, Prism};
use serde_json::{Value, json};

use super::Checked;
use super::exams::{accepted, adult, applied, opened, read, record, rx};
use super::read_back::spreadsheet::{Cell, column, opened as in_a_spreadsheet};
use super::read_back::{dicom, pdf};

fn labelled(label: &str) -> Result<Record, Box<dyn std::error::Error>> {
    let exam = applied(
        opened(),
        &[
            Event::Detail(Detail::Label(label.to_owned())),
            Event::Detail(Detail::AgeYears(47)),
            Event::Note(label.to_owned()),
            accepted(Eye::Right, rx(-1.0, -0.5, 10.0)),
            accepted(Eye::Left, rx(2.0, 0.0, 180.0)),
        ],
    )?;
    Ok(record(&exam, CylinderForm::Minus, Some(label))?)
}

#[test]
fn a_spreadsheet_finds_numbers_where_numbers_are_and_neither_days_nor_formulas() -> Checked {
    for record in [record(&adult()?, CylinderForm::Minus, Some("Ж. Żółć"))?, labelled("Ångström")?] {
        let table = in_a_spreadsheet(csv(&record)?.as_bytes())?;
        assert_eq!(table.len(), 3);
        for row in &table[1..] {
            for (head, cell) in table[0].iter().zip(row) {
                assert!(!matches!(cell, Cell::Date(_) | Cell::Formula(_)), "{head:?} is taken for {cell:?}");
                let Cell::Text(head) = head else { return Err(format!("{head:?} is no name").into()) };
                let is_figure = ["_d", "_deg", "_mm", "_m", "_log_mar", "_letters", "_pdpt", "_years"];
                let counts = is_figure.iter().any(|unit| head.ends_with(unit)) && !head.ends_with("_without_letters");
                assert!(!counts || matches!(cell, Cell::Number(_) | Cell::Empty), "{head} is {cell:?}");
            }
        }
        let examiner = record.examiner.clone().ok_or("no examiner")?;
        assert_eq!(column(&table, 1, "examiner"), Some(&Cell::Text(examiner)), "letters beyond ASCII");
    }
    let table = in_a_spreadsheet(csv(&record(&adult()?, CylinderForm::Minus, None)?)?.as_bytes())?;
    // 6/6 less two letters is 0.04, 6/60 is 1.00 (Holladay's table, 0.02 a letter)
    for (row, name, figures) in [
        (1, "prescription", [6.0, 6.0, -2.0, 0.04]),
        (2, "unaided", [6.0, 60.0, 0.0, 1.0]),
        (2, "pinhole", [6.0, 12.0, 0.0, 0.3]),
    ] {
        for (part, figure) in ["test_m", "line_m", "letters", "log_mar"].into_iter().zip(figures) {
            assert_eq!(column(&table, row, &format!("{name}_{part}")), Some(&Cell::Number(figure)), "{name}_{part}");
        }
    }
    Ok(())
}

#[test]
fn a_text_that_begins_as_a_formula_has_an_apostrophe_before_it() -> Checked {
    let formulas = ["=1+1", "@SUM(A1)", "+1-2", "-2+3", "\t=1+1", " =1+1", "＝1+1", "'=1+1"];
    for typed in formulas {
        let table = in_a_spreadsheet(csv(&labelled(typed)?)?.as_bytes())?;
        for name in ["label", "examiner", "notes"] {
            assert_eq!(column(&table, 1, name), Some(&Cell::Text(format!("'{typed}"))), "{name}");
        }
        assert_eq!(column(&table, 1, "sphere_d"), Some(&Cell::Number(-1.0)), "a figure is not text");
    }
    for typed in ["K.M.", "a=b", "o'clock"] {
        let table = in_a_spreadsheet(csv(&labelled(typed)?)?.as_bytes())?;
        assert_eq!(column(&table, 1, "label"), Some(&Cell::Text(typed.to_owned())));
    }
    Ok(())
}

#[test]
fn the_axis_of_a_prescription_has_three_digits_and_no_sign() -> Checked {
    let record = labelled("K.M.")?;
    let line = |text: &str| text.lines().find(|line| line.to_uppercase().contains("RIGHT EYE")).map(str::to_owned);
    for text in [card(&record), markdown(&record)] {
        let line = line(&text).ok_or("no right eye")?;
        assert!(line.contains(" 010") && !line.contains('°'), "{line}");
    }
    let words = pdf::lines(&RecordForm::Pdf.write(&record)?)?;
    assert!(
        words.iter().any(|line| line.first().is_some_and(|eye| eye == "RIGHT EYE") && line.contains(&"010".to_owned()))
    );
    Ok(())
}

/// A label of a script that runs from right to left, and one of Latin letters that is turned round by hand.
const HEBREW: &str = "דנה לוי";
const TURNED: &str = "K.M.\u{202e}abc\u{2066}";

#[test]
fn a_label_that_runs_from_right_to_left_keeps_its_direction_to_itself() -> Checked {
    let record = labelled(HEBREW)?;
    let isolated = format!("\u{2068}{HEBREW}\u{2069}");
    for text in [card(&record), markdown(&record)] {
        for line in text.lines().filter(|line| line.contains(HEBREW)) {
            assert!(line.contains(&isolated), "{line:?}");
        }
        assert!(text.matches(&isolated).count() >= 3, "label, examiner and note: {text}");
    }
    let exam = ExamLine {
        exam: "3".to_owned(),
        opened: "2026-03-14 09:30".to_owned(),
        label: HEBREW.to_owned(),
        box_name: HEBREW.to_owned(),
        closed: true,
        written: Eyes::new("−1.00".to_owned(), "+2.00".to_owned()),
        addition: String::new(),
        outcome: String::new(),
    };
    assert_eq!(list(&[exam]).matches(&isolated).count(), 2, "label and box");
    let plain = card(&labelled("K.M.")?);
    assert!(!plain.contains('\u{2068}'), "nothing is isolated where nothing runs from right to left");
    Ok(())
}

#[test]
fn a_long_note_from_right_to_left_is_isolated_in_each_of_its_lines() -> Checked {
    let text = card(&labelled(&[HEBREW; 30].join(" "))?);
    let lines: Vec<&str> = text.lines().filter(|line| line.contains('\u{5d3}')).collect();
    assert!(lines.len() > 3, "{text}");
    for line in lines {
        let marks: Vec<char> = line.chars().filter(|letter| ('\u{2066}'..='\u{2069}').contains(letter)).collect();
        assert!(matches!(marks[..], ['\u{2068}', '\u{2069}']), "{line:?}");
    }
    Ok(())
}

#[test]
fn marks_that_turn_the_direction_of_writing_are_in_no_form_for_people() -> Checked {
    let record = labelled(TURNED)?;
    let marks = [
        '\u{61c}', '\u{200e}', '\u{200f}', '\u{202a}', '\u{202b}', '\u{202c}', '\u{202d}', '\u{202e}', '\u{2066}',
        '\u{2067}',
    ];
    let page = pdf::lines(&RecordForm::Pdf.write(&record)?)?.concat().join(" ");
    for text in [card(&record), markdown(&record), page] {
        assert!(!text.contains(marks), "{text:?}");
        assert!(text.contains("K.M.abc"), "{text}");
    }
    Ok(())
}

/// Pangrams and names in the scripts of the face, marks of the trade among them.
const DRAWN: [&str; 5] = [
    "Příliš žluťoučký kůň, Ærøskøbing, Ğüneş, Việt Nam, Łódź",
    "Ξεσκεπάζω την ψυχοφθόρα βδελυγμία",
    "Съешь ещё этих мягких французских булок; Ґанок, Љубав",
    "−0.25 Δ × ° · – “” € → ½ ±",
    "e\u{301} as two letters",
];

#[test]
fn the_page_draws_latin_greek_and_cyrillic_from_a_face_of_its_own() -> Checked {
    for typed in DRAWN {
        let bytes = RecordForm::Pdf.write(&labelled(typed)?)?;
        let words = pdf::lines(&bytes)?.concat().join(" ");
        let expected = typed.replace("e\u{301}", "é");
        assert!(words.contains(&expected), "{expected} is not in {words}");
        assert!(!words.contains("lacks"), "{words}");
        assert_eq!(RecordForm::Pdf.falls_short(&labelled(typed)?), [""; 0]);
        let text = String::from_utf8_lossy(&bytes).into_owned();
        assert_eq!(text.matches("/FontFile2").count(), 2, "a face is not embedded");
        assert!(bytes.len() < 100_000, "{} bytes: more than the letters that are used", bytes.len());
    }
    Ok(())
}

#[test]
fn the_page_says_which_letters_it_cannot_draw() -> Checked {
    let record = labelled("漢字 दे ע")?;
    let words = pdf::lines(&RecordForm::Pdf.write(&record)?)?.concat().join(" ");
    for code in ["U+05E2", "U+0926", "U+0947", "U+5B57", "U+6F22"] {
        assert!(words.contains(code), "{code} is not in {words}");
    }
    assert!(words.contains("□□") && !words.contains('?'), "{words}");
    let short = RecordForm::Pdf.falls_short(&record);
    assert!(short.iter().any(|said| said.contains("U+6F22")), "{short:?}");
    Ok(())
}

#[test]
fn a_bundle_has_coded_lenses_and_says_what_goes_with_them_once() -> Checked {
    let record = record(&adult()?, CylinderForm::Minus, None)?;
    for release in [Release::R5, Release::R4B] {
        let bundle = bundle(&record, release)?;
        let text = bundle.to_string();
        let said = record.cautions_in_words.iter().map(String::as_str).chain(record.notice);
        for caution in said.chain(["Reads mostly at a desk", "Old glasses were single vision."]) {
            let within: String = json!(caution).to_string();
            assert_eq!(text.matches(within.trim_matches('"')).count(), 1, "{caution}");
        }
        let lenses = bundle["entry"][1]["resource"]["lensSpecification"].as_array().ok_or("no lenses")?;
        assert_eq!(lenses.len(), 2);
        for lens in lenses {
            // as HL7's own example of a vision prescription has it
            let coding = &lens["product"]["coding"][0];
            assert_eq!(coding["system"], "http://terminology.hl7.org/CodeSystem/ex-visionprescriptionproduct");
            assert_eq!(coding["code"], "lens");
        }
    }
    Ok(())
}

#[test]
fn a_bundle_without_a_lens_says_what_goes_with_it_once_too() -> Checked {
    let unaided = Eye::BOTH.map(|eye| read(eye, Through::Unaided, Acuity::of_6_m(60.0)));
    let record = record(&applied(opened(), &unaided)?, CylinderForm::Minus, None)?;
    let text = bundle(&record, Release::R5)?.to_string();
    for caution in &record.notice {
        assert_eq!(text.matches(caution).count(), 1, "{caution}");
    }
    Ok(())
}

/// As card and table have it: F/(1 − dF), up to the limit of every form.
#[test]
fn every_form_takes_the_powers_that_the_card_takes() -> Checked {
    for (sphere, cylinder) in [(-30.0, -8.0), (30.0, -12.0), (-39.75, 0.0), (39.0, -0.25)] {
        for vertex in [0.0, 12.0, 20.0] {
            let vertex = Event::Detail(Detail::PlannedVertex(Millimetres(vertex)));
            let record = record(
                &applied(opened(), &[accepted(Eye::Left, rx(sphere, cylinder, 5.0)), vertex])?,
                CylinderForm::Minus,
                None,
            )?;
            for form in
                RecordForm::ALL.iter().filter(|form| **form != RecordForm::Dicom || record.left.written.is_some())
            {
                form.write(&record).map_err(|error| format!("{sphere}/{cylinder}: {error}"))?;
            }
        }
    }
    Ok(())
}

/// Tags of the data dictionary, PS3.6.
const SOP_CLASS: (u16, u16) = (0x8, 0x16);
const SOP_INSTANCE: (u16, u16) = (0x8, 0x18);
const STUDY: (u16, u16) = (0x20, 0xd);
const COMMENTS: (u16, u16) = (0x10, 0x4000);

#[test]
fn dicom_has_a_refraction_and_an_object_for_each_way_of_reading_in_one_study() -> Checked {
    let files = RecordForm::Dicom.files(&record(&adult()?, CylinderForm::Minus, Some("N. Examiner"))?)?;
    let refraction = dicom::Object::of_file(&files.first)?;
    assert_eq!(refraction.text(SOP_CLASS).as_deref(), Some("1.2.840.10008.5.1.4.1.1.78.4"));
    let names: Vec<&str> = files.beside.iter().map(|(name, _)| *name).collect();
    assert_eq!(names, ["acuity-unaided", "acuity-pinhole", "acuity-old-glasses", "acuity-corrected"]);
    for (name, bytes) in &files.beside {
        let object = dicom::Object::of_file(bytes)?;
        assert_eq!(object.text(SOP_CLASS).as_deref(), Some("1.2.840.10008.5.1.4.1.1.78.5"), "{name}");
        assert_eq!(object.text(STUDY), refraction.text(STUDY), "{name}");
        assert_ne!(object.text(SOP_INSTANCE), refraction.text(SOP_INSTANCE), "{name}");
        // the corrected acuity says with which refraction it was read
        let referred = object.item((0x46, 0x145)).and_then(|item| item.text((0x8, 0x1155)));
        let expected = (*name == "acuity-corrected").then(|| refraction.text(SOP_INSTANCE)).flatten();
        assert_eq!(referred, expected, "{name}");
    }
    assert_eq!(refraction.text((0x10, 0x10)).as_deref(), Some("K.M."));
    let another = RecordForm::Dicom.write(&Record { exam: 15, ..record(&adult()?, CylinderForm::Minus, None)? })?;
    let another = dicom::Object::of_file(&another)?;
    assert_ne!(
        another.text((0x10, 0x20)),
        refraction.text((0x10, 0x20)),
        "two people of one label are one to an archive"
    );
    assert_eq!(refraction.text((0x10, 0x1010)).as_deref(), Some("047Y"));
    assert_eq!(refraction.text((0x8, 0x1070)).as_deref(), Some("N. Examiner^"));
    assert_eq!(refraction.number((0x46, 0x60)), Some(61.5), "both pupillary distances");
    Ok(())
}

#[test]
fn dicom_says_in_words_what_it_has_no_place_for_and_refuses_what_is_nothing() -> Checked {
    let prism = Event::Accepted(Accepted::Prism(Eye::Right, Some(Prism { x: 2.0, y: 0.0 })));
    let events = [
        accepted(Eye::Left, rx(-1.0, 0.0, 180.0)),
        prism.clone(),
        read(Eye::Right, Through::Unaided, Acuity::CountingFingers),
    ];
    let alone = record(&applied(opened(), &events)?, CylinderForm::Minus, None)?;
    let object = dicom::Object::of_file(&RecordForm::Dicom.write(&alone)?)?;
    assert_eq!(object.text((0x24, 0x113)).as_deref(), Some("L"));
    let comments = object.text(COMMENTS).ok_or("no comments")?;
    for said in ["DRAFT", "prism 2.00 Δ base in", "CF (counting fingers)", "not a medical device"] {
        assert!(comments.contains(said), "{said} is not in {comments}");
    }
    assert!(RecordForm::Dicom.falls_short(&alone).iter().any(|said| said.contains("2.00 Δ base in")));
    let refused = RecordForm::Dicom.write(&record(&applied(opened(), &[prism])?, CylinderForm::Minus, None)?);
    let said = refused.err().map(|error| error.to_string()).unwrap_or_default();
    assert_eq!(said, "exam 14 cannot be written as DICOM: no power is written and no line was read");
    Ok(())
}

#[test]
fn no_text_divides_a_value_of_dicom_or_outgrows_it() -> Checked {
    let label = "a\\b^c=d".to_owned();
    let notes = (0..60).map(|number| Event::Note(format!("{number} {}", "ж".repeat(390))));
    let events: Vec<Event> = [Event::Detail(Detail::Label(label.clone())), accepted(Eye::Left, rx(-1.0, 0.0, 180.0))]
        .into_iter()
        .chain(notes)
        .collect();
    let record = record(&applied(opened(), &events)?, CylinderForm::Minus, Some(&label))?;
    let object = dicom::Object::of_file(&RecordForm::Dicom.write(&record)?)?;
    assert_eq!(object.text((0x10, 0x10)).as_deref(), Some("a/b c d^"), "label");
    assert_eq!(object.text((0x8, 0x1070)).as_deref(), Some("a/b c d^"), "examiner");
    let comments = object.text(COMMENTS).ok_or("no comments")?;
    assert!(comments.chars().count() <= 10_240 && comments.ends_with("see the exam's other records.)"));
    Ok(())
}

#[test]
fn the_same_record_gives_the_same_bytes_in_every_form() -> Checked {
    let of = || record(&adult()?, CylinderForm::Minus, None).map_err(Box::<dyn std::error::Error>::from);
    for form in RecordForm::ALL {
        assert_eq!(form.files(&of()?)?, form.files(&of()?)?, "{form}");
    }
    let value: Value = serde_json::from_slice(&RecordForm::Json.write(&of()?)?)?;
    assert_eq!(value["right"]["written"], json!({ "sphere": -5.5, "cylinder": -0.75, "axis": 174.0 }));
    Ok(())
}
