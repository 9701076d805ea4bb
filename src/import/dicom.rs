//! Glasses from DICOM: what a lensmeter measured (Lensometry Measurements), or a refraction (Subjective Refraction
//! Measurements). Both describe a lens by the same elements (PS3.3, C.8.25).

use dicom_core::{DataDictionary as _, Tag};
use dicom_dictionary_std::{StandardDataDictionary, tags, uids};
use dicom_object::{InMemDicomObject, OpenFileOptions};

use super::glasses::{Flaw, Glasses, GlassesLens, GlassesPrism, within};
use crate::optics::{Base, Eye, bounds};

/// The most items of sequences in a file; glasses have a few dozen. The reader goes into each item from within the one around it,
/// so that a file of nothing but beginnings would lead it too deep.
const MOST_ITEMS: usize = 256;

/// The tag with which an item begins, in either order of bytes (PS3.5, 7.5).
const ITEM_BEGINS: [&[u8]; 2] = [&[0xfe, 0xff, 0x00, 0xe0], &[0xff, 0xfe, 0xe0, 0x00]];

/// The glasses of the bytes of a DICOM file.
///
/// # Errors
/// With the first thing that is not as it must be.
pub fn glasses(bytes: &[u8]) -> Result<Glasses, Flaw> {
    let items = bytes.windows(4).filter(|tag| ITEM_BEGINS.contains(tag)).count();
    if items > MOST_ITEMS {
        let what =
            format!("the file has {items} items of sequences: glasses are read where there are at most {MOST_ITEMS}");
        return Err(Flaw::at("DICOM", what));
    }
    let file = OpenFileOptions::new()
        .from_reader(bytes)
        .map_err(|error| Flaw::at("DICOM", format!("the file cannot be read: {}", with_causes(&error))))?;
    let object: &InMemDicomObject = &file;
    let class = text(object, tags::SOP_CLASS_UID)?.unwrap_or_default();
    let sequences = match class.as_str() {
        uids::LENSOMETRY_MEASUREMENTS_STORAGE => {
            if is_there(object, tags::UNSPECIFIED_LATERALITY_LENS_SEQUENCE)? {
                let place = name(tags::UNSPECIFIED_LATERALITY_LENS_SEQUENCE);
                return Err(Flaw::at(place, "is a lens of which nobody said before which eye it is"));
            }
            [(Eye::Right, tags::RIGHT_LENS_SEQUENCE), (Eye::Left, tags::LEFT_LENS_SEQUENCE)]
        }
        uids::SUBJECTIVE_REFRACTION_MEASUREMENTS_STORAGE => [
            (Eye::Right, tags::SUBJECTIVE_REFRACTION_RIGHT_EYE_SEQUENCE),
            (Eye::Left, tags::SUBJECTIVE_REFRACTION_LEFT_EYE_SEQUENCE),
        ],
        other => {
            let what = format!(
                "is {other:?}: glasses are in Lensometry Measurements ({}) or Subjective Refraction Measurements ({})",
                uids::LENSOMETRY_MEASUREMENTS_STORAGE,
                uids::SUBJECTIVE_REFRACTION_MEASUREMENTS_STORAGE
            );
            return Err(Flaw::at(name(tags::SOP_CLASS_UID), what));
        }
    };
    let laterality = text(object, tags::MEASUREMENT_LATERALITY)?;
    let mut glasses = Glasses::default();
    for (eye, sequence) in sequences {
        let Some((place, item)) = item(&name(sequence), object, sequence)? else { continue };
        let other = match eye {
            Eye::Right => "L",
            Eye::Left => "R",
        };
        if laterality.as_deref() == Some(other) {
            let what = format!("is of the {eye} eye, and {} says {other}", name(tags::MEASUREMENT_LATERALITY));
            return Err(Flaw::at(place, what));
        }
        glasses.put(&place, eye, lens(&place, item)?)?;
    }
    if glasses.is_nothing() {
        return Err(Flaw::at("DICOM", "the object has no lens of either eye"));
    }
    Ok(glasses)
}

fn lens(place: &str, item_of_eye: &InMemDicomObject) -> Result<GlassesLens, Flaw> {
    let sphere = number(place, item_of_eye, tags::SPHERE_POWER)?;
    let (cylinder, axis) = match item(place, item_of_eye, tags::CYLINDER_SEQUENCE)? {
        None => (None, None),
        Some((place, cylinder)) => {
            let power = number(&place, cylinder, tags::CYLINDER_POWER)?;
            let axis = number(&place, cylinder, tags::CYLINDER_AXIS)?;
            // a lensmeter writes an axis beside a cylinder of none
            (power, axis.filter(|_| power != Some(0.0)))
        }
    };
    let power = GlassesLens::power(place, sphere, cylinder, axis)?;
    if power.is_none() {
        return Err(Flaw::at(format!("{place}.{}", name(tags::SPHERE_POWER)), "is missing"));
    }
    for further in [tags::ADD_INTERMEDIATE_SEQUENCE, tags::ADD_OTHER_SEQUENCE] {
        if is_there(item_of_eye, further)? {
            let what = "is an addition that is not for near: an exam has no place for it, so type these glasses in";
            return Err(Flaw::at(format!("{place}.{}", name(further)), what));
        }
    }
    let addition = match item(place, item_of_eye, tags::ADD_NEAR_SEQUENCE)? {
        None => None,
        Some((place, near)) => number(&place, near, tags::ADD_POWER)?
            .map(|add| within(&format!("{place}.{}", name(tags::ADD_POWER)), add, &bounds::ADDITION))
            .transpose()?,
    };
    let prism = match item(place, item_of_eye, tags::PRISM_SEQUENCE)? {
        None => Vec::new(),
        Some((place, prism)) => prisms(&place, prism)?,
    };
    let vertex_mm = number(place, item_of_eye, tags::VERTEX_DISTANCE)?
        .map(|distance| within(&format!("{place}.{}", name(tags::VERTEX_DISTANCE)), distance, &bounds::VERTEX_MM))
        .transpose()?;
    Ok(GlassesLens { power, addition: addition.filter(|add| *add > 0.0), prism, vertex_mm })
}

fn prisms(place: &str, prism: &InMemDicomObject) -> Result<Vec<GlassesPrism>, Flaw> {
    let directions = [
        (tags::HORIZONTAL_PRISM_POWER, tags::HORIZONTAL_PRISM_BASE, [("IN", Base::In), ("OUT", Base::Out)]),
        (tags::VERTICAL_PRISM_POWER, tags::VERTICAL_PRISM_BASE, [("UP", Base::Up), ("DOWN", Base::Down)]),
    ];
    let mut prisms = Vec::new();
    for (power, base, known) in directions {
        let Some(amount) = number(place, prism, power)?.filter(|amount| *amount != 0.0) else { continue };
        within(&format!("{place}.{}", name(power)), amount, &bounds::PRISM)?;
        let said = text(prism, base)?.unwrap_or_default();
        let found = known.into_iter().find(|(word, _)| *word == said).map(|(_, base)| base);
        let what = || format!("is {said:?}, not {} or {}", known[0].0, known[1].0);
        let base = found.ok_or_else(|| Flaw::at(format!("{place}.{}", name(base)), what()))?;
        prisms.push(GlassesPrism { amount, base });
    }
    Ok(prisms)
}

/// What an element is called in the data dictionary.
fn name(tag: Tag) -> String {
    StandardDataDictionary.by_tag(tag).map_or_else(|| tag.to_string(), |entry| entry.alias.to_owned())
}

fn element(
    object: &InMemDicomObject,
    tag: Tag,
) -> Result<Option<&dicom_object::mem::InMemElement<StandardDataDictionary>>, Flaw> {
    object.element_opt(tag).map_err(|error| Flaw::at(name(tag), with_causes(&error)))
}

fn is_there(object: &InMemDicomObject, tag: Tag) -> Result<bool, Flaw> {
    let items = element(object, tag)?.and_then(|element| element.items().map(<[_]>::len));
    Ok(items.is_some_and(|items| items > 0))
}

/// The one item of a sequence, and its place; none where the sequence is not there or has none.
fn item<'a>(
    place: &str,
    object: &'a InMemDicomObject,
    tag: Tag,
) -> Result<Option<(String, &'a InMemDicomObject)>, Flaw> {
    let here = name(tag);
    let place = if place == here { here } else { format!("{place}.{here}") };
    let Some(element) = element(object, tag)? else { return Ok(None) };
    match element.items() {
        None => Err(Flaw::at(place, "is not a sequence")),
        Some([]) => Ok(None),
        Some([one]) => Ok(Some((place, one))),
        Some(several) => {
            let what = format!("has {} items: which of them the person has is not to be seen", several.len());
            Err(Flaw::at(place, what))
        }
    }
}

/// One number; none where the element is not there or empty.
fn number(place: &str, object: &InMemDicomObject, tag: Tag) -> Result<Option<f64>, Flaw> {
    let Some(element) = element(object, tag)? else { return Ok(None) };
    let flaw = |what: String| Flaw::at(format!("{place}.{}", name(tag)), what);
    let values =
        element.to_multi_float64().map_err(|error| flaw(format!("is not a number: {}", with_causes(&error))))?;
    match values.as_slice() {
        [] => Ok(None),
        [value] if value.is_finite() => Ok(Some(*value)),
        [_] => Err(flaw("is not a number".to_owned())),
        several => Err(flaw(format!("has {} values", several.len()))),
    }
}

/// A text without what fills it up; none where the element is not there.
fn text(object: &InMemDicomObject, tag: Tag) -> Result<Option<String>, Flaw> {
    let Some(element) = element(object, tag)? else { return Ok(None) };
    let text = element.to_str().map_err(|error| Flaw::at(name(tag), with_causes(&error)))?;
    Ok(Some(text.trim_end_matches([' ', '\0']).to_owned()))
}

/// An error and why it came about, on one line.
fn with_causes(error: &dyn std::error::Error) -> String {
    let causes = std::iter::successors(Some(error), |error| error.source());
    causes.map(ToString::to_string).collect::<Vec<_>>().join(": ")
}
