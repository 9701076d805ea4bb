//! A picture as sixels: bands of six rows, each tone after the other (VT330/VT340 Programmer Reference Manual, volume 2,
//! chapter 14, from memory).
//!
//! A picture here has tones of one ramp alone, so none are looked for among its pixels: that, and enlarging it on the way, makes
//! this several times as fast as an encoder of photographs (14 to 20 ms for a picture of 600 pixels a side).

use std::fmt::Write as _;

use super::super::ramp::Ramp;
use crate::practice::picture::raster::Grid;

/// Tones, each in a register of its own: with the 16 of a VT340 the steps between them would look like edges of the picture.
pub const TONES: usize = 64;
/// Rows of a band.
const BAND: usize = 6;
/// The character of a column of a band without a pixel of the tone.
const NONE: u8 = b'?';
/// A run of fewer is shorter when it is written out.
const LEAST_RUN: usize = 4;

/// A picture enlarged to so many pixels, without anything before or after it.
pub fn encoded(grid: &Grid, columns: usize, rows: usize, ramp: &Ramp) -> String {
    let mut sixels = format!("\u{1b}P7;1;0q\"1;1;{columns};{rows}");
    for tone in 0..TONES {
        // of red, green and blue a register has percents
        let [red, green, blue] = ramp.rgb(level_of(tone)).map(|part| (u32::from(part) * 100 + 127) / 255);
        // writing to a text does not fail
        let _ = write!(sixels, "#{tone};2;{red};{green};{blue}");
    }
    let across = Between::of(columns, grid.columns());
    let mut levels = vec![0.0; grid.columns()];
    let mut tones = vec![0; columns * BAND];
    let mut of_tones = vec![0; columns * TONES];
    for top in (0..rows).step_by(BAND) {
        let high = BAND.min(rows - top);
        for (row, tones) in (top..top + high).zip(tones.chunks_mut(columns.max(1))) {
            let between = Between::at(row, rows, grid.rows());
            let above_and_below = grid.row(between.first).iter().zip(grid.row(between.second));
            for (level, (&above, &below)) in levels.iter_mut().zip(above_and_below) {
                *level = between.mix(above, below);
            }
            for (tone, between) in tones.iter_mut().zip(&across) {
                *tone = tone_of(between.mix(levels[between.first], levels[between.second]));
            }
        }
        write_band(&mut sixels, &tones[..columns * high], columns, &mut of_tones);
    }
    sixels.push_str("\u{1b}\\");
    sixels
}

/// The tone of a level from 0 to 1.
fn tone_of(level: f64) -> u8 {
    (level * (TONES - 1) as f64 + 0.5) as u8
}

/// The level that a tone stands for.
fn level_of(tone: usize) -> f64 {
    tone as f64 / (TONES - 1) as f64
}

/// Between which two of the pixels that were computed a pixel lies.
struct Between {
    first: usize,
    second: usize,
    /// How far it lies towards the second, from 0 to 1.
    share: f64,
}

impl Between {
    /// What lies there, between what the two are.
    fn mix(&self, first: f64, second: f64) -> f64 {
        first + self.share * (second - first)
    }

    /// That of one of so many pixels that are made of so many.
    fn at(pixel: usize, pixels: usize, computed: usize) -> Self {
        let last = computed.saturating_sub(1);
        let place = ((pixel as f64 + 0.5) * computed as f64 / pixels as f64 - 0.5).clamp(0.0, last as f64);
        let first = place.floor() as usize;
        Self { first, second: (first + 1).min(last), share: place - first as f64 }
    }

    /// That of each of so many pixels that are made of so many.
    fn of(pixels: usize, computed: usize) -> Vec<Self> {
        (0..pixels).map(|pixel| Self::at(pixel, pixels, computed)).collect()
    }
}

/// Writes a band, told by the tone of each pixel of its rows, and goes on to the next one. What is written of each tone is put
/// together in `of_tones`, which is left empty as it came.
fn write_band(sixels: &mut String, tones: &[u8], columns: usize, of_tones: &mut [u8]) {
    let mut used = [false; TONES];
    for (row, tones) in tones.chunks(columns.max(1)).enumerate() {
        for (column, &tone) in tones.iter().enumerate() {
            of_tones[usize::from(tone) * columns + column] |= 1 << row;
            used[usize::from(tone)] = true;
        }
    }
    for (tone, of_tone) in of_tones.chunks_mut(columns.max(1)).enumerate().filter(|(tone, _)| used[*tone]) {
        let _ = write!(sixels, "#{tone}");
        let last = of_tone.iter().rposition(|&bits| bits > 0).map_or(0, |last| last + 1);
        for run in of_tone[..last].chunk_by(|one, other| one == other) {
            let symbol = char::from(NONE + run[0]);
            if run.len() < LEAST_RUN {
                sixels.extend(std::iter::repeat_n(symbol, run.len()));
            } else {
                let _ = write!(sixels, "!{}{symbol}", run.len());
            }
        }
        of_tone.fill(0);
        // the next tone begins at the left again
        sixels.push('$');
    }
    sixels.push('-');
}
