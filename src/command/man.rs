//! `dioptray man`: the manual pages.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use anyhow::Context as _;
use clap::Args;
use serde::Serialize;

use super::json::write_line;
use super::{CAUTION, Context, Outcome, values};

/// The arguments of `dioptray man`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Man {
    /// Write a page for every command into this folder, instead of the main page to standard output.
    #[arg(long, value_name = "DIR", value_parser = values::path())]
    dir: Option<PathBuf>,
}

const EXAMPLES: &str = "Examples:\n  dioptray man | man -l -\n  dioptray man --dir ~/.local/share/man/man1";

/// A page: its file name and its text.
#[derive(Serialize)]
struct Page {
    file: String,
    page: String,
}

impl Man {
    /// Writes the pages of the whole program.
    pub fn run(self, mut command: clap::Command, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        command.build();
        let mut pages = Vec::new();
        add_pages(&command, &mut pages)?;
        if let Some(dir) = &self.dir {
            write_pages(dir, &pages)?;
        }
        if context.json {
            write_line(out, &pages)?;
        } else if self.dir.is_some() {
            for page in &pages {
                writeln!(out, "{}", page.file)?;
            }
        } else if let Some(main) = pages.first() {
            out.write_all(main.page.as_bytes())?;
        }
        Ok(Outcome::Done)
    }
}

/// The page of a command and those of its subcommands, the main one first. Each says the version of the program.
fn add_pages(command: &clap::Command, pages: &mut Vec<Page>) -> anyhow::Result<()> {
    let versioned = command.clone().version(env!("CARGO_PKG_VERSION")).long_version(None);
    let man = clap_mangen::Man::new(versioned).source(concat!("dioptray ", env!("CARGO_PKG_VERSION")));
    let mut page = Vec::new();
    man.render(&mut page)?;
    pages.push(Page { file: man.get_filename(), page: String::from_utf8(page)? });
    for sub in command.get_subcommands().filter(|sub| sub.get_name() != "help") {
        add_pages(sub, pages)?;
    }
    Ok(())
}

fn write_pages(dir: &Path, pages: &[Page]) -> anyhow::Result<()> {
    fs::create_dir_all(dir).with_context(|| format!("{}: this folder cannot be made", dir.display()))?;
    for page in pages {
        let file = dir.join(&page.file);
        fs::write(&file, &page.page).with_context(|| format!("{}: this page cannot be written", file.display()))?;
    }
    Ok(())
}
