//! A FHIR bundle (type collection) for other record systems, in release R5 or R4B.
//!
//! Patient (label only), VisionPrescription when a power or a prism is written, and Observations for acuity, pupillary distance and
//! vertex distance, for which VisionPrescription has no place. Codes: LOINC and UCUM where one is known, text elsewhere.
//! Every id follows from the exam's identity, or from its number and the time it began where it has none, so the same record
//! always gives the same bundle.

use serde_json::{Map, Value, json};
use uuid::Uuid;

use super::check::check;
use super::codes::{
    BALANCE_LENS, LENS, LOG_MAR, LOINC, MILLIMETRE, PRODUCT, UCUM, loinc_best_corrected, loinc_uncorrected,
};
use crate::exam::prescription::EyeOutcome;
use crate::export::error::ExportError;
use crate::export::record::{EyeRecord, Record, rfc_3339};
use crate::export::{glasses_words, identity, words};
use crate::optics::notation::Style;
use crate::optics::{Acuity, Eye, PrismPart};

/// A FHIR release. The resources used here have the same elements in both; each names its own release's profile.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Release {
    /// Release 5.
    R5,
    /// Release 4B.
    R4B,
}

impl Release {
    fn version(self) -> &'static str {
        match self {
            Self::R5 => "5.0.0",
            Self::R4B => "4.3.0",
        }
    }
}

/// What is noted at a lens that has a prism and no power.
const PRISM_ALONE: &str = "A prism alone: no power is written for this eye.";

/// What is noted at a balance lens.
const BALANCE: &str = "A balance lens: nobody found a power for this eye, and it corrects nothing.";

/// The record as a bundle that passed [`check`].
///
/// # Errors
/// When the bundle fails our own checks, with everything that is wrong.
pub fn bundle(record: &Record, release: Release) -> Result<Value, ExportError> {
    let builder = BundleBuilder { record, release };
    let mut entries = vec![builder.entry("patient", builder.patient())];
    entries.extend(builder.vision_prescription().map(|resource| builder.entry("vision-prescription", resource)));
    entries.extend(builder.observations().into_iter().map(|(name, resource)| builder.entry(&name, resource)));
    let bundle = json!({
        "resourceType": "Bundle",
        "id": builder.id("bundle").to_string(),
        "meta": builder.meta("Bundle"),
        "type": "collection",
        "timestamp": rfc_3339(record.closed.as_ref().unwrap_or(&record.opened)),
        "entry": entries,
    });
    let flaws = check(&bundle);
    if flaws.is_empty() { Ok(bundle) } else { Err(ExportError::Fhir { exam: record.exam_name(), flaws }) }
}

struct BundleBuilder<'a> {
    record: &'a Record,
    release: Release,
}

impl BundleBuilder<'_> {
    fn id(&self, part: &str) -> Uuid {
        identity::of_part(self.record, part)
    }

    fn urn(&self, part: &str) -> String {
        format!("urn:uuid:{}", self.id(part))
    }

    fn meta(&self, resource: &str) -> Value {
        let version = self.release.version();
        json!({ "profile": [format!("http://hl7.org/fhir/StructureDefinition/{resource}|{version}")] })
    }

    fn entry(&self, part: &str, mut resource: Map<String, Value>) -> Value {
        resource.insert("id".to_owned(), json!(self.id(part).to_string()));
        json!({ "fullUrl": self.urn(part), "resource": resource })
    }

    fn resource(&self, kind: &str) -> Map<String, Value> {
        let mut resource = Map::new();
        resource.insert("resourceType".to_owned(), json!(kind));
        resource.insert("meta".to_owned(), self.meta(kind));
        resource
    }

    fn patient(&self) -> Map<String, Value> {
        let mut patient = self.resource("Patient");
        if let Some(label) = self.record.label.as_deref().map(words::printable).filter(|label| !label.is_empty()) {
            let kind = json!({ "text": "label given by the examiner" });
            patient.insert("identifier".to_owned(), json!([{ "type": kind, "value": label }]));
        }
        patient
    }

    fn vision_prescription(&self) -> Option<Map<String, Value>> {
        let record = self.record;
        let mut with_lens = record.eyes().into_iter().filter(|eye| has_lens(eye));
        // a prescription has no note of its own: the first lens carries what goes with all of it, once
        let first = self.lens(with_lens.next()?, self.notes());
        let others = with_lens.map(|eye| self.lens(eye, Vec::new()));
        let lenses: Vec<Value> = std::iter::once(first).chain(others).collect();
        let examiner = record.examiner.as_deref().map(words::printable).filter(|name| !name.is_empty());
        let prescriber = match examiner {
            Some(name) => json!({ "display": name }),
            // The element is required; FHIR's own way to say that a required value is not known is this extension.
            None => json!({
                "extension": [{
                    "url": "http://hl7.org/fhir/StructureDefinition/data-absent-reason",
                    "valueCode": "unknown"
                }],
                "display": "not stated"
            }),
        };
        let written = rfc_3339(record.closed.as_ref().unwrap_or(&record.opened));
        let mut prescription = self.resource("VisionPrescription");
        let fields = [
            ("status", json!(if record.draft { "draft" } else { "active" })),
            ("created", json!(written)),
            ("patient", json!({ "reference": self.urn("patient") })),
            ("dateWritten", json!(written)),
            ("prescriber", prescriber),
            ("lensSpecification", json!(lenses)),
        ];
        prescription.extend(fields.map(|(name, value)| (name.to_owned(), value)));
        Some(prescription)
    }

    /// The lens of an eye, with its own remark and whatever else is noted at it.
    fn lens(&self, eye: &EyeRecord, further: Vec<String>) -> Value {
        let record = self.record;
        let mut lens = Map::new();
        let mut put = |name: &str, value: Value| lens.insert(name.to_owned(), value);
        let product = if is_balance(eye) { BALANCE_LENS } else { "spectacle lens" };
        put("product", json!({ "coding": [{ "system": PRODUCT, "code": LENS }], "text": product }));
        put("eye", json!(eye.eye));
        if let Some(written) = eye.written {
            put("sphere", json!(written.sphere));
            if written.cylinder != 0.0 {
                put("cylinder", json!(written.cylinder));
                put("axis", json!(written.axis.round() as i64));
            }
        }
        if !eye.prism.is_empty() {
            let part =
                |part: &PrismPart| json!({ "amount": words::hundredths(part.amount), "base": part.base.to_string() });
            put("prism", json!(eye.prism.iter().map(part).collect::<Vec<_>>()));
        }
        if let Some(addition) = eye.addition.filter(|_| eye.written.is_some()) {
            put("add", json!(addition));
        }
        let vertex = format!("Written for a vertex distance of {}.", words::millimetres(record.planned_vertex_mm));
        let remark = match eye.outcome {
            EyeOutcome::BalanceLens => BALANCE.to_owned(),
            EyeOutcome::Refracted => vertex,
            EyeOutcome::NotRefracted | EyeOutcome::CannotBeWritten => PRISM_ALONE.to_owned(),
        };
        let refracted = eye.refracted.map(|strategy| format!(" Refracted {}.", strategy.shown()));
        let over = words::stays_on(record, eye).map(|over| format!(" {over}"));
        let remark = remark + &over.unwrap_or_default() + &refracted.unwrap_or_default();
        put("note", annotations(std::iter::once(remark).chain(further)));
        Value::Object(lens)
    }

    /// What is to be read with the record as a whole, one note each.
    fn notes(&self) -> Vec<String> {
        let record = self.record;
        let under_drops = record.eyes().into_iter().filter_map(wet);
        let plus_two = record.eyes().into_iter().filter_map(words::through_plus_two);
        let visit = words::outcome(record).into_iter().chain(record.drops_put.iter().map(words::drops_put));
        let near_card = record.near_card_read.map(|reads| words::near_card(reads).to_owned());
        visit
            .chain(plus_two)
            .chain(near_card)
            .chain(deviations_and_how_it_sat(record))
            .chain(under_drops)
            .chain(record.cautions_in_words.iter().cloned())
            .chain(record.notes.iter().map(|note| format!("Note: {note}")))
            .chain(record.amendments.iter().map(|text| format!("Added after closing: {text}")))
            .chain(record.came_back.iter().flat_map(glasses_words::came_back))
            .chain(record.notice.iter().map(|&text| text.to_owned()))
            .collect()
    }

    fn observations(&self) -> Vec<(String, Map<String, Value>)> {
        let mut observations = Vec::new();
        let mut add = |name: &str, eye: Option<Eye>, code: Value, value: (&str, Value), said: Option<String>| {
            let part = eye.map_or_else(|| name.to_owned(), |eye| format!("{name}-{eye}"));
            observations.push((part, self.observation(eye, &code, value, said)));
        };
        // the value is the true acuity; what was read off a chart that stood elsewhere is said beside it
        let said = |read: Acuity| {
            let said = words::on_chart(read, self.record.acuity_notation, Style::Typographic)?;
            Some(format!("On the chart {said}."))
        };
        let coded = |code: &str, text: String| json!({ "coding": [{ "system": LOINC, "code": code }], "text": text });
        for of_eye in self.record.eyes() {
            let eye = of_eye.eye;
            let text = |what: &str| format!("{what}, {}", words::eye(eye));
            if let Some(read) = of_eye.unaided {
                let code = coded(loinc_uncorrected(eye), text("Uncorrected visual acuity"));
                add("acuity-unaided", Some(eye), code, acuity(read), said(read));
            }
            if let Some(read) = of_eye.pinhole {
                let code = json!({ "text": text("Visual acuity through a pinhole") });
                add("acuity-pinhole", Some(eye), code, acuity(read), said(read));
            }
            if let Some(read) = of_eye.with_old_glasses {
                let code = json!({ "text": text("Visual acuity with the glasses worn until now") });
                add("acuity-old-glasses", Some(eye), code, acuity(read), said(read));
            }
            if let Some(read) = of_eye.with_prescription {
                let code = coded(loinc_best_corrected(eye), text("Best corrected visual acuity"));
                add("acuity-corrected", Some(eye), code, acuity(read), said(read));
            }
            if let Some(distance) = of_eye.pd_mm {
                let code = json!({ "text": text("Pupillary distance from the middle of the nose") });
                add("pupillary-distance", Some(eye), code, millimetres(distance), None);
            }
        }
        if let Some(read) = self.record.both_with_prescription {
            let code = json!({ "text": "Visual acuity of both eyes together, corrected" });
            add("acuity-corrected-both", None, code, acuity(read), said(read));
        }
        let code = json!({ "text": "Vertex distance for which the prescription is written" });
        let any_power = self.record.eyes().into_iter().any(|eye| eye.written.is_some());
        if any_power {
            add("vertex-distance", None, code, millimetres(self.record.planned_vertex_mm), None);
        }
        if !self.record.eyes().into_iter().any(has_lens)
            && let Some((_, first)) = observations.first_mut()
        {
            // no lens carries what goes with all of it
            let own = first.get("note").and_then(|note| note[0]["text"].as_str()).map(str::to_owned);
            first.insert("note".to_owned(), annotations(own.into_iter().chain(self.notes())));
        }
        observations
    }

    fn observation(
        &self,
        eye: Option<Eye>,
        code: &Value,
        (kind, value): (&str, Value),
        said: Option<String>,
    ) -> Map<String, Value> {
        let mut observation = self.resource("Observation");
        let fields = [
            ("status", json!(if self.record.draft { "preliminary" } else { "final" })),
            ("code", code.clone()),
            ("subject", json!({ "reference": self.urn("patient") })),
            ("effectiveDateTime", json!(rfc_3339(&self.record.opened))),
            (kind, value),
        ];
        observation.extend(fields.map(|(name, value)| (name.to_owned(), value)));
        if let Some(said) = said {
            observation.insert("note".to_owned(), annotations([said]));
        }
        if let Some(eye) = eye {
            observation.insert("bodySite".to_owned(), json!({ "text": words::eye(eye) }));
        }
        observation
    }
}

fn annotations(texts: impl IntoIterator<Item = String>) -> Value {
    texts.into_iter().map(|text| json!({ "text": words::printable(&text) })).collect()
}

/// The deviations that were neutralised, and how frame and lenses sat, as far as that was measured or declared.
fn deviations_and_how_it_sat(record: &Record) -> Vec<String> {
    let measured = record
        .measured_vertex_mm
        .map(|distance| format!("Found at a vertex distance of {}, measured.", words::millimetres(distance)));
    let deviations = record.deviations.iter().map(words::deviation);
    deviations.chain(measured).chain(words::tilts(record)).collect()
}

/// The power that was found under drops, in words: it is no prescription.
fn wet(eye: &EyeRecord) -> Option<String> {
    let power = words::figures(eye.wet?, crate::optics::CylinderForm::Minus);
    Some(format!("Under drops the {} took {power}.", words::eye(eye.eye)))
}

/// Whether there is anything that a lens for this eye is to do.
fn has_lens(eye: &EyeRecord) -> bool {
    eye.written.is_some() || !eye.prism.is_empty() || is_balance(eye)
}

fn is_balance(eye: &EyeRecord) -> bool {
    eye.outcome == EyeOutcome::BalanceLens
}

fn acuity(read: Acuity) -> (&'static str, Value) {
    if let Some(log_mar) = read.log_mar() {
        return ("valueQuantity", quantity(log_mar, "logMAR", LOG_MAR));
    }
    let text = if read == Acuity::NoLetter { Some("no letter of the chart") } else { read.without_letters() };
    ("valueCodeableConcept", json!({ "text": text }))
}

fn millimetres(distance: f64) -> (&'static str, Value) {
    ("valueQuantity", quantity(distance, "mm", MILLIMETRE))
}

fn quantity(value: f64, unit: &str, code: &str) -> Value {
    json!({ "value": words::hundredths(value), "unit": unit, "system": UCUM, "code": code })
}
