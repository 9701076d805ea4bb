//! A list of what can be bought.

use std::path::Path;

use thiserror::Error;

use super::advice::Offer;
use crate::kit::Lens;
use crate::kit::document::load::read_text;
use crate::kit::document::{Faults, SheetFaults};
use crate::optics::bounds;
use crate::optics::notation::parse_figure;

/// The largest list of prices that is read, in bytes.
const LARGEST_LIST: u64 = 10 << 20;

/// What is wrong with a list of prices.
#[derive(Debug, Error)]
pub enum PriceFaults {
    /// It cannot be read.
    #[error(transparent)]
    NotRead(#[from] Faults),
    /// Its lines are at fault.
    #[error(transparent)]
    Lines(#[from] SheetFaults),
}

impl PriceFaults {
    /// All of them, one beside the other.
    pub fn in_a_line(&self) -> String {
        match self {
            Self::NotRead(faults) => faults.to_string(),
            Self::Lines(faults) => faults.in_a_line(),
        }
    }
}

/// Reads CSV with the head `lens,price`; a lens may be without a price.
///
/// # Errors
/// When it cannot be read, or has faults: all of them.
pub fn read_price_list(file: &Path) -> Result<Vec<Offer>, PriceFaults> {
    let text = read_text(file, LARGEST_LIST).map_err(Faults::from)?;
    let mut reader = ::csv::ReaderBuilder::new().comment(Some(b'#')).flexible(true).from_reader(text.as_bytes());
    let mut faults = SheetFaults::of_file(file);
    let head = match reader.headers() {
        Ok(head) => head.clone(),
        Err(error) => {
            faults.add(1, error);
            return Err(faults.into());
        }
    };
    let column = |name: &str| head.iter().position(|title| title.trim().eq_ignore_ascii_case(name));
    let (Some(lens_column), Some(price_column)) = (column("lens"), column("price")) else {
        faults.add(1, "the first line names the columns: lens,price");
        return Err(faults.into());
    };
    let mut offers: Vec<Offer> = Vec::new();
    for record in reader.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                faults.add(error.position().map_or(1, ::csv::Position::line), error);
                continue;
            }
        };
        let line = record.position().map_or(0, ::csv::Position::line);
        let cell = |column: usize| record.get(column).unwrap_or_default().trim();
        let lens = cell(lens_column).parse::<Lens>().map_err(|error| error.to_string());
        let price = match cell(price_column) {
            "" => Ok(None),
            text => parse_figure(text, &bounds::PRICE)
                .map(Some)
                .map_err(|error| format!("price `{text}`: {}", error.problem())),
        };
        match (lens, price) {
            (Ok(lens), _) if offers.iter().any(|offer| offer.lens == lens) => {
                faults.add(line, format_args!("{lens} stands in this list twice"));
            }
            (Ok(lens), Ok(price)) => offers.push(Offer { lens, price }),
            (lens, price) => {
                lens.err().into_iter().chain(price.err()).for_each(|what| faults.add(line, what));
            }
        }
    }
    faults.found()?;
    if offers.is_empty() {
        let mut faults = SheetFaults::of_file(file);
        faults.add(1, "there is no lens in this list");
        return Err(faults.into());
    }
    Ok(offers)
}
