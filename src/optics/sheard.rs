//! Sheard's criterion: how much prism makes a phoria comfortable.

use super::quantity::PrismDioptres;

/// The prism that leaves a reserve twice the phoria: two thirds of the phoria less one third of the reserve, none where the
/// reserve is twice the phoria already. `reserve` is of the vergence that makes up for the phoria, to the blur: base out for
/// an exophoria, base in for an esophoria. (As public teaching pages have it: exo 9, reserve 12: 2; eso 3,
/// reserve 8: none; phoria 6, reserve 3: 3.)
pub fn prism_wanted(phoria: PrismDioptres, reserve: PrismDioptres) -> PrismDioptres {
    PrismDioptres(f64::max((2.0 * phoria.0 - reserve.0) / 3.0, 0.0))
}
