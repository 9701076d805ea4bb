//! The words that a box file may have before a colon, and those that say a kind.

use crate::kit::accessory::Accessory;
use crate::kit::lens::PoweredKind;

/// The keys of a box file.
pub const BOX_KEYS: [&str; 8] = ["box", "id", "note", "lens_form", "rims", "lenses", "missing", "measured"];
/// The keys of `rims`.
pub const RIMS_KEYS: [&str; 2] = ["plus", "minus"];
/// The keys of an entry of `lenses` whose kind is marked with powers.
pub const POWERED_KEYS: [&str; 3] = ["kind", "powers", "each"];
/// The keys of an entry of `lenses` for an accessory with a plain name.
pub const ACCESSORY_KEYS: [&str; 2] = ["kind", "each"];
/// The keys of an entry of `lenses` for an accessory with a name of its own.
pub const NAMED_ACCESSORY_KEYS: [&str; 5] = ["kind", "name", "covers", "turns", "each"];
/// Every key that an entry of `lenses` may have, whatever its kind; named where the kind is missing.
pub const EVERY_KEY: [&str; 6] = ["kind", "powers", "name", "covers", "turns", "each"];
/// The keys of an entry of `measured`.
pub const MEASURED_KEYS: [&str; 3] = ["lens", "power", "note"];

/// Every word that `kind` may be.
pub fn kind_words() -> Vec<&'static str> {
    PoweredKind::ALL
        .into_iter()
        .map(PoweredKind::word)
        .chain(Accessory::KNOWN_NAMES.iter().copied())
        .chain(["accessory"])
        .collect()
}
