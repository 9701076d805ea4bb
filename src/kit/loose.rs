//! The spheres of a box that can be held in a hand: what hand neutralisation is done with.

use serde::{Deserialize, Serialize};

use super::pieces::StockedPiece;
use super::stock::Stock;
use crate::optics::Dioptres;

/// Spheres of one mark that are free.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LooseSpheres {
    /// What is marked on them.
    pub marked: Dioptres,
    /// How many there are.
    pub pieces: u8,
}

impl LooseSpheres {
    /// The spheres of a box that are free and whole, the strongest minus first.
    pub fn of(stock: &Stock) -> Vec<Self> {
        let free = stock.pieces().iter().filter(|stocked| stocked.is_free() && !stocked.damaged);
        let spheres = free.filter(|stocked| stocked.piece.lens.is_sphere());
        let mut marked: Vec<Dioptres> = spheres.map(StockedPiece::marked_power).collect();
        marked.sort_by(|a, b| a.0.total_cmp(&b.0));
        let alike = marked.chunk_by(|a, b| a == b);
        alike.map(|alike| Self { marked: alike[0], pieces: alike.len() as u8 }).collect()
    }
}
