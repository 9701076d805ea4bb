//! A bag as a box of its own, while it is away.

use super::holdings::Holding;
use crate::kit::{DeclaredBox, Lens, LensLine, Measured, Piece, Stock, StockedPiece};

/// The pieces that go into a bag: of what is stacked those with the power that was chosen, whole ones before damaged ones. `is_free` says which can go.
///
/// # Errors
/// The lens of which there are not as many.
pub fn pieces_for(
    stock: &Stock,
    take: &[Holding],
    beside: &[(Lens, u8)],
    is_free: &dyn Fn(&StockedPiece) -> bool,
) -> Result<Vec<StockedPiece>, Lens> {
    let stacked = take.iter().map(|of| (&of.lens, Some(of.power), of.pieces));
    let others = beside.iter().map(|(lens, pieces)| (lens, None, *pieces));
    let mut all = Vec::new();
    for (lens, power, pieces) in stacked.chain(others) {
        let fits = |stocked: &&StockedPiece| power.is_none_or(|power| stocked.power().0 == power) && is_free(stocked);
        let mut free: Vec<&StockedPiece> = stock.of_lens(lens).filter(fits).collect();
        free.sort_by_key(|stocked| stocked.damaged);
        if free.len() < usize::from(pieces) {
            return Err(lens.clone());
        }
        all.extend(free.into_iter().take(pieces.into()).cloned());
    }
    Ok(all)
}

/// The box that a bag is: its pieces numbered afresh, those that are off their mark with their measured power.
pub fn declared_bag(from: &DeclaredBox, name: String, id: String, pieces: &[StockedPiece]) -> DeclaredBox {
    let mut bag = DeclaredBox {
        note: Some(format!("A bag from {}.", from.name)),
        name,
        id: Some(id),
        form: from.form,
        rims: from.rims.clone(),
        lines: Vec::new(),
        measured: Vec::new(),
        tray: Vec::new(),
    };
    for line in &from.lines {
        let mut number = 0;
        for stocked in pieces.iter().filter(|stocked| stocked.piece.lens == line.lens) {
            number += 1;
            let piece = Piece { lens: line.lens.clone(), number };
            let note = Some(format!("{} there", stocked.piece));
            bag.measured.extend(stocked.measured.map(|power| Measured { piece, power, note }));
        }
        if number > 0 {
            bag.lines.push(LensLine { lens: line.lens.clone(), declared: number, missing: 0 });
        }
    }
    // what was added since the box was declared
    for stocked in pieces.iter().filter(|stocked| from.lines.iter().all(|line| line.lens != stocked.piece.lens)) {
        match bag.lines.iter_mut().find(|line| line.lens == stocked.piece.lens) {
            Some(line) => line.declared += 1,
            None => bag.lines.push(LensLine { lens: stocked.piece.lens.clone(), declared: 1, missing: 0 }),
        }
    }
    bag
}
