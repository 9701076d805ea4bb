//! Which lenses and pieces of a box are meant by what was typed: one, several alike, one piece, a series or a row.

use anyhow::{anyhow, bail};

use crate::kit::document::fault::quoted;
use crate::kit::series::read_series;
use crate::kit::{Accessory, Lens, Piece, PoweredKind, Stock, StockedPiece, Tray};

/// The most words that make up what is meant: `0.25 to 1.00 by 0.25 cross cylinder`.
const MOST_WORDS: usize = 8;

/// What was typed for some pieces.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Meant {
    /// This one piece.
    Piece(Piece),
    /// As many pieces of a lens; one where no number was said.
    Alike {
        /// The lens.
        lens: Lens,
        /// How many.
        pieces: usize,
    },
    /// One piece of each of several lenses.
    Each(Vec<Lens>),
    /// Every piece of a row of the tray to which it can happen.
    Row {
        /// What the row is called.
        name: String,
        /// Its lenses.
        lenses: Vec<Lens>,
    },
}

/// What the words of a command mean, several lenses one after the other, each quoted or not.
///
/// # Errors
/// When something is not the name of a lens.
pub fn meant(words: &[String], stock: &Stock, tray: &Tray, further: bool) -> anyhow::Result<Vec<Meant>> {
    let mut all = Vec::new();
    let mut rest = words;
    while let Some((first, others)) = rest.split_first() {
        let most = rest.len().min(MOST_WORDS);
        let found = (1..=most).rev().find_map(|taken| {
            let meant = read(&rest[..taken].join(" "), stock, tray).ok()?;
            is_there(&meant, stock, further, taken == 1).then_some((meant, &rest[taken..]))
        });
        if let Some((meant, behind)) = found {
            all.push(meant);
            rest = behind;
        } else {
            all.push(read(first, stock, tray)?);
            rest = others;
        }
    }
    Ok(all)
}

/// Whether what was read is a lens of the box, so that the words are to be taken so.
fn is_there(meant: &Meant, stock: &Stock, further: bool, is_one_word: bool) -> bool {
    match meant {
        Meant::Piece(piece) => stock.get(piece).is_some(),
        Meant::Alike { lens, .. } => {
            let known = lens.mark().is_some() || is_one_word;
            stock.of_lens(lens).next().is_some() || further && known
        }
        Meant::Each(_) | Meant::Row { .. } => true,
    }
}

/// What one text means.
///
/// # Errors
/// When it is not the name of a lens, or not as many as there can be.
pub fn read(text: &str, stock: &Stock, tray: &Tray) -> anyhow::Result<Meant> {
    let text = text.trim();
    if let Some(name) = text.strip_prefix("row ") {
        let row = tray.rows.iter().find(|row| row.name == name.trim());
        let row = row.ok_or_else(|| anyhow!("the tray has no row {}: `box list --rows` names them", quoted(name)))?;
        return Ok(Meant::Row { name: row.name.clone(), lenses: row.lenses.clone() });
    }
    if text.contains('#') {
        let Piece { lens, number } = text.parse()?;
        return Ok(Meant::Piece(Piece { lens: as_in(stock, lens), number }));
    }
    if text.contains(" to ") {
        return read_each(text);
    }
    if let Some((label, count)) = text.rsplit_once(char::is_whitespace)
        && let Some(count) = count.strip_prefix(['x', '×'])
    {
        let pieces: usize = count
            .parse()
            .ok()
            .filter(|count| (1..=99).contains(count))
            .ok_or_else(|| anyhow!("{}: after the lens comes how many, x1 to x99", quoted(text)))?;
        return Ok(Meant::Alike { lens: as_in(stock, label.trim().parse()?), pieces });
    }
    Ok(Meant::Alike { lens: as_in(stock, text.parse()?), pieces: 1 })
}

fn read_each(text: &str) -> anyhow::Result<Meant> {
    let mut kinds = PoweredKind::ALL;
    kinds.sort_by_key(|kind| std::cmp::Reverse(kind.word().len()));
    let series = kinds.into_iter().find_map(|kind| Some((kind, text.strip_suffix(kind.word())?.trim())));
    let Some((kind, powers)) = series else {
        bail!("{}: after a series comes its kind: \"+0.25 to +1.00 by 0.25 sphere\"", quoted(text))
    };
    read_series(kind, powers).map(Meant::Each).map_err(|refusal| anyhow!("{refusal}"))
}

/// An accessory of the box's own that has this name, whatever it does.
fn as_in(stock: &Stock, lens: Lens) -> Lens {
    if stock.of_lens(&lens).next().is_some() {
        return lens;
    }
    let name = lens.name().map(str::to_owned);
    let own = stock
        .pieces()
        .iter()
        .map(|stocked| &stocked.piece.lens)
        .find(|own| name.is_some() && own.name() == name.as_deref());
    own.cloned().unwrap_or(lens)
}

/// A lens that comes into a box by its name.
///
/// # Errors
/// When it is almost the name of an accessory that every box calls the same.
pub fn further_lens(lens: &Lens, stock: &Stock) -> anyhow::Result<()> {
    let Some(name) = lens.name().filter(|name| Accessory::known(name).is_none()) else { return Ok(()) };
    if stock.of_lens(lens).next().is_some() {
        return Ok(());
    }
    match Accessory::meant_by(name) {
        Some(known) => bail!("{} is too like the accessory `{known}`: did you mean `{known}`?", quoted(name)),
        None => Ok(()),
    }
}

/// The pieces that are meant: those to which it can happen come first, and none is chosen twice.
pub struct Choosing<'a> {
    /// The box as it is by now.
    pub stock: &'a Stock,
    /// Whether it can happen to a piece.
    pub fits: &'a dyn Fn(&StockedPiece) -> bool,
    /// What is to happen, for messages.
    pub word: &'a str,
    /// Whether the piece has to be named where there are several.
    pub of_one_piece: bool,
}

impl Choosing<'_> {
    /// The pieces that are meant.
    ///
    /// # Errors
    /// When the box has no such lens or not as many pieces to which it can happen.
    pub fn pieces(&self, meant: &Meant) -> anyhow::Result<Vec<Piece>> {
        match meant {
            Meant::Piece(piece) => Ok(vec![piece.clone()]),
            Meant::Alike { lens, pieces } => self.alike(lens, *pieces),
            Meant::Each(lenses) => {
                let each: Result<Vec<Vec<Piece>>, _> = lenses.iter().map(|lens| self.alike(lens, 1)).collect();
                Ok(each?.into_iter().flatten().collect())
            }
            Meant::Row { name, lenses } => {
                let fitting =
                    lenses.iter().flat_map(|lens| self.stock.of_lens(lens)).filter(|piece| (self.fits)(piece));
                let pieces: Vec<Piece> = fitting.map(|stocked| stocked.piece.clone()).collect();
                if pieces.is_empty() {
                    bail!("the row {name} has no piece that can be {}", self.word);
                }
                Ok(pieces)
            }
        }
    }

    fn alike(&self, lens: &Lens, wanted: usize) -> anyhow::Result<Vec<Piece>> {
        let all: Vec<&StockedPiece> =
            self.stock.of_lens(lens).filter(|stocked| !stocked.place.has_left_the_set()).collect();
        let box_name = &self.stock.box_name;
        if all.is_empty() && self.stock.of_lens(lens).next().is_none() {
            bail!("the box {box_name} has no {lens}");
        }
        if self.of_one_piece && (all.len() > 1 || wanted > 1) {
            bail!("the box {box_name} has {} of {lens}: say which one, like \"{lens} #1\"", all.len());
        }
        let fitting: Vec<&StockedPiece> = all.iter().copied().filter(|stocked| (self.fits)(stocked)).collect();
        let others = fitting.get(wanted..).unwrap_or_default();
        // one that is lost, or that somebody else has, is not taken for the one that is meant
        for one in fitting.iter().take(wanted) {
            if let Some(other) = others.iter().find(|other| other.place != one.place) {
                let (StockedPiece { piece, place, .. }, word) = (one, self.word);
                bail!("{piece} is {place} and {} is {}: name the one that is {word}", other.piece, other.place);
            }
        }
        if fitting.len() >= wanted {
            return Ok(fitting.into_iter().take(wanted).map(|one| one.piece.clone()).collect());
        }
        if wanted > 1 {
            let word = self.word;
            bail!("of {lens}, the box {box_name} has {} that can be {word}, not {wanted}", fitting.len());
        }
        // the box says why it cannot be
        let first = all.first().copied().or_else(|| self.stock.of_lens(lens).next());
        first.map(|stocked| vec![stocked.piece.clone()]).ok_or_else(|| anyhow!("the box {box_name} has no {lens}"))
    }
}
