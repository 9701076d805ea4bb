//! A table for spreadsheets: a header and one row per eye, right first (RFC 4180). Numbers are plain, with a hyphen for minus.
//!
//! A byte-order mark begins it, by which spreadsheets know UTF-8. A cell is empty when its value is not known. What somebody
//! entered is text and stays text: an apostrophe stands before what begins as a formula does (CWE-1236).
//!
//! Every acuity is the true one, and in numbers, as a spreadsheet takes `6/12` for a date: `.._test_m` is the distance of the
//! chart (6 where nobody said one), `.._line_m` the distance at which the line that was read is 6/6, `.._letters` the letters
//! missed or gained, `.._log_mar` has them counted in. `.._without_letters` says what is seen where no letter is read, and
//! `.._on_chart` what a chart did that stood elsewhere than its figures say.

use super::error::ExportError;
use super::formula::kept_as_text;
use super::glasses_words;
use super::record::{EyeRecord, Figures, Known, Record, rfc_3339};
use super::words::{self, fixed};
use crate::exam::certainty::Sure;
use crate::exam::{DeviationAt, NearTask, Outcome, PresentGlasses, Strategy};
use crate::optics::notation::Style;
use crate::optics::{Acuity, CylinderForm, PrismPart, SpheroCylinder};

/// What a spreadsheet takes for UTF-8.
pub const BYTE_ORDER_MARK: char = '\u{feff}';

/// The distance of a chart of which nobody said where it stands, in metres: that of the 6 m fraction.
const USUAL_TEST_M: f64 = 6.0;

/// What stands in a cell.
enum Cell {
    /// Nothing: it is not known.
    Empty,
    /// A number, to compute with.
    Figure(String),
    /// Words.
    Text(String),
}

impl Cell {
    fn figure<T>(value: Option<T>, write: impl Fn(T) -> String) -> Self {
        value.map_or(Self::Empty, |value| Self::Figure(write(value)))
    }

    fn text(text: Option<impl Into<String>>) -> Self {
        text.map_or(Self::Empty, |text| Self::Text(text.into()))
    }

    fn written(self) -> String {
        match self {
            Self::Empty => String::new(),
            Self::Figure(figure) => figure,
            Self::Text(text) => kept_as_text(&text),
        }
    }
}

/// One row as it grows: the names of its columns, which carry the unit, and what stands in them.
#[derive(Default)]
struct Row(Vec<(String, Cell)>);

impl Row {
    fn put(&mut self, name: &str, cell: Cell) {
        self.0.push((name.to_owned(), cell));
    }

    fn power(&mut self, name: &str, power: Option<SpheroCylinder>) {
        let with_cylinder = power.filter(|power| power.cylinder != 0.0);
        self.put(&format!("{name}sphere_d"), Cell::figure(power, |power| quarter(power.sphere)));
        self.put(&format!("{name}cylinder_d"), Cell::figure(power, |power| quarter(power.cylinder)));
        self.put(&format!("{name}axis_deg"), Cell::figure(with_cylinder, |power| format!("{:.0}", power.axis)));
    }

    fn vector(&mut self, name: &str, power: Option<Figures>) {
        self.put(&format!("{name}_m_d"), Cell::figure(power, |power| figure(power.m)));
        self.put(&format!("{name}_j0_d"), Cell::figure(power, |power| figure(power.j0)));
        self.put(&format!("{name}_j45_d"), Cell::figure(power, |power| figure(power.j45)));
    }

    fn prism(&mut self, name: &str, part: Option<PrismPart>) {
        self.put(&format!("{name}_prism_pdpt"), Cell::figure(part, |part| fixed(part.amount, 2)));
        self.put(&format!("{name}_base"), Cell::text(part.map(|part| part.base.to_string())));
    }

    fn acuity(&mut self, name: &str, read: Option<Acuity>, record: &Record) {
        let line = read.and_then(Acuity::line);
        let test_m = record.chart_metres.unwrap_or(USUAL_TEST_M);
        let on_chart = |read| words::on_chart(read, record.acuity_notation, Style::Ascii);
        self.put(&format!("{name}_test_m"), Cell::figure(line, |_| test_m.to_string()));
        self.put(&format!("{name}_line_m"), Cell::figure(line, |(mar, _)| shortest(mar * test_m, 4)));
        self.put(&format!("{name}_letters"), Cell::figure(line, |(_, letters)| letters.to_string()));
        self.log_mar(name, read);
        self.put(&format!("{name}_without_letters"), Cell::text(read.and_then(Acuity::without_letters)));
        self.put(&format!("{name}_on_chart"), Cell::text(read.and_then(on_chart)));
    }

    fn log_mar(&mut self, name: &str, read: Option<Acuity>) {
        let log_mar = read.and_then(Acuity::log_mar);
        self.put(&format!("{name}_log_mar"), Cell::figure(log_mar, |log_mar| fixed(log_mar, 2)));
    }
}

/// The row of an eye.
fn row(record: &Record, eye: &EyeRecord) -> Row {
    let mut row = Row::default();
    exam(&mut row, record);
    prescription(&mut row, record, eye);
    room(&mut row, record, eye);
    order(&mut row, record, eye);
    row.acuity("unaided", eye.unaided, record);
    row.acuity("pinhole", eye.pinhole, record);
    row.put("same_through_plus_two", Cell::text(eye.reads_same_through_plus_two.map(yes_or_no)));
    row.acuity("old_glasses", eye.with_old_glasses, record);
    row.acuity("prescription", eye.with_prescription, record);
    row.acuity("prescription_both_eyes", record.both_with_prescription, record);
    row.acuity("old_glasses_both_eyes", record.both_with_old_glasses, record);
    row.vector("found", eye.found);
    row.vector("retinoscopy", eye.retinoscopy);
    row.vector("wet", eye.wet);
    row.put("refracted", Cell::text(eye.refracted.map(Strategy::name)));
    row.power("old_", eye.old_glasses);
    row.put("old_addition_d", Cell::figure(record.old_addition, quarter));
    certainty(&mut row, eye);
    said(&mut row, record);
    row
}

fn exam(row: &mut Row, record: &Record) {
    // a number alone would be taken for one of this seat
    let name = record.exam_name();
    row.put("exam", if record.seat.is_some() { Cell::Text(name) } else { Cell::Figure(name) });
    row.put("opened", Cell::Text(rfc_3339(&record.opened)));
    row.put("closed", Cell::text(record.closed.as_ref().map(rfc_3339)));
    let status = match (record.practice, record.draft) {
        (true, _) => "PRACTICE",
        (false, true) => "draft",
        (false, false) => "closed",
    };
    row.put("status", Cell::Text(status.to_owned()));
    row.put("label", Cell::text(record.label.clone()));
    row.put("age_years", Cell::figure(record.age_years, |age| age.to_string()));
    row.put("examiner", Cell::text(record.examiner.clone()));
    row.put("box", Cell::Text(record.box_name.clone()));
    row.put("frame", Cell::Text(record.frame_name.clone()));
}

fn prescription(row: &mut Row, record: &Record, eye: &EyeRecord) {
    let part = |horizontal| eye.prism.iter().copied().find(|part| part.is_horizontal() == horizontal);
    let form = match record.form {
        CylinderForm::Minus => "minus",
        CylinderForm::Plus => "plus",
    };
    row.put("eye", Cell::Text(eye.eye.to_string()));
    row.power("", eye.written);
    row.put("cylinder_form", Cell::Text(form.to_owned()));
    row.put("addition_d", Cell::figure(eye.addition.filter(|_| eye.written.is_some()), quarter));
    row.prism("horizontal", part(true));
    row.prism("vertical", part(false));
    row.put("stays_on", Cell::text(eye.stays_on.map(|worn| worn.kind.shown())));
    row.power("stays_on_", eye.stays_on.map(|worn| worn.power));
    row.put("stays_on_vertex_mm", Cell::figure(eye.stays_on, |worn| worn.vertex_mm.to_string()));
    row.vector("total", eye.total);
    row.put("planned_vertex_mm", Cell::Figure(record.planned_vertex_mm.to_string()));
    row.put("result", Cell::Text(eye.outcome.shown().to_owned()));
}

fn room(row: &mut Row, record: &Record, eye: &EyeRecord) {
    row.put("frame_vertex_mm", Cell::Figure(record.frame_vertex_mm.to_string()));
    row.put("frame_vertex_measured", Cell::Text(yes_or_no(record.measured_vertex_mm.is_some()).to_owned()));
    row.put("tilt_deg", Cell::figure(record.tilt_deg, |degrees| degrees.to_string()));
    row.put("face_form_deg", Cell::figure(record.face_form_deg, |degrees| degrees.to_string()));
    row.put("chart_m", Cell::figure(record.chart_metres, |metres| metres.to_string()));
    row.put("chart_made_for_m", Cell::figure(record.chart_made_for_metres, |metres| metres.to_string()));
    row.put("chart_allowance_d", Cell::figure(record.chart_allowance, figure));
    row.put("near_m", Cell::figure(record.near_metres, |metres| metres.to_string()));
    row.put("pd_mm", Cell::figure(eye.pd_mm, |pd| pd.to_string()));
}

/// What an order has beside the prescription.
fn order(row: &mut Row, record: &Record, eye: &EyeRecord) {
    let of_eye = record.order.as_ref().map(|order| order.eyes()[eye.eye]);
    let (far, near) = (of_eye.and_then(|of| of.far), of_eye.and_then(|of| of.near));
    let millimetres = |mm: Option<f64>| Cell::figure(mm, |mm| fixed(mm, 2));
    row.put("centre_off_to_the_side_mm", millimetres(far.and_then(|far| far.off_to_the_side_mm)));
    row.put("centre_off_up_or_down_mm", millimetres(far.and_then(|far| far.off_up_and_down_mm)));
    row.power("near_", near.map(|near| near.power));
    row.put("near_centre_mm", millimetres(near.and_then(|near| near.centre_mm)));
    row.put("near_centre_off_to_the_side_mm", millimetres(near.and_then(|near| near.off_to_the_side_mm)));
    row.put("near_centre_off_up_or_down_mm", millimetres(near.and_then(|near| near.off_up_and_down_mm)));
}

fn certainty(row: &mut Row, eye: &EyeRecord) {
    let known = eye.certainty;
    row.put("sure_within_d", Cell::figure(settled(eye), |known| fixed(known.within_d, 2)));
    row.put("asked_again", Cell::figure(known, |known| known.asked_again.to_string()));
    row.put("answered_otherwise", Cell::figure(known, |known| known.answered_otherwise.to_string()));
    row.put("noticed_blur_d", Cell::figure(known, |known| fixed(known.noticed_blur_d, 2)));
    row.log_mar("expected_unaided", known.and_then(|known| known.expected_unaided));
    row.log_mar("expected_pinhole", known.and_then(|known| known.expected_pinhole));
    row.log_mar("expected_plus_one", known.and_then(|known| known.expected_through_plus_one));
    row.log_mar("read_plus_one", known.and_then(|known| known.through_plus_one));
}

/// What is known of an eye whose answers settle it.
fn settled(eye: &EyeRecord) -> Option<Known> {
    eye.certainty.filter(|known| known.sure != Sure::NotSettled)
}

fn said(row: &mut Row, record: &Record) {
    let signs = record.red_flags.as_ref().map(|named| match named.as_slice() {
        [] => "none".to_owned(),
        named => named.iter().map(|flag| flag.shown()).collect::<Vec<_>>().join("; "),
    });
    for at in DeviationAt::ALL {
        let found = record.deviations.iter().find(|found| found.at == at);
        row.put(&format!("deviation_{}", at.shown()), Cell::text(found.map(words::deviation)));
    }
    row.put("drops", Cell::Text(yes_or_no(record.drops).to_owned()));
    row.put("drops_put", Cell::text(drops_put(record)));
    row.put("near_card_read", Cell::text(record.near_card_read.map(yes_or_no)));
    row.put("outcome", Cell::text(record.outcome_in_words.clone()));
    let pair = record.outcome.as_ref().and_then(Outcome::ready_made);
    let given = record.outcome.as_ref().and_then(Outcome::given);
    row.put("pair_sphere_d", Cell::figure(pair, |(sphere, _)| quarter(sphere)));
    row.put("pair_is_for", Cell::text(pair.map(|(_, near)| if near { "reading" } else { "distance" })));
    row.put("pair_centres_mm", Cell::figure(given, |given| given.centres_mm.to_string()));
    row.put("pair_off_shelf", Cell::text(given.map(|given| given.shelf.clone())));
    row.put("pair_limits", Cell::text(given.map(|given| given.limits.to_string())));
    row.put("pair_meets_them", Cell::text(given.map(|given| yes_or_no(given.meets))));
    row.put("signs_named", Cell::text(signs));
    row.put("glasses_until_now", Cell::text(record.present_glasses.map(PresentGlasses::shown)));
    row.put("near_task", Cell::text(record.near_task.map(NearTask::shown)));
    row.put("preferred_eye", Cell::text(record.preferred_eye.map(|eye| eye.to_string())));
    row.put("notes", Cell::Text(record.notes.join("\n")));
    row.put("amendments", Cell::Text(record.amendments.join("\n")));
    row.put("glasses_that_came_back", Cell::text(came_back(record)));
    row.put("cautions", Cell::Text(record.cautions_in_words.join(" ")));
    row.put("notice", Cell::Text(record.notice.join(" ")));
}

fn yes_or_no(is: bool) -> &'static str {
    if is { "yes" } else { "no" }
}

fn came_back(record: &Record) -> Option<String> {
    let lines: Vec<String> = record.came_back.iter().flat_map(glasses_words::came_back).collect();
    (!lines.is_empty()).then(|| lines.join("\n"))
}

fn drops_put(record: &Record) -> Option<String> {
    let put: Vec<String> = record.drops_put.iter().map(words::drops_put).collect();
    (!put.is_empty()).then(|| put.join(" "))
}

/// The record as a table of three lines.
///
/// # Errors
/// When the writer fails, which it does for no record that an exam makes.
pub fn csv(record: &Record) -> Result<String, ExportError> {
    let failed = |source| ExportError::Csv { exam: record.exam_name(), source };
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let rows = record.eyes().map(|eye| row(record, eye).0);
    writer.write_record(rows.right.iter().map(|(name, _)| name)).map_err(failed)?;
    for row in rows {
        writer.write_record(row.into_iter().map(|(_, cell)| cell.written())).map_err(failed)?;
    }
    let bytes = writer.into_inner().map_err(|error| failed(error.into_error().into()))?;
    // fields are strings and the separators ASCII, so these bytes are UTF-8
    Ok(format!("{BYTE_ORDER_MARK}{}", String::from_utf8_lossy(&bytes)))
}

fn quarter(dioptres: f64) -> String {
    fixed(dioptres, 2)
}

fn figure(dioptres: f64) -> String {
    fixed(dioptres, 4)
}

/// With at most so many places, and none that is zero at the end.
fn shortest(value: f64, places: usize) -> String {
    let digits = fixed(value, places);
    digits.trim_end_matches('0').trim_end_matches('.').to_owned()
}
