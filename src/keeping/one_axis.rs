//! Stacks whose cylinders share one axis.
//!
//! Along the axis only the spheres act, so these are chosen first, from the meridian along it alone, and the cylinders then from
//! the meridian across. In each the two outermost lenses are looked up together, in a table of what every pair of them makes.

use std::rc::Rc;

use super::cells::Spot;
use super::holdings::{Holdings, TypeId};
use super::passage::{Passage, inward};
use super::rising::Rising;
use super::search::{MOST_LENSES, Sink};
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

/// One way to use the cells, its cylinders at one axis.
#[derive(Debug)]
pub(super) struct OneAxis<'h, 'w> {
    holdings: &'h Holdings,
    way: &'w [Spot],
    spheres: Kind,
    across: Across,
}

/// How the cylinders are found.
#[derive(Debug)]
enum Across {
    /// There are none.
    Nothing,
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
    /// For one way; nothing when the box lacks a kind of lens that it needs.
    pub fn new(tables: &mut Tables<'h>, way: &'w [Spot]) -> Option<Self> {
        let holdings = tables.holdings;
        let places = |cylinders: bool| -> Vec<f64> {
            way.iter().filter(|spot| spot.is_cylinder == cylinders).map(|spot| spot.from_rear_m).collect()
        };
        let (spheres, cylinders) = (places(false), places(true));
        let lacks = |places: &[f64], cylinders| !places.is_empty() && holdings.types(cylinders).is_empty();
        if lacks(&spheres, false) || lacks(&cylinders, true) {
            return None;
        }
        let across = match way.iter().position(|spot| spot.is_cylinder) {
            None => Across::Nothing,
            Some(first) if way[first..].iter().all(|spot| spot.is_cylinder) => {
                Across::Outside(Kind::new(tables, &cylinders, true))
            }
            Some(innermost) => {
                let key = TableKey { lenses: 1, cylinders: true, apart_m: 0.0 };
                Across::Among { innermost, table: tables.get(key) }
            }
        };
        Some(Self { holdings, way, spheres: Kind::new(tables, &spheres, false), across })
    }

    /// Offers every stack that the sink could want.
    pub fn offer_all(&mut self, rows: &[Row], sink: &mut impl Sink) {
        let from_rear = Passage::NONE.outward(self.spheres.from_rear_m);
        for row in rows {
            let left = |&(across, number): &(f64, usize)| self.left(row, across, sink.wants(number));
            let most = row.wants.iter().map(left).fold(-1.0, f64::max);
            if most < 0.0 {
                continue;
            }
            self.spheres.each(from_rear, row.along, most.sqrt(), |net, spheres| {
                let off = net - row.along;
                if off * off <= most {
                    self.choose_cylinders(row, net, spheres, sink);
                }
            });
        }
    }

    /// How far the meridian along the axis may be off, squared.
    fn left(&self, row: &Row, across: f64, wants: f64) -> f64 {
        match self.across {
            // without a cylinder both meridians get the same: it is best half-way
            Across::Nothing if wants >= (across - row.along) * (across - row.along) / 2.0 => wants,
            Across::Nothing => -1.0,
            Across::Outside(_) | Across::Among { .. } => wants,
        }
    }

    fn choose_cylinders(&self, row: &Row, along: f64, spheres: &[TypeId], sink: &mut impl Sink) {
        let off_along = (along - row.along) * (along - row.along);
        match &self.across {
            Across::Nothing => {
                for &(wanted, number) in &row.wants {
                    let doubled_square = off_along + (along - wanted) * (along - wanted);
                    if doubled_square < sink.wants(number) && self.holdings.has(spheres, 1) {
                        sink.offer(number, doubled_square, spheres);
                    }
                }
            }
            Across::Outside(cylinders) => {
                let passage = self.through(self.way.iter().take(spheres.len()), spheres).0;
                let last = self.way[..spheres.len()].last().map_or(0.0, |spot| spot.from_rear_m);
                let passage = passage.outward(cylinders.from_rear_m - last);
                for &(wanted, number) in &row.wants {
                    let left = sink.wants(number) - off_along;
                    if left <= 0.0 {
                        continue;
                    }
                    cylinders.each(passage, wanted, left.sqrt(), |net, cylinders| {
                        let doubled_square = off_along + (net - wanted) * (net - wanted);
                        self.offer(number, doubled_square, spheres, cylinders, sink);
                    });
                }
            }
            Across::Among { innermost, table } => {
                let (passage, at) = self.through(self.way[..*innermost].iter(), spheres);
                let passage = passage.outward(self.way[*innermost].from_rear_m - at);
                let mut arriving = Vec::new();
                self.arrive(*innermost, spheres, &mut Vec::new(), 0.0, self.way.len(), &mut arriving);
                for &(wanted, number) in &row.wants {
                    let left = sink.wants(number) - off_along;
                    if left <= 0.0 {
                        continue;
                    }
                    let window = passage.window(wanted, left.sqrt());
                    for (vergence, outer) in &arriving {
                        for index in window.less(*vergence).of(table).into_iter().flatten() {
                            let (power, [innermost, _]) = table.nth(index);
                            let net = passage.net(vergence + power);
                            let doubled_square = off_along + (net - wanted) * (net - wanted);
                            let mut cylinders = outer.clone();
                            cylinders.push(*innermost);
                            self.offer(number, doubled_square, spheres, &cylinders, sink);
                        }
                    }
                }
            }
        }
    }

    /// The passage from cell 1 in front of the spheres in these places, and where the last of them stands.
    fn through<'s>(&self, spots: impl Iterator<Item = &'s Spot>, spheres: &[TypeId]) -> (Passage, f64) {
        spots.zip(spheres).fold((Passage::NONE, 0.0), |(passage, at), (spot, of)| {
            (passage.outward(spot.from_rear_m - at).before(self.holdings.power(*of)), spot.from_rear_m)
        })
    }

    /// What may arrive at the innermost cylinder from the places outside of it, with the cylinders that are there.
    fn arrive(
        &self,
        innermost: usize,
        spheres: &[TypeId],
        cylinders: &mut Vec<TypeId>,
        leaving: f64,
        from: usize,
        arriving: &mut Vec<(f64, Vec<TypeId>)>,
    ) {
        let place = from - 1;
        let metres = self.way.get(from).map_or(0.0, |outer| outer.from_rear_m - self.way[place].from_rear_m);
        let vergence = inward(leaving, metres);
        if place == innermost {
            arriving.push((vergence, cylinders.clone()));
        } else if self.way[place].is_cylinder {
            for of in self.holdings.types(true) {
                cylinders.push(of);
                let leaving = vergence + self.holdings.power(of);
                self.arrive(innermost, spheres, cylinders, leaving, place, arriving);
                cylinders.pop();
            }
        } else {
            let which = self.way[..place].iter().filter(|spot| !spot.is_cylinder).count();
            let leaving = vergence + self.holdings.power(spheres[which]);
            self.arrive(innermost, spheres, cylinders, leaving, place, arriving);
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
