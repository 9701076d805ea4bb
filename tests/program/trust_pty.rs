//! The question whether the key of a seat is trusted, in a terminal.

use std::path::PathBuf;
use std::process::Command;

use crate::pty::{Terminal, program};

type Failure = Box<dyn std::error::Error>;

/// A parcel of lane3, and the fingerprint that is said where it is written.
fn parcel(folder: &std::path::Path) -> Result<(PathBuf, String), Failure> {
    let file = folder.join("a.parcel");
    let dioptray = |arguments: &[&str]| -> Result<String, Failure> {
        let mut command = Command::new(env!("CARGO_BIN_EXE_dioptray"));
        command.arg("--logbook").arg(folder.join("lane3.db")).args(arguments).env("XDG_CONFIG_HOME", folder);
        let output = command.output()?;
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        Ok(String::from_utf8(output.stdout)?)
    };
    dioptray(&["--box", "kits/boxes/outreach.yaml", "--print", "--keys", "-1<enter>ai<enter>K.M.<enter><esc>Cy"])?;
    let said = dioptray(&["parcel", "write", file.to_str().ok_or("odd path")?, "--seat", "lane3"])?;
    let (_, fingerprint) = said.trim_end().split_once(", signed ").ok_or("no fingerprint")?;
    Ok((file, fingerprint.to_owned()))
}

#[test]
fn a_key_that_was_never_seen_is_asked_about_in_a_terminal() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let (file, fingerprint) = parcel(folder.path())?;
    let read = || {
        let mut command = program(folder.path());
        command.args(["parcel", "read"]);
        command.arg(&file);
        Terminal::run(command)
    };
    // nothing was read after a no, so it is asked again; after a yes it is known
    for (answer, says) in
        [("n", "a key that was never seen here: nothing was read"), ("y", "1 entry of 1 writer: 1 new, 0 known")]
    {
        let mut terminal = read()?;
        terminal.wait_for("[y/n]")?;
        assert!(terminal.contents()?.contains(&fingerprint), "{}", terminal.contents()?);
        terminal.type_keys(&format!("{answer}\r"))?;
        let (status, shown) = terminal.end()?;
        let shown = shown.replace('\n', " ");
        assert_eq!(status.success(), answer == "y", "{shown}");
        assert!(shown.contains(says), "{shown}");
    }
    let (status, shown) = read()?.end()?;
    assert!(status.success() && !shown.contains("[y/n]") && shown.contains("0 new, 1 known"), "{shown}");
    Ok(())
}
