//! The program: parses its arguments, runs the command, leaves with its exit code.

use std::io::{self, Write};
use std::process::ExitCode;

use dioptray::command::{Cli, Outcome, explain, is_closed_pipe};

/// That of musl is slow (see `Cargo.toml`).
#[cfg(target_env = "musl")]
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// A limit on the size of files is then a write that fails, told like a full disk, and not the end of the program.
#[cfg(unix)]
fn heed_full_files() -> io::Result<()> {
    let seen = std::sync::Arc::default();
    signal_hook::flag::register(signal_hook::consts::signal::SIGXFSZ, seen).map(|_| ())
}

#[cfg(not(unix))]
fn heed_full_files() -> io::Result<()> {
    Ok(())
}

fn main() -> ExitCode {
    let _ = heed_full_files();
    let cli = Cli::from_arguments();
    let mut out = io::BufWriter::new(io::stdout());
    let done = cli.run(&mut out).and_then(|outcome| match outcome {
        Outcome::DoneUnsaid => Ok(outcome),
        Outcome::Done | Outcome::PartlyAtFault | Outcome::NotReached => Ok(out.flush().map(|()| outcome)?),
    });
    match done {
        Ok(outcome) => ExitCode::from(outcome.exit_code()),
        // whoever reads us has seen enough: nothing went wrong
        Err(error) if is_closed_pipe(&error) => ExitCode::SUCCESS,
        Err(error) => {
            // where even this cannot be written, the exit code says it
            let _ = writeln!(io::stderr(), "{}", explain(&error));
            ExitCode::FAILURE
        }
    }
}
