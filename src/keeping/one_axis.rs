//! Stacks whose cylinders share one axis.
//!
//! Along the axis only the spheres act, so these are chosen first, from the meridian along it alone, and the cylinders then from
//! the meridian across. In each the two outermost lenses are looked up together, in a table of what every pair of them makes.

use std::rc::Rc;

use super::cells::Spot;
use super::holdings::{Holdings, TypeId};
use super::passage::{Passage, SLACK_D, inward};
use super::rising::Rising;
use super::sink::{MOST_LENSES, Sink};
use super::wanted::Row;

/// Up to two types; those in use come first.
type Pair = [TypeId; 2];

/// What the outermost one or two lenses of a kind make, by the distance between them.
#[derive(Debug)]
pub(super) struct Tables<'a> {
    holdings: &'a Holdings,
    made: Vec<(TableKey, Rc<Rising<Pair>>)>,
}

/// Which table: how many lenses, whether these are cylinders, and the distance between two.
#[derive(Debug, Clone, Copy, PartialEq)]
struct TableKey {
    lenses: usize,
    cylinders: bool,
    apart_m: f64,
}

impl<'a> Tables<'a> {
    pub fn new(holdings: &'a Holdings) -> Self {
        Self { holdings, made: Vec::new() }
    }

    fn get(&mut self, key: TableKey) -> Rc<Rising<Pair>> {
        if let Some((_, table)) = self.made.iter().find(|(of, _)| *of == key) {
            return Rc::clone(table);
        }
        let types = || self.holdings.types(key.cylinders);
        let power = |of: TypeId| self.holdings.power(of);
        let list = match key.lenses {
            0 => vec![(0.0, [0, 0])],
            1 => types().map(|of| (power(of), [of, 0])).collect(),
            _ => types()
                .flat_map(|inner| types().map(move |outer| [inner, outer]))
                .map(|pair| (power(pair[0]) + inward(power(pair[1]), key.apart_m), pair))
                .collect(),
        };
        let table = Rc::new(Rising::of(list));
        self.made.push((key, Rc::clone(&table)));
        table
    }
}

/// Lenses of one kind in their places: the inner ones one by one, the two outermost by their table.
#[derive(Debug)]
struct Kind {
    /// Each choice of the inner lenses, as the passage from the plane of the innermost to that of the outermost pair.
    inner: Vec<(Passage, Pair)>,
    inner_lenses: usize,
    table: Rc<Rising<Pair>>,
    table_lenses: usize,
    /// Where the innermost lens stands, from cell 1.
    from_rear_m: f64,
}

impl Kind {
    fn new(tables: &mut Tables<'_>, places_m: &[f64], cylinders: bool) -> Self {
        let inner_lenses = places_m.len().saturating_sub(2);
        let table_lenses = places_m.len() - inner_lenses;
        let apart_m = if table_lenses == 2 { places_m[inner_lenses + 1] - places_m[inner_lenses] } else { 0.0 };
        let table = tables.get(TableKey { lenses: table_lenses, cylinders, apart_m });
        let holdings = tables.holdings;
        let mut inner = vec![(Passage::NONE, [0, 0])];
        for place in 0..inner_lenses {
            let metres = places_m[place + 1] - places_m[place];
            let with = |&(passage, pair): &(Passage, Pair)| {
                let further = move |of: TypeId| {
                    let mut pair = pair;
                    pair[place] = of;
                    (passage.before(holdings.power(of)).outward(metres), pair)
                };
                holdings.types(cylinders).map(further).collect::<Vec<_>>()
            };
            inner = inner.iter().flat_map(with).collect();
        }
        let from_rear_m = places_m.first().copied().unwrap_or(0.0);
        Self { inner, inner_lenses, table, table_lenses, from_rear_m }
    }

    fn lenses(&self) -> usize {
        self.inner_lenses + self.table_lenses
    }

    /// Calls with each choice whose net lies within a distance of one wanted, seen through a passage from cell 1 to the plane of the
    /// innermost: the net and the types, inner ones first.
    fn each(&self, from_rear: Passage, wanted: f64, distance: f64, mut found: impl FnMut(f64, &[TypeId])) {
        let mut types = [0; MOST_LENSES];
        for (inner, pair) in &self.inner {
            let passage = from_rear.then(*inner);
            types[..self.inner_lenses].copy_from_slice(&pair[..self.inner_lenses]);
            for index in passage.window(wanted, distance).of(&self.table).into_iter().flatten() {
                let (leaving, outermost) = self.table.nth(index);
                types[self.inner_lenses..self.lenses()].copy_from_slice(&outermost[..self.table_lenses]);
                found(passage.net(leaving), &types[..self.lenses()]);
            }
        }
    }
}

/// Where the lenses of one kind stand in a way to use the cells, from cell 1.
fn places(way: &[Spot], cylinders: bool) -> Vec<f64> {
    way.iter().filter(|spot| spot.is_cylinder == cylinders).map(|spot| spot.from_rear_m).collect()
}

/// One way to use the cells without a cylinder.
#[derive(Debug)]
pub(super) struct Spheres<'h> {
    holdings: &'h Holdings,
    kind: Kind,
}

impl<'h> Spheres<'h> {
    /// For one way.
    pub fn new(tables: &mut Tables<'h>, way: &[Spot]) -> Self {
        let holdings = tables.holdings;
        Self { holdings, kind: Kind::new(tables, &places(way, false), false) }
    }

    /// Offers every stack that the sink could want, for rows by their spherical equivalent.
    pub fn offer_all(&self, rows: &[Row], sink: &mut impl Sink) {
        let from_rear = Passage::NONE.outward(self.kind.from_rear_m);
        for row in rows {
            // half of what is wanted of the square of the equivalent's error
            let left = |wants: f64, half: f64| wants - 2.0 * half * half;
            let most = row.wants.iter().map(|&(half, number)| left(sink.wants(number), half)).fold(-1.0, f64::max);
            if most <= 0.0 {
                continue;
            }
            self.kind.each(from_rear, row.shared, (most / 2.0).sqrt(), |net, types| {
                let off = net - row.shared;
                for &(half, number) in &row.wants {
                    let doubled_square = 2.0 * (off * off + half * half);
                    if doubled_square < sink.wants(number) && self.holdings.has(types, 1) {
                        sink.offer(number, doubled_square, types);
                    }
                }
            });
        }
    }
}

/// One way to use the cells, its cylinders at one axis.
#[derive(Debug)]
pub(super) struct OneAxis<'h, 'w> {
    holdings: &'h Holdings,
    way: &'w [Spot],
    spheres: Kind,
    across: Across,
    /// The weakest and the strongest of what leaves the innermost place of the cylinders' table.
    ends: (f64, f64),
    /// What may arrive at the innermost cylinder, with the cylinders outside of it.
    arriving: Vec<(f64, [TypeId; MOST_LENSES])>,
}

/// How the cylinders are found.
#[derive(Debug)]
enum Across {
    /// All of them stand farther out than all spheres.
    Outside(Kind),
    /// A sphere stands farther out than one of them: the innermost is looked up, the others are tried.
    Among {
        /// Where the innermost stands in the way.
        innermost: usize,
        table: Rc<Rising<Pair>>,
    },
}

impl<'h, 'w> OneAxis<'h, 'w> {
    /// For a way with a cylinder; nothing when the box lacks a kind of lens that it needs.
    pub fn new(tables: &mut Tables<'h>, way: &'w [Spot]) -> Option<Self> {
        let holdings = tables.holdings;
        let (spheres, cylinders) = (places(way, false), places(way, true));
        if holdings.types(true).is_empty() || !spheres.is_empty() && holdings.types(false).is_empty() {
            return None;
        }
        let innermost = way.iter().position(|spot| spot.is_cylinder)?;
        let (across, table) = if way[innermost..].iter().all(|spot| spot.is_cylinder) {
            let kind = Kind::new(tables, &cylinders, true);
            let table = Rc::clone(&kind.table);
            (Across::Outside(kind), table)
        } else {
            let table = tables.get(TableKey { lenses: 1, cylinders: true, apart_m: 0.0 });
            (Across::Among { innermost, table: Rc::clone(&table) }, table)
        };
        let ends = table.ends()?;
        let spheres = Kind::new(tables, &spheres, false);
        Some(Self { holdings, way, spheres, across, ends, arriving: Vec::new() })
    }

    /// Offers every stack that the sink could want, for rows by what is wanted where only spheres act.
    pub fn offer_all(&mut self, rows: &[Row], sink: &mut impl Sink) {
        let from_rear = Passage::NONE.outward(self.spheres.from_rear_m);
        let mut arriving = std::mem::take(&mut self.arriving);
        for row in rows {
            let most = row.wants.iter().map(|&(_, number)| sink.wants(number)).fold(-1.0, f64::max);
            if most < 0.0 {
                continue;
            }
            self.spheres.each(from_rear, row.shared, most.sqrt(), |net, spheres| {
                let off = net - row.shared;
                if off * off <= most {
                    self.choose_cylinders(row, off * off, spheres, &mut arriving, sink);
                }
            });
        }
        self.arriving = arriving;
    }

    /// `off` is the squared error where only the spheres act.
    fn choose_cylinders(
        &self,
        row: &Row,
        off: f64,
        spheres: &[TypeId],
        arriving: &mut Vec<(f64, [TypeId; MOST_LENSES])>,
        sink: &mut impl Sink,
    ) {
        match &self.across {
            Across::Outside(cylinders) => {
                let (passage, at) = self.through(&self.way[..spheres.len()], spheres);
                let passage = passage.outward(cylinders.from_rear_m - at);
                let is_simple = cylinders.inner_lenses == 0;
                let limits = if is_simple { passage.nets(self.ends.0, self.ends.1) } else { None };
                for &(wanted, number) in &row.wants {
                    let left = sink.wants(number) - off;
                    if left <= 0.0 || is_beyond(wanted, limits, left) {
                        continue;
                    }
                    cylinders.each(passage, wanted, left.sqrt(), |net, cylinders| {
                        let doubled_square = off + (net - wanted) * (net - wanted);
                        self.offer(number, doubled_square, spheres, cylinders, sink);
                    });
                }
            }
            Across::Among { innermost, table } => {
                let (passage, at) = self.through(&self.way[..*innermost], spheres);
                let passage = passage.outward(self.way[*innermost].from_rear_m - at);
                arriving.clear();
                self.arrive(*innermost, spheres, ([0; MOST_LENSES], 0), 0.0, self.way.len(), arriving);
                let outer = self.way.iter().filter(|spot| spot.is_cylinder).count() - 1;
                for (vergence, cylinders) in arriving {
                    let limits = passage.nets(*vergence + self.ends.0, *vergence + self.ends.1);
                    for &(wanted, number) in &row.wants {
                        let left = sink.wants(number) - off;
                        if left <= 0.0 || is_beyond(wanted, limits, left) {
                            continue;
                        }
                        let window = passage.window(wanted, left.sqrt()).less(*vergence);
                        for index in window.of(table).into_iter().flatten() {
                            let (power, [innermost, _]) = table.nth(index);
                            let net = passage.net(*vergence + power);
                            let doubled_square = off + (net - wanted) * (net - wanted);
                            cylinders[outer] = *innermost;
                            self.offer(number, doubled_square, spheres, &cylinders[..=outer], sink);
                        }
                    }
                }
            }
        }
    }

    /// The passage from cell 1 in front of the spheres in these places, and where the last of them stands.
    fn through(&self, spots: &[Spot], spheres: &[TypeId]) -> (Passage, f64) {
        spots.iter().zip(spheres).fold((Passage::NONE, 0.0), |(passage, at), (spot, of)| {
            (passage.outward(spot.from_rear_m - at).before(self.holdings.power(*of)), spot.from_rear_m)
        })
    }

    /// What may arrive at the innermost cylinder from the places outside of it, with the cylinders that are there.
    fn arrive(
        &self,
        innermost: usize,
        spheres: &[TypeId],
        (mut cylinders, count): ([TypeId; MOST_LENSES], usize),
        leaving: f64,
        from: usize,
        arriving: &mut Vec<(f64, [TypeId; MOST_LENSES])>,
    ) {
        let place = from - 1;
        let metres = self.way.get(from).map_or(0.0, |outer| outer.from_rear_m - self.way[place].from_rear_m);
        let vergence = inward(leaving, metres);
        if place == innermost {
            arriving.push((vergence, cylinders));
        } else if self.way[place].is_cylinder {
            for of in self.holdings.types(true) {
                cylinders[count] = of;
                let leaving = vergence + self.holdings.power(of);
                self.arrive(innermost, spheres, (cylinders, count + 1), leaving, place, arriving);
            }
        } else {
            let which = self.way[..place].iter().filter(|spot| !spot.is_cylinder).count();
            let leaving = vergence + self.holdings.power(spheres[which]);
            self.arrive(innermost, spheres, (cylinders, count), leaving, place, arriving);
        }
    }

    fn offer(
        &self,
        number: usize,
        doubled_square: f64,
        spheres: &[TypeId],
        cylinders: &[TypeId],
        sink: &mut impl Sink,
    ) {
        if doubled_square < sink.wants(number) {
            let mut types = [0; MOST_LENSES];
            let lenses = spheres.len() + cylinders.len();
            types[..spheres.len()].copy_from_slice(spheres);
            types[spheres.len()..lenses].copy_from_slice(cylinders);
            if self.holdings.has(&types[..lenses], 1) {
                sink.offer(number, doubled_square, &types[..lenses]);
            }
        }
    }
}

/// Whether a wanted power lies so far beyond the limits of what can be made that the square of the error is more than this.
fn is_beyond(wanted: f64, limits: Option<(f64, f64)>, square: f64) -> bool {
    limits.is_some_and(|(low, high)| {
        let off = (low - wanted).max(wanted - high) - SLACK_D;
        off > 0.0 && off * off > square
    })
}
