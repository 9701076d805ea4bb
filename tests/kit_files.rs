//! Box and frame files: every bad one with its whole message and place, every shipped one as an example.

use std::fs;
use std::path::{Path, PathBuf};

use dioptray::frame::file::{CELL_KEYS, FRAME_KEYS, PD_KEYS};
use dioptray::frame::schema::{FrameFile, frame_schema};
use dioptray::frame::shipped::{FRAMES, demo_frame};
use dioptray::frame::{Fitted, Move, parse_frame, read_frame};
use dioptray::kit::document::load::LARGEST_FILE;
use dioptray::kit::file::{
    ACCESSORY_KEYS, BOX_KEYS, MEASURED_KEYS, NAMED_ACCESSORY_KEYS, POWERED_KEYS, RIMS_KEYS, kind_words,
};
use dioptray::kit::schema::{BoxFile, box_schema};
use dioptray::kit::shipped::{BOXES, demo_box};
use dioptray::kit::{Lens, LensForm, Stock, parse_box, read_box};
use dioptray::optics::{Eye, Power};
use proptest::prelude::*;

type Outcome = Result<(), Box<dyn std::error::Error>>;

fn bad_files() -> std::io::Result<Vec<PathBuf>> {
    let mut files: Vec<PathBuf> =
        fs::read_dir("tests/invalid")?.map(|entry| Ok(entry?.path())).collect::<std::io::Result<_>>()?;
    files.sort();
    Ok(files)
}

/// What the door for this file says, told apart by the first word of its name.
fn refusal(path: &Path) -> Option<String> {
    let name = path.file_name()?.to_string_lossy();
    let faults = if name.starts_with("box-") { read_box(path).err() } else { read_frame(path).err() };
    faults.map(|faults| faults.to_string())
}

#[test]
fn every_bad_file_is_refused_with_its_message_and_place() -> Outcome {
    let mut all = String::new();
    for path in bad_files()? {
        let said = refusal(&path).ok_or_else(|| format!("{} was accepted", path.display()))?;
        for line in said.lines() {
            let place = line.strip_prefix(&format!("{}:", path.display())).ok_or("a fault begins with its file")?;
            let mut parts = place.splitn(3, ':');
            for _ in 0..2 {
                assert!(parts.next().is_some_and(|n| n.parse::<usize>().is_ok_and(|n| n > 0)), "{line}");
            }
        }
        all += &said;
        all += "\n\n";
    }
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!("kit_files_refused", all));
    Ok(())
}
