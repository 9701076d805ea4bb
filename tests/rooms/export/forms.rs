//! Card, page, table, JSON and lists.

use std::io;
use std::path::{Path, PathBuf};

use dioptray::exam::cautions::{Caution, GENERAL};
use dioptray::exam::prescription::CylinderForm;
use dioptray::exam::{Accepted, Detail, Event};
use dioptray::export::card::{WIDTH, card};
use dioptray::export::csv::csv;
use dioptray::export::form::Content;
use dioptray::export::json::json;
use dioptray::export::listing::{ExamLine, list, show};
use dioptray::export::pdf::pdf as page;
use dioptray::export::record::EyeRecord;
use dioptray::export::saving::SaveFileError;
use dioptray::export::words;
use dioptray::export::{Record, RecordForm, RecordHead};
use dioptray::optics::{Acuity, AcuityNotation, Eye, Eyes, Millimetres, Prism};
use dioptray::screen::keys::KeyTable;
use serde_json::Value;
use unicode_width::UnicodeWidthStr;

use super::Checked;
use super::exams::{accepted, adult, applied, opened, record, rx, with_letters};
use super::read_back::{dicom, pdf, spreadsheet};
use crate::pictures::Album;

#[test]
fn an_adult_in_every_form_of_text() -> Checked {
    let album = Album::of("export");
    let record = record(&adult()?, CylinderForm::Minus, Some("N. Examiner"))?;
    for form in RecordForm::ALL.iter().filter(|form| form.content() == Content::Text) {
        let text = String::from_utf8(form.write(&record)?)?;
        album.text(&format!("{form}_adult"), &text.replace("\r\n", "\n").replace('\u{feff}', ""));
    }
    Ok(())
}

#[test]
fn card_in_plus_form_with_a_left_eye_alone() -> Checked {
    let album = Album::of("export");
    let exam = applied(opened(), &[accepted(Eye::Left, rx(1.25, -0.5, 15.0)), Event::Detail(Detail::AgeYears(8))])?;
    let record = record(&exam, CylinderForm::Plus, None)?;
    album.text("card_left_alone", &card(&record));
    Ok(())
}

/// A record has one cylinder form: what was found, tried, measured by retinoscopy and worn before, too. The old glasses
/// −5.25/−0.75×180 are −6.00/+0.75×90, the retinoscopy −5.25/−1.00×170 is −6.25/+1.00×80 (transposition).
#[test]
fn a_record_in_plus_form_has_no_minus_cylinder() -> Checked {
    let exam = adult()?;
    let record = record(&exam, CylinderForm::Plus, None)?;
    let card = show(&record, &exam.state().trail);
    let markdown = String::from_utf8(RecordForm::Markdown.write(&record)?)?;
    for text in [&card, &markdown] {
        let mut powers = 0;
        for (at, _) in text.match_indices('×') {
            let figure = text[..at].trim_end_matches(|character: char| character.is_ascii_digit() || character == '.');
            assert!(figure.ends_with('+'), "{} in {text}", &text[at.saturating_sub(12)..at]);
            powers += 1;
        }
        assert!(powers >= 4 && text.contains("−6.00/+0.75×90") && text.contains("−6.25/+1.00×80"), "{text}");
    }
    let table = spreadsheet::opened(csv(&record)?.as_bytes())?;
    assert_eq!(spreadsheet::column(&table, 1, "old_cylinder_d"), Some(&spreadsheet::Cell::Number(0.75)), "{table:?}");
    Ok(())
}

#[test]
fn card_keeps_its_width_and_its_cautions_whatever_is_noted() -> Checked {
    let long = "x".repeat(300);
    let events = [
        Event::Detail(Detail::Label(format!("a\u{1b}[31mb\n{long}"))),
        Event::Note("Дальний текст ".repeat(20)),
        Event::Note(long),
    ];
    let record = record(&applied(adult_unfinished()?, &events)?, CylinderForm::Minus, None)?;
    let text = card(&record);
    for line in text.lines() {
        assert!(line.width() <= WIDTH, "{} columns: {line}", line.width());
        assert!(!line.contains('\u{1b}'), "a control character reached the card");
    }
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for caution in GENERAL {
        assert!(flat.contains(caution.full), "the card lacks: {}", caution.full);
    }
    assert!(flat.contains("DRAFT"));
    let without = card(&super::exams::record(&adult_unfinished()?, CylinderForm::Minus, None)?);
    assert_eq!(text.matches('x').count(), without.matches('x').count() + 600, "letters were lost");
    Ok(())
}

fn adult_unfinished() -> Result<dioptray::exam::Exam, dioptray::exam::ExamError> {
    let whole = adult()?;
    let steps: Vec<Event> = whole.standing_steps().iter().flatten().cloned().collect();
    let before_closing = steps.iter().position(|event| *event == Event::Finished).unwrap_or(steps.len());
    applied(opened(), &steps[..before_closing])
}

#[test]
fn every_line_of_the_table_ends_as_it_must() -> Checked {
    let table = csv(&record(&adult()?, CylinderForm::Minus, Some("N. Examiner"))?)?;
    assert_eq!(table.matches("\r\n").count(), 3, "RFC 4180 ends every line with CR LF");
    Ok(())
}

#[test]
fn table_reads_back_as_it_was_written() -> Checked {
    let label = "K, \"M\"\r\nsecond line";
    let exam = applied(
        opened(),
        &[
            Event::Detail(Detail::Label(label.to_owned())),
            accepted(Eye::Right, rx(-1.0, -0.5, 5.0)),
            accepted(Eye::Left, rx(2.0, 0.0, 180.0)),
        ],
    )?;
    let table = csv(&record(&exam, CylinderForm::Minus, None)?)?;
    let mut reader = csv::Reader::from_reader(table.trim_start_matches('\u{feff}').as_bytes());
    let headers = reader.headers()?.clone();
    let column = |name: &str| headers.iter().position(|header| header == name).ok_or(format!("no column {name}"));
    let rows: Vec<csv::StringRecord> = reader.records().collect::<Result<_, _>>()?;
    assert_eq!(rows.len(), 2);
    for (row, expected) in rows.iter().zip([["right", "-1.00", "-0.50", "5"], ["left", "2.00", "0.00", ""]]) {
        for (name, value) in ["eye", "sphere_d", "cylinder_d", "axis_deg"].into_iter().zip(expected) {
            assert_eq!(&row[column(name)?], value, "{name}");
        }
        assert_eq!(&row[column("label")?], label);
        assert_eq!(&row[column("pd_mm")?], "", "a distance that nobody measured");
    }
    Ok(())
}

#[test]
fn json_has_its_own_words_for_an_acuity() -> Checked {
    let value: serde_json::Value = serde_json::from_str(&json(&record(&adult()?, CylinderForm::Minus, None)?)?)?;
    assert_eq!(value["right"]["unaided"], "noletter");
    assert_eq!(value["left"]["unaided"], serde_json::json!({ "line": { "mar": 10.0, "letters": 0 } }));
    Ok(())
}

#[test]
fn json_has_full_precision_and_leaves_out_what_is_not_known() -> Checked {
    let exam = applied(opened(), &[accepted(Eye::Right, rx(-3.1, -0.7, 33.0))])?;
    let value: serde_json::Value = serde_json::from_str(&json(&record(&exam, CylinderForm::Minus, None)?)?)?;
    assert_eq!(value["format"], "dioptray exam record");
    assert_eq!(value["version"], 1);
    let expected = rx(-3.1, -0.7, 33.0).power();
    assert_eq!(value["right"]["found"]["m"].as_f64(), Some(expected.m));
    assert_eq!(value["right"]["found"]["j45"].as_f64(), Some(expected.j45));
    assert_eq!(value["left"], serde_json::json!({ "eye": "left", "outcome": "not_refracted" }));
    for unknown in ["label", "age_years", "examiner", "addition", "closed", "chart_metres"] {
        assert!(value.get(unknown).is_none(), "{unknown} was invented");
    }
    assert_eq!(value["notice"].as_array().map(Vec::len), Some(GENERAL.len()));
    Ok(())
}

#[test]
fn page_is_one_page_with_the_figures_and_further_ones_when_needed() -> Checked {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("pages");
    std::fs::create_dir_all(&folder)?;
    let short = page(&record(&adult()?, CylinderForm::Minus, Some("N. Examiner"))?)?;
    std::fs::write(folder.join("adult.pdf"), &short)?;
    let text = String::from_utf8_lossy(&short);
    assert!(text.starts_with("%PDF-1.7") && text.trim_end().ends_with("%%EOF"));
    assert!(text.contains("/Count 1"), "a usual exam fits on one page");
    let words = pdf::lines(&short)?.concat();
    let order =
        ["RIGHT EYE", "−5.50", "174", "LEFT EYE", "−2.75"].map(|part| words.iter().position(|word| word == part));
    assert!(order.iter().all(Option::is_some) && order.is_sorted(), "{order:?} in {words:?}");
    let notes: Vec<Event> = (0..30).map(|n| Event::Note(format!("Note {n}: 漢 is not in this font, Ж is."))).collect();
    let long = page(&record(&applied(adult_unfinished()?, &notes)?, CylinderForm::Minus, None)?)?;
    std::fs::write(folder.join("long.pdf"), &long)?;
    let text = String::from_utf8_lossy(&long);
    assert!(text.contains("/Count 2"), "the notes run on to a second page");
    let words = pdf::lines(&long)?.concat().join(" ");
    assert!(words.contains("Record of a refraction, exam 14, page 2 of 2"), "a further page does not say whose it is");
    assert!(words.contains("lacks U+6F22:") && words.contains("□ is not in this font, Ж is."), "{words}");
    assert_eq!(short, page(&record(&adult()?, CylinderForm::Minus, Some("N. Examiner"))?)?, "not the same bytes twice");
    Ok(())
}

#[test]
fn every_form_has_a_name_an_ending_a_key_and_its_place_in_the_readme() -> Checked {
    let record = record(&adult()?, CylinderForm::Minus, Some("N. Examiner"))?;
    let names: Vec<&str> = RecordForm::ALL.iter().map(|form| form.name()).collect();
    let keys = KeyTable::shipped()?.as_markdown();
    for (index, form) in RecordForm::ALL.iter().enumerate() {
        let before = &RecordForm::ALL[..index];
        assert!(before.iter().all(|other| other.name() != form.name() && other.ending() != form.ending()), "{form}");
        assert!(!form.write(&record)?.is_empty(), "{form}");
        assert!(keys.contains(&format!("| `export-{form}` | record |")), "no key exports {form}");
    }
    let readme = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md"))?;
    assert!(readme.contains(&format!("--as {}`", names.join("|"))), "the README does not list {names:?}");
    Ok(())
}

/// Each form in which a record leaves the program as text, without its line breaks.
fn in_words(record: &Record) -> Result<Vec<(RecordForm, String)>, dioptray::export::ExportError> {
    let texts = RecordForm::ALL.iter().filter(|form| form.content() != Content::Binary).map(|form| {
        let text = String::from_utf8_lossy(&form.write(record)?).split_whitespace().collect::<Vec<_>>().join(" ");
        Ok((*form, text))
    });
    texts.collect()
}

/// The words of every form, those of the page and of the objects' comments too.
fn all_in_words(record: &Record) -> Result<Vec<(RecordForm, String)>, Box<dyn std::error::Error>> {
    let mut texts = in_words(record)?;
    let page = pdf::lines(&RecordForm::Pdf.write(record)?)?.concat().join(" ");
    let object = dicom::Object::of_file(&RecordForm::Dicom.write(record)?)?;
    let comments = object.text((0x10, 0x4000)).ok_or("no comments")?;
    let label = object.text((0x10, 0x10)).ok_or("no label")?;
    let number = object.text((0x20, 0x10)).ok_or("no number")?;
    texts.push((RecordForm::Pdf, page));
    texts.push((RecordForm::Dicom, format!("{label} {number} {comments}")));
    Ok(texts.into_iter().map(|(form, text)| (form, text.split_whitespace().collect::<Vec<_>>().join(" "))).collect())
}

#[test]
fn no_form_leaves_out_what_must_go_with_a_power() -> Checked {
    let events = [
        Event::Detail(Detail::Label("K.M.".to_owned())),
        Event::Detail(Detail::PlannedVertex(Millimetres(14.0))),
        accepted(Eye::Right, rx(-5.5, 0.0, 180.0)),
        Event::Note("Seen in the tent".to_owned()),
    ];
    let draft = applied(opened(), &events)?;
    for (form, text) in all_in_words(&record(&draft, CylinderForm::Minus, None)?)? {
        assert!(text.to_lowercase().contains("draft"), "{form} does not say that the exam is not closed");
    }
    let end = [Event::Finished, Event::Amended("Seen once more".to_owned())];
    let record = record(&applied(draft, &end)?, CylinderForm::Minus, None)?;
    assert!(!record.cautions_in_words.is_empty(), "this exam is to call for a caution");
    for (form, text) in all_in_words(&record)? {
        // Markdown has a backslash before what it would else take for a mark
        let text = text.replace('\\', "");
        let always = record.notice.into_iter().chain(["K.M.", "14", "Seen in the tent", "Seen once more"]);
        for said in always.chain(record.cautions_in_words.iter().map(String::as_str)) {
            assert!(text.contains(said), "{form} leaves out: {said}");
        }
    }
    Ok(())
}

/// Before which eye a power stands first in a text: the eye named last before it. The character before it is its sign.
fn first_in_text(text: &str, figure: &str) -> Option<(Option<Eye>, Option<char>)> {
    let text = text.to_lowercase();
    let before = text.split_once(figure)?.0;
    let named = Eye::BOTH.into_iter().filter(|eye| before.contains(&eye.to_string()));
    Some((named.max_by_key(|eye| before.rfind(&eye.to_string())), before.chars().last()))
}

/// Under which eyes a power stands in JSON: that of the nearest key `right` or `left`, or member `eye`.
fn all_in_json(value: &Value, under: Option<Eye>, power: f64, found: &mut Vec<Option<Eye>>) {
    let named = |name: &str| Eye::BOTH.into_iter().find(|eye| eye.to_string() == name);
    match value {
        Value::Object(members) => {
            let under = members.get("eye").and_then(Value::as_str).and_then(named).or(under);
            members.iter().for_each(|(key, member)| all_in_json(member, named(key).or(under), power, found));
        }
        Value::Array(values) => values.iter().for_each(|value| all_in_json(value, under, power, found)),
        Value::Number(_) if value.as_f64() == Some(power) => found.push(under),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

#[test]
fn every_form_gives_each_eye_its_own_power() -> Checked {
    let (strong, weak) = (("5.5", -5.5), ("3.25", -3.25));
    for powers in [Eyes::new(strong, weak), Eyes::new(weak, strong)] {
        let exam = applied(opened(), &Eye::BOTH.map(|eye| accepted(eye, rx(powers[eye].1, 0.0, 180.0))))?;
        for (form, text) in in_words(&record(&exam, CylinderForm::Minus, None)?)? {
            for (eye, (figure, power)) in powers.iter() {
                match form.content() {
                    Content::Text => {
                        let first = first_in_text(&text, figure);
                        let says = matches!(first, Some((of, Some('-' | '\u{2212}'))) if of == Some(eye));
                        assert!(says, "{form} says {power} not of the {eye} eye, but {first:?}:\n{text}");
                    }
                    Content::Json => {
                        let mut found = Vec::new();
                        all_in_json(&serde_json::from_str(&text)?, None, *power, &mut found);
                        let says = !found.is_empty() && found.iter().all(|of| *of == Some(eye));
                        assert!(says, "{form} says {power} not of the {eye} eye, but {found:?}:\n{text}");
                    }
                    Content::Binary => return Err(format!("nothing reads {form}: say here how it is read").into()),
                }
            }
        }
    }
    Ok(())
}

/// Whether a form keeps letters as they were entered, whatever they do to a terminal.
fn keeps_control_characters(form: RecordForm) -> bool {
    match form {
        // quoted in a table, escaped in JSON, and no terminal shows a page or an object
        RecordForm::Csv
        | RecordForm::Fhir
        | RecordForm::FhirR4b
        | RecordForm::Dicom
        | RecordForm::Json
        | RecordForm::Pdf => true,
        RecordForm::Card | RecordForm::Markdown => false,
    }
}

#[test]
fn no_form_for_people_gives_a_terminal_orders() -> Checked {
    let orders = "a\u{1b}[31mb\rc";
    let typed = [Event::Detail(Detail::Label(orders.to_owned())), Event::Note(orders.to_owned())];
    let end = [Event::Finished, Event::Amended(orders.to_owned())];
    let exam = applied(applied(opened(), &typed)?, &end)?;
    let mut record = record(&exam, CylinderForm::Minus, Some(orders))?;
    orders.clone_into(&mut record.box_name);
    orders.clone_into(&mut record.frame_name);
    for form in RecordForm::ALL.iter().filter(|form| !keeps_control_characters(**form)) {
        let text = String::from_utf8(form.write(&record)?)?;
        let order = text.chars().find(|letter| letter.is_control() && *letter != '\n');
        assert_eq!(order, None, "{form} passes it on");
    }
    Ok(())
}

#[test]
fn no_form_leaves_out_a_figure_of_the_prescription() -> Checked {
    let accept = |accepted| Event::Accepted(accepted);
    let events = [
        accepted(Eye::Right, rx(-5.5, -1.25, 137.0)),
        accepted(Eye::Left, rx(-3.25, -0.5, 58.0)),
        accept(Accepted::Prism(Eye::Right, Some(Prism { x: 3.5, y: 0.0 }))),
        accept(Accepted::Prism(Eye::Left, Some(Prism { x: 0.0, y: 4.5 }))),
        accept(Accepted::Addition(Some(1.75))),
        Event::Detail(Detail::PlannedVertex(Millimetres(13.5))),
    ];
    let record = record(&applied(opened(), &events)?, CylinderForm::Minus, None)?;
    for (form, text) in in_words(&record)? {
        for (eye, of_eye) in record.eyes().iter() {
            let written = of_eye.written.ok_or("nothing is written")?;
            let prism = of_eye.prism.first().ok_or("no prism is written")?.amount;
            // prism and axis have no sign
            let figures = [
                (written.sphere, format!("{:.2}", written.sphere.abs()), true),
                (written.cylinder, format!("{:.2}", written.cylinder.abs()), true),
                (written.axis, written.axis.to_string(), false),
                (prism, prism.to_string(), false),
            ];
            for (value, figure, signed) in figures {
                match form.content() {
                    Content::Text => {
                        let first = first_in_text(&text, &figure);
                        let says = first.is_some_and(|(of, before)| {
                            of == Some(eye) && (!signed || matches!(before, Some('-' | '\u{2212}')))
                        });
                        assert!(says, "{form} says {value} not of the {eye} eye, but {first:?}:\n{text}");
                    }
                    Content::Json => {
                        let mut found = Vec::new();
                        all_in_json(&serde_json::from_str(&text)?, None, value, &mut found);
                        assert!(found.contains(&Some(eye)), "{form} says {value} not of the {eye} eye:\n{text}");
                    }
                    Content::Binary => return Err(format!("nothing reads {form}: say here how it is read").into()),
                }
            }
        }
        for (figure, what) in [("1.75", "the addition"), ("13.5", "the vertex distance of the glasses")] {
            assert!(text.contains(figure), "{form} leaves out {what}:\n{text}");
        }
    }
    Ok(())
}

#[test]
fn an_addition_that_could_not_be_read_is_said_in_every_form() -> Checked {
    let adult = adult()?;
    let head = |additions_unread| -> Result<RecordHead, jiff::Error> {
        Ok(RecordHead { additions_unread, ..super::exams::head(CylinderForm::Minus, None)? })
    };
    let without = Record::of(adult.state(), head(2)?);
    assert_eq!(without.cautions.first(), Some(&Caution::AdditionsUnread { count: 2 }));
    for (form, text) in all_in_words(&without)? {
        assert!(text.contains("could not be read here (2)"), "{form} does not say it");
    }
    assert!(!Record::of(adult.state(), head(0)?).cautions.contains(&Caution::AdditionsUnread { count: 0 }));
    Ok(())
}

#[test]
fn an_exam_that_ends_before_it_began_says_so_in_every_form() -> Checked {
    // the clock was a year ahead when the exam began, and put right before it was closed
    let adult = adult()?;
    let head = |opened: &str, closed: &str| -> Result<RecordHead, jiff::Error> {
        Ok(RecordHead {
            opened: opened.parse()?,
            closed: Some(closed.parse()?),
            ..super::exams::head(CylinderForm::Minus, None)?
        })
    };
    let (earlier, later) = ("2026-03-14T09:30:00+03:00[+03:00]", "2027-03-14T09:30:00+03:00[+03:00]");
    let caution = Caution::EndsBeforeItBegan;
    let wrong = Record::of(adult.state(), head(later, earlier)?);
    assert_eq!(wrong.cautions.first(), Some(&caution), "it is not the first caution");
    for (form, text) in all_in_words(&wrong)? {
        assert!(text.contains("ends before it began"), "{form} does not say it");
    }
    for right in [head(earlier, later)?, head(earlier, earlier)?] {
        assert!(!Record::of(adult.state(), right).cautions.contains(&caution));
    }
    Ok(())
}

#[test]
fn a_power_beyond_the_permitted_ones_is_in_no_form_and_said_in_all() -> Checked {
    // +20 and −20 at 12 mm are +26.3 and −16.1 at the cornea, F/(1 − dF): a cylinder of −42.4
    let vertex = Event::Detail(Detail::PlannedVertex(Millimetres(0.0)));
    let exam = applied(opened(), &[accepted(Eye::Right, rx(20.0, -40.0, 90.0)), vertex])?;
    for form in [CylinderForm::Minus, CylinderForm::Plus] {
        let record = record(&exam, form, None)?;
        assert_eq!(record.right.written, None);
        assert!(record.cautions.contains(&Caution::CannotBeWritten { eye: Eye::Right }));
        for (form, text) in in_words(&record)? {
            assert!(!text.contains("42.") && !text.contains("26.25"), "{form} writes it");
        }
    }
    Ok(())
}

/// An exam as the list shows it.
fn line(record: &Record) -> ExamLine {
    let written = |eye: &EyeRecord| eye.written.map(words::prescription).unwrap_or_default();
    ExamLine {
        exam: record.exam_name(),
        opened: record.opened.strftime("%Y-%m-%d %H:%M").to_string(),
        label: record.label.clone().unwrap_or_default(),
        box_name: record.box_name.clone(),
        closed: !record.draft,
        written: record.eyes().map(written),
        addition: record.addition.map(words::signed).unwrap_or_default(),
        outcome: record.outcome.as_ref().map(ToString::to_string).unwrap_or_default(),
    }
}

#[test]
fn lists_and_shows() -> Checked {
    let album = Album::of("export");
    let adult = adult()?;
    let closed = record(&adult, CylinderForm::Minus, None)?;
    let draft = record(&opened(), CylinderForm::Minus, None)?;
    let text = format!("{}\n{}", list(&[line(&closed), line(&draft)]), show(&closed, &adult.state().trail));
    album.text("exam_list_and_show", &text);
    Ok(())
}

#[test]
fn figures_are_written_with_sign_and_two_places() {
    assert_eq!(words::power(-0.001), "plano");
    assert_eq!(words::signed(-0.001), "+0.00");
    assert_eq!(words::signed(-4.25), "−4.25");
    assert_eq!(words::power(1.0), "+1.00");
    assert_eq!(words::prescription(rx(0.0, -1.0, 90.0)), "plano/−1.00×90");
    // 6/12 is 0.30, 6/60 is 1.00 (Holladay's table); a letter is 0.02 logMAR
    assert_eq!(words::acuity(Acuity::of_6_m(12.0), AcuityNotation::SixMetres), "6/12 (logMAR 0.30)");
    assert_eq!(words::acuity(Acuity::of_6_m(60.0), AcuityNotation::SixMetres), "6/60 (logMAR 1.00)");
    assert_eq!(words::acuity(with_letters(9.0, -2), AcuityNotation::SixMetres), "6/9−2 (logMAR 0.22)");
    assert_eq!(words::acuity(with_letters(7.5, 1), AcuityNotation::SixMetres), "6/7.5+1 (logMAR 0.08)");
    assert_eq!(words::acuity(Acuity::of_6_m(5.0), AcuityNotation::SixMetres), "6/5 (logMAR −0.08)");
    assert_eq!(words::acuity(Acuity::NoLetter, AcuityNotation::SixMetres), "no letter");
}

/// A test has no full disk to write to: the words for it.
#[test]
fn a_full_disk_is_said_in_words() {
    let [path, folder] = ["/media/stick/exam-3.json", "/media/stick"].map(PathBuf::from);
    let refused = SaveFileError::Refused { path, folder, error: io::Error::from(io::ErrorKind::StorageFull) };
    assert_eq!(
        refused.to_string(),
        "/media/stick/exam-3.json: the disk is full: nothing was written. Make room, or choose another folder"
    );
}
