//! `dioptray completions`: completions for a shell.

use std::io::Write;

use clap::Args;
use clap_complete::{Shell, generate};
use serde::Serialize;

use super::json::write_line;
use super::{CAUTION, Context, Outcome};

/// The arguments of `dioptray completions`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLE}\n\n{CAUTION}"))]
pub struct Completions {
    /// The shell.
    shell: Shell,
}

const EXAMPLE: &str = "Example:\n  dioptray completions bash > ~/.local/share/bash-completion/completions/dioptray";

#[derive(Serialize)]
struct CompletionsJson {
    shell: String,
    script: String,
}

impl Completions {
    /// Writes the completions of the whole program.
    pub fn run(self, program: &mut clap::Command, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let mut script = Vec::new();
        generate(self.shell, program, "dioptray", &mut script);
        if context.json {
            write_line(out, &CompletionsJson { shell: self.shell.to_string(), script: String::from_utf8(script)? })?;
        } else {
            out.write_all(&script)?;
        }
        Ok(Outcome::Done)
    }
}
