//! A folder of results that is there as a whole or not at all.
//!
//! Files are written into a temporary folder beside the wanted one, which then takes its name. A
//! folder that holds anything else than results of an earlier plan is never touched.

use crate::failure::Failure;
use crate::files::{COMPARED, NAMES};
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Refuses, before long work, a folder that could not be written afterwards.
pub fn check(out: &Path) -> Result<(), Failure> {
    let name = out.display();
    let parent = parent(out);
    if !parent.is_dir() {
        let what = format!(
            "{} is no folder, so {name} cannot be made in it",
            parent.display()
        );
        return Err(Failure::input(
            what,
            "make it first, or name another folder",
        ));
    }
    if is_here(out) {
        let what = format!("{name} is the folder that you are in");
        return Err(Failure::input(
            what,
            "name a folder of its own, such as --out plan",
        ));
    }
    if !out.exists() {
        return Ok(());
    }
    if !out.is_dir() {
        let what = format!("{name} is there already and is no folder");
        return Err(Failure::input(
            what,
            "name another folder, or move the file away",
        ));
    }
    let others = others(out).map_err(|e| refused(out, &e))?;
    if others.is_empty() {
        return Ok(());
    }
    let what = format!("{name} holds other files: {}", listed(&others));
    Err(Failure::input(
        what,
        "name another folder, or move them away; nothing was changed",
    ))
}

/// Writes files into a folder, which is replaced as a whole.
pub fn write<Name: AsRef<Path>>(out: &Path, files: &[(Name, String)]) -> Result<(), Failure> {
    check(out)?;
    swap(out, files).map_err(|e| refused(out, &e))
}

fn swap<Name: AsRef<Path>>(out: &Path, files: &[(Name, String)]) -> io::Result<()> {
    // Behind a link the folder itself is replaced, so that the link still leads there.
    let out = if out.exists() {
        fs::canonicalize(out)?
    } else {
        out.to_owned()
    };
    let beside = tempfile::Builder::new()
        .prefix(".spadework-")
        .tempdir_in(parent(&out))?;
    let fresh = beside.path().join("new");
    fs::create_dir(&fresh)?;
    for (name, text) in files {
        let mut file = fs::File::create(fresh.join(name))?;
        file.write_all(text.as_bytes())?;
        file.sync_all()?;
    }
    let old = beside.path().join("old");
    let replaces = out.exists();
    if replaces {
        fs::rename(&out, &old)?;
    }
    if let Err(error) = fs::rename(&fresh, &out) {
        if replaces {
            fs::rename(&old, &out)?;
        }
        return Err(error);
    }
    beside.close()
}

fn parent(path: &Path) -> PathBuf {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_owned(),
        _ => PathBuf::from("."),
    }
}

fn is_here(out: &Path) -> bool {
    let real = |path: &Path| fs::canonicalize(path).ok();
    real(out).is_some_and(|out| real(Path::new(".")) == Some(out))
}

/// Names in a folder that no plan writes, sorted.
fn others(folder: &Path) -> io::Result<Vec<String>> {
    let mut names = Vec::new();
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = entry.file_name().to_string_lossy().into_owned();
        let known = NAMES.iter().chain(&COMPARED);
        let table = name.strip_suffix(".csv");
        let ours = known.into_iter().any(|known| *known == name)
            || table.is_some_and(|name| sheets::TABLES.contains(&name));
        let ours = ours && entry.file_type()?.is_file();
        if !ours {
            names.push(name);
        }
    }
    names.sort();
    Ok(names)
}

fn listed(names: &[String]) -> String {
    let most = 5;
    let mut text = names
        .iter()
        .take(most)
        .cloned()
        .collect::<Vec<_>>()
        .join(", ");
    if names.len() > most {
        text += &format!(" and {} more", names.len() - most);
    }
    text
}

fn refused(out: &Path, error: &io::Error) -> Failure {
    Failure::system(
        format!("{} cannot be written: {error}", out.display()),
        "check the rights and the room on the disk; what was there before still is",
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::File;

    fn files(text: &str) -> Vec<File> {
        NAMES.map(|name| (name, format!("{name} {text}"))).to_vec()
    }

    #[test]
    fn a_folder_is_made_and_then_replaced_without_leftovers() {
        let home = tempfile::tempdir().unwrap();
        let out = home.path().join("plan");
        for text in ["one", "two"] {
            write(&out, &files(text)).unwrap();
            let read = fs::read_to_string(out.join("plan.svg")).unwrap();
            assert_eq!(read, format!("plan.svg {text}"));
        }
        assert_eq!(fs::read_dir(home.path()).unwrap().count(), 1);
        assert_eq!(fs::read_dir(&out).unwrap().count(), NAMES.len());
    }

    #[test]
    fn a_folder_with_other_files_is_left_alone() {
        let home = tempfile::tempdir().unwrap();
        fs::write(home.path().join("photos.txt"), "mine").unwrap();
        let failure = write(home.path(), &files("one")).unwrap_err().answer();
        assert!(failure.err.contains("photos.txt"), "{}", failure.err);
        assert_eq!(failure.code, 2);
        assert_eq!(fs::read_dir(home.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_folder_that_carries_a_files_name_is_not_ours() {
        let home = tempfile::tempdir().unwrap();
        fs::create_dir(home.path().join("plan.json")).unwrap();
        assert!(write(home.path(), &files("one")).is_err());
    }
}
