//! Stacks with two cylinders at different axes.
//!
//! A stack may be turned as a whole, so only the angle between the two counts, in whole degrees, and how far the axis that comes
//! out is from a whole degree: by so much it cannot be set. What leaves the inner cylinder is tabled by its principal meridians;
//! the spheres, which stand nearer the eye, say what must be found there.

use libm::{atan2, hypot, sin, sincos};

use super::cells::Spot;
use super::holdings::{Holdings, TypeId};
use super::passage::{Passage, Window, inward};
use super::search::{MOST_LENSES, Sink};
use super::wanted::Row;

/// Side of a square of the table, in dioptres.
const SQUARE_D: f64 = 0.05;

/// Two cylinders at an angle.
#[derive(Debug, Clone, Copy)]
struct Crossing {
    /// The principal meridians of what leaves the inner one, in dioptres.
    more: f64,
    less: f64,
    /// Twice the squared sine of the angle by which its axis misses a whole degree.
    turned: f64,
    types: [TypeId; 2],
}

/// All crossings at one distance, by squares of their principal meridians.
#[derive(Debug)]
struct Table {
    apart_m: f64,
    crossings: Vec<Crossing>,
    /// The least `more` and `less`, and how many squares lie in each direction.
    least: (f64, f64),
    squares: (usize, usize),
    /// The greatest of them.
    most: (f64, f64),
    /// By square, `more` by `more`, where its crossings begin.
    first_of: Vec<u32>,
}

impl Table {
    fn new(holdings: &Holdings, apart_m: f64) -> Self {
        let cosines: Vec<(f64, f64)> = (1..=90_i32).map(|angle| sincos(f64::from(2 * angle).to_radians())).collect();
        let mut crossings = Vec::new();
        for inner in holdings.types(true) {
            for outer in holdings.types(true) {
                let (inner_d, outer_d) = (holdings.power(inner), inward(holdings.power(outer), apart_m));
                for (sin_2a, cos_2a) in &cosines {
                    let (j0, j45) = (-(inner_d + outer_d * cos_2a) / 2.0, -outer_d * sin_2a / 2.0);
                    let (m, astigmatism) = ((inner_d + outer_d) / 2.0, hypot(j0, j45));
                    let axis = atan2(j45, j0).to_degrees() / 2.0;
                    let off = sin((axis - axis.round()).to_radians());
                    let (more, less) = (m + astigmatism, m - astigmatism);
                    crossings.push(Crossing { more, less, turned: 2.0 * off * off, types: [inner, outer] });
                }
            }
        }
        let ends = |of: fn(&Crossing) -> f64| {
            let least = crossings.iter().map(of).fold(f64::INFINITY, f64::min);
            (least, crossings.iter().map(of).fold(f64::NEG_INFINITY, f64::max))
        };
        let (more, less) = (ends(|of| of.more), ends(|of| of.less));
        let squares_in = |(least, most): (f64, f64)| ((most - least) / SQUARE_D) as usize + 1;
        let squares = (squares_in(more), squares_in(less));
        let mut table = Self {
            apart_m,
            crossings: Vec::new(),
            least: (more.0, less.0),
            most: (more.1, less.1),
            squares,
            first_of: Vec::new(),
        };
        // counted first and then laid out, so that no sorting is needed
        let mut first_of = vec![0_u32; squares.0 * squares.1 + 1];
        crossings.iter().for_each(|of| first_of[table.square_of(of) + 1] += 1);
        (1..first_of.len()).for_each(|square| first_of[square] += first_of[square - 1]);
        let mut next = first_of.clone();
        let mut laid = crossings.clone();
        for of in &crossings {
            let next = &mut next[table.square_of(of)];
            laid[*next as usize] = *of;
            *next += 1;
        }
        (table.crossings, table.first_of) = (laid, first_of);
        table
    }

    fn square_of(&self, of: &Crossing) -> usize {
        let step = |value: f64, least: f64| ((value - least) / SQUARE_D) as usize;
        step(of.more, self.least.0) * self.squares.1 + step(of.less, self.least.1)
    }

    /// Calls with every crossing whose meridians may lie in these windows.
    fn each(&self, more: Window, less: Window, mut found: impl FnMut(&Crossing)) {
        for (low, high) in more.ends() {
            let Some((first, last)) = squares(low, high, self.least.0, self.squares.0) else { continue };
            for (low, high) in less.ends() {
                let Some((from, to)) = squares(low, high, self.least.1, self.squares.1) else { continue };
                for row in first..=last {
                    let square = row * self.squares.1;
                    let range = self.first_of[square + from] as usize..self.first_of[square + to + 1] as usize;
                    self.crossings[range].iter().for_each(&mut found);
                }
            }
        }
    }
}

/// The first and the last square with values from `low` to `high`, if any has.
fn squares(low: f64, high: f64, least: f64, count: usize) -> Option<(usize, usize)> {
    let (first, last) = ((low - least) / SQUARE_D, (high - least) / SQUARE_D);
    if last < 0.0 || first >= count as f64 {
        return None;
    }
    // a float cast saturates
    Some((first as usize, (last as usize).min(count - 1)))
}

/// The search of a box for crossed stacks.
#[derive(Debug)]
pub(super) struct CrossedStacks<'a> {
    holdings: &'a Holdings,
    tables: Vec<Table>,
}

impl<'a> CrossedStacks<'a> {
    pub fn new(holdings: &'a Holdings) -> Self {
        Self { holdings, tables: Vec::new() }
    }

    /// Offers every stack of a way that the sink could want, if its cylinders are two that can be crossed and its spheres all
    /// stand nearer the eye.
    pub fn offer_all(&mut self, way: &[Spot], rows: &[Row], sink: &mut impl Sink) {
        let Some((inside, [inner, outer])) = way.split_last_chunk::<2>() else { return };
        let is_crossed = inner.is_cylinder && outer.is_cylinder && inner.ring != outer.ring;
        let holdings = self.holdings;
        let (spheres, cylinders) = (holdings.types(false), holdings.types(true));
        let lacks = cylinders.is_empty() || !inside.is_empty() && spheres.is_empty();
        if !is_crossed || lacks || inside.iter().any(|spot| spot.is_cylinder) {
            return;
        }
        if rows.iter().all(|row| row.wants.iter().all(|(_, number)| sink.wants(*number) < 0.0)) {
            return;
        }
        let apart_m = outer.from_rear_m - inner.from_rear_m;
        let index = self.tables.iter().position(|table| table.apart_m == apart_m).unwrap_or_else(|| {
            self.tables.push(Table::new(holdings, apart_m));
            self.tables.len() - 1
        });
        let table = &self.tables[index];
        let mut ways: Vec<(Passage, f64, [TypeId; 2])> = vec![(Passage::NONE, 0.0, [0, 0])];
        for (place, spot) in inside.iter().enumerate() {
            let with = |&(passage, at, pair): &(Passage, f64, [TypeId; 2])| {
                let passage = passage.outward(spot.from_rear_m - at);
                let further = move |of: TypeId| {
                    let mut pair = pair;
                    pair[place] = of;
                    (passage.before(holdings.power(of)), spot.from_rear_m, pair)
                };
                spheres.clone().map(further).collect::<Vec<_>>()
            };
            ways = ways.iter().flat_map(with).collect();
        }
        for (passage, at, pair) in ways {
            let passage = passage.outward(inner.from_rear_m - at);
            let meeting = Meeting { holdings, table, passage, spheres: &pair[..inside.len()] };
            rows.iter().for_each(|row| meeting.offer(row, sink));
        }
    }
}

/// Chosen spheres before a table of crossings.
struct Meeting<'a> {
    holdings: &'a Holdings,
    table: &'a Table,
    passage: Passage,
    spheres: &'a [TypeId],
}

impl Meeting<'_> {
    fn offer(&self, row: &Row, sink: &mut impl Sink) {
        let (least, most) = (self.table.least, self.table.most);
        let focus = self.passage.has_a_focus_within(least.1, most.0);
        if !focus {
            // what a row needs along the axis the crossings may not have at all
            let furthest = row.wants.iter().fold(-1.0, |most: f64, (_, number)| most.max(sink.wants(*number)));
            if furthest < 0.0 || !self.passage.window(row.along, furthest.sqrt()).meets(least.0, most.0) {
                return;
            }
        }
        for &(across, number) in &row.wants {
            let wants = sink.wants(number);
            if wants <= 0.0 {
                continue;
            }
            let off = wants.sqrt();
            let along = self.passage.window(row.along, off);
            let other = self.passage.window(across, off);
            self.table.each(along, other, |of| self.weigh(row.along, across, number, of, sink));
            if focus {
                // behind a focus the lesser meridian may have become the greater
                self.table.each(other, along, |of| self.weigh(row.along, across, number, of, sink));
            }
        }
    }

    fn weigh(&self, along: f64, across: f64, number: usize, of: &Crossing, sink: &mut impl Sink) {
        let (one, other) = (self.passage.net(of.more), self.passage.net(of.less));
        let (more, less) = (one.max(other), one.min(other));
        let (off, off_across) = (more - along, less - across);
        // (the lengths of both astigmatisms) by (the angle between them)
        let turned = (more - less) * (along - across) * of.turned;
        let doubled_square = off * off + off_across * off_across + turned;
        if doubled_square < sink.wants(number) {
            let mut types = [0; MOST_LENSES];
            let spheres = self.spheres.len();
            types[..spheres].copy_from_slice(self.spheres);
            types[spheres..spheres + 2].copy_from_slice(&of.types);
            if self.holdings.has(&types[..spheres + 2], 1) {
                sink.offer(number, doubled_square, &types[..spheres + 2]);
            }
        }
    }
}
