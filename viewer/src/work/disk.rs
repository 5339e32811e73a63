//! Files on the disk: what was read of them, whether they are still the same, and how they are written whole.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use tubewright::file::{Disk, Files, ReadError};

/// The files beside a job, each as it was first read: its bender and the bender's meshes.
#[derive(Debug, Default)]
pub(super) struct Beside {
    read: RefCell<BTreeMap<PathBuf, Result<Vec<u8>, ReadError>>>,
}

impl Beside {
    /// The first of them that is no longer what was read.
    pub(super) fn changed(&self) -> Option<PathBuf> {
        let read = self.read.borrow();
        read.iter().find(|(path, was)| Disk.read(path) != **was).map(|(path, _)| path.clone())
    }
}

/// The text of a job that is being changed, with the files beside it.
pub(super) struct Overlaid<'t> {
    pub(super) path: &'t Path,
    pub(super) text: &'t str,
    pub(super) beside: &'t Beside,
}

impl Files for Overlaid<'_> {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadError> {
        if path == self.path {
            return Ok(self.text.as_bytes().to_vec());
        }
        self.beside.read.borrow_mut().entry(path.to_path_buf()).or_insert_with(|| Disk.read(path)).clone()
    }
}

/// Why a file was not written.
#[derive(Debug, thiserror::Error)]
pub enum NotWritten {
    /// It is no longer what was read.
    #[error("{0} was changed by someone else since it was read: reload it, or save under another name")]
    ChangedOutside(String),
    /// It is there already.
    #[error("{0} is there already and was left as it is: give another name")]
    IsThere(String),
    /// The whole file was written anew, so that its remarks would be lost.
    #[error(
        "the last change could not be made in place, and the remarks of the file would be lost: save under another name"
    )]
    Anew,
    /// Not the name of a file in the folder of the job.
    #[error(
        "`{0}` is not the name of a file: it is written into the folder of the job, since the paths in it start there"
    )]
    NoName(String),
    /// Nothing to write: the plan is not that of what stands in the fields.
    #[error("there is no plan of what stands in the fields yet")]
    NoPlan,
    /// Pages cannot show it, and why.
    #[error("{0}: take the chalk coordinates")]
    NoPages(String),
    /// The system says why.
    #[error("{0} could not be written: {1}")]
    Io(String, io::Error),
}

/// Writes a file whole or not at all: beside its place first, then in one move.
///
/// A new file never takes the place of another; one that is replaced keeps its rights.
///
/// # Errors
/// See [`NotWritten`]; what stood there keeps its bytes.
pub fn write_whole(path: &Path, replace: bool, bytes: &[u8]) -> Result<(), NotWritten> {
    let name = path.display().to_string();
    let told = |error: io::Error| match error.kind() {
        io::ErrorKind::AlreadyExists => NotWritten::IsThere(path.display().to_string()),
        _ => NotWritten::Io(path.display().to_string(), error),
    };
    // Through a link the file that it names is written.
    let (real, rights) = match (replace, fs::metadata(path)) {
        (false, Ok(_)) => return Err(NotWritten::IsThere(name)),
        (true, Ok(found)) => (fs::canonicalize(path).map_err(told)?, Some(found.permissions())),
        _ => (path.to_path_buf(), None),
    };
    let folder = real.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    builder.prefix(".tubewright-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // As any new file: readable by all, less what the user's mask takes away.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut beside = builder.tempfile_in(folder).map_err(told)?;
    beside.write_all(bytes).map_err(told)?;
    if let Some(rights) = rights {
        beside.as_file().set_permissions(rights).map_err(told)?;
    }
    beside.as_file().sync_all().map_err(told)?;
    let moved = if replace { beside.persist(&real) } else { beside.persist_noclobber(&real) };
    moved.map(drop).map_err(|error| told(error.error))
}
