//! `dioptray practice cases`: the named cases, and how one is found.

use std::io::Write;
use std::path::{Path, PathBuf};

use anyhow::bail;
use serde::Serialize;

use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome};
use crate::kit::document::fault::{most_like, quoted};
use crate::practice::cases::shipped::cases;
use crate::practice::{Case, read_case};

/// What its help has to say besides.
pub(super) fn after_help() -> String {
    format!("{EXAMPLES}\n\n{CAUTION}")
}

const EXAMPLES: &str = "Examples:
  dioptray practice cases
  dioptray practice lead latent-hyperope

The people are invented. A case of your own is a YAML file like those in kits/eyes.";

#[derive(Serialize)]
struct CasesJson<'a> {
    cases: Vec<CaseJson<'a>>,
}

/// Who it is and what it teaches: what is needed is to be found.
#[derive(Serialize)]
struct CaseJson<'a> {
    name: &'a str,
    age: u8,
    note: Option<&'a str>,
}

impl<'a> From<&'a Case> for CaseJson<'a> {
    fn from(Case { name, note, person }: &'a Case) -> Self {
        Self { name, age: person.age_years, note: note.as_deref() }
    }
}

/// Lists them.
pub(super) fn list(context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    let cases = cases()?;
    if context.json {
        write_line(out, &CasesJson { cases: cases.iter().map(CaseJson::from).collect() })?;
        return Ok(Outcome::Done);
    }
    let widest = cases.iter().map(|case| case.name.chars().count()).max().unwrap_or(0);
    for Case { name, note, person } in &cases {
        writeln!(out, "{name:widest$}  {:>3}  {}", person.age_years, note.as_deref().unwrap_or_default())?;
    }
    Ok(Outcome::Done)
}

/// The shipped case of this name, or the one that a file declares.
pub(super) fn find(name_or_file: &Path) -> anyhow::Result<Case> {
    let mut shipped = cases()?;
    let names: Vec<&str> = shipped.iter().map(|case| case.name.as_str()).collect();
    match its_own_or(name_or_file, &names, "case")? {
        Some(place) => Ok(shipped.swap_remove(place)),
        None => Ok(read_case(name_or_file)?),
    }
}

/// The place of a name among those that come with the program; `None` where a file is named.
///
/// # Errors
/// When it is a word that names neither; `of` says what it was to be.
pub(super) fn its_own_or(name_or_file: &Path, shipped: &[&str], of: &str) -> anyhow::Result<Option<usize>> {
    let name = name_or_file.to_string_lossy();
    if let Some(place) = shipped.iter().position(|of| *of == name) {
        return Ok(Some(place));
    }
    let is_word = name_or_file.extension().is_none() && name_or_file.components().count() == 1;
    if is_word && !name_or_file.exists() {
        let like = most_like(&name, shipped.iter().copied());
        let perhaps = like.map_or_else(String::new, |like| format!("; did you mean `{like}`?"));
        bail!(
            "no {of} is called {}, and there is no such file: `dioptray practice {of}s` lists the {of}s{perhaps}",
            quoted(&name)
        );
    }
    Ok(None)
}

/// The file of a case, named like [`find`] names it; it has no faults.
pub(super) fn file(name_or_file: &Path) -> anyhow::Result<PathBuf> {
    let case = find(name_or_file)?;
    let of_shipped = Path::new("kits/eyes").join(format!("{}.yaml", case.name));
    let is_shipped = cases()?.contains(&case);
    Ok(if is_shipped { of_shipped } else { std::path::absolute(name_or_file)? })
}
