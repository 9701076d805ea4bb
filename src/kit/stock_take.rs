//! A stock-take: the rows of the tray, what is said of each piece, and what it comes to.
//!
//! Values only. What is said is held against the box as it was when the count began and as it is when it ends: exams and
//! other keepers go on meanwhile, and what they changed is reported and never overwritten.

use std::collections::BTreeMap;
use std::fmt;

use serde::{Deserialize, Serialize};

use super::change::{BoxChange, Measurement};
use super::lens::{Lens, Piece};
use super::pieces::{Place, StockedPiece};
use super::stock::Stock;
use super::tray::Tray;

/// What is said of a piece that the box should have.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Said {
    /// It lies there, whole or as it was known to be.
    Here,
    /// It does not lie there.
    Missing,
    /// It lies there and is damaged.
    Damaged {
        /// What is the matter with it, if that was said.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        what: Option<String>,
    },
}

impl Said {
    /// Whether the piece lies there.
    pub fn is_there(&self) -> bool {
        match self {
            Self::Here | Self::Damaged { .. } => true,
            Self::Missing => false,
        }
    }
}

/// A row of the tray as it is counted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CountRow {
    /// What it is called.
    pub name: String,
    /// The lenses that lie in it, from left to right.
    pub lenses: Vec<Lens>,
    /// Whether it was said that it is as shown.
    pub counted: bool,
    /// Lenses that nobody knows, as they were described: `unmarked, weak plus`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub strange: Vec<String>,
}

/// What a second person counted who did not see what should be there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BlindCount {
    /// The lens.
    pub lens: Lens,
    /// How many pieces of it lay there.
    pub pieces: u8,
}

/// What a stock-take found of one lens; the parts add up to the pieces that should be there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LensCounted {
    /// The lens.
    pub lens: Lens,
    /// Whole pieces that lay there.
    pub here: u8,
    /// Damaged pieces that lay there.
    pub damaged: u8,
    /// Pieces that did not lie there, lent ones among them.
    pub missing: u8,
    /// Pieces that lay there beyond those that the box should have.
    pub more: u8,
}

/// A count in progress.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StockTake {
    rows: Vec<CountRow>,
    /// What was known of each piece of the set when the count began.
    began_with: Vec<StockedPiece>,
    #[serde(default)]
    said: BTreeMap<Piece, Said>,
    #[serde(default)]
    more: Vec<Lens>,
    #[serde(default)]
    measured: Vec<(Piece, Measurement)>,
    #[serde(default)]
    blind: Vec<BlindCount>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    note: Option<String>,
}

/// A piece of which something else became known while the count went on, so that nothing is noted of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Meanwhile {
    /// The piece.
    pub piece: Piece,
    /// Where it was known to be when the count began.
    pub was: Place,
    /// Where it is known to be now.
    pub now: Place,
    /// What the count says of it.
    pub said: Said,
}

/// A lens that two persons counted differently.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CountedTwice {
    /// The lens.
    pub lens: Lens,
    /// How many the first one found, those beyond the set among them.
    pub first: u8,
    /// How many the second one found.
    pub blind: u8,
}

/// What a stock-take comes to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ending {
    /// What is to be noted, in one entry.
    pub changes: Vec<BoxChange>,
    /// What became known otherwise meanwhile, of which nothing is noted.
    pub meanwhile: Vec<Meanwhile>,
    /// Rows of which nobody said that they are as shown: nothing is noted of what was not said there.
    pub not_counted: Vec<String>,
    /// Lenses that nobody knows, with the row where they lie.
    pub strange: Vec<(String, String)>,
    /// What two persons counted differently.
    pub counted_twice: Vec<CountedTwice>,
    /// What was found of each lens that was counted.
    pub count: Vec<LensCounted>,
    /// What is to be remembered of the count.
    pub note: Option<String>,
}

/// A lens of which two stock-takes found something else.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// What the earlier one found; nothing where that did not count the lens.
    pub before: Option<LensCounted>,
    /// What the later one found.
    pub now: LensCounted,
}

impl StockTake {
    /// A count of the rows of a tray that begins with what is known of the box.
    pub fn begin(tray: &Tray, stock: &Stock) -> Self {
        let row = |row: &super::declared::TrayRow| CountRow {
            name: row.name.clone(),
            lenses: row.lenses.clone(),
            counted: false,
            strange: Vec::new(),
        };
        let of_the_set = stock.pieces().iter().filter(|stocked| !stocked.place.has_left_the_set());
        Self {
            rows: tray.rows.iter().map(row).collect(),
            began_with: of_the_set.cloned().collect(),
            said: BTreeMap::new(),
            more: Vec::new(),
            measured: Vec::new(),
            blind: Vec::new(),
            note: None,
        }
    }

    /// The rows, in the order of the tray.
    pub fn rows(&self) -> &[CountRow] {
        &self.rows
    }

    /// The pieces that should lie in a row, as they were known to be when the count began.
    pub fn pieces_of_row(&self, row: usize) -> impl Iterator<Item = &StockedPiece> {
        let lenses = self.rows.get(row).map(|row| row.lenses.as_slice()).unwrap_or_default();
        lenses.iter().flat_map(|lens| self.pieces_of(lens))
    }

    /// The pieces of a lens that the set has, as they were known to be when the count began.
    pub fn pieces_of<'a>(&'a self, lens: &Lens) -> impl Iterator<Item = &'a StockedPiece> + use<'a> {
        let lens = lens.clone();
        self.began_with.iter().filter(move |stocked| stocked.piece.lens == lens)
    }

    /// The first row that was not yet said to be as shown.
    pub fn next_row(&self) -> Option<usize> {
        self.rows.iter().position(|row| !row.counted)
    }

    /// What is expected of a piece: what is said of it by saying that its row is as shown.
    fn expected(stocked: &StockedPiece) -> Said {
        // what stands before an eye is in the box again after the exam
        match (stocked.place.is_at_hand(), stocked.damaged) {
            (true, true) => Said::Damaged { what: None },
            (true, false) => Said::Here,
            (false, _) => Said::Missing,
        }
    }

    /// What a row shows of a piece: what was said of it, or else what is expected.
    pub fn shown(&self, stocked: &StockedPiece) -> Said {
        self.said(&stocked.piece).cloned().unwrap_or_else(|| Self::expected(stocked))
    }

    /// What was said of a piece, apart from its row.
    pub fn said(&self, piece: &Piece) -> Option<&Said> {
        self.said.get(piece)
    }

    /// Says something of one piece.
    pub fn say(&mut self, piece: &Piece, said: Said) {
        self.said.insert(piece.clone(), said);
    }

    /// Takes back what was said of a piece.
    pub fn unsay(&mut self, piece: &Piece) {
        self.said.remove(piece);
        self.measured.retain(|(measured, _)| measured != piece);
    }

    /// Says what was measured of a piece that lies there.
    pub fn measure(&mut self, piece: &Piece, measurement: Measurement) {
        self.measured.retain(|(measured, _)| measured != piece);
        self.measured.push((piece.clone(), measurement));
    }

    /// Says that a row is as shown, but for what was said of single pieces; or that it is to be counted again.
    pub fn count_row(&mut self, row: usize, counted: bool) {
        if let Some(row) = self.rows.get_mut(row) {
            row.counted = counted;
        }
    }

    /// Says that one more piece of a lens lies there than is shown: where one alike is missing it is that one, which is given;
    /// else there is one more than the set has.
    pub fn one_more(&mut self, lens: &Lens) -> Option<Piece> {
        let is_missing = |of: &&StockedPiece| !of.place.is_lent() && self.shown(of) == Said::Missing;
        let missing = self.pieces_of(lens).find(is_missing).map(|of| of.piece.clone());
        match &missing {
            Some(piece) => self.say(piece, Said::Here),
            None => self.more.push(lens.clone()),
        }
        missing
    }

    /// Takes one back that is more than the set has. Whether there was one.
    pub fn one_less(&mut self, lens: &Lens) -> bool {
        let last = self.more.iter().rposition(|more| more == lens);
        last.map(|at| self.more.remove(at)).is_some()
    }

    /// How many more pieces of a lens lie there than the set has.
    pub fn more_of(&self, lens: &Lens) -> u8 {
        self.more.iter().filter(|more| *more == lens).count().min(usize::from(u8::MAX)) as u8
    }

    /// Notes a lens in a row that nobody knows, in words.
    pub fn strange(&mut self, row: usize, what: &str) {
        if let Some(row) = self.rows.get_mut(row) {
            row.strange.push(what.to_owned());
        }
    }

    /// Notes what a second person counted of a lens without seeing what should be there.
    pub fn count_blind(&mut self, lens: &Lens, pieces: u8) {
        self.blind.retain(|blind| blind.lens != *lens);
        self.blind.push(BlindCount { lens: lens.clone(), pieces });
    }

    /// What a second person counted of a lens.
    pub fn blind_count(&self, lens: &Lens) -> Option<u8> {
        self.blind.iter().find(|blind| blind.lens == *lens).map(|blind| blind.pieces)
    }

    /// What is to be remembered of the count.
    pub fn note(&self) -> Option<&str> {
        self.note.as_deref()
    }

    /// Writes down what is to be remembered of the count, in place of what was written down before; nothing takes it back.
    pub fn write_note(&mut self, note: Option<String>) {
        self.note = note;
    }

    /// Says how many whole and damaged pieces of a lens lie there, whichever they are, and how many whole ones beyond those of
    /// the set: pieces that are known to be as they are found count first, and what is missing is what was not there before
    /// either where that can be. No piece is lost while one alike is too many: what is more fills first what should lie there.
    ///
    /// # Errors
    /// When there are more than the set has: how many that is.
    pub fn count_lens(&mut self, lens: &Lens, here: u8, damaged: u8, more: u8) -> Result<(), usize> {
        let mut pieces: Vec<StockedPiece> = self.pieces_of(lens).cloned().collect();
        if usize::from(here) + usize::from(damaged) > pieces.len() {
            return Err(pieces.len());
        }
        let should_lie_there = pieces.iter().filter(|stocked| !stocked.place.is_lent()).count();
        let lacking = should_lie_there.saturating_sub(usize::from(here) + usize::from(damaged));
        let fills = more.min(u8::try_from(lacking).unwrap_or(u8::MAX));
        let here = here + fills;
        self.more.extend((fills..more).map(|_| lens.clone()));
        pieces.sort_by_key(|stocked| (!stocked.place.is_at_hand(), stocked.place != Place::Lost, stocked.damaged));
        let there = usize::from(here) + usize::from(damaged);
        let (mut there, missing) = {
            let missing = pieces.split_off(there);
            (pieces, missing)
        };
        there.sort_by_key(|stocked| stocked.damaged);
        for (at, stocked) in there.iter().enumerate() {
            let said = if at < usize::from(here) { Said::Here } else { Said::Damaged { what: None } };
            self.say(&stocked.piece, said);
        }
        for stocked in &missing {
            self.say(&stocked.piece, Said::Missing);
        }
        Ok(())
    }

    /// Whether something is known of a piece from this count: it was said, or its row is as shown.
    fn is_counted(&self, row: &CountRow, stocked: &StockedPiece) -> bool {
        row.counted || self.said.contains_key(&stocked.piece)
    }

    /// What it comes to, with the box as it is known to be now.
    pub fn ending(&self, now: &Stock) -> Ending {
        let mut ending = Ending { note: self.note.clone(), ..Ending::default() };
        for row in &self.rows {
            if !row.counted
                && row
                    .lenses
                    .iter()
                    .flat_map(|lens| self.pieces_of(lens))
                    .any(|one| !self.said.contains_key(&one.piece))
            {
                ending.not_counted.push(row.name.clone());
            }
            ending.strange.extend(row.strange.iter().map(|what| (row.name.clone(), what.clone())));
            for lens in &row.lenses {
                self.add_lens(row, lens, now, &mut ending);
            }
        }
        for lens in &self.more {
            ending.changes.push(BoxChange::Added(lens.clone().into()));
            match ending.count.iter_mut().find(|counted| counted.lens == *lens) {
                Some(counted) => counted.more += 1,
                None => ending.count.push(LensCounted { lens: lens.clone(), here: 0, damaged: 0, missing: 0, more: 1 }),
            }
        }
        for BlindCount { lens, pieces } in &self.blind {
            let counted = ending.count.iter().find(|counted| counted.lens == *lens);
            let Some(first) = counted.map(|counted| counted.here + counted.damaged + counted.more) else { continue };
            if first != *pieces {
                ending.counted_twice.push(CountedTwice { lens: lens.clone(), first, blind: *pieces });
            }
        }
        ending
    }

    fn add_lens(&self, row: &CountRow, lens: &Lens, now: &Stock, ending: &mut Ending) {
        let mut counted = LensCounted { lens: lens.clone(), here: 0, damaged: 0, missing: 0, more: 0 };
        let mut any = false;
        for stocked in self.pieces_of(lens).filter(|stocked| self.is_counted(row, stocked)) {
            any = true;
            let said = self.shown(stocked);
            match &said {
                Said::Here => counted.here += 1,
                Said::Damaged { .. } => counted.damaged += 1,
                Said::Missing => counted.missing += 1,
            }
            let Some(is) = now.get(&stocked.piece) else { continue };
            let same_place = is.place == stocked.place || is.place.is_at_hand() && stocked.place.is_at_hand();
            let (agrees, in_use) = (said.is_there() == is.place.is_at_hand(), is.place.is_before_an_eye());
            if !agrees && (!same_place || in_use) {
                let (piece, was) = (stocked.piece.clone(), stocked.place.clone());
                ending.meanwhile.push(Meanwhile { piece, was, now: is.place.clone(), said });
                continue;
            }
            ending.changes.extend(to_note(is, said));
            let measured = self.measured.iter().find(|(piece, _)| *piece == is.piece);
            ending.changes.extend(measured.map(|(piece, measurement)| BoxChange::Measured {
                piece: piece.clone(),
                measurement: measurement.clone(),
            }));
        }
        if any {
            ending.count.push(counted);
        }
    }
}

/// What is to be noted so that a piece is as it was said to be.
fn to_note(is: &StockedPiece, said: Said) -> Vec<BoxChange> {
    let piece = || is.piece.clone();
    let mut changes = Vec::new();
    if said.is_there() && (is.place == Place::Lost || is.place.is_in_two_places()) {
        changes.push(BoxChange::Found(piece()));
    } else if said.is_there() && is.place.is_lent() {
        changes.push(BoxChange::Returned(piece()));
    } else if !said.is_there() && is.place == Place::Box {
        changes.push(BoxChange::Lost(piece()));
    }
    match said {
        Said::Damaged { what } if !is.damaged => changes.push(BoxChange::Damaged { piece: piece(), what }),
        Said::Here if is.damaged => changes.push(BoxChange::Mended(piece())),
        Said::Here | Said::Damaged { .. } | Said::Missing => {}
    }
    changes
}

impl LensCounted {
    fn in_words(&self) -> String {
        let Self { lens: _, here, damaged, missing, more } = self;
        format!("{here} whole, {damaged} damaged, {missing} missing, {more} more")
    }
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let before = self.before.as_ref().map_or_else(|| "not counted".to_owned(), LensCounted::in_words);
        write!(f, "{}: {before}; now {}", self.now.lens, self.now.in_words())
    }
}

/// The lenses of which a stock-take found something else than the one before it.
pub fn differences(before: &[LensCounted], now: &[LensCounted]) -> Vec<Difference> {
    let earlier = |lens: &Lens| before.iter().find(|counted| counted.lens == *lens).cloned();
    let all = now.iter().map(|counted| Difference { before: earlier(&counted.lens), now: counted.clone() });
    all.filter(|difference| difference.before.as_ref() != Some(&difference.now)).collect()
}
