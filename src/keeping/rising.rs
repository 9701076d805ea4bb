//! Values that rise, each with what makes it, found by value.

use std::ops::Range;

/// Values beyond these, in dioptres, are found by halving: near a focus.
const INDEXED_D: f64 = 64.0;
/// Steps of the index per dioptre.
const STEPS_PER_D: f64 = 64.0;

/// Values that rise, with an index.
#[derive(Debug)]
pub(super) struct Rising<T> {
    values: Vec<f64>,
    items: Vec<T>,
    /// By step from the lowest indexed value up, the first value that is not below it.
    first_from: Vec<u32>,
}

impl<T: Copy> Rising<T> {
    /// Values in any order; what is no number, from a focus in the very plane, is left out.
    pub fn of(mut list: Vec<(f64, T)>) -> Self {
        list.retain(|(value, _)| value.is_finite());
        list.sort_unstable_by(|(one, _), (other, _)| one.total_cmp(other));
        let values: Vec<f64> = list.iter().map(|(value, _)| *value).collect();
        let items = list.iter().map(|(_, item)| *item).collect();
        let steps = (2.0 * INDEXED_D * STEPS_PER_D) as usize;
        let mut first = 0;
        let first_at = |step: usize| {
            let from = step as f64 / STEPS_PER_D - INDEXED_D;
            while values.get(first).is_some_and(|value| *value < from) {
                first += 1;
            }
            first as u32
        };
        let first_from = (0..=steps).map(first_at).collect();
        Self { values, items, first_from }
    }
}

impl<T> Rising<T> {
    /// Where the values from `low` to `high` stand.
    pub fn within(&self, low: f64, high: f64) -> Range<usize> {
        let start = self.first_not_below(low);
        if high >= INDEXED_D || high.is_nan() {
            return start..self.values.partition_point(|value| *value <= high).max(start);
        }
        let more = self.values[start..].iter().take_while(|value| **value <= high).count();
        start..start + more
    }

    fn first_not_below(&self, low: f64) -> usize {
        if !(low > -INDEXED_D && low < INDEXED_D) {
            return self.values.partition_point(|value| *value < low);
        }
        let step = ((low + INDEXED_D) * STEPS_PER_D) as usize;
        let start = self.first_from[step] as usize;
        start + self.values[start..].iter().take_while(|value| **value < low).count()
    }

    /// The least and the greatest value.
    pub fn ends(&self) -> Option<(f64, f64)> {
        Some((*self.values.first()?, *self.values.last()?))
    }

    /// A value with what makes it.
    pub fn nth(&self, index: usize) -> (f64, &T) {
        (self.values[index], &self.items[index])
    }
}
