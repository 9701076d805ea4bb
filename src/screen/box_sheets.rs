//! Sheets of a box, asked for on its screen: which there are, and each made of what is computed by now.

use super::app::App;
use super::box_page::BoxPage;
use crate::export::table::Table;
use crate::keeping::pieces_for;
use crate::kit::{Piece, StockedPiece};
use crate::session::BoxOnRecord;
use crate::sheets::{self, Further, Handover, SheetKind, with_what_was_lost};

/// A sheet that can be asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetAsked {
    /// Which.
    pub kind: SheetKind,
    /// Whose, where it is of what somebody has.
    pub borrower: Option<String>,
    /// Of a bag of so many pieces, where it is of one.
    pub bag: usize,
}

impl SheetAsked {
    /// What it is, in words.
    pub fn about(&self) -> String {
        match (&self.borrower, self.kind) {
            (Some(borrower), _) => format!("what {borrower} has, to tick"),
            (None, SheetKind::Pick) => format!("what to take out for a bag of {} pieces", self.bag),
            (None, kind) => kind.about().to_owned(),
        }
    }
}

/// Every sheet that can be asked for: one to check in for each who has something.
pub fn sheets_of(page: &BoxPage, bag: usize) -> Vec<SheetAsked> {
    let mut borrowers: Vec<&str> = page.now.loans.iter().filter_map(|loan| loan.to.as_deref()).collect();
    borrowers.dedup();
    let of_kind = |kind: SheetKind| {
        let one = |borrower: Option<&str>| SheetAsked { kind, borrower: borrower.map(str::to_owned), bag };
        match kind {
            SheetKind::CheckIn => borrowers.iter().map(|borrower| one(Some(borrower))).collect(),
            SheetKind::Order
            | SheetKind::Pick
            | SheetKind::Loans
            | SheetKind::Labels
            | SheetKind::Verify
            | SheetKind::StockTake
            | SheetKind::Keeper => vec![one(None)],
        }
    };
    SheetKind::ALL.into_iter().flat_map(of_kind).collect()
}

impl BoxPage {
    /// The chosen sheet, where sheets are shown.
    pub fn chosen_sheet(&self) -> Option<SheetAsked> {
        let (chosen, bag) = self.shown.sheets()?;
        sheets_of(self, bag).into_iter().nth(chosen)
    }
}

/// What an order adds to, and of whom shares are, in words.
const SHARE: &str = "with at most 2 lenses, both eyes alike";
const PEOPLE: &str = "the public table";

/// What a sheet waits for that is being computed.
pub const WAITS: &str = "what this sheet says is being computed: enter again in a moment";

impl App {
    /// A sheet of the box that is shown; what is not computed yet is begun.
    ///
    /// # Errors
    /// Why it cannot be made, in words.
    pub fn sheet(&self, page: &BoxPage, asked: &SheetAsked, on: &BoxOnRecord) -> Result<Table, String> {
        let of = &on.of_box();
        Ok(match asked.kind {
            SheetKind::Order => {
                let replaced = with_what_was_lost(&page.now.stock);
                let advice = self.advised(&replaced, &page.buying).ok_or(WAITS)?;
                let prices = page.buying.prices.as_ref().map(|list| list.offers.clone()).unwrap_or_default();
                sheets::order(of, Further { buy: &advice.buy, share: SHARE }, &prices)
            }
            SheetKind::Pick => {
                let packed = self.packed(&page.now.stock, asked.bag).ok_or(WAITS)?;
                let found = pieces_for(&page.now.stock, &packed.bag.take, &packed.beside, &StockedPiece::is_free)
                    .map_err(|lens| format!("{lens} stands before an eye: take it out there first"))?;
                let pieces: Vec<Piece> = found.into_iter().map(|stocked| stocked.piece).collect();
                sheets::pick(of, &pieces)
            }
            SheetKind::CheckIn => {
                let borrower = asked.borrower.as_deref().unwrap_or_default();
                let lent = |stocked: &&StockedPiece| stocked.place.is_lent_to(borrower);
                let pieces = on.record.stock.pieces().iter().filter(lent).map(|stocked| stocked.piece.clone());
                sheets::check_in(of, &format!("what {borrower} has"), &pieces.collect::<Vec<_>>())
            }
            SheetKind::Loans => sheets::loans(of, None),
            SheetKind::Labels => sheets::labels(of),
            SheetKind::Verify => sheets::verification(of, page.limits),
            SheetKind::StockTake => sheets::stock_take(of, false),
            SheetKind::Keeper => {
                let coverage = self.makes(&page.now.stock, true).ok_or(WAITS)?;
                let both = coverage.both_eyes.ok_or(WAITS)?;
                sheets::keeper(of, Handover { file: &on.file, makes: (coverage.one_eye, both, PEOPLE) })
            }
        })
    }
}
