//! A chart that stands at another distance than its figures say.

use libm::log10;

/// Metres in a foot.
const FOOT_M: f64 = 0.3048;

/// Distances that change what is read by less than half a letter are one distance.
const SAME_DISTANCE_LOG_MAR: f64 = 0.01;

/// For which distance a chart is made, and where it stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChartPlace {
    /// The distance in metres for which its figures are printed.
    pub made_for_m: f64,
    /// The distance in metres at which it stands.
    pub stands_at_m: f64,
}

/// What a test distance before a line says of a chart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum TestDistance {
    /// The line is said as the chart prints it.
    AsPrinted,
    /// The line is said with the distance at which the chart stands: it is the true one.
    AsItStands,
    /// Neither.
    Another,
}

impl ChartPlace {
    /// Whether its figures are true as they stand.
    pub fn is_as_made(self) -> bool {
        is_same(self.made_for_m, self.stands_at_m)
    }

    /// What a test distance, in metres or in feet, says of it.
    pub(super) fn said(self, distance: f64) -> TestDistance {
        for metres in [distance, distance * FOOT_M] {
            if is_same(metres, self.made_for_m) {
                return TestDistance::AsPrinted;
            }
            if is_same(metres, self.stands_at_m) {
                return TestDistance::AsItStands;
            }
        }
        TestDistance::Another
    }
}

fn is_same(one: f64, other: f64) -> bool {
    log10(one / other).abs() < SAME_DISTANCE_LOG_MAR
}
