//! Strategies, cares, laws and drills as they are named on the command line.

use clap::builder::{PossibleValuesParser, TypedValueParser};

use crate::exam::Strategy;
use crate::practice::drills::Drill;
use crate::practice::{Care, Law};

/// One drill, or all of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Drills {
    /// This one.
    One(Drill),
    /// Each in turn.
    All,
}

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

/// Reads the name of a strategy.
pub(super) fn strategy() -> impl TypedValueParser<Value = Strategy> {
    PossibleValuesParser::new(Strategy::ALL.map(Strategy::name))
        .try_map(|name| Strategy::named(&name).ok_or("is not a strategy"))
}

/// Reads the name of a drill, or the word for all of them.
pub(super) fn drills() -> impl TypedValueParser<Value = Drills> {
    PossibleValuesParser::new(Drill::ALL.iter().map(|drill| drill.name()).chain([ALL])).try_map(|name| {
        if name == ALL { Ok(Drills::All) } else { Drill::named(&name).map(Drills::One).ok_or("is not a drill") }
    })
}

/// The word for every drill.
const ALL: &str = "all";
