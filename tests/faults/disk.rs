//! A small disk that can be made full, and given room again.

use std::fs::{self, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Its size. The log of the database alone may take some megabytes.
const SIZE: &str = "16m";

/// A small file system in memory, mounted on a folder; unmounted when this is dropped.
pub(crate) struct SmallDisk {
    at: PathBuf,
}

impl SmallDisk {
    /// Mounts it, which takes root; `None` where that is refused, said aloud.
    pub(crate) fn mount(at: &Path) -> Option<Self> {
        fs::create_dir_all(at).unwrap();
        let options = format!("size={SIZE}");
        let output = Command::new("mount").args(["-t", "tmpfs", "-o", &options, "tmpfs"]).arg(at).output().unwrap();
        if !output.status.success() {
            eprintln!("NO SMALL DISK: mount is refused here: {}", String::from_utf8_lossy(&output.stderr));
            return None;
        }
        Some(Self { at: at.to_owned() })
    }

    /// Takes what room there is.
    pub(crate) fn fill(&self) {
        let mut ballast = OpenOptions::new().create(true).append(true).open(self.ballast()).unwrap();
        while ballast.write_all(&[0; 4096]).is_ok() {}
    }

    /// Gives the room back.
    pub(crate) fn free(&self) {
        fs::remove_file(self.ballast()).unwrap();
    }

    fn ballast(&self) -> PathBuf {
        self.at.join("ballast")
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(&self.at).status();
    }
}
