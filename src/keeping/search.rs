//! Every stack that could matter, offered by its number of lenses.

use super::cells::Cells;
use super::crossed::CrossedStacks;
use super::holdings::Holdings;
use super::one_axis::{OneAxis, Spheres, Tables};
use super::sink::Sink;
use super::wanted::{RowsBy, Wanted, rows};

/// Offers all stacks of 1 up to so many lenses that a sink could want.
pub(super) fn offer_all(holdings: &Holdings, cells: &Cells, wanted: &[Wanted], most: usize, sink: &mut impl Sink) {
    let minus = holdings.types(true).any(|of| holdings.power(of) < 0.0);
    let plus = holdings.types(true).any(|of| holdings.power(of) > 0.0);
    // behind a focus a cylinder acts as one of the other sign
    let is_long = cells.may_have_a_focus(holdings);
    let at_axis = rows(wanted, RowsBy::Axis);
    let across = if plus || is_long { rows(wanted, RowsBy::Across) } else { Vec::new() };
    let equivalents = rows(wanted, RowsBy::Equivalent);
    let mut tables = Tables::new(holdings);
    let mut crossed = CrossedStacks::new(holdings);
    for lenses in 1..=most {
        let ways = cells.ways(lenses);
        for way in &ways {
            let has_cylinder = way.iter().any(|spot| spot.is_cylinder);
            if !has_cylinder {
                Spheres::new(&mut tables, way).offer_all(&equivalents, sink);
            } else if let Some(mut search) = OneAxis::new(&mut tables, way) {
                if minus || is_long {
                    search.offer_all(&at_axis, sink);
                }
                search.offer_all(&across, sink);
            }
        }
        for way in &ways {
            crossed.offer_all(way, &at_axis, sink);
        }
        sink.end_of(lenses);
    }
}
