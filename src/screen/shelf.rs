//! The drawer: the lenses of the box by kind and sign, what is free and what is where.

use crate::kit::{Lens, Stock, StockedPiece};

/// Makes the shelves and their names from one list, in the order in which they lie.
macro_rules! shelves {
    ($($(#[$doc:meta])* $shelf:ident: $name:literal;)+) => {
        /// A part of the drawer.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
        #[expect(missing_docs, reason = "the names say it")]
        pub enum Shelf {
            $($(#[$doc])* $shelf,)+
        }

        impl Shelf {
            const EVERY: &[Self] = &[$(Self::$shelf),+];

            /// Its name.
            pub fn name(self) -> &'static str {
                match self {
                    $(Self::$shelf => $name,)+
                }
            }
        }
    };
}

shelves! {
    /// Everything.
    All: "all lenses";
    #[default]
    MinusSpheres: "spheres -";
    /// Plus spheres, and plano.
    PlusSpheres: "spheres +";
    MinusCylinders: "cylinders -";
    PlusCylinders: "cylinders +";
    Prisms: "prisms";
    CrossCylinders: "cross cylinders";
    /// Pieces without power.
    Accessories: "accessories";
}

impl Shelf {
    /// The one shelf on which a lens lies.
    pub fn of(lens: &Lens) -> Self {
        match lens {
            Lens::Sphere(mark) if mark.dioptres() < 0.0 => Self::MinusSpheres,
            Lens::Sphere(_) => Self::PlusSpheres,
            Lens::Cylinder(mark) if mark.dioptres() < 0.0 => Self::MinusCylinders,
            Lens::Cylinder(_) => Self::PlusCylinders,
            Lens::Prism(_) => Self::Prisms,
            Lens::CrossCylinder(_) => Self::CrossCylinders,
            Lens::Accessory(_) => Self::Accessories,
        }
    }

    /// The shelf after or before this one on which the box has something.
    #[must_use]
    pub fn beside(self, stock: &Stock, after: bool) -> Self {
        let filled: Vec<Self> = Self::EVERY
            .iter()
            .copied()
            .filter(|shelf| *shelf == Self::All || stock.pieces().iter().any(|s| Self::of(&s.piece.lens) == *shelf))
            .collect();
        let at = filled.iter().position(|shelf| *shelf == self).unwrap_or(0);
        let step = if after { 1 } else { filled.len() - 1 };
        filled[(at + step) % filled.len()]
    }
}

/// One labelled place of the drawer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DrawerLine {
    /// What the label of the place says.
    pub lens: Lens,
    /// Pieces that can be taken, damaged ones included.
    pub free: usize,
    /// Damaged ones among them.
    pub damaged: usize,
    /// Where the others are, in words, and how many are there.
    pub elsewhere: Vec<(String, usize)>,
}

impl DrawerLine {
    /// Where the others are: `right 1, lost x2`.
    pub fn elsewhere_in_words(&self) -> String {
        let word =
            |(place, pieces): &(String, usize)| if *pieces > 1 { format!("{place} x{pieces}") } else { place.clone() };
        self.elsewhere.iter().map(word).collect::<Vec<_>>().join(", ")
    }
}

/// The lines of a shelf that contain the filter's text, weakest first.
pub fn lines(stock: &Stock, shelf: Shelf, filter: &str) -> Vec<DrawerLine> {
    let filter = filter.trim().replace('\u{2212}', "-");
    let mut lines: Vec<DrawerLine> = Vec::new();
    for stocked in stock.pieces().iter() {
        let lens = &stocked.piece.lens;
        let shown = shelf == Shelf::All || Shelf::of(lens) == shelf;
        if !shown || stocked.place.has_left_the_set() || !lens.to_string().contains(&filter) {
            continue;
        }
        let at = lines.iter().position(|line| line.lens == *lens).unwrap_or_else(|| {
            lines.push(DrawerLine { lens: lens.clone(), free: 0, damaged: 0, elsewhere: Vec::new() });
            lines.len() - 1
        });
        count(&mut lines[at], stocked);
    }
    lines.sort_by_key(|line| {
        let shelf = Shelf::of(&line.lens);
        let place = Shelf::EVERY.iter().position(|other| *other == shelf);
        let thousandths = line.lens.mark().map_or(0, |mark| (mark.dioptres().abs() * 1000.0).round() as u32);
        (place, thousandths, line.lens.clone())
    });
    lines
}

fn count(line: &mut DrawerLine, stocked: &StockedPiece) {
    // taken apart, so that whatever else is known of a piece is counted here or left out on purpose
    let StockedPiece { piece: _, place, damaged, measured: _ } = stocked;
    let elsewhere = match place.why_not_free() {
        None => {
            line.free += 1;
            line.damaged += usize::from(*damaged);
            return;
        }
        Some(why) => why.in_short(),
    };
    match line.elsewhere.iter_mut().find(|(place, _)| *place == elsewhere) {
        Some((_, pieces)) => *pieces += 1,
        None => line.elsewhere.push((elsewhere, 1)),
    }
}
