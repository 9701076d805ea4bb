//! A proposal as it is written, for programs and for people.

use std::io::{self, Write};

use serde::Serialize;

use crate::command::json::{PowerJson, SureJson, no_minus_zero};
use crate::command::text;
use crate::frame::FittedFrame;
use crate::kit::Piece;
use crate::optics::{CylinderForm, Dioptres, Power};
use crate::stacking::proposal::stopped_early;
use crate::stacking::reason::lens_that_would_do;
use crate::stacking::{Cost, Found, PlacedLens, Proposal, SearchOptions};

/// A proposal for programs.
#[derive(Debug, Serialize)]
pub struct ProposalJson {
    cells: Vec<CellJson>,
    net: PowerJson,
    miss: f64,
    lenses: usize,
    cost: f64,
    cost_of: Cost,
    /// What a hand may spoil of it; null where that may bring the light to a focus.
    sure: Option<SureJson>,
}

/// Whether a search saw everything that could come before what it found.
#[derive(Debug, Serialize)]
pub struct CompleteJson {
    complete: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    bound: Option<f64>,
}

impl<T> From<&Found<T>> for CompleteJson {
    fn from(found: &Found<T>) -> Self {
        Self { complete: found.is_complete(), bound: found.bound }
    }
}

#[derive(Debug, Serialize)]
struct CellJson {
    cell: u8,
    lens: String,
    axis: Option<u16>,
}

impl ProposalJson {
    /// A proposal for a frame and the box beside it; `mark_tolerance` as the settings say.
    pub fn of(proposal: &Proposal, fitted: &FittedFrame, mark_tolerance: Option<Dioptres>) -> Self {
        let cell =
            |placed: &PlacedLens| CellJson { cell: placed.cell, lens: mark(&placed.piece), axis: placed.direction };
        Self {
            cells: proposal.cells.iter().map(cell).collect(),
            net: proposal.net.into(),
            miss: no_minus_zero(proposal.miss_d),
            lenses: proposal.cells.len(),
            cost: proposal.cost.total(),
            cost_of: proposal.cost,
            sure: proposal.sureness(fitted, mark_tolerance).as_ref().map(SureJson::from),
        }
    }
}

/// The mark of a piece, or its name when it has none.
fn mark(piece: &Piece) -> String {
    piece.lens.mark().map_or_else(|| piece.lens.to_string(), |mark| mark.to_string())
}

/// How proposals are written for people: with which frame and box, in which cylinder form, and how far a lens may be off its mark.
#[derive(Debug, Clone, Copy)]
pub struct Written<'a> {
    /// The frame and the box.
    pub fitted: &'a FittedFrame,
    /// The cylinder form in use.
    pub form: CylinderForm,
    /// As the settings say.
    pub mark_tolerance: Option<Dioptres>,
}

impl Written<'_> {
    /// A proposal for programs.
    pub fn json(self, proposal: &Proposal) -> ProposalJson {
        ProposalJson::of(proposal, self.fitted, self.mark_tolerance)
    }
}

/// All proposals for one eye and, when none reaches, the lens that would do.
///
/// # Errors
/// When they cannot be written.
pub fn write_for_people(
    out: &mut dyn Write,
    how: Written<'_>,
    wanted: Power,
    found: &Found<Proposal>,
    options: &SearchOptions,
) -> io::Result<()> {
    let proposals = &found.list;
    for (number, proposal) in (1..).zip(proposals) {
        write_one(out, how, number, wanted, proposal)?;
    }
    write_bound(out, found.bound)?;
    let Some(best) = proposals.first().filter(|_| !any_reaches(proposals)) else {
        return Ok(());
    };
    writeln!(out, "no stack reaches {}: the nearest misses by {:.2} D", text::power_in(how.form, wanted), best.miss_d)?;
    match lens_that_would_do(how.fitted, best.eye, wanted, options) {
        Some(lens) => writeln!(out, "with {lens} in the box it would be reached"),
        None => writeln!(out, "no single further lens would do"),
    }
}

/// One proposal on a few lines.
///
/// # Errors
/// When it cannot be written.
pub fn write_one(
    out: &mut dyn Write,
    how: Written<'_>,
    number: usize,
    wanted: Power,
    proposal: &Proposal,
) -> io::Result<()> {
    writeln!(out, "{number}  {} eye  {}", proposal.eye, proposal.lens_list())?;
    writeln!(out, "   {}", proposal.reason(how.fitted, wanted))?;
    for placed in proposal.by_kind() {
        let axis = placed.direction.map(|axis| format!("x{axis}")).unwrap_or_default();
        writeln!(out, "   cell {}  {}{axis}", placed.cell, mark(&placed.piece))?;
    }
    let (net, cost) = (text::power_in(how.form, proposal.net), proposal.cost.total());
    writeln!(out, "   net {net}  off by {:.2} D  cost {cost:.2} lenses", proposal.miss_d)?;
    if let Some(sure) = proposal.sureness(how.fitted, how.mark_tolerance) {
        for line in sure.in_words().into_iter().chain(sure.cares()) {
            writeln!(out, "   {line}")?;
        }
    }
    Ok(())
}

/// What a search that had to stop could not rule out.
///
/// # Errors
/// When it cannot be written.
pub fn write_bound(out: &mut dyn Write, bound: Option<f64>) -> io::Result<()> {
    match bound {
        Some(bound) => writeln!(out, "{}", stopped_early(bound)),
        None => Ok(()),
    }
}

/// Whether any of the proposals reaches the wanted power.
pub fn any_reaches(proposals: &[Proposal]) -> bool {
    proposals.iter().any(|proposal| proposal.reaches)
}
