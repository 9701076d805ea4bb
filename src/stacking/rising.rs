//! Powers that rise, found by their value.

/// Steps of the index over rising powers, per dioptre: trial lenses lie an eighth apart at the closest.
const STEPS_PER_D: f64 = 8.0;

/// Rising powers with an index, so that a window of them is found without searching.
#[derive(Debug, Clone, Default)]
pub(super) struct Rising {
    powers: Vec<f64>,
    /// By step from the least power up, the first power that is not below it.
    first_from: Vec<u16>,
}

impl Rising {
    /// Indexes powers that rise already.
    pub fn of(powers: Vec<f64>) -> Self {
        let mut first_from = Vec::new();
        if let (Some(least), Some(most)) = (powers.first(), powers.last()) {
            let steps = ((most - least) * STEPS_PER_D).ceil() as usize;
            first_from.reserve_exact(steps + 1);
            let mut first = 0;
            for step in 0..=steps {
                let from = least + step as f64 / STEPS_PER_D;
                first += powers[first..].iter().take_while(|&&power| power < from).count();
                first_from.push(first as u16);
            }
        }
        Self { powers, first_from }
    }

    /// Indices of the powers from `low` to `high`.
    pub fn within(&self, low: f64, high: f64) -> std::ops::Range<usize> {
        let Some(least) = self.powers.first() else {
            return 0..0;
        };
        // a float cast saturates, so what is below the least begins at 0 and what is above the most at the end
        let step = ((low - least) * STEPS_PER_D) as usize;
        let start = self.first_from.get(step).map_or(self.powers.len(), |&first| usize::from(first));
        let start = start + self.powers[start..].iter().take_while(|&&power| power < low).count();
        start..start + self.powers[start..].iter().take_while(|&&power| power <= high).count()
    }
}

impl std::ops::Deref for Rising {
    type Target = [f64];
    fn deref(&self) -> &[f64] {
        &self.powers
    }
}
