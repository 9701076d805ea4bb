//! Acuities as Visual Acuity Measurements objects (PS3.3, A.60.5), one for each way in which they were read.
//!
//! The object requires optotype, presentation and background: letters of a chart, several at once, on white. The program does
//! not ask for the last, and the object says so.

use dicom_core::{Tag, VR};
use dicom_dictionary_std::{tags, uids};

use super::object::{Kind, Object};
use super::{DicomFile, refraction};
use crate::export::error::ExportError;
use crate::export::record::{EyeRecord, Record};
use crate::export::words;
use crate::optics::{Acuity, Eye, Eyes};

const KIND: Kind = Kind { sop_class: uids::VISUAL_ACUITY_MEASUREMENTS_STORAGE, modality: "VA", series: 2 };

/// What is said of the letters that were read.
const LETTERS: &str = "letters of a chart; its background is not recorded";

/// One way in which acuities are read.
struct Way {
    /// As a part of a file name.
    name: &'static str,
    /// For people.
    shown: &'static str,
    /// Its code in context group 4216, Ophthalmic Visual Acuity Type (PS3.16): value, scheme and meaning.
    code: [&'static str; 3],
    /// What each eye read.
    of: fn(&EyeRecord) -> Option<Acuity>,
    /// What both eyes together read.
    of_both: fn(&Record) -> Option<Acuity>,
    /// Whether it is with the power that is written.
    is_with_prescription: bool,
}

const WAYS: [Way; 4] = [
    Way {
        name: "acuity-unaided",
        shown: "unaided",
        code: ["420050001", "SCT", "Uncorrected Visual Acuity"],
        of: |eye| eye.unaided,
        of_both: |_| None,
        is_with_prescription: false,
    },
    Way {
        name: "acuity-pinhole",
        shown: "through a pinhole",
        code: ["419475002", "SCT", "Pinhole Visual Acuity"],
        of: |eye| eye.pinhole,
        of_both: |_| None,
        is_with_prescription: false,
    },
    Way {
        name: "acuity-old-glasses",
        shown: "with the old glasses",
        code: ["111686", "DCM", "Habitual Visual Acuity"],
        of: |eye| eye.with_old_glasses,
        of_both: |record| record.both_with_old_glasses,
        is_with_prescription: false,
    },
    Way {
        name: "acuity-corrected",
        shown: "with the found power",
        code: ["419775003", "SCT", "Best Corrected Visual Acuity"],
        of: |eye| eye.with_prescription,
        of_both: |record| record.both_with_prescription,
        is_with_prescription: true,
    },
];

impl Way {
    /// The decimal acuity of each eye, letters counted in, where a letter was read.
    fn decimals(&self, record: &Record) -> Eyes<Option<f64>> {
        record.eyes().map(|eye| (self.of)(eye).and_then(decimal))
    }

    /// The same of both eyes together; the object has a place for it beside those of each eye.
    fn decimal_of_both(&self, record: &Record) -> Option<f64> {
        let of_each = self.decimals(record).into_iter().all(|read| read.is_some());
        (self.of_both)(record).and_then(decimal).filter(|_| of_each)
    }
}

fn decimal(read: Acuity) -> Option<f64> {
    read.mar().map(f64::recip)
}

/// The objects of a record, in the order in which acuities are read.
pub fn acuities(record: &Record) -> Result<Vec<DicomFile>, ExportError> {
    let of_way = |(number, way): (usize, &Way)| {
        let decimals = way.decimals(record);
        let has = decimals.map(|read| read.is_some());
        has.into_iter().any(|has| has).then(|| {
            let object = object(record, way, number, decimals);
            Ok(DicomFile { name: way.name, bytes: object.file(record, &KIND, way.name)? })
        })
    };
    (1..).zip(&WAYS).filter_map(of_way).collect()
}

fn object(record: &Record, way: &Way, number: usize, decimals: Eyes<Option<f64>>) -> Object {
    let mut object = Object::of(record, &KIND, way.name, number, decimals.map(|read| read.is_some()));
    let [value, scheme, meaning] = way.code;
    let mut code = Object::empty();
    code.text(tags::CODE_VALUE, VR::SH, value);
    code.text(tags::CODING_SCHEME_DESIGNATOR, VR::SH, scheme);
    code.text(tags::CODE_MEANING, VR::LO, meaning);
    object.items(tags::VISUAL_ACUITY_TYPE_CODE_SEQUENCE, [code]);
    object.text(tags::VIEWING_DISTANCE_TYPE, VR::CS, "DISTANCE");
    object.text(tags::BACKGROUND_COLOR, VR::CS, "WHITE");
    object.text(tags::OPTOTYPE, VR::CS, "LETTERS");
    object.text(tags::OPTOTYPE_DETAILED_DEFINITION, VR::LO, LETTERS);
    object.text(tags::OPTOTYPE_PRESENTATION, VR::CS, "MULTIPLE");
    let measured = way.is_with_prescription.then(|| refraction::reference(record)).flatten();
    object.items(tags::REFERENCED_REFRACTIVE_MEASUREMENTS_SEQUENCE, measured);
    let mut put = |tag: Tag, read: Option<f64>| {
        if let Some(read) = read {
            let mut item = Object::empty();
            item.number(tags::DECIMAL_VISUAL_ACUITY, read);
            object.items(tag, [item]);
        }
    };
    put(tags::VISUAL_ACUITY_RIGHT_EYE_SEQUENCE, decimals[Eye::Right]);
    put(tags::VISUAL_ACUITY_LEFT_EYE_SEQUENCE, decimals[Eye::Left]);
    put(tags::VISUAL_ACUITY_BOTH_EYES_OPEN_SEQUENCE, way.decimal_of_both(record));
    object
}

/// What was read and is in no object: what is seen without a letter, and both eyes together where not each has its own.
pub fn only_in_words(record: &Record) -> Vec<String> {
    let mut lines = Vec::new();
    let mut say = |whose: String, way: &Way, read: Acuity| {
        let read = words::acuity(read, record.acuity_notation);
        lines.push(format!("{}, {}: {read}.", words::sentence(&whose), way.shown));
    };
    for way in &WAYS {
        for eye in record.eyes() {
            if let Some(read) = (way.of)(eye).filter(|read| read.mar().is_none()) {
                say(words::eye(eye.eye), way, read);
            }
        }
        if let Some(read) = (way.of_both)(record).filter(|_| way.decimal_of_both(record).is_none()) {
            say("both eyes".to_owned(), way, read);
        }
    }
    lines
}
