//! A grid as a terminal can show it: ten ASCII levels, or half blocks of two greys. A cell of the terminal is taken to be twice
//! as high as wide, so it holds two square pixels, one above the other.

use super::raster::Grid;

/// The ten levels, from nothing to full.
pub const ASCII: [char; 10] = [' ', '.', ':', '-', '=', '+', '*', '#', '%', '@'];

/// The two greys of a cell, from 0 (nothing) to 1 (full): what is full is black on paper or bright on a dark screen, as
/// whoever draws it chooses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HalfBlocks {
    /// The upper half.
    pub upper: f64,
    /// The lower half; nothing where the last row has no partner.
    pub lower: f64,
}

/// The cells of a grid, row by row from the top.
pub fn half_blocks(grid: &Grid) -> Vec<Vec<HalfBlocks>> {
    (0..grid.rows().div_ceil(2))
        .map(|cell| {
            let halves =
                |column| HalfBlocks { upper: grid.level(column, 2 * cell), lower: grid.level(column, 2 * cell + 1) };
            (0..grid.columns()).map(halves).collect()
        })
        .collect()
}

/// The cells of a grid as lines of ASCII, each the mean of its two halves.
pub fn ascii(grid: &Grid) -> Vec<String> {
    half_blocks(grid)
        .iter()
        .map(|cells| cells.iter().map(|cell| ascii_level(f64::midpoint(cell.upper, cell.lower))).collect())
        .collect()
}

/// The character of a level from 0 to 1: the nearest of ten.
pub fn ascii_level(level: f64) -> char {
    ASCII[(level.clamp(0.0, 1.0) * (ASCII.len() - 1) as f64).round() as usize]
}
