//! The list of what can be bought, with its faults as this program prints them.

use std::path::Path;

use crate::keeping::{Offer, PriceFaults, read_price_list};

/// Reads it.
pub fn offers(file: &Path) -> anyhow::Result<Vec<Offer>> {
    read_price_list(file).map_err(|faults| match faults {
        PriceFaults::NotRead(faults) => faults.into(),
        PriceFaults::Lines(faults) => faults.into(),
    })
}
