//! The search for stacks: against exhaustive enumeration by cost, and what is proposed.
#![expect(clippy::unwrap_used, clippy::panic, reason = "a test that cannot set itself up must stop")]

mod boxes;
mod colleague;
mod enumeration;
mod optimum;
mod pairs;
mod proposals;
mod work;
