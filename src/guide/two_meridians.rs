//! Two meridians brought to reversal, written as one power.

use thiserror::Error;

use super::ladder::retinoscopy::working_lens;
use super::ladder::slit::from_principal_powers;
use crate::optics::bounds::{self, OutOfRange};
use crate::optics::{Axis, Dioptres, Power};

/// A meridian and the power that brought it to reversal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reversed {
    /// The swept meridian, in which the power acts; the streak lies across it.
    pub meridian: Axis,
    /// The gross power: all that stood in the cells.
    pub gross: Dioptres,
}

/// Meridians that make no power.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum MeridianError {
    /// The meridians are not at right angles.
    #[error("meridians {0} and {1} are not at right angles: give the two principal ones, such as {0} and {2}")]
    NotAtRightAngles(Axis, Axis, Axis),
    /// The working distance is out of range.
    #[error(transparent)]
    Distance(#[from] OutOfRange),
}

/// The power of two meridians at right angles, less the working distance in metres.
///
/// # Errors
/// When the meridians are not at right angles or the distance is outside [`bounds::WORKING_M`].
///
/// # Example
/// ```
/// use dioptray::guide::{Reversed, net_of_two_meridians};
/// use dioptray::optics::{Axis, Dioptres};
/// // question mrcophth mock 8 station 5: at 2/3 m, 180 reverses at +2.25 and 90 at +3.00
/// let first = Reversed { meridian: Axis::folded(180), gross: Dioptres(2.25) };
/// let second = Reversed { meridian: Axis::folded(90), gross: Dioptres(3.00) };
/// let net = net_of_two_meridians(first, second, 2.0 / 3.0)?.minus_form();
/// assert!((net.sphere - 1.50).abs() < 1e-9 && (net.cylinder + 0.75).abs() < 1e-9 && (net.axis - 90.0).abs() < 1e-9);
/// # Ok::<(), dioptray::guide::MeridianError>(())
/// ```
pub fn net_of_two_meridians(first: Reversed, second: Reversed, working_metres: f64) -> Result<Power, MeridianError> {
    let metres = bounds::WORKING_M.check(working_metres)?;
    let across = first.meridian.perpendicular();
    if across != second.meridian {
        return Err(MeridianError::NotAtRightAngles(first.meridian, second.meridian, across));
    }
    let gross = from_principal_powers(first.meridian, first.gross.0, second.gross.0);
    Ok(gross + Power::sphere(Dioptres(-working_lens(metres).0)))
}
