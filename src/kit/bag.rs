//! How a box and a bag that went out of it name one another and the same pieces.

use super::lens::Piece;

/// How an entry in the logbook says which bag it is about, before the bag's id.
const BAG: &str = "bag ";

/// What an entry of the box says that is about a bag.
pub fn note_of_bag(id: &str) -> String {
    format!("{BAG}{id}")
}

/// What the pieces of a bag are there, in their order: of each lens numbered from 1.
pub fn numbered_afresh<'a>(pieces: impl IntoIterator<Item = &'a Piece>) -> Vec<Piece> {
    let mut numbered: Vec<Piece> = Vec::new();
    for piece in pieces {
        let alike = numbered.iter().filter(|before| before.lens == piece.lens).count();
        let number = u8::try_from(alike + 1).unwrap_or(u8::MAX);
        numbered.push(Piece { lens: piece.lens.clone(), number });
    }
    numbered
}
