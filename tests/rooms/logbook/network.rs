//! Logbooks in folders on other computers: read, copied, never written.

use std::fs;
use std::path::Path;

use dioptray::logbook::network::{is_on_remote_mount, network_folder};
use dioptray::logbook::{ExamNumber, FileError, Logbook, LogbookError};

use super::{fresh, kept_exam, start};
use crate::kept_exam::{begin, read};

/// Every folder is on another computer.
#[expect(clippy::unnecessary_wraps, reason = "a kind of folder is optional")]
fn remote(_path: &Path) -> Option<&'static str> {
    Some("NFS")
}

#[test]
fn a_new_one_is_refused_with_what_to_do() {
    let (folder, _path) = fresh();
    let path = folder.path().join("logbook.db");
    let refusal = Logbook::open_where(&path, &remote).unwrap_err().to_string();
    assert_eq!(
        refusal,
        format!(
            "{}: this folder is on another computer (NFS), where a logbook cannot be kept safely: name a file on a disk of this \
             computer with --logbook FILE or DIOPTRAY_LOGBOOK",
            path.display()
        )
    );
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[test]
fn one_that_is_there_is_read_and_copied_but_never_written() {
    let (folder, path) = fresh();
    let exam = kept_exam(&path);
    let bytes = fs::read(&path).unwrap();
    let mut logbook = Logbook::open_where(&path, &remote).unwrap();
    assert!(logbook.is_read_only());
    assert_eq!(read(&logbook, ExamNumber(1)).unwrap(), exam);
    let refusal = begin(&mut logbook, "Hillside", start()).unwrap_err();
    assert!(matches!(refusal.file_error(), Some(FileError::OnNetwork { kind: "NFS" })), "{refusal}");
    assert!(refusal.to_string().contains("logbook move"), "{refusal}");

    let copy = folder.path().join("here.db");
    logbook.copy_to(&copy).unwrap();
    assert!(matches!(logbook.copy_to(&copy), Err(LogbookError::At { error: FileError::CopyExists, .. })));
    let mut here = Logbook::open(&copy).unwrap();
    here.check().unwrap();
    assert_eq!(read(&here, ExamNumber(1)).unwrap(), exam);
    assert_eq!(begin(&mut here, "Hillside", start()).unwrap().open.number(), ExamNumber(2));
    assert!(fs::read(&path).unwrap() == bytes, "the logbook was changed");
    let beside: Vec<_> =
        fs::read_dir(path.parent().unwrap()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(beside, ["logbook.db"]);
}

#[test]
fn what_a_killed_program_left_beside_it_is_read_too() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let exam = begin(&mut logbook, "Hillside", start()).unwrap();
    // still open: the exam is in the file beside it
    assert_eq!(read(&Logbook::open_where(&path, &remote).unwrap(), exam.open.number()).unwrap(), exam);
}

#[test]
fn the_nearest_mount_decides() {
    let mounts = "/dev/sda1 / ext4 rw 0 0\nlane3:/home /mnt/far\\040away fuse.sshfs rw 0 0\n/dev/sdb1 /mnt/near fuse.ntfs rw 0 0\n";
    assert!(is_on_remote_mount(mounts, Path::new("/mnt/far away/dioptray")));
    assert!(!is_on_remote_mount(mounts, Path::new("/mnt/near/dioptray")));
    assert!(!is_on_remote_mount(mounts, Path::new("/home/a")));
}

#[test]
fn a_folder_of_this_computer_is_not_a_network_folder() {
    assert_eq!(network_folder(&std::env::temp_dir().join("not/there/logbook.db")), None);
}
