//! Glasses from FHIR (R4B and R5 have the same elements): a `VisionPrescription`, or a Bundle that has exactly one.

use serde_json::Value;

use super::glasses::{Flaw, Glasses, GlassesLens, GlassesPrism, within};
use crate::export::fhir::codes::{BALANCE_LENS, CONTACT_LENS};
use crate::optics::{Base, Eye, bounds};

/// The glasses of a FHIR resource.
///
/// # Errors
/// With the first thing that is not as it must be.
pub fn glasses(root: &Value) -> Result<Glasses, Flaw> {
    match root["resourceType"].as_str() {
        Some("VisionPrescription") => prescription("VisionPrescription", root),
        Some("Bundle") => {
            let entries = root["entry"].as_array().map_or(&[][..], Vec::as_slice);
            let found: Vec<(String, &Value)> = (0..)
                .zip(entries)
                .map(|(index, entry): (usize, _)| (format!("Bundle.entry[{index}].resource"), &entry["resource"]))
                .filter(|(_, resource)| resource["resourceType"] == "VisionPrescription")
                .collect();
            match found.as_slice() {
                [] => Err(Flaw::at("Bundle.entry", "has no VisionPrescription, and glasses stand nowhere else")),
                [(place, one)] => prescription(place, one),
                several => {
                    let dates: Vec<&str> =
                        several.iter().map(|(_, one)| one["dateWritten"].as_str().unwrap_or("no date")).collect();
                    let what = format!(
                        "has {} VisionPrescriptions ({}): name a file that has the one of the present glasses",
                        several.len(),
                        dates.join(", ")
                    );
                    Err(Flaw::at("Bundle.entry", what))
                }
            }
        }
        Some(other) => {
            let what = format!("is {other}: a VisionPrescription, or a Bundle with one, has glasses");
            Err(Flaw::at("resourceType", what))
        }
        None => Err(Flaw::at("resourceType", "is missing: this is not a FHIR resource")),
    }
}

fn prescription(place: &str, resource: &Value) -> Result<Glasses, Flaw> {
    modifies_nothing(place, resource)?;
    match resource["status"].as_str() {
        Some("active") => {}
        Some("draft") => {
            return Err(Flaw::at(
                format!("{place}.status"),
                "is draft: nobody has glasses from an unfinished prescription",
            ));
        }
        other => {
            let what = format!("is {}, not active", other.unwrap_or("missing"));
            return Err(Flaw::at(format!("{place}.status"), what));
        }
    }
    let lenses = resource["lensSpecification"].as_array().map_or(&[][..], Vec::as_slice);
    let mut glasses = Glasses::default();
    for (index, lens) in lenses.iter().enumerate() {
        let place = format!("{place}.lensSpecification[{index}]");
        modifies_nothing(&place, lens)?;
        is_of_glasses(&place, lens)?;
        let eye = match lens["eye"].as_str() {
            Some("right") => Eye::Right,
            Some("left") => Eye::Left,
            other => {
                let what = format!("is {}, not right or left", other.unwrap_or("missing"));
                return Err(Flaw::at(format!("{place}.eye"), what));
            }
        };
        glasses.put(&place, eye, of_lens(&place, lens)?)?;
    }
    if glasses.is_nothing() {
        return Err(Flaw::at(format!("{place}.lensSpecification"), "has no power and no prism"));
    }
    Ok(glasses)
}

/// Whoever does not know a modifier extension may not go on (FHIR, extensibility).
fn modifies_nothing(place: &str, value: &Value) -> Result<(), Flaw> {
    let modifies = value.get("modifierExtension").is_some();
    let what = "may change the meaning of all beside it, and is not known here";
    if modifies { Err(Flaw::at(format!("{place}.modifierExtension"), what)) } else { Ok(()) }
}

/// The elements that only a contact lens has.
const OF_CONTACT_LENSES: [&str; 3] = ["power", "backCurve", "diameter"];

fn is_of_glasses(place: &str, lens: &Value) -> Result<(), Flaw> {
    let codings = lens["product"]["coding"].as_array().map_or(&[][..], Vec::as_slice);
    if codings.iter().any(|coding| coding["code"] == CONTACT_LENS) {
        return Err(Flaw::at(format!("{place}.product"), "is a contact lens, not a lens of glasses"));
    }
    match OF_CONTACT_LENSES.into_iter().find(|element| !lens[*element].is_null()) {
        Some(element) => Err(Flaw::at(format!("{place}.{element}"), "is of a contact lens, not of glasses")),
        None => Ok(()),
    }
}

fn of_lens(place: &str, lens: &Value) -> Result<GlassesLens, Flaw> {
    let number = |part: &str| number(&format!("{place}.{part}"), &lens[part]);
    let power = GlassesLens::power(place, number("sphere")?, number("cylinder")?, number("axis")?)?;
    let addition = number("add")?.map(|add| within(&format!("{place}.add"), add, &bounds::ADDITION)).transpose()?;
    let prism = prisms(&format!("{place}.prism"), &lens["prism"])?;
    let balances = lens["product"]["text"] == BALANCE_LENS;
    if power.is_none() && prism.is_empty() && !balances {
        return Err(Flaw::at(format!("{place}.sphere"), "is missing: a sphere of none is written 0"));
    }
    if power.is_none() && addition.is_some() {
        return Err(Flaw::at(format!("{place}.add"), "stands without a sphere"));
    }
    Ok(GlassesLens { power, addition: addition.filter(|add| *add > 0.0), prism, vertex_mm: None })
}

/// A number, or none where nothing stands.
fn number(place: &str, value: &Value) -> Result<Option<f64>, Flaw> {
    match value {
        Value::Null => Ok(None),
        Value::Number(number) => Ok(number.as_f64()),
        other => Err(Flaw::at(place, format!("is {other}, not a number"))),
    }
}

fn prisms(place: &str, value: &Value) -> Result<Vec<GlassesPrism>, Flaw> {
    let parts = match value {
        Value::Null => &[][..],
        Value::Array(parts) => parts.as_slice(),
        _ => return Err(Flaw::at(place, "is not a list")),
    };
    let mut prisms = Vec::new();
    for (index, part) in parts.iter().enumerate() {
        let place = format!("{place}[{index}]");
        modifies_nothing(&place, part)?;
        let amount = number(&format!("{place}.amount"), &part["amount"])?;
        let amount = amount.ok_or_else(|| Flaw::at(format!("{place}.amount"), "is missing"))?;
        within(&format!("{place}.amount"), amount, &bounds::PRISM)?;
        let base = match part["base"].as_str() {
            Some("up") => Base::Up,
            Some("down") => Base::Down,
            Some("in") => Base::In,
            Some("out") => Base::Out,
            other => {
                let what = format!("is {}, not up, down, in or out", other.unwrap_or("missing"));
                return Err(Flaw::at(format!("{place}.base"), what));
            }
        };
        if amount > 0.0 {
            prisms.push(GlassesPrism { amount, base });
        }
    }
    Ok(prisms)
}
