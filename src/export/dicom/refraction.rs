//! The prescription as a Subjective Refraction Measurements object (PS3.3, A.60.4).

use dicom_core::VR;
use dicom_dictionary_std::{tags, uids};

use super::object::{DicomFile, Kind, Object, uid};
use crate::export::error::ExportError;
use crate::export::record::{EyeRecord, Record};
use crate::export::words;
use crate::optics::{Eye, PrismPart, SpheroCylinder};

/// The name of the object among the parts of a record.
const PART: &str = "subjective-refraction";

const KIND: Kind = Kind { sop_class: uids::SUBJECTIVE_REFRACTION_MEASUREMENTS_STORAGE, modality: "SRF", series: 1 };

/// The object of a record in which a power is written.
pub fn refraction(record: &Record) -> Result<Option<DicomFile>, ExportError> {
    let has_power = record.eyes().map(|eye| eye.written.is_some());
    if !has_power.into_iter().any(|has| has) {
        return Ok(None);
    }
    let mut object = Object::of(record, &KIND, PART, 1, has_power);
    for eye in record.eyes() {
        let Some(written) = eye.written else { continue };
        let tag = match eye.eye {
            Eye::Right => tags::SUBJECTIVE_REFRACTION_RIGHT_EYE_SEQUENCE,
            Eye::Left => tags::SUBJECTIVE_REFRACTION_LEFT_EYE_SEQUENCE,
        };
        object.items(tag, [lens(record, eye, written)]);
    }
    if let (Some(right), Some(left)) = (record.right.pd_mm, record.left.pd_mm) {
        object.number(tags::DISTANCE_PUPILLARY_DISTANCE, right + left);
    }
    Ok(Some(DicomFile { name: "refraction", bytes: object.file(record, &KIND, PART)? }))
}

/// What names the object to the others, where there is one.
pub fn reference(record: &Record) -> Option<Object> {
    record.eyes().into_iter().any(|eye| eye.written.is_some()).then(|| {
        let mut object = Object::empty();
        object.text(tags::REFERENCED_SOP_CLASS_UID, VR::UI, KIND.sop_class);
        object.text(tags::REFERENCED_SOP_INSTANCE_UID, VR::UI, &uid(record, PART));
        object
    })
}

fn lens(record: &Record, eye: &EyeRecord, written: SpheroCylinder) -> Object {
    let mut lens = Object::empty();
    lens.number(tags::SPHERE_POWER, written.sphere);
    if written.cylinder != 0.0 {
        let mut cylinder = Object::empty();
        cylinder.number(tags::CYLINDER_POWER, written.cylinder);
        cylinder.degrees(tags::CYLINDER_AXIS, written.axis.round());
        lens.items(tags::CYLINDER_SEQUENCE, [cylinder]);
    }
    if !eye.prism.is_empty() {
        lens.items(tags::PRISM_SEQUENCE, [prism(&eye.prism)]);
    }
    if let Some(addition) = eye.addition {
        let mut near = Object::empty();
        near.number(tags::ADD_POWER, addition);
        lens.items(tags::ADD_NEAR_SEQUENCE, [near]);
    }
    lens.number(tags::VERTEX_DISTANCE, record.planned_vertex_mm);
    lens
}

/// Both parts are required, each with its base: a part that there is not is zero.
fn prism(parts: &[PrismPart]) -> Object {
    let mut prism = Object::empty();
    let mut put = |horizontal: bool, power, base, other: &str| {
        let part = parts.iter().find(|part| part.is_horizontal() == horizontal);
        prism.number(power, part.map_or(0.0, |part| words::hundredths(part.amount)));
        prism.text(base, VR::CS, &part.map_or_else(|| other.to_owned(), |part| part.base.to_string().to_uppercase()));
    };
    put(true, tags::HORIZONTAL_PRISM_POWER, tags::HORIZONTAL_PRISM_BASE, "IN");
    put(false, tags::VERTICAL_PRISM_POWER, tags::VERTICAL_PRISM_BASE, "UP");
    prism
}
