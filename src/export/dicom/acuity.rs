//! Acuities as Visual Acuity Measurements objects (PS3.3, A.60.5), one for each way in which they were read.
//!
//! The object requires optotype, presentation and background: letters of a chart, several at once, on white. The program does
//! not ask for the last, and the object says so.

use dicom_core::{Tag, VR};
use dicom_dictionary_std::{tags, uids};

use super::object::{DicomFile, Kind, Object};
use super::refraction;
use super::ways::{WAYS, Way};
use crate::export::error::ExportError;
use crate::export::record::Record;
use crate::optics::{Eye, Eyes};

const KIND: Kind = Kind { sop_class: uids::VISUAL_ACUITY_MEASUREMENTS_STORAGE, modality: "VA", series: 2 };

/// What is said of the letters that were read.
const LETTERS: &str = "letters of a chart; its background is not recorded";

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
