//! Boxes, frames and cases that come with the program: found by their names wherever it is run, and after every file that stands there.

use std::fs;
use std::path::Path;

use super::room::{Room, Said, Tested, said};

/// The program in a folder with nothing in the environment but a home, as where it was installed by itself.
fn bare(room: &Room, folder: &Path, arguments: &[&str]) -> Result<Said, Box<dyn std::error::Error>> {
    let mut command = room.command(arguments);
    said(command.env_clear().env("HOME", room.file("home")).current_dir(folder).output()?)
}

#[test]
fn kits_are_found_from_any_folder_with_a_bare_home() -> Tested {
    let room = Room::new()?;
    fs::create_dir_all(room.file("home"))?;
    let empty = room.file("empty");
    fs::create_dir(&empty)?;
    let sets =
        [("boxes", &["box", "check"][..]), ("frames", &["box", "check", "--frame"]), ("eyes", &["practice", "check"])];
    let mut seen = 0;
    for (folder, check) in sets {
        for file in fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("kits").join(folder))? {
            let name = format!("kits/{folder}/{}", file?.file_name().to_str().ok_or("odd name")?);
            let arguments = match check {
                // a frame is checked beside a box
                ["box", "check", "--frame"] => {
                    vec!["stack", "--box", "kits/boxes/full.yaml", "--frame", &name, "--right", "-1"]
                }
                check => [check, &[name.as_str()]].concat(),
            };
            let said = bare(&room, &empty, &arguments)?;
            assert_eq!(said.code, Some(0), "{arguments:?}: {}", said.err);
            seen += 1;
        }
    }
    assert!(seen >= 22, "only {seen} files of kits were tried");
    Ok(())
}

#[test]
fn an_exam_on_a_shipped_box_goes_on_from_another_folder() -> Tested {
    let room = Room::new()?;
    fs::create_dir_all(room.file("home"))?;
    let folders = ["here", "there"].map(|name| room.file(name));
    folders.iter().try_for_each(fs::create_dir)?;
    let from = ["--box", "kits/boxes/spheres.yaml", "--frame", "kits/frames/turning-ring.yaml"];
    let logbook = room.file("logbook.db");
    let logbook = logbook.to_str().ok_or("odd path")?;
    let keep = ["--logbook", logbook, "--keys", "-1.00<enter>", "--print", "--size", "120x36"];
    let first = bare(&room, &folders[0], &[&from[..], &keep].concat())?;
    assert_eq!(first.code, Some(0), "{}", first.err);
    let heading =
        |said: &Said| said.out.lines().next().unwrap_or_default().split(" · ").take(2).collect::<Vec<_>>().join(" · ");
    let then = bare(&room, &folders[1], &keep)?;
    assert_eq!(then.code, Some(0), "{}", then.err);
    assert_eq!(heading(&then), heading(&first));
    let demo = bare(&Room::new()?, &folders[1], &["--keys", "-1.00<enter>", "--print", "--size", "120x36"])?;
    assert_ne!(heading(&demo), heading(&first));
    Ok(())
}

#[test]
fn a_box_that_comes_with_the_program_is_given_an_id_as_a_copy_only() -> Tested {
    let room = Room::new()?;
    let said = bare(&room, &room.file(""), &["box", "id", "kits/boxes/full.yaml"])?;
    assert_eq!(said.code, Some(1));
    assert!(said.err.contains("comes with the program") && said.err.contains("copy"), "{}", said.err);
    let other = bare(&room, &room.file(""), &["box", "id", "kits/boxes/fuller.yaml"])?;
    assert!(other.err.contains("no such file"), "{}", other.err);
    Ok(())
}

#[test]
fn a_file_that_stands_there_comes_first_and_no_other_name_is_guessed_at() -> Tested {
    let room = Room::new()?;
    fs::create_dir_all(room.file("home"))?;
    let boxes = room.file("kits/boxes");
    fs::create_dir_all(&boxes)?;
    let here = room.file("");
    fs::write(boxes.join("full.yaml"), "box: Of my own\nlenses: [{kind: sphere, powers: [\"-1.00\"], each: 1}]\n")?;
    let own = bare(&room, &here, &["box", "check", "kits/boxes/full.yaml"])?;
    assert!(own.out.contains("Of my own"), "{}{}", own.out, own.err);
    #[cfg(unix)]
    std::os::unix::fs::symlink("nowhere", boxes.join("spheres.yaml"))?;
    let absolute = boxes.join("outreach.yaml");
    let absolute = absolute.to_str().ok_or("odd path")?;
    let others = ["kits/boxes/fuller.yaml", "kits/frames/full.yaml", "boxes/full.yaml", "outreach.yaml", absolute];
    let leads_nowhere = if cfg!(unix) { &["kits/boxes/spheres.yaml"][..] } else { &[] };
    for name in others.iter().chain(leads_nowhere) {
        let said = bare(&room, &here, &["box", "check", name])?;
        assert_eq!(said.code, Some(1), "{name}: {}", said.out);
        assert!(said.err.contains("no such file"), "{name}: {}", said.err);
    }
    Ok(())
}
