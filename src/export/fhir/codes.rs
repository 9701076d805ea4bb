//! What a bundle and its check both name: code systems, codes and units.

use crate::optics::Eye;

/// LOINC's name in FHIR.
pub const LOINC: &str = "http://loinc.org";
/// UCUM's name in FHIR.
pub const UCUM: &str = "http://unitsofmeasure.org";
/// UCUM's unit of logMAR.
pub const LOG_MAR: &str = "{logMAR}";
/// UCUM's unit of a distance on the face or the frame.
pub const MILLIMETRE: &str = "mm";

/// The code system of HL7's own example of a vision prescription, for what is prescribed.
pub const PRODUCT: &str = "http://terminology.hl7.org/CodeSystem/ex-visionprescriptionproduct";
/// Its code of a lens of glasses.
pub const LENS: &str = "lens";
/// Its code of a contact lens.
pub const CONTACT_LENS: &str = "contact";

/// What a balance lens is called: the only lens without a power or a prism.
pub const BALANCE_LENS: &str = "balance lens";

/// Uncorrected visual acuity (LOINC), by eye.
pub fn loinc_uncorrected(eye: Eye) -> &'static str {
    match eye {
        Eye::Right => "98499-7",
        Eye::Left => "98498-9",
    }
}

/// Best corrected visual acuity (LOINC), by eye.
pub fn loinc_best_corrected(eye: Eye) -> &'static str {
    match eye {
        Eye::Right => "65893-0",
        Eye::Left => "65897-1",
    }
}
