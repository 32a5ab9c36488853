//! The data folder: what lies where, and who may look.
//!
//! ```text
//! <data>/cluster/          PostgreSQL's own folder
//! <data>/run/              the socket (elsewhere when this path is too long for one)
//! <data>/hba.conf          who may connect, written anew at every start
//! <data>/ident.conf        which system user is which database role, likewise
//! <data>/server.log        what the server said
//! <data>/flitchbook.lock   held by the one instance that runs here
//! ```

use std::ffi::OsStr;
use std::fs::{self, DirBuilder, Permissions};
use std::io::{self, Write};
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{DirBuilderExt, MetadataExt, OpenOptionsExt, PermissionsExt, chown};
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use super::ClusterError;
use super::user::Users;

/// The longest path of a socket's folder in bytes. `sun_path` holds 104 bytes on macOS and 108 on Linux, with its
/// closing zero; the socket's own name, `/.s.PGSQL.5432.lock` beside it, takes 19.
pub const SOCKET_FOLDER_MAX: usize = 84;

/// A server log larger than this is set aside at the next start.
const LOG_MAX_BYTES: u64 = 5_000_000;

/// A data folder that exists; its path is absolute and free of links.
#[derive(Debug, Clone)]
pub struct Folder {
    root: PathBuf,
}

impl Folder {
    /// Makes the folder where it is missing: for root open to pass through, since the server runs as another user;
    /// else for its owner only.
    pub fn prepare(data: &Path) -> Result<Self, ClusterError> {
        let write = ClusterError::write(data);
        if !data.exists() {
            let mode = if rustix::process::geteuid().is_root() { 0o711 } else { 0o700 };
            fs::create_dir_all(data)
                .and_then(|()| fs::set_permissions(data, Permissions::from_mode(mode)))
                .map_err(write)?;
        } else if !data.is_dir() {
            return Err(write(io::ErrorKind::NotADirectory.into()));
        }
        let root = fs::canonicalize(data).map_err(ClusterError::write(data))?;
        Ok(Self { root })
    }

    pub fn root(&self) -> &Path {
        &self.root
    }

    pub fn cluster(&self) -> PathBuf {
        self.root.join("cluster")
    }

    pub fn lock(&self) -> PathBuf {
        self.root.join("flitchbook.lock")
    }

    pub fn log(&self) -> PathBuf {
        self.root.join("server.log")
    }

    pub fn hba(&self) -> PathBuf {
        self.root.join("hba.conf")
    }

    pub fn ident(&self) -> PathBuf {
        self.root.join("ident.conf")
    }

    /// The major version of the cluster that lies here; none where there is no cluster yet.
    ///
    /// # Errors
    /// [`ClusterError::NotACluster`] when there is a folder of that name, and it is something else.
    pub fn major(&self) -> Result<Option<u32>, ClusterError> {
        let path = self.cluster();
        if !path.exists() {
            return Ok(None);
        }
        let version = fs::read_to_string(path.join("PG_VERSION")).ok();
        let major =
            version.and_then(|text| text.trim().split('.').next().and_then(|major| major.parse().ok()));
        major.map(Some).ok_or(ClusterError::NotACluster { path })
    }

    /// What we make as root in somebody's folder stays that somebody's.
    pub fn keep_owner(&self, path: &Path) -> Result<(), ClusterError> {
        if !rustix::process::geteuid().is_root() {
            return Ok(());
        }
        fs::metadata(&self.root)
            .and_then(|owner| chown(path, Some(owner.uid()), Some(owner.gid())))
            .map_err(ClusterError::write(path))
    }

    /// Writes a small file whole: to a fresh name first, so that a full disk leaves the old one.
    pub fn put(&self, path: &Path, text: &str) -> Result<(), ClusterError> {
        let fresh = path.with_extension("new");
        let written = fs::File::create(&fresh)
            .and_then(|mut file| file.write_all(text.as_bytes()))
            .and_then(|()| fs::set_permissions(&fresh, Permissions::from_mode(0o644)));
        if let Err(error) = written {
            let _ = fs::remove_file(&fresh);
            return Err(ClusterError::write(path)(error));
        }
        self.keep_owner(&fresh)?;
        fs::rename(&fresh, path).map_err(ClusterError::write(path))
    }

    /// The server's log, for its owner's eyes (a refused statement stands in it whole), open for appending, and how long it was: what is said from now on stands behind that.
    pub fn open_log(&self) -> Result<(fs::File, u64), ClusterError> {
        let path = self.log();
        let write = || ClusterError::write(&path);
        if fs::metadata(&path).is_ok_and(|log| log.len() > LOG_MAX_BYTES) {
            fs::rename(&path, path.with_extension("log.old")).map_err(write())?;
        }
        let file =
            fs::OpenOptions::new().create(true).append(true).mode(0o600).open(&path).map_err(write())?;
        self.keep_owner(&path)?;
        let length = file.metadata().map_err(write())?.len();
        Ok((file, length))
    }

    /// A folder for the socket that only the server's user may enter.
    pub fn socket_folder(&self, users: &Users) -> Result<PathBuf, ClusterError> {
        let inside = self.root.join("run");
        if inside.as_os_str().len() <= SOCKET_FOLDER_MAX {
            private_folder(&inside, users).map_err(ClusterError::write(&inside))?;
            return Ok(inside);
        }
        let mut refused = String::from("no folder to try");
        for candidate in self.short_folders() {
            match private_folder(&candidate, users) {
                Ok(()) => return Ok(candidate),
                Err(error) => refused = format!("{}: {error}", candidate.display()),
            }
        }
        Err(ClusterError::NoSocketFolder(refused))
    }

    /// Short names that are the same at every start, told apart by a fingerprint of the long path.
    fn short_folders(&self) -> Vec<PathBuf> {
        let digest = Sha256::digest(self.root.as_os_str().as_bytes());
        let mark = digest.first_chunk().map_or(0, |first| u64::from_be_bytes(*first));
        let runtime = if rustix::process::geteuid().is_root() {
            Some(PathBuf::from("/run"))
        } else {
            std::env::var_os("XDG_RUNTIME_DIR").map(PathBuf::from)
        };
        runtime
            .filter(|folder| folder.is_absolute() && folder.is_dir())
            .into_iter()
            .chain([PathBuf::from("/tmp")])
            .map(|parent| parent.join(format!("flitchbook-{mark:016x}")))
            .filter(|folder| folder.as_os_str().len() <= SOCKET_FOLDER_MAX)
            .collect()
    }

    /// Free space on the folder's disk, in whole megabytes.
    pub fn free_mb(&self) -> io::Result<u64> {
        let disk = rustix::fs::statvfs(&self.root)?;
        Ok(disk.f_bavail.saturating_mul(disk.f_frsize) / 1_000_000)
    }

    /// Folders left by an initialisation that was killed.
    pub fn unfinished(&self) -> Vec<PathBuf> {
        let Ok(entries) = fs::read_dir(&self.root) else { return Vec::new() };
        let is_unfinished = |name: &OsStr| name.as_bytes().starts_with(b"cluster.new-");
        entries.filter_map(Result::ok).filter(|e| is_unfinished(&e.file_name())).map(|e| e.path()).collect()
    }
}

/// Whether the group or anybody else has any right to it.
fn open_to_others(found: &fs::Metadata) -> bool {
    found.mode().trailing_zeros() < 6
}

/// Makes a folder with mode 700 that belongs to the server's user, or accepts one that is that (or ours still, if we were
/// killed in between). Under a
/// folder open to all somebody else may have put a link or a folder of their own there; that one is refused.
fn private_folder(path: &Path, users: &Users) -> io::Result<()> {
    match DirBuilder::new().mode(0o700).create(path) {
        Ok(()) => users.give(path),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
            let found = fs::symlink_metadata(path)?;
            let ours = users.owns(&found) || found.uid() == rustix::process::geteuid().as_raw();
            if found.is_dir() && ours && !open_to_others(&found) {
                users.give(path)
            } else {
                Err(io::Error::other("it exists, and is not a private folder of the server's user"))
            }
        }
        Err(error) => Err(error),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder(root: &Path) -> Folder {
        Folder { root: root.to_owned() }
    }

    #[test]
    fn a_short_socket_folder_fits_and_differs_by_data_folder() {
        let long = |last: char| PathBuf::from(format!("/srv/{}{last}", "much/".repeat(30)));
        let (one, two) = (folder(&long('a')).short_folders(), folder(&long('b')).short_folders());
        assert!(one.iter().all(|path| path.as_os_str().len() <= SOCKET_FOLDER_MAX));
        assert_ne!(one, two);
    }

    #[test]
    fn a_folder_that_others_may_enter_is_refused_for_the_socket() {
        let place = tempfile::tempdir().unwrap();
        let open = place.path().join("open");
        fs::create_dir(&open).unwrap();
        fs::set_permissions(&open, Permissions::from_mode(0o755)).unwrap();
        let users = Users::find(&open).unwrap();
        users.give(&open).unwrap();
        assert!(private_folder(&open, &users).is_err());
        fs::set_permissions(&open, Permissions::from_mode(0o700)).unwrap();
        assert!(private_folder(&open, &users).is_ok());
    }

    #[test]
    fn a_link_in_place_of_the_socket_folder_is_refused() {
        let place = tempfile::tempdir().unwrap();
        let link = place.path().join("link");
        std::os::unix::fs::symlink(place.path(), &link).unwrap();
        assert!(private_folder(&link, &Users::find(&link).unwrap()).is_err());
    }

    #[test]
    fn a_folder_that_holds_something_else_is_not_taken_for_a_cluster() {
        let place = tempfile::tempdir().unwrap();
        let folder = folder(place.path());
        assert!(matches!(folder.major(), Ok(None)));
        fs::create_dir(folder.cluster()).unwrap();
        assert!(matches!(folder.major(), Err(ClusterError::NotACluster { .. })));
        fs::write(folder.cluster().join("PG_VERSION"), "16\n").unwrap();
        assert!(matches!(folder.major(), Ok(Some(16))));
    }
}
