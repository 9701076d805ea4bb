//! What a box makes: fewest lenses and least miss of every prescription, and the shares of people.

use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use super::cells::Cells;
use super::fewest::{Least, Twice};
use super::holdings::Holdings;
use super::people::People;
use super::search::offer_all;
use super::sink::MOST_LENSES;
use super::wanted::Wanted;

/// What a box makes of one prescription.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Made {
    /// The prescription.
    #[serde(flatten)]
    pub wanted: Wanted,
    /// The fewest lenses with which a stack before one eye reaches it; `None` when none does.
    pub lenses: Option<u8>,
    /// The least miss of any stack of at most [`MOST_LENSES`], in dioptres, with any number of lenses.
    pub miss: f64,
    /// The fewest lenses an eye with which both eyes have it at once; `None` when they cannot, or it was not asked.
    #[serde(rename = "lenses_both_eyes")]
    pub both: Option<u8>,
}

/// A share as people read it.
pub fn percent(share: f64) -> String {
    format!("{:.1} %", 100.0 * share)
}

/// Which part of the people have their prescription made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    /// With at most 1, 2, 3 and 4 lenses an eye: parts of 1.
    pub with_at_most: [f64; MOST_LENSES],
    /// The mean of the fewest lenses over the people whose prescription is made; `None` when nobody's is.
    pub mean: Option<f64>,
}

impl Shares {
    /// From the fewest lenses for each prescription of a table.
    pub fn of(people: &People, lenses: impl IntoIterator<Item = Option<u8>>) -> Self {
        let (mut with, mut sum, mut reached) = ([0.0; MOST_LENSES], 0.0, 0.0);
        for (eyes, fewest) in people.eyes().iter().zip(lenses) {
            let Some(fewest) = fewest else { continue };
            (sum, reached) = (sum + eyes * f64::from(fewest), reached + eyes);
            for (at_most, share) in (1..).zip(&mut with) {
                *share += if fewest <= at_most { *eyes } else { 0.0 };
            }
        }
        let all = people.count();
        Self { with_at_most: with.map(|eyes| eyes / all), mean: (reached > 0.0).then(|| sum / reached) }
    }

    /// The share with at most so many lenses, 1 to [`MOST_LENSES`].
    pub fn at_most(&self, lenses: usize) -> f64 {
        self.with_at_most[lenses.clamp(1, MOST_LENSES) - 1]
    }
}

impl Serialize for Shares {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(MOST_LENSES + 1))?;
        for (lenses, share) in (1..).zip(self.with_at_most) {
            map.serialize_entry(&format!("{lenses}"), &share)?;
        }
        map.serialize_entry("mean", &self.mean)?;
        map.end()
    }
}

/// Whether one eye alone is asked about, or both at once too.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// One eye, the whole box for it.
    OneEye,
    /// One eye, and the same prescription before both at once.
    BothEyes,
}

/// What a box makes with a frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Coverage {
    /// Every prescription of the grid, as [`Wanted::grid`] lists them.
    pub grid: Vec<Made>,
    /// One eye, the whole box for it.
    pub one_eye: Shares,
    /// The same prescription before both eyes at once, when it was asked.
    pub both_eyes: Option<Shares>,
}

impl Coverage {
    /// Of every prescription of the grid and of the people.
    pub fn of(holdings: &Holdings, cells: &Cells, people: &People, asked: Asked) -> Self {
        let mut wanted = Wanted::grid();
        let on_grid = wanted.len();
        let place = |wanted: &mut Vec<Wanted>, of: Wanted| {
            of.grid_index().unwrap_or_else(|| {
                wanted.push(of);
                wanted.len() - 1
            })
        };
        let places: Vec<usize> = people.wanted().iter().map(|of| place(&mut wanted, *of)).collect();
        let mut made = made(holdings, cells, &wanted, MOST_LENSES, asked);
        let shares = |lenses: fn(&Made) -> Option<u8>| Shares::of(people, places.iter().map(|&at| lenses(&made[at])));
        let one_eye = shares(|of| of.lenses);
        let both_eyes = match asked {
            Asked::OneEye => None,
            Asked::BothEyes => Some(shares(|of| of.both)),
        };
        made.truncate(on_grid);
        Self { grid: made, one_eye, both_eyes }
    }

    /// What is made of a prescription of the grid.
    pub fn at(&self, wanted: Wanted) -> Option<&Made> {
        self.grid.get(wanted.grid_index()?)
    }
}

/// What a box makes of each prescription with at most so many lenses.
pub fn made(holdings: &Holdings, cells: &Cells, wanted: &[Wanted], most: usize, asked: Asked) -> Vec<Made> {
    let mut least = Least::new(wanted);
    offer_all(holdings, cells, wanted, most, &mut least);
    let both = match asked {
        Asked::OneEye => vec![None; wanted.len()],
        Asked::BothEyes => {
            let mut twice = Twice::new(holdings, &least.lenses);
            offer_all(holdings, cells, wanted, most, &mut twice);
            twice.lenses
        }
    };
    let miss = |doubled_square: &f64| (doubled_square / 2.0).sqrt();
    let each = wanted.iter().zip(&least.lenses).zip(&least.doubled_squares).zip(both);
    each.map(|(((wanted, lenses), square), both)| Made { wanted: *wanted, lenses: *lenses, miss: miss(square), both })
        .collect()
}
