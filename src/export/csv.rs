//! A table for spreadsheets: a header and one row per eye, right first (RFC 4180). Numbers are plain, with a hyphen for minus.
//!
//! A cell is empty when its value is not known; `no letter`, `counting fingers` and so on stand for an acuity without one. Every
//! acuity is the true one; the columns `.._on_chart` say what a chart did that stood elsewhere than its figures say. A spreadsheet may take `6/12`
//! for a date: the columns in logMAR are the ones to compute with.

use super::error::ExportError;
use super::record::{EyeRecord, Known, Record, rfc_3339};
use super::words::{self, fixed};
use crate::exam::certainty::Sure;
use crate::optics::notation::Style;
use crate::optics::{Acuity, CylinderForm, PrismPart};

type Column = (&'static str, fn(&Record, &EyeRecord) -> String);

/// The columns in order: the name, which carries the unit, and what stands in it.
const COLUMNS: [Column; 74] = [
    ("exam", |record, _| record.exam.to_string()),
    ("opened", |record, _| rfc_3339(&record.opened)),
    ("closed", |record, _| written(record.closed.as_ref(), rfc_3339)),
    ("status", |record, _| if record.draft { "draft" } else { "closed" }.to_owned()),
    ("label", |record, _| record.label.clone().unwrap_or_default()),
    ("age_years", |record, _| written(record.age_years, |age| age.to_string())),
    ("examiner", |record, _| record.examiner.clone().unwrap_or_default()),
    ("box", |record, _| record.box_name.clone()),
    ("frame", |record, _| record.frame_name.clone()),
    ("eye", |_, eye| eye.eye.to_string()),
    ("sphere_d", |_, eye| written(eye.written, |power| quarter(power.sphere))),
    ("cylinder_d", |_, eye| written(eye.written, |power| quarter(power.cylinder))),
    ("axis_deg", |_, eye| written(eye.written.filter(|p| p.cylinder != 0.0), |power| format!("{:.0}", power.axis))),
    ("cylinder_form", |record, _| {
        match record.form {
            CylinderForm::Minus => "minus",
            CylinderForm::Plus => "plus",
        }
        .to_owned()
    }),
    ("addition_d", |_, eye| written(eye.addition.filter(|_| eye.written.is_some()), quarter)),
    ("horizontal_prism_pdpt", |_, eye| written(horizontal(eye), |part| fixed(part.amount, 2))),
    ("horizontal_base", |_, eye| written(horizontal(eye), |part| part.base.to_string())),
    ("vertical_prism_pdpt", |_, eye| written(vertical(eye), |part| fixed(part.amount, 2))),
    ("vertical_base", |_, eye| written(vertical(eye), |part| part.base.to_string())),
    ("planned_vertex_mm", |record, _| record.planned_vertex_mm.to_string()),
    ("frame_vertex_mm", |record, _| record.frame_vertex_mm.to_string()),
    ("chart_m", |record, _| written(record.chart_metres, |metres| metres.to_string())),
    ("chart_made_for_m", |record, _| written(record.chart_made_for_metres, |metres| metres.to_string())),
    ("chart_allowance_d", |record, _| written(record.chart_allowance, figure)),
    ("near_m", |record, _| written(record.near_metres, |metres| metres.to_string())),
    ("pd_mm", |_, eye| written(eye.pd_mm, |pd| pd.to_string())),
    ("acuity_unaided", |record, eye| read(record, eye.unaided)),
    ("acuity_pinhole", |record, eye| read(record, eye.pinhole)),
    ("acuity_old_glasses", |record, eye| read(record, eye.with_old_glasses)),
    ("acuity_prescription", |record, eye| read(record, eye.with_prescription)),
    ("acuity_prescription_both_eyes", |record, _| read(record, record.both_with_prescription)),
    ("unaided_logmar", |_, eye| log_mar(eye.unaided)),
    ("pinhole_logmar", |_, eye| log_mar(eye.pinhole)),
    ("old_glasses_logmar", |_, eye| log_mar(eye.with_old_glasses)),
    ("prescription_logmar", |_, eye| log_mar(eye.with_prescription)),
    ("prescription_both_eyes_logmar", |record, _| log_mar(record.both_with_prescription)),
    ("unaided_on_chart", |record, eye| on_chart(record, eye.unaided)),
    ("pinhole_on_chart", |record, eye| on_chart(record, eye.pinhole)),
    ("old_glasses_on_chart", |record, eye| on_chart(record, eye.with_old_glasses)),
    ("prescription_on_chart", |record, eye| on_chart(record, eye.with_prescription)),
    ("prescription_both_eyes_on_chart", |record, _| on_chart(record, record.both_with_prescription)),
    ("found_m_d", |_, eye| written(eye.found, |power| figure(power.m))),
    ("found_j0_d", |_, eye| written(eye.found, |power| figure(power.j0))),
    ("found_j45_d", |_, eye| written(eye.found, |power| figure(power.j45))),
    ("retinoscopy_m_d", |_, eye| written(eye.retinoscopy, |power| figure(power.m))),
    ("retinoscopy_j0_d", |_, eye| written(eye.retinoscopy, |power| figure(power.j0))),
    ("retinoscopy_j45_d", |_, eye| written(eye.retinoscopy, |power| figure(power.j45))),
    ("refracted", |_, eye| written(eye.refracted, |strategy| strategy.name().to_owned())),
    ("old_sphere_d", |_, eye| written(eye.old_glasses, |power| quarter(power.sphere))),
    ("old_cylinder_d", |_, eye| written(eye.old_glasses, |power| quarter(power.cylinder))),
    ("old_axis_deg", |_, eye| {
        written(eye.old_glasses.filter(|p| p.cylinder != 0.0), |power| format!("{:.0}", power.axis))
    }),
    ("old_addition_d", |record, _| written(record.old_addition, quarter)),
    ("notes", |record, _| record.notes.join("\n")),
    ("amendments", |record, _| record.amendments.join("\n")),
    ("cautions", |record, _| record.cautions_in_words.join(" ")),
    ("notice", |record, _| record.notice.join(" ")),
    ("result", |_, eye| eye.outcome.shown().to_owned()),
    ("wet_m_d", |_, eye| written(eye.wet, |power| figure(power.m))),
    ("wet_j0_d", |_, eye| written(eye.wet, |power| figure(power.j0))),
    ("wet_j45_d", |_, eye| written(eye.wet, |power| figure(power.j45))),
    ("drops", |record, _| if record.drops { "yes" } else { "no" }.to_owned()),
    ("signs_named", |record, _| {
        written(record.red_flags.as_ref(), |named| match named.as_slice() {
            [] => "none".to_owned(),
            named => named.iter().map(|flag| flag.shown()).collect::<Vec<_>>().join("; "),
        })
    }),
    ("glasses_until_now", |record, _| written(record.present_glasses, |glasses| glasses.shown().to_owned())),
    ("near_task", |record, _| written(record.near_task, |task| task.shown().to_owned())),
    ("preferred_eye", |record, _| written(record.preferred_eye, |eye| eye.to_string())),
    ("old_glasses_both_eyes_logmar", |record, _| log_mar(record.both_with_old_glasses)),
    ("sure_within_d", |_, eye| written(settled(eye), |known| fixed(known.within_d, 2))),
    ("asked_again", |_, eye| written(eye.certainty, |known| known.asked_again.to_string())),
    ("answered_otherwise", |_, eye| written(eye.certainty, |known| known.answered_otherwise.to_string())),
    ("noticed_blur_d", |_, eye| written(eye.certainty, |known| fixed(known.noticed_blur_d, 2))),
    ("expected_unaided_logmar", |_, eye| log_mar(eye.certainty.and_then(|known| known.expected_unaided))),
    ("expected_pinhole_logmar", |_, eye| log_mar(eye.certainty.and_then(|known| known.expected_pinhole))),
    ("expected_plus_one_logmar", |_, eye| log_mar(eye.certainty.and_then(|known| known.expected_through_plus_one))),
    ("read_plus_one_logmar", |_, eye| log_mar(eye.certainty.and_then(|known| known.through_plus_one))),
];

/// What is known of an eye whose answers settle it.
fn settled(eye: &EyeRecord) -> Option<Known> {
    eye.certainty.filter(|known| known.sure != Sure::NotSettled)
}

/// The record as a table of three lines.
///
/// # Errors
/// When the writer fails, which it does for no record that an exam makes.
pub fn csv(record: &Record) -> Result<String, ExportError> {
    let failed = |source| ExportError::Csv { exam: record.exam, source };
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    writer.write_record(COLUMNS.map(|(name, _)| name)).map_err(failed)?;
    for eye in record.eyes() {
        writer.write_record(COLUMNS.map(|(_, value)| value(record, eye))).map_err(failed)?;
    }
    let bytes = writer.into_inner().map_err(|error| failed(error.into_error().into()))?;
    // fields are strings and the separators ASCII, so these bytes are UTF-8
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn written<T>(value: Option<T>, write: impl Fn(T) -> String) -> String {
    value.map(write).unwrap_or_default()
}

fn quarter(dioptres: f64) -> String {
    fixed(dioptres, 2)
}

fn figure(dioptres: f64) -> String {
    fixed(dioptres, 4)
}

/// An acuity in the notation of the record.
fn read(record: &Record, acuity: Option<Acuity>) -> String {
    written(acuity, |acuity| acuity.write(record.acuity_notation, Style::Ascii))
}

/// What is seen where no letter is read has no figure: its words stand there.
fn log_mar(acuity: Option<Acuity>) -> String {
    written(acuity, |acuity| match acuity.log_mar() {
        Some(log_mar) => fixed(log_mar, 2),
        None => acuity.without_letters().unwrap_or_default().to_owned(),
    })
}

/// What the chart said, where it stood elsewhere than its figures say.
fn on_chart(record: &Record, acuity: Option<Acuity>) -> String {
    acuity.and_then(|acuity| words::on_chart(acuity, record.acuity_notation, Style::Ascii)).unwrap_or_default()
}

fn horizontal(eye: &EyeRecord) -> Option<PrismPart> {
    eye.prism.iter().copied().find(PrismPart::is_horizontal)
}

fn vertical(eye: &EyeRecord) -> Option<PrismPart> {
    eye.prism.iter().copied().find(|part| !part.is_horizontal())
}
