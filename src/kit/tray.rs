//! The rows in which the pieces of a box lie.

use super::declared::TrayRow;
use super::lens::{Lens, PoweredKind};
use super::mark::Mark;
use super::stock::Stock;

/// The most pieces in a row of which the box file says nothing: about what a real tray has.
pub const MOST_IN_A_ROW: usize = 26;

/// The rows of a box as they lie, from the top.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tray {
    /// The rows; each lens of the set lies in one of them.
    pub rows: Vec<TrayRow>,
}

impl Tray {
    /// The rows that the file of the box names, and after them rows by kind and sign of every other lens that belongs to the
    /// set.
    pub fn of(declared: &[TrayRow], stock: &Stock) -> Self {
        let mut rows: Vec<TrayRow> = declared.to_vec();
        let mut others: Vec<(Lens, usize)> = Vec::new();
        for stocked in stock.pieces().iter().filter(|stocked| !stocked.place.has_left_the_set()) {
            let lens = &stocked.piece.lens;
            match others.iter_mut().find(|(other, _)| other == lens) {
                Some((_, pieces)) => *pieces += 1,
                None if declared.iter().any(|row| row.lenses.contains(lens)) => {}
                None => others.push((lens.clone(), 1)),
            }
        }
        for of_group in Group::EVERY {
            let mut group: Vec<(Lens, usize)> =
                others.iter().filter(|(lens, _)| Group::of(lens) == of_group).cloned().collect();
            // weaker before stronger; what has no mark as it came
            group.sort_by_key(|(lens, _)| lens.mark().map_or(0, |mark| mark.thousandths().abs()));
            rows.extend(of_group.rows(&group));
        }
        Self { rows }
    }

    /// In which row a lens lies, from 0.
    pub fn row_of(&self, lens: &Lens) -> Option<usize> {
        self.rows.iter().position(|row| row.lenses.contains(lens))
    }
}

/// What lies together where the file says nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Group {
    Plano,
    Plus(PoweredKind),
    Minus(PoweredKind),
    Unsigned(PoweredKind),
    Accessories,
}

impl Group {
    const EVERY: [Self; 8] = [
        Self::Minus(PoweredKind::Sphere),
        Self::Plano,
        Self::Plus(PoweredKind::Sphere),
        Self::Minus(PoweredKind::Cylinder),
        Self::Plus(PoweredKind::Cylinder),
        Self::Unsigned(PoweredKind::Prism),
        Self::Unsigned(PoweredKind::CrossCylinder),
        Self::Accessories,
    ];

    fn of(lens: &Lens) -> Self {
        let (Some(kind), Some(mark)) = (lens.powered_kind(), lens.mark()) else { return Self::Accessories };
        match (kind.is_signed(), mark.thousandths().signum()) {
            (true, 0) => Self::Plano,
            (true, 1) => Self::Plus(kind),
            (true, _) => Self::Minus(kind),
            (false, _) => Self::Unsigned(kind),
        }
    }

    fn word(self) -> String {
        match self {
            Self::Plano => "plano".to_owned(),
            Self::Plus(kind) => format!("{}s +", kind.word()),
            Self::Minus(kind) => format!("{}s -", kind.word()),
            Self::Unsigned(kind) => format!("{}s", kind.word()),
            Self::Accessories => "accessories".to_owned(),
        }
    }

    /// Rows of about one length, as few as there can be; the pieces of a lens lie together.
    fn rows(self, lenses: &[(Lens, usize)]) -> Vec<TrayRow> {
        let pieces: usize = lenses.iter().map(|(_, pieces)| pieces).sum();
        let aim = pieces.div_ceil(pieces.div_ceil(MOST_IN_A_ROW).max(1));
        let mut rows: Vec<(Vec<Lens>, usize)> = Vec::new();
        for (lens, pieces) in lenses {
            match rows.last_mut() {
                Some((row, so_far)) if *so_far < aim && *so_far + pieces <= MOST_IN_A_ROW => {
                    row.push(lens.clone());
                    *so_far += pieces;
                }
                _ => rows.push((vec![lens.clone()], *pieces)),
            }
        }
        let alone = rows.len() == 1;
        let named = rows.into_iter().map(|(lenses, _)| TrayRow { name: self.name(&lenses, alone), lenses });
        named.collect()
    }

    fn name(self, lenses: &[Lens], alone: bool) -> String {
        let marks: Vec<String> = lenses.iter().filter_map(Lens::mark).map(Mark::unsigned).collect();
        match marks.as_slice() {
            [first, .., last] if !alone => format!("{}, {first} to {last}", self.word()),
            [one] if !alone => format!("{}, {one}", self.word()),
            _ => self.word(),
        }
    }
}
