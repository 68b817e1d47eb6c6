//! Which files are meant: a file is taken as it is, a folder stands for every recording below it.

use std::io;
use std::path::{Path, PathBuf};

/// A recording that was found.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Found {
    /// Where it is.
    pub path: PathBuf,
    /// Its name below the folder that was given, or its file name: with `/`, on every system.
    pub name: String,
}

/// Ends of the names of recordings.
const ENDS: [&str; 2] = [".jsonl", ".jsonl.zst"];

impl Found {
    /// The name without the end that tells a recording.
    pub fn stem(&self) -> &str {
        stem(&self.name)
    }
}

/// A name without the end that tells a recording.
pub fn stem(name: &str) -> &str {
    let cut = ENDS.iter().find_map(|end| name.strip_suffix(end));
    cut.unwrap_or(name)
}

/// The recordings that `paths` stand for, in the order of the arguments; those of a folder are sorted by name, byte by
/// byte, folder after folder. Links to folders are not followed, so that no search goes in circles.
///
/// # Errors
/// The path that cannot be read, or a folder without a recording, with what the system says.
pub fn find(paths: &[PathBuf]) -> Result<Vec<Found>, (PathBuf, io::Error)> {
    let mut all = Vec::new();
    for path in paths {
        if path.is_dir() {
            let before = all.len();
            walk(path, "", &mut all)?;
            if all.len() == before {
                let nothing = io::Error::new(
                    io::ErrorKind::NotFound,
                    "no recording (.jsonl, .jsonl.zst) in this folder",
                );
                return Err((path.clone(), nothing));
            }
        } else {
            let name = path.file_name().unwrap_or(path.as_os_str());
            all.push(Found {
                path: path.clone(),
                name: name.to_string_lossy().into_owned(),
            });
        }
    }
    Ok(all)
}

fn walk(folder: &Path, below: &str, all: &mut Vec<Found>) -> Result<(), (PathBuf, io::Error)> {
    let failed = |error| (folder.to_owned(), error);
    let mut entries = std::fs::read_dir(folder)
        .and_then(Iterator::collect::<io::Result<Vec<_>>>)
        .map_err(failed)?;
    entries.sort_by_key(std::fs::DirEntry::file_name);
    for entry in entries {
        let name = entry.file_name().to_string_lossy().into_owned();
        let name = if below.is_empty() {
            name
        } else {
            format!("{below}/{name}")
        };
        let kind = entry.file_type().map_err(failed)?;
        if kind.is_dir() {
            walk(&entry.path(), &name, all)?;
        } else if ENDS.iter().any(|end| name.ends_with(end)) {
            let path = entry.path();
            all.push(Found { path, name });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    #[test]
    fn a_folder_stands_for_the_recordings_below_it_in_order() {
        let folder = tempfile::tempdir().unwrap();
        let root = folder.path();
        fs::create_dir_all(root.join("b/c")).unwrap();
        for name in [
            "z.jsonl",
            "b/two.jsonl.zst",
            "b/c/one.jsonl",
            "a.jsonl",
            "a.expect.toml",
            "note.txt",
        ] {
            fs::write(root.join(name), "").unwrap();
        }
        let loose = root.join("note.txt");
        let found = find(&[loose.clone(), root.to_owned()]).unwrap();
        let names: Vec<&str> = found.iter().map(Found::stem).collect();
        assert_eq!(names, ["note.txt", "a", "b/c/one", "b/two", "z"]);
        assert_eq!(found[0].path, loose);
    }

    #[test]
    fn a_folder_without_recordings_is_told() {
        let folder = tempfile::tempdir().unwrap();
        let (path, error) = find(&[folder.path().to_owned()]).unwrap_err();
        assert_eq!(
            (path.as_path(), error.kind()),
            (folder.path(), io::ErrorKind::NotFound)
        );
    }
}
