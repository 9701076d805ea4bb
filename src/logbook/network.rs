//! Whether a folder is on another computer, where the locks of a logbook do not hold.

use std::path::Path;

/// The name of the kind of network folder that a file is in or would be made in; `None` on a disk of this computer.
///
/// Only what is truly remote counts: a file system in memory, in a container or of a virtual machine's host is taken for a
/// disk of this computer.
pub fn network_folder(path: &Path) -> Option<&'static str> {
    let absolute = std::path::absolute(path).ok()?;
    let there = absolute.ancestors().find(|folder| folder.exists())?;
    kind_of(there)
}

/// Magic numbers as Linux has them in `statfs(2)` and its kernel's `fs/*/*.h`.
#[cfg(target_os = "linux")]
fn kind_of(folder: &Path) -> Option<&'static str> {
    let found = rustix::fs::statfs(folder).ok()?;
    // Signed and of different widths on different machines; the numbers have 32 bits.
    match found.f_type as u32 {
        0x6969 => Some("NFS"),
        0x517B => Some("SMB"),
        0xFF53_4D42 => Some("CIFS"),
        0xFE53_4D42 => Some("SMB2"),
        0x564C => Some("NCP"),
        0x7375_7245 => Some("Coda"),
        0x5346_414F => Some("AFS"),
        0x00C3_6400 => Some("Ceph"),
        0x0BD0_0BD0 => Some("Lustre"),
        0x6573_5546 if is_sshfs(folder) => Some("SSHFS"),
        _ => None,
    }
}

/// FUSE is for local disks too; which it is stands in the table of mounts.
#[cfg(target_os = "linux")]
fn is_sshfs(folder: &Path) -> bool {
    let mounts = std::fs::read_to_string("/proc/self/mounts").unwrap_or_default();
    is_on_remote_mount(&mounts, folder)
}

/// Whether the mount that a folder is on, the longest that leads to it, is of a remote FUSE file system; `mounts` is written
/// as `/proc/self/mounts` is.
pub fn is_on_remote_mount(mounts: &str, folder: &Path) -> bool {
    let mounted = mounts.lines().filter_map(|line| {
        let mut fields = line.split(' ').skip(1);
        // spaces in a path are written as an octal escape
        let at = fields.next()?.replace("\\040", " ");
        Some((folder.starts_with(&at).then_some(at)?, fields.next()?))
    });
    let nearest = mounted.max_by_key(|(at, _)| at.len());
    nearest.is_some_and(|(_, kind)| matches!(kind, "fuse.sshfs" | "fuse.rclone" | "fuse.glusterfs" | "fuse.davfs2"))
}

#[cfg(all(unix, not(target_os = "linux")))]
fn kind_of(_folder: &Path) -> Option<&'static str> {
    None
}

#[cfg(not(unix))]
fn kind_of(_folder: &Path) -> Option<&'static str> {
    None
}
