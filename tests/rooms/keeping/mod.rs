//! Keeping a box.

mod held_together;
mod unknown_lens;
