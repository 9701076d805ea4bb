//! Stacks with two cylinders at different axes.
//!
//! A stack may be turned as a whole, so only the angle between the two counts, in whole degrees, and how far the axis that comes
//! out is from a whole degree: by so much it cannot be set. What leaves the inner cylinder is tabled by its principal meridians;
//! the spheres, which stand nearer the eye, say what must be found there.

use libm::{atan2, hypot, sin, sincos};

use super::cells::Spot;
use super::holdings::{Holdings, TypeId};
use super::passage::{Near, Passage, inward};
use super::sink::{MOST_LENSES, Sink};
use super::wanted::Row;

/// Squares of the table per dioptre.
const SQUARES: f64 = 16.0;
/// Spots per dioptre: whether anything lies in one is known without looking at the crossings.
const SPOTS: f64 = 64.0;
/// Among that many lines of spots, or that many spots of one, something always lies.
const MANY_LINES: usize = 8;
const MANY_SPOTS: usize = 24;

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
    /// By spot, `more` by `more`, a bit: whether a crossing lies in it. Each line begins with a word of its own.
    spots: Vec<u64>,
    /// How many spots lie in each direction.
    spot_counts: (usize, usize),
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
                    let (m, astigmatism) = (f64::midpoint(inner_d, outer_d), hypot(j0, j45));
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
        let steps = |(least, most): (f64, f64), per_d: f64| ((most - least) * per_d) as usize + 1;
        let mut table = Self {
            apart_m,
            crossings: Vec::new(),
            least: (more.0, less.0),
            most: (more.1, less.1),
            squares: (steps(more, SQUARES), steps(less, SQUARES)),
            first_of: Vec::new(),
            spots: Vec::new(),
            spot_counts: (steps(more, SPOTS), steps(less, SPOTS)),
        };
        let (lines, words) = (table.spot_counts.0, table.words());
        table.spots = vec![0; lines * words];
        for of in &crossings {
            let step = |value: f64, least: f64| ((value - least) * SPOTS) as usize;
            let (line, column) = (step(of.more, more.0), step(of.less, less.0));
            table.spots[line * words + column / 64] |= 1 << (column % 64);
        }
        let squares = table.squares;
        // counted first and then laid out, so that no sorting is needed
        let mut first_of = vec![0_u32; squares.0 * squares.1 + 1];
        for of in &crossings {
            first_of[table.square_of(of) + 1] += 1;
        }
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
        let step = |value: f64, least: f64| ((value - least) * SQUARES) as usize;
        step(of.more, self.least.0) * self.squares.1 + step(of.less, self.least.1)
    }

    /// Calls with every crossing whose meridians lie between these ends.
    fn each(&self, more: (f64, f64), less: (f64, f64), mut found: impl FnMut(&Crossing)) {
        let Some((first, last)) = steps(more, self.least.0, SQUARES, self.squares.0) else { return };
        let Some((from, to)) = steps(less, self.least.1, SQUARES, self.squares.1) else { return };
        for row in first..=last {
            let square = row * self.squares.1;
            let range = self.first_of[square + from] as usize..self.first_of[square + to + 1] as usize;
            for of in &self.crossings[range] {
                if of.less >= less.0 && of.less <= less.1 && of.more >= more.0 && of.more <= more.1 {
                    found(of);
                }
            }
        }
    }

    /// The words of a line of spots.
    fn words(&self) -> usize {
        self.spot_counts.1.div_ceil(64)
    }

    /// Puts together the lines of spots between these ends, so that `merged` says where along `less` something lies; gives whether
    /// these are few enough to say anything.
    fn merge(&self, more: (f64, f64), merged: &mut [u64]) -> bool {
        let Some((first, last)) = steps(more, self.least.0, SPOTS, self.spot_counts.0) else { return false };
        let words = self.words();
        if last - first >= MANY_LINES {
            return false;
        }
        merged.copy_from_slice(&self.spots[first * words..(first + 1) * words]);
        for line in first + 1..=last {
            let line = &self.spots[line * words..(line + 1) * words];
            merged.iter_mut().zip(line).for_each(|(merged, word)| *merged |= word);
        }
        true
    }

    /// Whether something may lie between these ends along `less`, by lines that were put together.
    fn may_have(&self, less: (f64, f64), merged: &[u64]) -> bool {
        let Some((from, to)) = steps(less, self.least.1, SPOTS, self.spot_counts.1) else { return false };
        let (word, bit, spots) = (from / 64, from % 64, to - from + 1);
        if spots >= MANY_SPOTS {
            return true;
        }
        let further = if bit + spots > 64 { merged[word + 1] << (64 - bit) } else { 0 };
        (merged[word] >> bit | further) & ((1 << spots) - 1) != 0
    }
}

/// After that many choices of spheres what is left to be wanted is looked at again.
const LOOKS: usize = 64;

/// The first and the last step with values between two ends, if any has.
fn steps((low, high): (f64, f64), least: f64, per_d: f64, count: usize) -> Option<(usize, usize)> {
    let (first, last) = ((low - least) * per_d, (high - least) * per_d);
    if !(last >= 0.0 && first < count as f64) {
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
        let mut aims = Aims::of(rows, sink);
        let mut near = Vec::with_capacity(aims.nets.len());
        let mut merged = vec![0; table.words()];
        for (index, (passage, at, pair)) in ways.into_iter().enumerate() {
            if index % LOOKS == 0 {
                aims.look_again(sink);
            }
            let passage = passage.outward(inner.from_rear_m - at);
            let meeting = Meeting { holdings, table, passage, spheres: &pair[..inside.len()] };
            if passage.has_a_focus_within(table.least.1, table.most.0) {
                for row in rows {
                    meeting.offer_through_focus(row, sink);
                }
            } else {
                near.clear();
                near.extend(aims.nets.iter().map(|net| passage.near(*net)));
                for row in &aims.rows {
                    meeting.offer(row, &near, &mut merged, sink);
                }
            }
        }
    }
}

/// What is aimed at: rows of prescriptions by the principal meridians of their nets, each once.
struct Aims {
    /// Every principal meridian that is wanted, in dioptres.
    nets: Vec<f64>,
    rows: Vec<AimRow>,
}

/// Prescriptions that want the same along the axis.
struct AimRow {
    along_d: f64,
    /// The number of that among all nets.
    along: usize,
    /// How far off any may be at the most.
    furthest: f64,
    aims: Vec<Aim>,
}

/// One prescription.
struct Aim {
    number: usize,
    across_d: f64,
    /// The number of that among all nets.
    across: usize,
    /// How far off each meridian may be.
    distance: f64,
}

impl Aims {
    /// Of the prescriptions that a sink still wants something for.
    fn of(rows: &[Row], sink: &impl Sink) -> Self {
        let mut nets: Vec<f64> =
            rows.iter().flat_map(|row| row.wants.iter().map(|want| want.0).chain([row.shared])).collect();
        nets.sort_by(f64::total_cmp);
        nets.dedup();
        let number_of = |net: f64| nets.partition_point(|of| *of < net);
        let row = |row: &Row| {
            let aim = |&(across_d, number): &(f64, usize)| Aim {
                number,
                across_d,
                across: number_of(across_d),
                distance: distance(sink.wants(number)),
            };
            let aims = row.wants.iter().map(aim).collect();
            AimRow { along_d: row.shared, along: number_of(row.shared), furthest: 0.0, aims }
        };
        let rows = rows.iter().map(row).collect();
        Self { nets, rows }
    }

    /// Takes up what was found meanwhile, by which less is left to be wanted.
    fn look_again(&mut self, sink: &impl Sink) {
        for row in &mut self.rows {
            for aim in &mut row.aims {
                aim.distance = distance(sink.wants(aim.number));
            }
            row.aims.retain(|aim| aim.distance > 0.0);
            row.furthest = row.aims.iter().map(|aim| aim.distance).fold(0.0, f64::max);
        }
        self.rows.retain(|row| !row.aims.is_empty());
    }
}

/// How far each meridian may be off, from the doubled square of a miss; negative where nothing is wanted.
fn distance(wants: f64) -> f64 {
    if wants > 0.0 { wants.sqrt() } else { -1.0 }
}

/// Chosen spheres before a table of crossings.
struct Meeting<'a> {
    holdings: &'a Holdings,
    table: &'a Table,
    passage: Passage,
    spheres: &'a [TypeId],
}

impl Meeting<'_> {
    /// `near` is the passage around each net that is aimed at; `merged` is room for lines of spots.
    fn offer(&self, row: &AimRow, near: &[Near], merged: &mut [u64], sink: &mut impl Sink) {
        let (table, along) = (self.table, &near[row.along]);
        // what the row needs along the axis the crossings may not have at all
        let (low, high) = along.ends(row.furthest);
        if high < table.least.0 || low > table.most.0 {
            return;
        }
        let says_something = table.merge((low, high), merged);
        for aim in &row.aims {
            let less = near[aim.across].ends(aim.distance);
            if !says_something || table.may_have(less, merged) {
                let more = along.ends(aim.distance);
                table.each(more, less, |of| self.weigh(row.along_d, aim.across_d, aim.number, of, sink));
            }
        }
    }

    /// Behind a focus the lesser meridian may have become the greater, and a range may have come apart.
    fn offer_through_focus(&self, row: &Row, sink: &mut impl Sink) {
        for &(across, number) in &row.wants {
            let distance = distance(sink.wants(number));
            if distance < 0.0 {
                continue;
            }
            let (along, other) = (self.passage.window(row.shared, distance), self.passage.window(across, distance));
            for (more, less) in [(along, other), (other, along)] {
                for (more, less) in more.ends().flat_map(|more| less.ends().map(move |less| (more, less))) {
                    self.table.each(more, less, |of| self.weigh(row.shared, across, number, of, sink));
                }
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
