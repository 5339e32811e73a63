//! Paths as one file names another: from its own folder.

use std::fs;
use std::path::{Component, Path, PathBuf};

/// The path of a file from a folder, with `/` between; as it was given where either is not on the disk.
pub(super) fn from_folder(folder: &Path, file: &Path) -> String {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let (Ok(from), Ok(to)) = (fs::canonicalize(folder), fs::canonicalize(file)) else {
        return file.to_string_lossy().into_owned();
    };
    let shared = from.components().zip(to.components()).take_while(|(one, other)| one == other).count();
    let up = from.components().skip(shared).map(|_| Component::ParentDir);
    let path: PathBuf = up.chain(to.components().skip(shared)).collect();
    path.to_string_lossy().replace('\\', "/")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_leads_from_the_one_to_the_other() {
        let top = tempfile::tempdir().unwrap();
        fs::create_dir_all(top.path().join("a/b")).unwrap();
        fs::create_dir_all(top.path().join("c")).unwrap();
        fs::write(top.path().join("c/file.yaml"), "").unwrap();
        fs::write(top.path().join("a/file.yaml"), "").unwrap();
        let from = |folder: &str, file: &str| from_folder(&top.path().join(folder), &top.path().join(file));
        assert_eq!(from("a/b", "c/file.yaml"), "../../c/file.yaml");
        assert_eq!(from("a", "a/file.yaml"), "file.yaml");
        assert_eq!(from("a/b", "a/file.yaml"), "../file.yaml");
        assert_eq!(from_folder(Path::new("no/such"), Path::new("x/y.yaml")), "x/y.yaml");
    }
}
