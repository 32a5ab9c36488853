//! What can stand in the way of the private cluster, each as one sentence a shopkeeper can act on.

use std::io;
use std::path::{Path, PathBuf};

use super::find::OLDEST;

/// Why the private cluster could not be started, joined or stopped.
#[derive(Debug, thiserror::Error)]
pub enum ClusterError {
    #[error("There is no book in the folder {data}. Name the folder that holds it with --data.", data = data.display())]
    NoBook { data: PathBuf },

    #[error("{}", no_programs())]
    NoPrograms,

    #[error(
        "The PostgreSQL found in {folder} is version {major}; Flitchbook needs version {OLDEST} or later.",
        folder = folder.display()
    )]
    TooOld { folder: PathBuf, major: u32 },

    #[error("{}", other_major(data, *cluster, found))]
    OtherMajor { data: PathBuf, cluster: u32, found: Vec<u32> },

    #[error(
        "Flitchbook is already running on the folder {data}{by}. Stop it first, or give this one its own folder with --data.",
        data = data.display(),
        by = by_process(*pid)
    )]
    InUse { data: PathBuf, pid: Option<i32> },

    #[error("{}", cannot_write(path, cause))]
    Write { path: PathBuf, cause: io::Error },

    #[error(
        "There is too little room for the book on the disk of {path}: {free_mb} MB free, {needed_mb} MB needed. Nothing was written.",
        path = path.display()
    )]
    Full { path: PathBuf, free_mb: u64, needed_mb: u64 },

    #[error(
        "The folder {blocked} may not be entered by the system user “{user}”, who runs the database in {data}. Allow it with `chmod o+x {blocked}`, or choose another folder with --data.",
        blocked = blocked.display(),
        data = data.display()
    )]
    NotPassable { blocked: PathBuf, data: PathBuf, user: String },

    #[error(
        "Flitchbook was started as root. PostgreSQL does not run as root, and there is no system user “postgres” to run it instead. Install PostgreSQL's server package, which adds that user, or start Flitchbook as an ordinary user."
    )]
    NoServerUser,

    #[error(
        "The user who started Flitchbook has no name on this system, and the database needs one. Start it as a named user. ({0})"
    )]
    NoName(String),

    #[error(
        "No safe folder for the database's socket could be made: {0}. Choose a data folder with a path shorter than {max} bytes with --data.",
        max = super::folder::SOCKET_FOLDER_MAX
    )]
    NoSocketFolder(String),

    #[error("The folder {path} is not a PostgreSQL cluster: its file PG_VERSION is missing or not readable. It was left as it is.", path = path.display())]
    NotACluster { path: PathBuf },

    #[error("A database server of an earlier run still works in {path} and does not come up or end (process {pid}). Stop it, then start again.", path = path.display())]
    Wedged { path: PathBuf, pid: i32 },

    #[error("{what} did not work.{hint} It said:\n{said}", hint = hint(said))]
    Program { what: &'static str, said: String },

    #[error("{what}: {cause}")]
    Io { what: String, cause: io::Error },
}

impl ClusterError {
    /// A failure to write at `path`, put into words by its kind.
    pub(super) fn write(path: &Path) -> impl FnOnce(io::Error) -> Self + use<> {
        let path = path.to_owned();
        move |cause| Self::Write { path, cause }
    }

    /// Any other failure of the system, with what was being done.
    pub(super) fn io(what: impl Into<String>) -> impl FnOnce(io::Error) -> Self {
        let what = what.into();
        move |cause| Self::Io { what, cause }
    }
}

fn no_programs() -> String {
    format!(
        "PostgreSQL's server programs are not installed (version {OLDEST} or later is needed). Install them:\n  \
         Debian, Ubuntu   apt install postgresql\n  \
         Fedora           dnf install postgresql-server\n  \
         Arch             pacman -S postgresql\n  \
         macOS            brew install postgresql\n\
         or give the address of a database that runs elsewhere in DATABASE_URL."
    )
}

fn other_major(data: &Path, cluster: u32, found: &[u32]) -> String {
    let found = found.iter().map(u32::to_string).collect::<Vec<_>>().join(", ");
    let data = data.display();
    format!(
        "The book in {data} is kept by PostgreSQL {cluster}, and the server programs found here are version {found}. To move it:\n  \
         1. install PostgreSQL {cluster} beside it (on Debian: postgresql-{cluster}) and run `flitchbook backup FILE`;\n  \
         2. set the old cluster aside: rename {data}/cluster to {data}/cluster-{cluster};\n  \
         3. run `flitchbook restore FILE`, which makes a new cluster, then `flitchbook verify`."
    )
}

fn by_process(pid: Option<i32>) -> String {
    pid.map(|pid| format!(" (process {pid})")).unwrap_or_default()
}

fn cannot_write(path: &Path, error: &io::Error) -> String {
    let path = path.display();
    match error.kind() {
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
            format!("The disk is full: {path} could not be written. Make room, then start again.")
        }
        io::ErrorKind::ReadOnlyFilesystem => {
            format!("The disk is read-only: {path} could not be written. Choose another folder with --data.")
        }
        io::ErrorKind::PermissionDenied => format!(
            "{path} may not be written by the user who started Flitchbook. Give that user the folder, or choose another with --data."
        ),
        io::ErrorKind::NotADirectory | io::ErrorKind::AlreadyExists => {
            format!(
                "{path} is not a folder, or lies under something that is not. Choose another with --data."
            )
        }
        _ => format!("{path} could not be written: {error}."),
    }
}

/// The causes that PostgreSQL names in its own words and a shopkeeper can mend.
fn hint(said: &str) -> &'static str {
    if said.contains("No space left on device") {
        " The disk is full: make room, then start again."
    } else if said.contains("Read-only file system") {
        " The disk is read-only."
    } else {
        ""
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_disk_that_cannot_be_written_is_named_by_what_is_wrong_with_it() {
        let said = |kind: io::ErrorKind| ClusterError::write(Path::new("/srv/shop"))(kind.into()).to_string();
        assert!(said(io::ErrorKind::StorageFull).starts_with("The disk is full: /srv/shop"));
        assert!(said(io::ErrorKind::ReadOnlyFilesystem).starts_with("The disk is read-only: /srv/shop"));
        assert!(said(io::ErrorKind::PermissionDenied).starts_with("/srv/shop may not be written"));
        assert!(said(io::ErrorKind::NotADirectory).starts_with("/srv/shop is not a folder"));
    }

    #[test]
    fn the_server_s_own_words_about_a_full_disk_are_put_into_plain_ones() {
        let said = "FATAL:  could not write lock file \"postmaster.pid\": No space left on device".to_owned();
        let error = ClusterError::Program { what: "Starting the database server", said };
        let lead =
            "Starting the database server did not work. The disk is full: make room, then start again.";
        assert!(error.to_string().starts_with(lead), "{error}");
    }
}
