//! `dioptray practice` alone: a practice eye on the screen.

use std::io::Write;
use std::path::PathBuf;

use anyhow::Context as _;
use clap::Args;
use jiff::Timestamp;

use super::cases;
use crate::command::start::{Sits, Start};
use crate::command::{Context, Outcome, values};
use crate::practice::class::ClassCode;
use crate::practice::drills::Level;
use crate::practice::seat::Who;
use crate::practice::{Care, Law};

/// Which practice eye sits there.
#[derive(Debug, Args)]
pub struct Sit {
    /// A case that comes with the program, by its name, or a case file.
    #[arg(long, value_name = "NAME|FILE", value_parser = values::path(), conflicts_with = "level")]
    eye: Option<PathBuf>,
    /// A teacher's code: the same eyes for everybody who gives it; the first that has not ended.
    #[arg(long, value_name = "CODE", value_parser = values::text(), conflicts_with_all = ["eye", "level", "seed"])]
    code: Option<String>,
    /// Which eye of the code, from 1.
    #[arg(long, value_name = "N", requires = "code")]
    station: Option<u16>,
    /// An eye drawn as hard as this: 1 is easy, 2 as they come, 3 hard; 1 when nothing is said.
    #[arg(long, value_name = "L", value_parser = clap::value_parser!(u8).range(1..=3))]
    level: Option<u8>,
    /// The seed by which the eye is drawn and answers; if not given, the time.
    #[arg(long, value_name = "S")]
    seed: Option<u64>,
    #[command(flatten)]
    start: Start,
}

impl Sit {
    /// Opens the screen with it.
    pub(super) fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let goes_on = self.eye.is_none() && self.level.is_none() && self.seed.is_none() && self.code.is_none();
        let seed = self.seed.unwrap_or_else(|| Timestamp::now().as_nanosecond() as u64);
        let who = match (self.code, self.eye) {
            (Some(code), _) => Who::Coded(ClassCode::read(&code).context("--code")?),
            (None, Some(name)) => Who::Case { name: cases::file(&name)?, seed },
            (None, None) => Who::Drawn {
                level: self.level.and_then(Level::numbered).unwrap_or(Level::One),
                care: Care::Typical,
                law: Law::Written,
                seed,
            },
        };
        self.start.run_practice(Sits { who, station: self.station, goes_on, learns: false }, context, out)
    }
}
