//! Looking through lenses on the Box screen: pairs held together, and a lens without a mark.

use super::{Failure, pictures};
use crate::pictures::Album;

#[test]
fn pairs_that_are_held_together() -> Result<(), Failure> {
    let album = Album::of("box");
    pictures(&album, "pairs-1-asked", "Bh")?;
    pictures(&album, "pairs-2-answered", "Bh13")?;
    pictures(&album, "pairs-3-taken-back", "Bh13u")
}

#[test]
fn a_lens_that_nobody_knows() -> Result<(), Failure> {
    let album = Album::of("box");
    pictures(&album, "unknown-1-turned", "Bi")?;
    pictures(&album, "unknown-2-held", "Bi112")?;
    // +3.25 by a hand without noise: one of them is lost from this box
    pictures(&album, "unknown-3-found", "Bi122112")?;
    pictures(&album, "unknown-4-one-back", "Bi112u")
}
