//! A DICOM object as every form of it begins: person, study, series, equipment; and its file.

use dicom_core::{DataElement, PrimitiveValue, Tag, VR};
use dicom_dictionary_std::{tags, uids};
use dicom_object::{FileMetaTableBuilder, InMemDicomObject};

use super::comments::comments;
use crate::export::error::ExportError;
use crate::export::identity;
use crate::export::record::Record;
use crate::export::words;
use crate::optics::{Eye, Eyes};

/// One DICOM file of a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DicomFile {
    /// What it holds, as a part of a file name.
    pub name: &'static str,
    /// The bytes of the file.
    pub bytes: Vec<u8>,
}

/// The most letters of a person's name (PS3.5, table 6.2-1).
const LONGEST_NAME: usize = 64;
/// The most letters of a long text (the same table).
const LONGEST_TEXT: usize = 10_240;

/// Which of the kinds of object this is.
pub struct Kind {
    /// The UID of what it is.
    pub sop_class: &'static str,
    /// Its modality.
    pub modality: &'static str,
    /// The number of its series in the study.
    pub series: u16,
}

/// An object that is being filled, or an item of one.
pub struct Object(InMemDicomObject);

impl Object {
    /// Nothing yet.
    pub fn empty() -> Self {
        Self(InMemDicomObject::new_empty())
    }

    /// Puts a text that is short enough and has no character that divides values.
    pub fn text(&mut self, tag: Tag, vr: VR, text: &str) {
        self.0.put(DataElement::new(tag, vr, PrimitiveValue::from(text)));
    }

    /// Puts a number of double precision.
    pub fn number(&mut self, tag: Tag, value: f64) {
        self.0.put(DataElement::new(tag, VR::FD, PrimitiveValue::from(value)));
    }

    /// Puts a whole number of degrees, for which DICOM has single precision.
    pub fn degrees(&mut self, tag: Tag, value: f64) {
        self.0.put(DataElement::new(tag, VR::FL, PrimitiveValue::from(value as f32)));
    }

    /// Puts items below a tag.
    pub fn items(&mut self, tag: Tag, items: impl IntoIterator<Item = Self>) {
        let items: Vec<InMemDicomObject> = items.into_iter().map(|Self(item)| item).collect();
        self.0.put(DataElement::new(tag, VR::SQ, dicom_core::value::DataSetSequence::from(items)));
    }

    /// An object of a kind, with all that it has in common with the others of the record.
    pub fn of(record: &Record, kind: &Kind, part: &str, number: usize, eyes: Eyes<bool>) -> Self {
        let mut object = Self::empty();
        object.text(tags::SPECIFIC_CHARACTER_SET, VR::CS, "ISO_IR 192");
        object.text(tags::SOP_CLASS_UID, VR::UI, kind.sop_class);
        object.text(tags::SOP_INSTANCE_UID, VR::UI, &uid(record, part));
        object.person(record);
        object.study(record, kind);
        object.equipment();
        object.text(tags::INSTANCE_NUMBER, VR::IS, &number.to_string());
        let at = record.closed.as_ref().unwrap_or(&record.opened);
        object.text(tags::CONTENT_DATE, VR::DA, &at.strftime("%Y%m%d").to_string());
        object.text(tags::CONTENT_TIME, VR::TM, &at.strftime("%H%M%S").to_string());
        object.text(tags::TIMEZONE_OFFSET_FROM_UTC, VR::SH, &at.strftime("%z").to_string());
        object.text(tags::MEASUREMENT_LATERALITY, VR::CS, laterality(eyes));
        object
    }

    fn person(&mut self, record: &Record) {
        let label = record.label.as_deref().unwrap_or_default();
        self.text(tags::PATIENT_NAME, VR::PN, &name(label));
        // a label is no identity: an archive would make one person of two that have the same
        self.text(tags::PATIENT_ID, VR::LO, &identity::of_part(record, "patient").to_string());
        self.text(tags::PATIENT_BIRTH_DATE, VR::DA, "");
        self.text(tags::PATIENT_SEX, VR::CS, "");
        if let Some(age) = record.age_years {
            self.text(tags::PATIENT_AGE, VR::AS, &format!("{age:03}Y"));
        }
        self.text(tags::PATIENT_COMMENTS, VR::LT, &long_text(&comments(record)));
    }

    fn study(&mut self, record: &Record, kind: &Kind) {
        self.text(tags::STUDY_INSTANCE_UID, VR::UI, &uid(record, "study"));
        self.text(tags::STUDY_DATE, VR::DA, &record.opened.strftime("%Y%m%d").to_string());
        self.text(tags::STUDY_TIME, VR::TM, &record.opened.strftime("%H%M%S").to_string());
        self.text(tags::STUDY_ID, VR::SH, &record.exam.to_string());
        self.text(tags::REFERRING_PHYSICIAN_NAME, VR::PN, "");
        self.text(tags::ACCESSION_NUMBER, VR::SH, "");
        self.text(tags::MODALITY, VR::CS, kind.modality);
        self.text(tags::SERIES_INSTANCE_UID, VR::UI, &uid(record, kind.modality));
        self.text(tags::SERIES_NUMBER, VR::IS, &kind.series.to_string());
        if record.draft {
            self.text(tags::SERIES_DESCRIPTION, VR::LO, "DRAFT: this exam is not closed");
        }
        if let Some(examiner) = &record.examiner {
            self.text(tags::OPERATORS_NAME, VR::PN, &name(examiner));
        }
    }

    fn equipment(&mut self) {
        self.text(tags::MANUFACTURER, VR::LO, "Dioptray");
        self.text(tags::MANUFACTURER_MODEL_NAME, VR::LO, "Dioptray");
        // required, and a program has none
        self.text(tags::DEVICE_SERIAL_NUMBER, VR::LO, "none");
        self.text(tags::SOFTWARE_VERSIONS, VR::LO, env!("CARGO_PKG_VERSION"));
    }

    /// The bytes of the file.
    pub fn file(self, record: &Record, kind: &Kind, part: &str) -> Result<Vec<u8>, ExportError> {
        let failed = |why: String| ExportError::Dicom { exam: record.exam_name(), why };
        let meta = FileMetaTableBuilder::new()
            .transfer_syntax(uids::EXPLICIT_VR_LITTLE_ENDIAN)
            .media_storage_sop_class_uid(kind.sop_class)
            .media_storage_sop_instance_uid(uid(record, part));
        let file = self.0.with_meta(meta).map_err(|error| failed(error.to_string()))?;
        let mut bytes = Vec::new();
        file.write_all(&mut bytes).map_err(|error| failed(error.to_string()))?;
        Ok(bytes)
    }
}

/// The UID of a part of a record: that of its UUID (PS3.5, B.2).
pub fn uid(record: &Record, part: &str) -> String {
    format!("2.25.{}", identity::of_part(record, part).as_u128())
}

/// Of which eyes an object is.
fn laterality(eyes: Eyes<bool>) -> &'static str {
    match (eyes[Eye::Right], eyes[Eye::Left]) {
        (true, false) => "R",
        (false, true) => "L",
        (true, true) | (false, false) => "B",
    }
}

/// A text as the name of a person, all of it the family name: the backslash divides values there, and the other two the parts
/// of a name. Without a part after it, a name with a space in it would be of the retired form.
fn name(text: &str) -> String {
    let text = words::printable(text).replace(['^', '='], " ").replace('\\', "/");
    let text: String = text.chars().take(LONGEST_NAME - 1).collect();
    let text = text.trim();
    if text.contains(' ') { format!("{text}^") } else { text.to_owned() }
}

/// A text as a long text, which says so when it has to end early.
fn long_text(text: &str) -> String {
    const MORE: &str = "\r\n(The comments are longer: see the exam's other records.)";
    if text.chars().count() <= LONGEST_TEXT {
        return text.to_owned();
    }
    text.chars().take(LONGEST_TEXT - MORE.len()).chain(MORE.chars()).collect()
}
