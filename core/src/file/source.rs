//! Where files come from: the disk, or memory.

use std::collections::BTreeMap;
use std::io::Read;
use std::path::{Path, PathBuf};

use super::tree::LARGEST_FILE;

/// Why a file cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ReadError {
    /// There is none of that name.
    #[error("there is no such file")]
    Missing,
    /// It is a folder.
    #[error("it is a folder")]
    Folder,
    /// It has more bytes than are read.
    #[error("it is larger than 4 MiB")]
    TooLarge,
    /// Anything else, in the words of the system.
    #[error("{0}")]
    Other(String),
}

/// A place that files are read from.
pub trait Files {
    /// All bytes of a file.
    ///
    /// # Errors
    ///
    /// [`ReadError`] where it is not there, no file, larger than 4 MiB, or cannot be read.
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadError>;
}

/// The files of the system.
#[derive(Clone, Copy, Debug, Default)]
pub struct Disk;

impl Files for Disk {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadError> {
        let told = |error: std::io::Error| match error.kind() {
            std::io::ErrorKind::NotFound | std::io::ErrorKind::NotADirectory => ReadError::Missing,
            std::io::ErrorKind::IsADirectory => ReadError::Folder,
            std::io::ErrorKind::PermissionDenied => ReadError::Other("it may not be read by this user".to_owned()),
            _ => ReadError::Other(error.to_string()),
        };
        let file = std::fs::File::open(path).map_err(told)?;
        if file.metadata().map_err(told)?.is_dir() {
            return Err(ReadError::Folder);
        }
        let mut bytes = Vec::new();
        file.take(LARGEST_FILE as u64 + 1).read_to_end(&mut bytes).map_err(told)?;
        if bytes.len() > LARGEST_FILE { Err(ReadError::TooLarge) } else { Ok(bytes) }
    }
}

/// Files held in memory, for a window with unsaved changes and for tests.
#[derive(Clone, Debug, Default)]
pub struct Held {
    files: BTreeMap<PathBuf, Vec<u8>>,
}

impl Held {
    /// With one more file.
    #[must_use]
    pub fn with(mut self, path: impl Into<PathBuf>, bytes: impl Into<Vec<u8>>) -> Self {
        self.files.insert(path.into(), bytes.into());
        self
    }
}

impl Files for Held {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadError> {
        let bytes = self.files.get(path).ok_or(ReadError::Missing)?;
        if bytes.len() > LARGEST_FILE { Err(ReadError::TooLarge) } else { Ok(bytes.clone()) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_read_says_why() {
        assert_eq!(Disk.read(Path::new("no/such/file.yaml")), Err(ReadError::Missing));
        assert_eq!(Disk.read(Path::new(env!("CARGO_MANIFEST_DIR"))), Err(ReadError::Folder));
        assert!(Disk.read(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/Cargo.toml"))).is_ok());
        let held = Held::default().with("a", "x").with("large", vec![0; LARGEST_FILE + 1]);
        assert_eq!(held.read(Path::new("a")), Ok(b"x".to_vec()));
        assert_eq!(held.read(Path::new("b")), Err(ReadError::Missing));
        assert_eq!(held.read(Path::new("large")), Err(ReadError::TooLarge));
    }
}
