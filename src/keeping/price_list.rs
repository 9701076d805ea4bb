//! A list of what can be bought.

use std::path::Path;

use thiserror::Error;

use super::advice::Offer;
use crate::kit::Lens;
use crate::kit::document::load::read_text;
use crate::optics::bounds;
use crate::optics::notation::parse_figure;

/// The largest list of prices that is read, in bytes.
const LARGEST_LIST: u64 = 10 << 20;

/// What is wrong with a list of prices, each fault with its file and line.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{}", .0.join("\n"))]
pub struct PriceFaults(Vec<String>);

impl PriceFaults {
    fn one(fault: impl Into<String>) -> Self {
        Self(vec![fault.into()])
    }

    /// All of them, one beside the other.
    pub fn in_a_line(&self) -> String {
        self.0.join("; ")
    }
}

/// Reads CSV with the head `lens,price`; a lens may be without a price.
///
/// # Errors
/// When it cannot be read, or has faults: all of them.
pub fn read_price_list(file: &Path) -> Result<Vec<Offer>, PriceFaults> {
    let text = read_text(file, LARGEST_LIST).map_err(|error| PriceFaults::one(error.to_string()))?;
    let mut reader = ::csv::ReaderBuilder::new().comment(Some(b'#')).flexible(true).from_reader(text.as_bytes());
    let shown = file.display();
    let head = reader.headers().map_err(|error| PriceFaults::one(format!("{shown}:1: {error}")))?.clone();
    let column = |name: &str| head.iter().position(|title| title.trim().eq_ignore_ascii_case(name));
    let (Some(lens_column), Some(price_column)) = (column("lens"), column("price")) else {
        return Err(PriceFaults::one(format!("{shown}:1: the first line names the columns: lens,price")));
    };
    let (mut offers, mut faults): (Vec<Offer>, Vec<String>) = (Vec::new(), Vec::new());
    for record in reader.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                faults.push(format!("{shown}:{}: {error}", error.position().map_or(0, ::csv::Position::line)));
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
                faults.push(format!("{shown}:{line}: {lens} stands in this list twice"));
            }
            (Ok(lens), Ok(price)) => offers.push(Offer { lens, price }),
            (lens, price) => {
                let said = lens.err().into_iter().chain(price.err());
                faults.extend(said.map(|message| format!("{shown}:{line}: {message}")));
            }
        }
    }
    if !faults.is_empty() {
        return Err(PriceFaults(faults));
    }
    if offers.is_empty() {
        return Err(PriceFaults::one(format!("{shown}: there is no lens in this list")));
    }
    Ok(offers)
}
