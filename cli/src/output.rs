//! Where a document goes: standard output, or a file that is written whole or not at all.
//!
//! A file is first written beside its place under a name of its own and brought to the disk, then takes its place in one
//! move. Whatever goes wrong on the way, the file that stood there keeps its bytes.

use std::fs::{self, File, Permissions};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use crate::exit::Exit;
use crate::say;

/// A checked place for one document.
#[derive(Debug)]
pub(crate) enum Output {
    /// Standard output.
    Standard,
    /// A device or a pipe, written straight: there is nothing that could be kept or replaced.
    Stream(PathBuf),
    /// A file, new or to be replaced.
    File {
        /// Its place, links followed.
        path: PathBuf,
        /// Whether what stands there may be replaced.
        replace: bool,
        /// The rights of the file that is replaced.
        permissions: Option<Permissions>,
    },
}

impl Output {
    /// Checks the place before any work is done: standard output without a `path`; an existing file only with `force`,
    /// and never one of the files that were `read`.
    ///
    /// # Errors
    /// Says what is wrong on standard error and returns how the program is to end.
    pub(crate) fn to(path: Option<&Path>, force: bool, read: &[&Path]) -> Result<Self, Exit> {
        let Some(path) = path else {
            return Ok(Self::Standard);
        };
        let shown = path.display();
        let (path, found) = match fs::canonicalize(path).and_then(|real| Ok((real.clone(), fs::metadata(real)?))) {
            Ok((real, found)) => (real, Some(found)),
            Err(fault) if fault.kind() == io::ErrorKind::NotFound => (path.to_path_buf(), None),
            Err(fault) => return Err(self::fault(&shown.to_string(), &fault)),
        };
        let Some(found) = found else {
            if path.file_name().is_none() {
                say::error(format_args!("`{shown}` is not the name of a file"));
                return Err(Exit::Mistake);
            }
            let folder = folder_of(&path);
            if !folder.is_dir() {
                say::error(format_args!("cannot write {shown}: there is no folder {}", folder.display()));
                return Err(Exit::Mistake);
            }
            return Ok(Self::File { path, replace: force, permissions: None });
        };
        if found.is_dir() {
            say::error(format_args!("cannot write {shown}: it is a folder"));
            return Err(Exit::Mistake);
        }
        if !found.is_file() {
            return Ok(Self::Stream(path));
        }
        if read.iter().any(|input| fs::canonicalize(input).is_ok_and(|input| input == path)) {
            say::error(format_args!("cannot write {shown}: it is the file that was read"));
            say::help("name another file with --output");
            return Err(Exit::Mistake);
        }
        if !force {
            say::error(format_args!("{shown} is there already and was left as it is"));
            say::help("replace it with --force, or name another file with --output");
            return Err(Exit::Mistake);
        }
        Ok(Self::File { path, replace: true, permissions: Some(found.permissions()) })
    }

    /// Writes the whole document.
    ///
    /// A reader of standard output that has gone away ends the writing quietly: whoever closed it has what they wanted.
    ///
    /// # Errors
    /// Says what is wrong on standard error and returns how the program is to end.
    pub(crate) fn write(&self, document: &[u8]) -> Result<(), Exit> {
        match self {
            Self::Standard => {
                let mut standard = io::stdout().lock();
                match standard.write_all(document).and_then(|()| standard.flush()) {
                    Err(fault) if fault.kind() != io::ErrorKind::BrokenPipe => {
                        Err(self::fault("standard output", &fault))
                    }
                    _ => Ok(()),
                }
            }
            Self::Stream(path) => {
                let written = File::options().write(true).open(path).and_then(|mut file| file.write_all(document));
                match written {
                    Err(fault) if fault.kind() != io::ErrorKind::BrokenPipe => {
                        Err(self::fault(&path.display().to_string(), &fault))
                    }
                    _ => Ok(()),
                }
            }
            Self::File { path, replace, permissions } => write_whole(path, *replace, permissions.as_ref(), document)
                .map_err(|fault| {
                    if fault.kind() == io::ErrorKind::AlreadyExists {
                        say::error(format_args!("{} is there already and was left as it is", path.display()));
                        Exit::Mistake
                    } else {
                        self::fault(&path.display().to_string(), &fault)
                    }
                }),
        }
    }
}

/// Says that `place` could not be written; a closed pipe is no fault.
pub(crate) fn fault(place: &str, fault: &io::Error) -> Exit {
    if fault.kind() == io::ErrorKind::BrokenPipe {
        return Exit::Done;
    }
    say::error(format_args!("cannot write {place}: {fault}"));
    Exit::Outside
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

fn write_whole(path: &Path, replace: bool, permissions: Option<&Permissions>, document: &[u8]) -> io::Result<()> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".tubewright-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // As any new file: readable by all, less what the user's mask takes away.
        builder.permissions(Permissions::from_mode(0o666));
    }
    let mut beside = builder.tempfile_in(folder_of(path))?;
    beside.write_all(document)?;
    if let Some(permissions) = permissions {
        beside.as_file().set_permissions(permissions.clone())?;
    }
    beside.as_file().sync_all()?;
    if replace {
        beside.persist(path)?;
    } else {
        beside.persist_noclobber(path)?;
    }
    Ok(())
}
