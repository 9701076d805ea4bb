//! The record on A4 pages, for printing: one page for a usual exam, further pages when the notes are long.
//!
//! The two Helvetica faces that every PDF reader has, encoded as WinAnsi: nothing is embedded and the same record always
//! gives the same bytes. Letters that this encoding lacks are printed as `?`, and the page says so.

mod face;
mod layout;

use layout::{Layout, MARGIN, PAGE_WIDTH};

use super::words;
use super::{EyeRecord, Record};
use crate::exam::prescription::CylinderForm;
use crate::optics::Eye;
use face::Face::{Bold, Plain};

/// Right edges of the columns of the prescription, in points from the left edge of the page.
const COLUMNS: [f32; 4] = [238.0, 338.0, 418.0, 538.0];
/// Left edges of the columns of findings.
const FINDING_COLUMNS: [f32; 3] = [MARGIN, 200.0, 376.0];

/// The record as the bytes of a PDF file.
pub fn pdf(record: &Record) -> Vec<u8> {
    let mut page = Layout::new(&format!("Record of a refraction, exam {}", record.exam));
    title(&mut page, record);
    prescription(&mut page, record);
    findings(&mut page, record);
    listed(&mut page, "Compared with what was known before", &words::comparisons(record));
    listed(&mut page, "Notes", &record.notes);
    listed(&mut page, "Added after closing", &record.amendments);
    listed(&mut page, "Cautions for this exam", &record.cautions_in_words);
    signature(&mut page);
    for text in record.notice {
        page.paragraph(Plain, 7.5, MARGIN, text);
        page.space(1.5);
    }
    page.finish()
}

fn title(page: &mut Layout, record: &Record) {
    page.space(20.0);
    page.text(Bold, 19.0, MARGIN, "Record of a refraction");
    page.text_right(Bold, 13.0, PAGE_WIDTH - MARGIN, &format!("exam {}", record.exam));
    page.space(8.0);
    page.paragraph(Plain, 10.0, MARGIN, &words::heading(record).join("  ·  "));
    if record.draft {
        page.space(2.0);
        page.paragraph(Bold, 10.0, MARGIN, "DRAFT: this exam is not closed.");
    }
    page.space(8.0);
    page.rule(1.2);
}

fn prescription(page: &mut Layout, record: &Record) {
    let form = match record.form {
        CylinderForm::Minus => "minus cylinders, powers in dioptres (D)",
        CylinderForm::Plus => "plus cylinders, powers in dioptres (D)",
    };
    page.space(18.0);
    page.text(Bold, 11.0, MARGIN, "Prescription");
    page.text_right(Plain, 9.0, PAGE_WIDTH - MARGIN, form);
    page.space(20.0);
    let addition = if record.addition.is_some() { "addition" } else { "" };
    for (head, right) in ["sphere", "cylinder", "axis", addition].into_iter().zip(COLUMNS) {
        page.text_right(Plain, 9.0, right, head);
    }
    for eye in record.eyes() {
        page.space(24.0);
        eye_line(page, record, eye);
    }
    for eye in record.eyes().into_iter().filter(|eye| !eye.prism.is_empty()) {
        page.space(8.0);
        let text = format!("Prism before the {}: {}.", words::eye(eye.eye), words::prism(&eye.prism));
        page.paragraph(Bold, 10.0, MARGIN, &text);
    }
    if let Some(vertex) = words::vertex(record) {
        page.space(8.0);
        page.paragraph(Bold, 10.0, MARGIN, &vertex);
    }
    page.space(12.0);
    page.rule(0.5);
}

fn eye_line(page: &mut Layout, record: &Record, eye: &EyeRecord) {
    page.text(Bold, 13.0, MARGIN, &words::eye(eye.eye).to_uppercase());
    let Some(written) = eye.written else {
        page.text_right(Plain, 12.0, COLUMNS[1], "nothing written");
        return;
    };
    let has_cylinder = written.cylinder != 0.0;
    let cylinder = if has_cylinder { words::signed(written.cylinder) } else { "–".to_owned() };
    let axis = if has_cylinder { format!("{:.0}°", written.axis) } else { "–".to_owned() };
    let addition = record.addition.map(words::signed).unwrap_or_default();
    for (value, right) in [words::power(written.sphere), cylinder, axis, addition].into_iter().zip(COLUMNS) {
        page.text_right(Bold, 17.0, right, &value);
    }
}

fn findings(page: &mut Layout, record: &Record) {
    let [name_at, right_at, left_at] = FINDING_COLUMNS;
    page.space(16.0);
    // prism stands with the prescription already
    let rows: Vec<words::Row> = words::findings(record).into_iter().filter(|row| row.name != "prism").collect();
    if !rows.is_empty() {
        page.text(Bold, 10.0, right_at, &words::eye(Eye::Right));
        page.text(Bold, 10.0, left_at, &words::eye(Eye::Left));
    }
    for row in rows {
        page.space(14.0);
        page.text(Plain, 10.0, name_at, row.name);
        for (value, at) in row.of_eyes.as_ref().into_iter().zip([right_at, left_at]) {
            page.text(Plain, 10.0, at, value.as_deref().unwrap_or("–"));
        }
    }
    page.space(8.0);
    page.paragraph(Plain, 9.5, MARGIN, &words::circumstances(record).join(" "));
}

fn listed<T: AsRef<str>>(page: &mut Layout, heading: &str, entries: &[T]) {
    if entries.is_empty() {
        return;
    }
    page.space(20.0);
    page.text(Bold, 10.0, MARGIN, heading);
    page.space(2.0);
    for entry in entries {
        page.space(2.0);
        page.bulleted(9.5, entry.as_ref());
    }
}

fn signature(page: &mut Layout) {
    page.space(44.0);
    page.rule(0.5);
    page.space(11.0);
    page.text(Plain, 9.0, MARGIN, "prescribed by (licensed under local rules)");
    page.text_right(Plain, 9.0, PAGE_WIDTH - MARGIN, "date");
    page.space(10.0);
}
