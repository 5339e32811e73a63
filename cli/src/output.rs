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
            return Err(was_read(&shown.to_string()));
        }
        if !force {
            say::error(format_args!("{shown} is there already and was left as it is"));
            say::help("replace it with --force, or name another file with --output");
            return Err(Exit::Mistake);
        }
        Ok(Self::File { path, replace: true, permissions: Some(found.permissions()) })
    }

    /// Refuses a place that turned out to be one of the files that were read: the bender's, a mesh.
    ///
    /// # Errors
    /// Says so on standard error.
    pub(crate) fn spare(&self, read: &[PathBuf]) -> Result<(), Exit> {
        let Self::File { path, .. } = self else { return Ok(()) };
        if read.iter().any(|input| fs::canonicalize(input).is_ok_and(|input| input == *path)) {
            return Err(was_read(&path.display().to_string()));
        }
        Ok(())
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

fn was_read(place: &str) -> Exit {
    say::error(format_args!("cannot write {place}: it is a file that the document is made from"));
    say::help("name another file with --output");
    Exit::Mistake
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

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> =
            fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    #[test]
    fn a_new_file_is_written_and_nothing_else_is_left() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("plan.txt");
        Output::to(Some(&path), false, &[]).unwrap().write(b"whole").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"whole");
        assert_eq!(names(folder.path()), ["plan.txt"]);
    }

    #[test]
    fn an_existing_file_keeps_its_bytes_without_force_and_is_replaced_with_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("plan.txt");
        fs::write(&path, "old").unwrap();
        assert_eq!(Output::to(Some(&path), false, &[]).unwrap_err(), Exit::Mistake);
        assert_eq!(fs::read(&path).unwrap(), b"old");
        Output::to(Some(&path), true, &[]).unwrap().write(b"new").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"new");
        assert_eq!(names(folder.path()), ["plan.txt"]);
    }

    #[test]
    fn a_file_that_comes_up_between_the_check_and_the_writing_is_left_as_it_is() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("plan.txt");
        let output = Output::to(Some(&path), false, &[]).unwrap();
        fs::write(&path, "somebody else's").unwrap();
        assert_eq!(output.write(b"ours").unwrap_err(), Exit::Mistake);
        assert_eq!(fs::read(&path).unwrap(), b"somebody else's");
        assert_eq!(names(folder.path()), ["plan.txt"]);
    }

    #[test]
    fn the_file_that_was_read_is_never_replaced() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("job.yaml");
        fs::write(&path, "kind: job").unwrap();
        let by_another_name = folder.path().join(".").join("job.yaml");
        assert_eq!(Output::to(Some(&by_another_name), true, &[&path]).unwrap_err(), Exit::Mistake);
    }

    #[test]
    fn a_folder_that_is_not_there_or_stands_in_the_place_is_a_mistake() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(Output::to(Some(&folder.path().join("none/plan.txt")), false, &[]).unwrap_err(), Exit::Mistake);
        assert_eq!(Output::to(Some(folder.path()), true, &[]).unwrap_err(), Exit::Mistake);
        assert_eq!(Output::to(Some(Path::new("")), true, &[]).unwrap_err(), Exit::Mistake);
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_a_link_and_rights_stay_as_they_were() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().unwrap();
        let (real, link) = (folder.path().join("real.txt"), folder.path().join("link.txt"));
        fs::write(&real, "old").unwrap();
        fs::set_permissions(&real, Permissions::from_mode(0o640)).unwrap();
        std::os::unix::fs::symlink(&real, &link).unwrap();
        Output::to(Some(&link), true, &[]).unwrap().write(b"new").unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read(&real).unwrap(), b"new");
        assert_eq!(fs::metadata(&real).unwrap().permissions().mode() & 0o777, 0o640);
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn a_full_device_is_something_outside() {
        let output = Output::to(Some(Path::new("/dev/full")), false, &[]).unwrap();
        assert_eq!(output.write(b"anything").unwrap_err(), Exit::Outside);
    }
}
