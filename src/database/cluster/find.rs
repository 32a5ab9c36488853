//! Where PostgreSQL's programs are installed, and which of them fit.

use std::collections::HashSet;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::{env, fs};

use super::ClusterError;

/// The oldest PostgreSQL that Flitchbook works with.
pub const OLDEST: u32 = 14;

/// The folders to look in, best first.
#[derive(Debug, Clone)]
pub struct Search {
    folders: Vec<PathBuf>,
}

/// One installation: the folder of its programs and its major version.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Programs {
    pub folder: PathBuf,
    pub major: u32,
}

impl Programs {
    pub fn path(&self, program: &str) -> PathBuf {
        self.folder.join(program)
    }
}

impl Search {
    /// PATH, then the places where systems keep several versions side by side, newest first.
    pub fn usual() -> Self {
        let mut folders: Vec<PathBuf> =
            env::var_os("PATH").map(|path| env::split_paths(&path).collect()).unwrap_or_default();
        folders.extend(versioned("/usr/lib/postgresql", "", "bin"));
        folders.extend(pg_config());
        folders.extend(versioned("/usr", "pgsql-", "bin"));
        folders.push("/usr/local/pgsql/bin".into());
        for brew in ["/opt/homebrew/opt", "/usr/local/opt", "/home/linuxbrew/.linuxbrew/opt"] {
            folders.extend(versioned(brew, "postgresql", "bin"));
        }
        folders.extend(versioned("/opt/local/lib", "postgresql", "bin"));
        folders.extend(versioned("/Applications/Postgres.app/Contents/Versions", "", "bin"));
        Self::only(folders)
    }

    /// These folders and no others. A relative one is passed over: what it means would depend on where the
    /// program was started.
    pub fn only(folders: Vec<PathBuf>) -> Self {
        Self { folders: folders.into_iter().filter(|folder| folder.is_absolute()).collect() }
    }

    /// Installations that can run a server, best first.
    pub fn servers(&self) -> Vec<Programs> {
        self.with(&["postgres", "initdb"])
    }

    /// Installations that can dump and restore, newest first.
    pub fn clients(&self) -> Vec<Programs> {
        let mut found = self.with(&["pg_dump", "pg_restore"]);
        found.sort_by_key(|programs| std::cmp::Reverse(programs.major));
        found
    }

    /// Each folder is followed to where its first program really lies, so that a link in PATH leads to all the
    /// programs of that installation.
    fn with(&self, needed: &[&str]) -> Vec<Programs> {
        let Some(first) = needed.first() else { return Vec::new() };
        let mut seen = HashSet::new();
        self.folders
            .iter()
            .flat_map(|folder| [fs::canonicalize(folder.join(first)).ok(), Some(folder.join(first))])
            .flatten()
            .filter_map(|program| program.parent().map(Path::to_owned))
            .filter(|folder| needed.iter().all(|program| folder.join(program).is_file()))
            .filter(|folder| seen.insert(folder.clone()))
            .filter_map(|folder| major(&folder.join(first)).map(|major| Programs { folder, major }))
            .collect()
    }
}

/// Of those `found`, the server programs for a cluster of major version `wanted`, or for a new one.
///
/// # Errors
/// [`ClusterError::NoPrograms`], [`ClusterError::TooOld`], [`ClusterError::OtherMajor`].
pub fn choose(found: &[Programs], data: &Path, wanted: Option<u32>) -> Result<Programs, ClusterError> {
    let Some(first) = found.first() else { return Err(ClusterError::NoPrograms) };
    if let Some(wanted) = wanted {
        return found.iter().find(|programs| programs.major == wanted).cloned().ok_or_else(|| {
            let mut majors: Vec<u32> = found.iter().map(|programs| programs.major).collect();
            majors.sort_unstable();
            majors.dedup();
            ClusterError::OtherMajor { data: data.to_owned(), cluster: wanted, found: majors }
        });
    }
    found
        .iter()
        .find(|programs| programs.major >= OLDEST)
        .cloned()
        .ok_or_else(|| ClusterError::TooOld { folder: first.folder.clone(), major: first.major })
}

/// Folders `parent/<prefix><version>/<bin>`, newest version first; one without a version comes last.
fn versioned(parent: &str, prefix: &str, bin: &str) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(parent) else { return Vec::new() };
    let mut found: Vec<(Option<u32>, PathBuf)> = entries
        .filter_map(Result::ok)
        .filter_map(|entry| {
            let name = entry.file_name().into_string().ok()?;
            let version = name.strip_prefix(prefix)?.trim_start_matches('@');
            Some((leading_number(version), entry.path().join(bin)))
        })
        .collect();
    found.sort_by(|a, b| b.cmp(a));
    found.into_iter().map(|(_, folder)| folder).collect()
}

fn pg_config() -> Option<PathBuf> {
    let output = Command::new("pg_config").arg("--bindir").output().ok()?;
    let folder = String::from_utf8(output.stdout).ok()?;
    output.status.success().then(|| PathBuf::from(folder.trim()))
}

/// `postgres (PostgreSQL) 15.13 (Debian …)` gives 15.
fn major(program: &Path) -> Option<u32> {
    let output = Command::new(program).arg("--version").output().ok()?;
    let said = String::from_utf8(output.stdout).ok()?;
    said.split_once("(PostgreSQL)").and_then(|(_, version)| leading_number(version.trim_start()))
}

fn leading_number(text: &str) -> Option<u32> {
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    text.get(..end)?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_newest_of_several_versions_side_by_side_comes_first() {
        let place = tempfile::tempdir().unwrap();
        for version in ["9.6", "14", "17", "16"] {
            fs::create_dir_all(place.path().join(version).join("bin")).unwrap();
        }
        let found = versioned(place.path().to_str().unwrap(), "", "bin");
        let expected = ["17", "16", "14", "9.6"].map(|version| place.path().join(version).join("bin"));
        assert_eq!(found, expected);
    }

    #[test]
    fn a_machine_without_server_programs_is_told_which_package_to_install() {
        let empty = tempfile::tempdir().unwrap();
        let found = Search::only(vec![empty.path().to_owned()]).servers();
        let said = choose(&found, Path::new("/data"), None).unwrap_err().to_string();
        for package in
            ["apt install postgresql", "dnf install postgresql-server", "pacman -S", "brew install"]
        {
            assert!(said.contains(package), "{said}");
        }
    }

    fn installed(majors: &[u32]) -> Vec<Programs> {
        majors.iter().map(|&major| Programs { folder: format!("/opt/{major}/bin").into(), major }).collect()
    }

    #[test]
    fn an_old_cluster_gets_the_programs_of_its_own_version_though_newer_ones_are_there() {
        assert_eq!(choose(&installed(&[17, 15]), Path::new("/data"), Some(15)).unwrap().major, 15);
        assert_eq!(choose(&installed(&[13, 17, 15]), Path::new("/data"), None).unwrap().major, 17);
    }

    #[test]
    fn programs_that_are_all_too_old_are_named() {
        let said = choose(&installed(&[13]), Path::new("/data"), None).unwrap_err().to_string();
        assert_eq!(
            said,
            "The PostgreSQL found in /opt/13/bin is version 13; Flitchbook needs version 14 or later."
        );
    }

    #[test]
    fn a_folder_that_depends_on_where_the_program_was_started_is_passed_over() {
        assert!(Search::only(vec!["bin".into(), ".".into()]).folders.is_empty());
    }
}
