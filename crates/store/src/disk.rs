//! The file operations of sealing, joining, dropping and clearing up: all of them, so that a test can let any one fail,
//! or end the process there. What SQLite does with its own files is not among them.

use std::fs::{self, File};
use std::hash::Hasher;
use std::io::{self, Read, Write};
use std::path::Path;
use std::sync::Arc;

use twox_hash::XxHash64;

/// Bytes read at once.
const BUFFER: usize = 1 << 20;

/// What is about to be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Operation {
    /// Make a folder, and those above it.
    CreateFolder,
    /// Make a file.
    Create,
    /// Write some of its content.
    Write,
    /// Make a file or a folder safe on the disk.
    Sync,
    /// Give a file another name.
    Rename,
    /// Open a file for reading.
    Open,
    /// Remove a file.
    Remove,
}

/// Asked before each operation; an error is what the operation fails with.
type Before = dyn Fn(Operation) -> io::Result<()> + Send + Sync;

/// The way to the file system.
#[derive(Clone)]
pub(crate) struct Disk {
    before: Arc<Before>,
}

impl Disk {
    /// The file system as it is.
    pub(crate) fn plain() -> Self {
        Self::asking(|_| Ok(()))
    }

    /// The file system behind somebody who may let operations fail.
    pub(crate) fn asking(before: impl Fn(Operation) -> io::Result<()> + Send + Sync + 'static) -> Self {
        Self { before: Arc::new(before) }
    }

    pub(crate) fn create_folder(&self, path: &Path) -> io::Result<()> {
        (self.before)(Operation::CreateFolder)?;
        fs::create_dir_all(path)
    }

    pub(crate) fn create(&self, path: &Path) -> io::Result<Output> {
        (self.before)(Operation::Create)?;
        Ok(Output { file: File::create(path)?, disk: self.clone(), bytes: 0, checksum: XxHash64::with_seed(0) })
    }

    pub(crate) fn open(&self, path: &Path) -> io::Result<File> {
        (self.before)(Operation::Open)?;
        File::open(path)
    }

    /// Reads a file from end to end.
    pub(crate) fn content(&self, path: &Path) -> io::Result<Content> {
        let mut file = self.open(path)?;
        let (mut bytes, mut checksum) = (0, XxHash64::with_seed(0));
        let mut buffer = vec![0; BUFFER];
        loop {
            match file.read(&mut buffer)? {
                0 => return Ok(Content { bytes, checksum: checksum.finish().cast_signed() }),
                read => {
                    checksum.write(&buffer[..read]);
                    bytes += read as u64;
                }
            }
        }
    }

    pub(crate) fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        (self.before)(Operation::Rename)?;
        fs::rename(from, to)
    }

    pub(crate) fn remove(&self, path: &Path) -> io::Result<()> {
        (self.before)(Operation::Remove)?;
        fs::remove_file(path)
    }

    /// Makes the names in a folder safe.
    pub(crate) fn sync_folder(&self, path: &Path) -> io::Result<()> {
        (self.before)(Operation::Sync)?;
        File::open(path)?.sync_all()
    }
}

/// A file that is being written.
pub(crate) struct Output {
    file: File,
    disk: Disk,
    bytes: u64,
    checksum: XxHash64,
}

/// What a file holds, as far as it can be told without understanding it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Content {
    /// Its size.
    pub(crate) bytes: u64,
    /// XXH64 of it, seed 0.
    pub(crate) checksum: i64,
}

impl Content {
    /// Of what has been read already.
    pub(crate) fn of(bytes: &[u8]) -> Self {
        let mut checksum = XxHash64::with_seed(0);
        checksum.write(bytes);
        Self { bytes: bytes.len() as u64, checksum: checksum.finish().cast_signed() }
    }
}

impl Output {
    /// Makes the content safe. Gives what was meant to be written, whatever the disk made of it.
    pub(crate) fn sync(&self) -> io::Result<Content> {
        (self.disk.before)(Operation::Sync)?;
        self.file.sync_all()?;
        Ok(Content { bytes: self.bytes, checksum: self.checksum.finish().cast_signed() })
    }
}

impl Write for Output {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        (self.disk.before)(Operation::Write)?;
        let written = self.file.write(bytes)?;
        self.checksum.write(&bytes[..written]);
        self.bytes += written as u64;
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}
