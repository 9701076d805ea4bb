//! The words that a box file may have before a colon, and the kinds of line that declare lenses.

use crate::kit::accessory::Accessory;
use crate::kit::lens::PoweredKind;

/// The keys of a box file.
pub const BOX_KEYS: [&str; 9] = ["box", "id", "note", "lens_form", "rims", "lenses", "missing", "measured", "tray"];
/// The keys of `rims`.
pub const RIMS_KEYS: [&str; 2] = ["plus", "minus"];
/// The keys of an entry of `measured`.
pub const MEASURED_KEYS: [&str; 4] = ["lens", "power", "note", "sure"];
/// The keys of a row of `tray`.
pub const TRAY_KEYS: [&str; 2] = ["row", "lenses"];

/// What an entry of `lenses` declares; its word says which keys the entry has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineKind {
    /// Lenses that are marked with powers.
    Powered(PoweredKind),
    /// An accessory that every box calls by the same name.
    Known,
    /// An accessory of the box's own.
    Own,
}

impl LineKind {
    /// All of them.
    pub fn all() -> impl Iterator<Item = Self> {
        PoweredKind::ALL.into_iter().map(Self::Powered).chain([Self::Known, Self::Own])
    }

    /// The kind that a word names, if it does.
    pub fn named(word: &str) -> Option<Self> {
        Self::all().find(|kind| kind.words().contains(&word))
    }

    /// The words after `kind:` that name it.
    pub fn words(self) -> Vec<&'static str> {
        match self {
            Self::Powered(kind) => vec![kind.word()],
            Self::Known => Accessory::KNOWN_NAMES.to_vec(),
            Self::Own => vec!["accessory"],
        }
    }

    /// The keys of such an entry.
    pub fn keys(self) -> &'static [&'static str] {
        match self {
            Self::Powered(_) => &["kind", "powers", "each"],
            Self::Known => &["kind", "each"],
            Self::Own => &["kind", "name", "covers", "turns", "each"],
        }
    }

    /// What a fault calls such an entry.
    pub fn called(self) -> &'static str {
        match self {
            Self::Powered(PoweredKind::Sphere) => "a line of spheres",
            Self::Powered(PoweredKind::Cylinder) => "a line of cylinders",
            Self::Powered(PoweredKind::Prism) => "a line of prisms",
            Self::Powered(PoweredKind::CrossCylinder) => "a line of cross cylinders",
            Self::Known => "an accessory",
            Self::Own => "a named accessory",
        }
    }

    /// Such an entry as it is written.
    pub fn example(self) -> &'static str {
        match self {
            Self::Powered(PoweredKind::Sphere) => {
                "{kind: sphere, powers: [plano, \"±0.12\", \"±0.25 to ±4.00 by 0.25\"], each: 2}"
            }
            Self::Powered(PoweredKind::Cylinder) => "{kind: cylinder, powers: [\"-0.25 to -2.00 by 0.25\"], each: 2}",
            Self::Powered(PoweredKind::Prism) => "{kind: prism, powers: [\"0.50\", \"1 to 6 by 1\"], each: 2}",
            Self::Powered(PoweredKind::CrossCylinder) => {
                "{kind: cross cylinder, powers: [\"0.25\", \"0.50\"], each: 1}"
            }
            Self::Known => "{kind: occluder, each: 1}",
            Self::Own => "{kind: accessory, name: patch, covers: true, each: 1}",
        }
    }
}

/// Every word that `kind` may be.
pub fn kind_words() -> Vec<&'static str> {
    LineKind::all().flat_map(LineKind::words).collect()
}

/// Every key that an entry of `lenses` may have, whatever its kind.
pub fn every_key() -> Vec<&'static str> {
    let mut every: Vec<&str> = Vec::new();
    for key in LineKind::all().flat_map(LineKind::keys) {
        if !every.contains(key) {
            every.push(key);
        }
    }
    // each such entry ends with it
    every.sort_by_key(|key| *key == "each");
    every
}
