//! What a file says of the glasses that a person has, checked by the table of ranges.

use thiserror::Error;

use crate::exam::prescription::may_be_written;
use crate::exam::{Detail, Event};
use crate::optics::bounds::{self, Range};
use crate::optics::notation::{Style, write_prescription};
use crate::optics::{Base, Eye, Eyes, SpheroCylinder};

/// Something in a file that is not as it must be: where, what, and what to do.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{place}: {what}")]
pub struct Flaw {
    /// The place in the file, as a path from its root.
    pub place: String,
    /// What is wrong there and what is allowed.
    pub what: String,
}

impl Flaw {
    /// At a place.
    pub fn at(place: impl Into<String>, what: impl Into<String>) -> Self {
        Self { place: place.into(), what: what.into() }
    }
}

/// Checks a figure by its row.
///
/// # Errors
/// When the row does not permit it.
pub fn within(place: &str, value: f64, range: &Range) -> Result<f64, Flaw> {
    range.check(value).map_err(|outside| Flaw::at(place, outside.to_string()))?;
    Ok(value)
}

/// One prism of a lens: how much, and where its base is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GlassesPrism {
    /// In prism dioptres.
    pub amount: f64,
    /// Where its base is.
    pub base: Base,
}

/// The lens of one eye.
#[derive(Debug, Clone, PartialEq)]
pub struct GlassesLens {
    /// Its power, in the cylinder form of the file; none for a lens that has a prism alone, or only balances.
    pub power: Option<SpheroCylinder>,
    /// Its addition for near in dioptres, above zero.
    pub addition: Option<f64>,
    /// Its prisms.
    pub prism: Vec<GlassesPrism>,
    /// At which distance from the cornea it sits, in millimetres.
    pub vertex_mm: Option<f64>,
}

impl GlassesLens {
    /// A lens of a power whose sphere, cylinder and axis stand at a place.
    ///
    /// # Errors
    /// When a figure is not permitted, or a cylinder and its axis do not stand together.
    pub fn power(
        place: &str,
        sphere: Option<f64>,
        cylinder: Option<f64>,
        axis: Option<f64>,
    ) -> Result<Option<SpheroCylinder>, Flaw> {
        let of = |part: &str| format!("{place}.{part}");
        let Some(sphere) = sphere else {
            let other = [("cylinder", cylinder), ("axis", axis)].into_iter().find(|(_, value)| value.is_some());
            return other.map_or(Ok(None), |(part, _)| {
                Err(Flaw::at(of(part), "stands without a sphere: a sphere of none is written 0"))
            });
        };
        within(&of("sphere"), sphere, &bounds::POWER)?;
        let cylinder = within(&of("cylinder"), cylinder.unwrap_or(0.0), &bounds::POWER)?;
        let axis = match axis {
            None if cylinder == 0.0 => 180.0,
            None => return Err(Flaw::at(of("cylinder"), format!("{cylinder} stands without an axis"))),
            Some(_) if cylinder == 0.0 => return Err(Flaw::at(of("axis"), "stands without a cylinder")),
            Some(axis) => match within(&of("axis"), axis, &bounds::AXIS)? {
                0.0 => 180.0,
                axis => axis,
            },
        };
        let power = SpheroCylinder { sphere, cylinder, axis };
        if may_be_written(power) {
            Ok(Some(power))
        } else {
            let written = write_prescription(power, Style::Ascii);
            Err(Flaw::at(place, format!("{written} is beyond {} D in a meridian", bounds::POWER.most)))
        }
    }

    fn is_nothing(&self) -> bool {
        self.power.is_none() && self.addition.is_none() && self.prism.is_empty()
    }
}

/// The glasses that a person has.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Glasses {
    /// The lens of each eye, where the file has one.
    pub lenses: Eyes<Option<GlassesLens>>,
}

impl Glasses {
    /// Puts in the lens of an eye.
    ///
    /// # Errors
    /// When that eye has one already.
    pub fn put(&mut self, place: &str, eye: Eye, lens: GlassesLens) -> Result<(), Flaw> {
        if self.lenses[eye].is_some() {
            let what = format!("is a second lens of the {eye} eye: which of them the person has is not to be seen");
            return Err(Flaw::at(place, what));
        }
        self.lenses[eye] = Some(lens);
        Ok(())
    }

    /// Whether there is nothing in it.
    pub fn is_nothing(&self) -> bool {
        self.lenses.iter().all(|(_, lens)| lens.as_ref().is_none_or(GlassesLens::is_nothing))
    }

    /// The events of an exam that begins with them: the powers and the addition as old glasses. What an exam has no place for,
    /// as prisms and additions that differ, becomes a note on its record.
    pub fn events(&self) -> Vec<Event> {
        let mut events = Vec::new();
        for (eye, lens) in self.lenses.iter() {
            let power = lens.as_ref().and_then(|lens| lens.power);
            events.extend(power.map(|power| Event::Detail(Detail::OldGlasses(eye, power))));
        }
        events.extend(self.common_addition().map(|addition| Event::Detail(Detail::OldAddition(addition))));
        events.extend(self.in_words().map(Event::Note));
        events
    }

    /// The addition of both eyes: that of one alone is for both, as an exam has one.
    fn common_addition(&self) -> Option<f64> {
        let additions = self.lenses.as_ref().map(|lens| lens.as_ref().and_then(|lens| lens.addition));
        match (additions.right, additions.left) {
            (Some(right), Some(left)) if right != left => None,
            (Some(addition), _) | (None, Some(addition)) => Some(addition),
            (None, None) => None,
        }
    }

    /// What an exam has no place for, in words.
    pub fn in_words(&self) -> Option<String> {
        let mut said = Vec::new();
        let differ = self.common_addition().is_none();
        for (eye, lens) in self.lenses.iter() {
            let Some(lens) = lens else { continue };
            let mut parts: Vec<String> =
                lens.prism.iter().map(|prism| format!("prism {:.2} base {}", prism.amount, prism.base)).collect();
            parts.extend(lens.addition.filter(|_| differ).map(|addition| format!("addition +{addition:.2}")));
            parts.extend(lens.vertex_mm.map(|distance| format!("vertex distance {distance} mm")));
            if !parts.is_empty() {
                said.push(format!("{eye} eye {}", parts.join(", ")));
            }
        }
        (!said.is_empty()).then(|| format!("Present glasses, from a file: {}.", said.join("; ")))
    }
}
