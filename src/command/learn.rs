//! `dioptray learn`: the first exam of somebody who has never held a trial lens, step by step on the real screen.

use std::io::Write;

use clap::Args;

use super::start::{Sits, Start};
use super::{CAUTION, Context, Outcome};
use crate::practice::seat::Who;

/// Short-sighted and nothing else, so that a first exam comes to an end.
const CASE: &str = "kits/eyes/simple-myope.yaml";

/// The arguments of `dioptray learn`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Learn {
    #[command(flatten)]
    start: Start,
}

const EXAMPLES: &str = "Examples:
  dioptray learn

Ten minutes with a practice eye: at the bottom of the screen stands what to do now and with which key. It is practice: no record, \
box or day is touched.";

impl Learn {
    /// Opens the screen with it.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let who = Who::Case { name: CASE.into(), seed: 1 };
        self.start.run_practice(Sits { who, station: None, goes_on: false, learns: true }, context, out)
    }
}
