//! Help, manual pages, completions and schemas.

use std::fs;
use std::process::Stdio;

use clap::ValueEnum as _;
use clap_complete::Shell;
use serde_json::Value;

use super::room::{Room, Tested, said};
use crate::pictures::Album;

#[test]
fn a_closed_pipe_is_no_fault() -> Tested {
    let room = Room::new()?;
    let mut child = room.command(&["completions", "zsh"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn()?;
    drop(child.stdout.take());
    let said = said(child.wait_with_output()?)?;
    assert_eq!((said.code, said.err.as_str()), (Some(0), ""));
    Ok(())
}

#[test]
fn schemas_completions_and_manual_pages_are_written() -> Tested {
    let room = Room::new()?;
    for (kind, title) in [("box", "lenses"), ("frame", "cells"), ("case", "right"), ("lesson", "steps")] {
        let schema: Value = serde_json::from_str(&room.say(&["box", "schema", kind])?.out)?;
        assert!(schema["properties"].get(title).is_some(), "{schema}");
    }
    assert!(room.say(&["man"])?.out.contains(".TH dioptray 1"));
    let pages = room.file("man");
    let said = room.say(&["man", "--dir", pages.to_str().ok_or("odd path")?])?;
    assert_eq!(said.code, Some(0), "{}", said.err);
    let mut words = vec!["plain-lines"];
    for name in said.out.lines() {
        let page = fs::read_to_string(pages.join(name))?;
        let version = format!("\"dioptray {0}\" \n", env!("CARGO_PKG_VERSION"));
        for part in [".SH SYNOPSIS", "DIOPTRAY_LOGBOOK", &version] {
            assert!(page.contains(part), "{name} has not {part}");
        }
        words.extend(name.trim_end_matches(".1").split('-').skip(1));
    }
    assert!(said.out.contains("dioptray-box-change.1"));
    let shells = Shell::value_variants();
    assert!(shells.len() >= 5, "{shells:?}");
    for shell in shells {
        let said = room.say(&["completions", &shell.to_string()])?;
        assert_eq!(said.code, Some(0));
        for word in &words {
            assert!(said.out.contains(word), "{shell} does not complete {word}");
        }
    }
    Ok(())
}

#[test]
fn help_says_how_with_an_example_and_the_caution() -> Tested {
    let album = Album::of("commands");
    let room = Room::new()?;
    // the program's own list of its commands: one manual page each
    let pages = room.say(&["man", "--dir", room.file("man").to_str().ok_or("odd path")?])?.out;
    let mut commands = 0;
    for page in pages.lines() {
        let words = page.strip_prefix("dioptray").and_then(|page| page.strip_suffix(".1")).ok_or("an odd page")?;
        // a hyphen is within these names
        let hyphened = ["stock-take", "from-csv", "check-in", "came-back", "hand-in", "hand-over", "take-over"];
        let of_one = |words: String, name: &&str| words.replace(name, &name.replace('-', "_"));
        let words = hyphened.iter().fold(words.to_owned(), of_one);
        let command: Vec<String> = words.split('-').skip(1).map(|word| word.replace('_', "-")).collect();
        let command: Vec<&str> = command.iter().map(String::as_str).collect();
        let said = room.say(&[&command[..], &["--help"]].concat())?;
        assert_eq!(said.code, Some(0));
        let name = ["help"].iter().chain(&command).copied().collect::<Vec<_>>().join("_");
        assert!(said.out.contains("not a medical device"), "{}", said.out);
        album.text(&name, &said.out);
        commands += 1;
    }
    assert!(commands > 15, "only {commands} commands have a page");
    Ok(())
}
