//! The tests themselves: Rust says nothing of a file that no `mod` names, and its tests would not run.
#![expect(clippy::unwrap_used, reason = "a test that cannot set itself up must stop")]

use std::fs;
use std::path::{Path, PathBuf};

/// Every Rust file below a folder.
fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let paths = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let files = paths.flat_map(|path| if path.is_dir() { rust_files(&path) } else { vec![path] });
    files.filter(|file| file.extension().is_some_and(|ending| ending == "rs")).collect()
}

#[test]
fn every_file_of_tests_is_part_of_a_test_program() {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests");
    // what stands in `tests/` itself, and each `main.rs` in a folder there, is a program of its own
    let is_program = |file: &Path| {
        let folder = file.parent().unwrap();
        folder == tests || (file.ends_with("main.rs") && folder.parent() == Some(&tests))
    };
    let (programs, modules): (Vec<_>, Vec<_>) = rust_files(&tests).into_iter().partition(|file| is_program(file));
    assert!(modules.len() > 40, "only {} modules of tests found: are they still looked for rightly?", modules.len());
    for file in modules {
        let module = if file.ends_with("mod.rs") { file.parent().unwrap() } else { &file };
        let name = module.file_stem().unwrap().to_str().unwrap();
        let folder = module.parent().unwrap();
        let (named_in, as_what) = if folder.ends_with("support") {
            (programs.clone(), format!("#[path = \"../support/{name}.rs\"]"))
        } else {
            (["main.rs", "mod.rs"].map(|parent| folder.join(parent)).into(), format!("mod {name};"))
        };
        let mut texts = named_in.iter().filter_map(|parent| fs::read_to_string(parent).ok());
        let named = texts.any(|text| text.lines().any(|line| line.trim_start_matches("pub ") == as_what));
        assert!(named, "{} is in no test program: `{as_what}` stands in none of {named_in:?}", file.display());
    }
}
