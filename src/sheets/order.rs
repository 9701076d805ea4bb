//! What to buy: first what was lost, then what adds most.

use super::of_box::OfBox;
use crate::export::table::{Cell, ColumnKind, Group, Table, column};
use crate::keeping::{Offer, Purchase};
use crate::kit::document::fault::counted;
use crate::kit::{BoxChange, Lens, Place, Stock};

/// What is advised beyond what was lost.
#[derive(Debug, Clone, Copy)]
pub struct Further<'a> {
    /// The purchases, in their order, of a box in which nothing is lost.
    pub buy: &'a [Purchase],
    /// What it is that they add to, in words: `with at most 2 lenses, both eyes alike`.
    pub share: &'a str,
}

/// The box as it is when what was lost is bought again.
pub fn with_what_was_lost(stock: &Stock) -> Stock {
    let mut replaced = stock.clone();
    for stocked in stock.pieces().iter().filter(|stocked| stocked.place == Place::Lost) {
        // a lost piece can be found
        let _ = replaced.change(&BoxChange::Found(stocked.piece.clone()));
    }
    replaced
}

/// What to buy, with the sum where `prices` has any.
pub fn order(of: &OfBox<'_>, further: Further<'_>, prices: &[Offer]) -> Table {
    let has_prices = prices.iter().any(|offer| offer.price.is_some());
    let price = |lens: &Lens| prices.iter().find(|offer| offer.lens == *lens).and_then(|offer| offer.price);
    let mut columns = vec![column("lens", ColumnKind::Words), column("pieces", ColumnKind::Figures)];
    let of_price = [column("each", ColumnKind::Figures), column("price", ColumnKind::Figures)];
    columns.extend(of_price.into_iter().filter(|_| has_prices));
    columns.extend([column("ordered", ColumnKind::Tick), column("why", ColumnKind::LongWords)]);
    let (mut sum, mut without) = (0.0, 0);
    let mut row = |lens: &Lens, pieces: usize, why: String| {
        let each = price(lens);
        let all = each.map(|each| each * pieces as f64);
        sum += all.unwrap_or(0.0);
        without += if each.is_none() { pieces } else { 0 };
        let mut cells = vec![Cell::text(lens), Cell::count(pieces)];
        cells.extend([each, all].map(|price| Cell::known(price, Cell::figure)).into_iter().filter(|_| has_prices));
        cells.extend([Cell::Empty, Cell::Text(why)]);
        cells
    };
    let lost = of.rows().flat_map(|(_, pieces)| pieces).filter(|stocked| stocked.place == Place::Lost);
    let lost: Vec<&Lens> = lost.map(|stocked| &stocked.piece.lens).collect();
    let again: Vec<Vec<Cell>> = lost
        .chunk_by(|one, next| one == next)
        .map(|alike| row(alike[0], alike.len(), counted(alike.len(), "is lost", "are lost")))
        .collect();
    let more: Vec<Vec<Cell>> = further
        .buy
        .iter()
        .map(|of| {
            let gains = format!("{}; gains {:.1} %", of.why, 100.0 * of.gains);
            row(&of.lens, usize::from(of.pieces), gains)
        })
        .collect();
    let bought = lost.len() + further.buy.iter().map(|of| usize::from(of.pieces)).sum::<usize>();
    let mut notes = vec![format!("{} in all.", counted(bought, "piece", "pieces"))];
    if has_prices {
        let lacking = if without == 0 {
            String::new()
        } else {
            format!(", without {} that the list has no price for", counted(without, "piece", "pieces"))
        };
        notes.push(format!("The sum is {sum:.2}{lacking}."));
    }
    if !more.is_empty() {
        notes.push(format!(
            "Gains are parts of the people whose prescription is made {}, each after those before it.",
            further.share
        ));
    } else if further.buy.is_empty() {
        notes.push("Beyond what was lost, nothing adds what you would notice.".to_owned());
    }
    let damaged = of.record.stock.pieces().iter().filter(|stocked| stocked.damaged && stocked.place.is_at_hand());
    let damaged: Vec<String> = damaged.map(|stocked| stocked.piece.to_string()).collect();
    if !damaged.is_empty() {
        notes.push(format!("Damaged and still in use: {}.", damaged.join(", ")));
    }
    let groups = [("lost", again), ("further", more)].map(|(name, rows)| Group { name: name.to_owned(), rows });
    Table {
        groups_are: Some("part"),
        groups: groups.into_iter().filter(|group| !group.rows.is_empty()).collect(),
        nothing: "There is nothing to buy.",
        notes,
        signed_by: vec!["ordered by"],
        ..of.sheet("To buy", &columns)
    }
}
