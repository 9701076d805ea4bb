//! Which sheets there are.

/// A sheet of a keeper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SheetKind {
    /// What to buy.
    Order,
    /// What to take out.
    Pick,
    /// What has to come back.
    CheckIn,
    /// Who has what.
    Loans,
    /// What stands on the rows of the tray.
    Labels,
    /// What was measured, and what to measure.
    Verify,
    /// A count on paper.
    StockTake,
    /// One page for the next keeper.
    Keeper,
}

impl SheetKind {
    /// All of them.
    pub const ALL: [Self; 8] = [
        Self::Order,
        Self::Pick,
        Self::CheckIn,
        Self::Loans,
        Self::Labels,
        Self::Verify,
        Self::StockTake,
        Self::Keeper,
    ];

    /// Its name on the command line; a file of it is called so too unless somebody calls it otherwise.
    pub fn name(self) -> &'static str {
        match self {
            Self::Order => "order",
            Self::Pick => "pick",
            Self::CheckIn => "check-in",
            Self::Loans => "loans",
            Self::Labels => "labels",
            Self::Verify => "verify",
            Self::StockTake => "stock-take",
            Self::Keeper => "keeper",
        }
    }

    /// What it is for, in few words.
    pub fn about(self) -> &'static str {
        match self {
            Self::Order => "what to buy, first what was lost",
            Self::Pick => "what to take out for a bag, by the tray",
            Self::CheckIn => "what is still away, to tick",
            Self::Loans => "who has what, and what is overdue",
            Self::Labels => "what stands on the rows of the tray",
            Self::Verify => "what was measured, and places to measure",
            Self::StockTake => "a count on paper, to fill in and sign",
            Self::Keeper => "one page for the next keeper",
        }
    }
}
