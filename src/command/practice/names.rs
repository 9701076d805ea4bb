//! Cares and laws as they are named on the command line.

use clap::builder::{PossibleValuesParser, TypedValueParser};

use crate::practice::{Care, Law};

/// Reads the name of a care.
pub(super) fn care() -> impl TypedValueParser<Value = Care> {
    PossibleValuesParser::new(Care::ALL.iter().map(|care| care.name()))
        .try_map(|name| Care::named(&name).ok_or("is not a care"))
}

/// Reads the name of a law.
pub(super) fn law() -> impl TypedValueParser<Value = Law> {
    PossibleValuesParser::new(Law::ALL.iter().map(|law| law.name()))
        .try_map(|name| Law::named(&name).ok_or("is not a law"))
}
