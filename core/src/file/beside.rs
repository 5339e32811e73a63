//! Files beside a file: where they are looked for, and what was read of them.

use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use super::mistake::{Mistake, Place, quoted};
use super::source::{Files, ReadError};

/// Where the files beside a file are read from, and what was read.
pub(super) struct Loading<'f> {
    files: &'f dyn Files,
    folder: PathBuf,
    /// Bytes of the meshes with the place that named them.
    meshes: Vec<(usize, Vec<u8>)>,
}

impl<'f> Loading<'f> {
    pub(super) fn beside(files: &'f dyn Files, file: &Path) -> Self {
        Self { files, folder: file.parent().unwrap_or(Path::new("")).to_path_buf(), meshes: Vec::new() }
    }

    /// A mesh beside the file, named at a place in it.
    pub(super) fn mesh(&mut self, name: &str, named_at: usize) -> Result<&[u8], ReadError> {
        let bytes = self.files.read(&self.path(name))?;
        self.meshes.push((named_at, bytes));
        Ok(self.meshes.last().map_or(&[], |(_, bytes)| bytes))
    }

    /// The path of a file beside this one.
    pub(super) fn path(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }

    /// Adds the bytes of the meshes, in the order in which the file names them.
    pub(super) fn sum_up(mut self, sum: &mut Sha256) {
        self.meshes.sort_by_key(|(named_at, _)| *named_at);
        self.meshes.iter().for_each(|(_, bytes)| sum.update(bytes));
    }
}

/// The mistake that a file cannot be read, at the place that named it; `path` is where it was looked for.
pub(super) fn unread(place: Place, name: &str, path: &Path, error: &ReadError) -> Mistake {
    let (code, help) = match error {
        ReadError::Missing => {
            let path = quoted(&path.to_string_lossy());
            let help = format!("it was looked for at {path}; a path in a file starts at the folder of that file");
            ("file-missing", help)
        }
        ReadError::Folder => ("file-is-folder", "name a file in it".to_owned()),
        ReadError::TooLarge => {
            ("file-too-large", "make it smaller: several jobs, or a mesh with fewer triangles".to_owned())
        }
        ReadError::Other(_) => ("file-unreadable", "see whether another program can open it".to_owned()),
    };
    Mistake::new(code, place, format!("the file {} cannot be read: {error}", quoted(name)), help)
}
