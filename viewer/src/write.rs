//! Files that are written whole or not at all.

use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

/// Whether all of these may be written: none is there already, unless `force` says that it may be replaced.
///
/// # Errors
/// The first that may not, in words.
pub(crate) fn check(paths: &[PathBuf], force: bool) -> Result<(), String> {
    for path in paths {
        if path.is_dir() {
            return Err(format!("cannot write {}: it is a folder", path.display()));
        }
        if path.exists() && !force {
            return Err(format!("{} is there already and was left as it is: replace it with --force", path.display()));
        }
    }
    Ok(())
}

/// Writes a file beside its place and moves it there.
///
/// # Errors
/// What the system says; what stood there keeps its bytes.
pub(crate) fn whole(path: &Path, bytes: &[u8], replace: bool) -> io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    builder.prefix(".tubewright-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut beside = builder.tempfile_in(folder)?;
    beside.write_all(bytes)?;
    beside.as_file().sync_all()?;
    if replace {
        beside.persist(path)?;
    } else {
        beside.persist_noclobber(path)?;
    }
    Ok(())
}
