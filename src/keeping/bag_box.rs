//! A bag as a box of its own, while it is away.

use super::holdings::Holding;
use crate::kit::bag::numbered_afresh;
use crate::kit::{BoxChange, DeclaredBox, Lens, LensLine, Measured, OwnMarks, Stock, StockedPiece};

/// The pieces that go into a bag, in the order of the box: of what is stacked those with the power that was chosen, whole ones
/// before damaged ones. `is_free` says which can go.
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
    let mut all: Vec<&StockedPiece> = Vec::new();
    for (lens, power, pieces) in stacked.chain(others) {
        let fits = |stocked: &&StockedPiece| power.is_none_or(|power| stocked.power().0 == power) && is_free(stocked);
        let mut free: Vec<&StockedPiece> = stock.of_lens(lens).filter(fits).collect();
        free.sort_by_key(|stocked| stocked.damaged);
        if free.len() < usize::from(pieces) {
            return Err(lens.clone());
        }
        all.extend(free.into_iter().take(pieces.into()));
    }
    Ok(stock.pieces().iter().filter(|stocked| all.iter().any(|goes| goes.piece == stocked.piece)).cloned().collect())
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
    let mut lenses: Vec<&Lens> = from.lines.iter().map(|line| &line.lens).collect();
    // what was added since the box was declared
    for stocked in pieces {
        if !lenses.contains(&&stocked.piece.lens) {
            lenses.push(&stocked.piece.lens);
        }
    }
    let numbered = numbered_afresh(pieces.iter().map(|stocked| &stocked.piece));
    for lens in lenses {
        let of_lens = numbered.iter().zip(pieces).filter(|(piece, _)| piece.lens == *lens);
        let mut declared = 0;
        for (piece, stocked) in of_lens {
            declared += 1;
            let note = Some(format!("{} there", stocked.piece));
            bag.measured.extend(stocked.measured.map(|power| Measured { piece: piece.clone(), power, note }));
        }
        if declared > 0 {
            bag.lines.push(LensLine { lens: lens.clone(), declared, missing: 0 });
        }
    }
    bag
}

/// How the pieces of a bag are marked there: as they are in the box from which they go.
pub fn marks_in_the_bag(marks: &OwnMarks, pieces: &[StockedPiece]) -> Vec<BoxChange> {
    let numbered = numbered_afresh(pieces.iter().map(|stocked| &stocked.piece));
    let marked = numbered.into_iter().zip(pieces).filter_map(|(piece, stocked)| {
        let own_mark = Some(marks.of_piece(&stocked.piece)?.to_owned());
        Some(BoxChange::Marked { piece, own_mark })
    });
    marked.collect()
}
