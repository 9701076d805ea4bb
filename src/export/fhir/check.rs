//! Our own checks of a FHIR bundle, stricter than a structure checker: eye, base, axis 1 to 180, no cylinder without an
//! axis, units, and no eye taken for the other. They run before any bundle is written.

use std::collections::HashSet;
use std::fmt;

use serde_json::Value;

use super::codes::{
    BALANCE_LENS, LENS, LOG_MAR, LOINC, MILLIMETRE, PRODUCT, UCUM, loinc_best_corrected, loinc_uncorrected,
};
use crate::exam::prescription::may_be_written;
use crate::export::words;
use crate::optics::{Eye, SpheroCylinder, bounds};

/// Something wrong in a bundle: where, and what.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BundleFlaw {
    /// The place, as a path from the bundle.
    pub path: String,
    /// What is wrong there and what is allowed.
    pub what: String,
}

impl fmt::Display for BundleFlaw {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.path, self.what)
    }
}

/// Everything that is wrong in a bundle; nothing when it may be written.
pub fn check(bundle: &Value) -> Vec<BundleFlaw> {
    let mut checker = Checker::default();
    checker.bundle(bundle);
    checker.flaws
}

#[derive(Default)]
struct Checker {
    flaws: Vec<BundleFlaw>,
}

impl Checker {
    fn flaw(&mut self, path: &str, what: impl Into<String>) {
        self.flaws.push(BundleFlaw { path: path.to_owned(), what: what.into() });
    }

    fn bundle(&mut self, bundle: &Value) {
        self.one_of("Bundle.resourceType", &bundle["resourceType"], &["Bundle"]);
        self.one_of("Bundle.type", &bundle["type"], &["collection"]);
        let entries = bundle["entry"].as_array().map_or(&[][..], Vec::as_slice);
        let mut patients = HashSet::new();
        let mut urls = HashSet::new();
        for (index, entry) in entries.iter().enumerate() {
            let path = format!("Bundle.entry[{index}]");
            let Some(url) = entry["fullUrl"].as_str().filter(|url| url.starts_with("urn:uuid:")) else {
                self.flaw(&format!("{path}.fullUrl"), "must be a urn:uuid");
                continue;
            };
            if !urls.insert(url) {
                self.flaw(&format!("{path}.fullUrl"), format!("{url} is used twice"));
            }
            if entry["resource"]["id"].as_str() != url.strip_prefix("urn:uuid:") {
                self.flaw(&format!("{path}.resource.id"), format!("is not that of {url}"));
            }
            if entry["resource"]["resourceType"] == "Patient" {
                patients.insert(url);
            }
        }
        if patients.len() != 1 {
            self.flaw("Bundle.entry", format!("holds {} patients, not one", patients.len()));
        }
        for (index, entry) in entries.iter().enumerate() {
            let resource = &entry["resource"];
            let path = format!("Bundle.entry[{index}].resource");
            match resource["resourceType"].as_str() {
                Some("Patient") => {}
                Some("VisionPrescription") => {
                    self.refers(&format!("{path}.patient"), &resource["patient"], &patients);
                    self.vision_prescription(&path, resource);
                }
                Some("Observation") => {
                    self.refers(&format!("{path}.subject"), &resource["subject"], &patients);
                    self.observation(&path, resource);
                }
                other => self.flaw(&path, format!("{} does not belong here", other.unwrap_or("nothing"))),
            }
        }
    }

    fn refers(&mut self, path: &str, reference: &Value, patients: &HashSet<&str>) {
        if !reference["reference"].as_str().is_some_and(|url| patients.contains(url)) {
            self.flaw(path, "does not refer to the patient of this bundle");
        }
    }

    fn one_of(&mut self, path: &str, value: &Value, allowed: &[&str]) {
        if !value.as_str().is_some_and(|text| allowed.contains(&text)) {
            self.flaw(path, format!("is {value}, not one of {}", allowed.join(", ")));
        }
    }

    fn number(&mut self, path: &str, value: &Value, range: &bounds::Range) {
        match value.as_f64() {
            None => self.flaw(path, format!("is {value}, not a number")),
            Some(number) => {
                if let Err(outside) = range.check(number) {
                    self.flaw(path, outside.to_string());
                }
            }
        }
    }

    fn vision_prescription(&mut self, path: &str, resource: &Value) {
        self.one_of(&format!("{path}.status"), &resource["status"], &["active", "draft", "cancelled"]);
        for required in ["created", "dateWritten"] {
            if !resource[required].is_string() {
                self.flaw(&format!("{path}.{required}"), "is missing");
            }
        }
        if !resource["prescriber"]["display"].is_string() {
            self.flaw(&format!("{path}.prescriber"), "is missing");
        }
        let lenses = resource["lensSpecification"].as_array().map_or(&[][..], Vec::as_slice);
        if lenses.is_empty() {
            self.flaw(&format!("{path}.lensSpecification"), "is missing");
        }
        let mut eyes = HashSet::new();
        for (index, lens) in lenses.iter().enumerate() {
            let path = format!("{path}.lensSpecification[{index}]");
            self.lens(&path, lens);
            if !eyes.insert(lens["eye"].to_string()) {
                self.flaw(&format!("{path}.eye"), format!("{} stands here twice", lens["eye"]));
            }
        }
    }

    fn lens(&mut self, path: &str, lens: &Value) {
        self.one_of(&format!("{path}.eye"), &lens["eye"], &["right", "left"]);
        let product = &lens["product"]["coding"][0];
        self.one_of(&format!("{path}.product.coding.system"), &product["system"], &[PRODUCT]);
        self.one_of(&format!("{path}.product.coding.code"), &product["code"], &[LENS]);
        let power = ["sphere", "cylinder", "axis", "add"].map(|part| &lens[part]);
        let balances = lens["product"]["text"] == BALANCE_LENS;
        let without_power = power.into_iter().all(Value::is_null) && (balances || !lens["prism"].is_null());
        if balances && !without_power {
            self.flaw(path, "is a balance lens, which has no power that anybody found");
        }
        if !without_power {
            self.number(&format!("{path}.sphere"), &lens["sphere"], &bounds::POWER);
        }
        let of = |part: &str| lens[part].as_f64();
        if let (Some(sphere), Some(cylinder), Some(axis)) = (of("sphere"), of("cylinder"), of("axis"))
            && !may_be_written(SpheroCylinder { sphere, cylinder, axis })
        {
            self.flaw(path, format!("{sphere} with {cylinder} is beyond {} D in a meridian", bounds::POWER.most));
        }
        match (&lens["cylinder"], &lens["axis"]) {
            (Value::Null, Value::Null) => {}
            (Value::Null, _) => self.flaw(&format!("{path}.axis"), "stands without a cylinder"),
            (cylinder, Value::Null) => {
                self.number(&format!("{path}.cylinder"), cylinder, &bounds::POWER);
                self.flaw(&format!("{path}.cylinder"), "stands without an axis");
            }
            (cylinder, axis) => {
                self.number(&format!("{path}.cylinder"), cylinder, &bounds::POWER);
                if cylinder.as_f64() == Some(0.0) {
                    self.flaw(&format!("{path}.cylinder"), "is zero: leave it out");
                }
                if !axis.as_i64().is_some_and(|degrees| (1..=180).contains(&degrees)) {
                    self.flaw(&format!("{path}.axis"), format!("is {axis}, not a whole number from 1 to 180"));
                }
            }
        }
        if !lens["add"].is_null() {
            self.number(&format!("{path}.add"), &lens["add"], &bounds::POWER);
            if lens["add"].as_f64().is_some_and(|add| add <= 0.0) {
                self.flaw(&format!("{path}.add"), "is not above zero: leave it out");
            }
        }
        if !lens["prism"].is_null() {
            self.prism(&format!("{path}.prism"), &lens["prism"]);
        }
    }

    fn prism(&mut self, path: &str, prism: &Value) {
        let parts = prism.as_array().map_or(&[][..], Vec::as_slice);
        if parts.is_empty() {
            self.flaw(path, "is empty: leave it out");
        }
        let mut directions = HashSet::new();
        for (index, part) in parts.iter().enumerate() {
            let path = format!("{path}[{index}]");
            self.number(&format!("{path}.amount"), &part["amount"], &bounds::PRISM);
            if part["amount"].as_f64().is_some_and(|amount| amount <= 0.0) {
                self.flaw(&format!("{path}.amount"), "is not above zero: turn the base round or leave it out");
            }
            self.one_of(&format!("{path}.base"), &part["base"], &["up", "down", "in", "out"]);
            let vertical = part["base"] == "up" || part["base"] == "down";
            if !directions.insert(vertical) {
                let direction = if vertical { "vertical" } else { "horizontal" };
                self.flaw(&format!("{path}.base"), format!("is a second {direction} prism: add the two"));
            }
        }
    }

    fn observation(&mut self, path: &str, resource: &Value) {
        self.one_of(&format!("{path}.status"), &resource["status"], &["final", "preliminary", "amended"]);
        if !resource["effectiveDateTime"].is_string() {
            self.flaw(&format!("{path}.effectiveDateTime"), "is missing");
        }
        if !resource["code"]["text"].is_string() {
            self.flaw(&format!("{path}.code.text"), "is missing");
        }
        for coding in resource["code"]["coding"].as_array().into_iter().flatten() {
            self.acuity_code(path, coding, resource);
        }
        self.named_eye(path, resource);
        match (&resource["valueQuantity"], &resource["valueCodeableConcept"]["text"]) {
            (Value::Null, Value::String(_)) => {}
            (Value::Null, _) => self.flaw(path, "has no value"),
            (quantity, _) => {
                if !quantity["value"].is_number() {
                    self.flaw(&format!("{path}.valueQuantity.value"), "is not a number");
                }
                self.one_of(&format!("{path}.valueQuantity.system"), &quantity["system"], &[UCUM]);
                self.one_of(&format!("{path}.valueQuantity.code"), &quantity["code"], &[LOG_MAR, MILLIMETRE]);
            }
        }
    }

    /// A code of one eye must not stand at the other.
    fn acuity_code(&mut self, path: &str, coding: &Value, resource: &Value) {
        let path = format!("{path}.code.coding");
        self.one_of(&format!("{path}.system"), &coding["system"], &[LOINC]);
        let code = coding["code"].as_str().unwrap_or_default();
        let of_eye =
            Eye::BOTH.into_iter().find(|&eye| [loinc_uncorrected(eye), loinc_best_corrected(eye)].contains(&code));
        match of_eye {
            None => self.flaw(&format!("{path}.code"), format!("{} is not an acuity code known here", coding["code"])),
            Some(eye) if resource["bodySite"]["text"] != words::eye(eye) => {
                self.flaw(&format!("{path}.code"), format!("{code} is the {eye} eye, bodySite is another"));
            }
            Some(_) if resource["valueQuantity"].is_object() && resource["valueQuantity"]["code"] != LOG_MAR => {
                self.flaw(&format!("{path}.code"), "is an acuity, but the unit is not logMAR");
            }
            Some(_) => {}
        }
    }

    /// The eye that the words name must be the eye of the body site.
    fn named_eye(&mut self, path: &str, resource: &Value) {
        let text = resource["code"]["text"].as_str().unwrap_or_default();
        let site = resource["bodySite"]["text"].as_str();
        for eye in Eye::BOTH {
            let name = words::eye(eye);
            if text.ends_with(&name) && site != Some(&name) {
                self.flaw(&format!("{path}.bodySite"), format!("is not the {name} that the code names"));
            }
        }
    }
}
