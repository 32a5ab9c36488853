//! Who runs the server programs. PostgreSQL refuses to run as root, so root hands them to an unprivileged user.

use std::os::unix::fs::{MetadataExt, chown};
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::Command;
use std::{env, fs, io};

use super::ClusterError;

/// The system user that PostgreSQL's packages add.
const SERVER_USER: &str = "postgres";

/// This process's user, and the user that the server programs run as where that is another.
#[derive(Debug, Clone)]
pub struct Users {
    pub own_name: String,
    server: Option<Account>,
}

#[derive(Debug, Clone)]
struct Account {
    name: String,
    uid: u32,
    gid: u32,
}

impl Users {
    /// As root, the server belongs to whoever owns the cluster already, else to `postgres`.
    pub fn find(cluster: &Path) -> Result<Self, ClusterError> {
        let own_name = id(&["-un"]).map_err(ClusterError::NoName)?;
        if !rustix::process::geteuid().is_root() {
            return Ok(Self { own_name, server: None });
        }
        let server = match fs::metadata(cluster) {
            Ok(owner) if owner.uid() != 0 => owner_of(&owner)?,
            _ => postgres()?,
        };
        Ok(Self { own_name, server: Some(server) })
    }

    /// The name of the user that the server runs as.
    pub fn server_name(&self) -> &str {
        self.server.as_ref().map_or(&self.own_name, |account| &account.name)
    }

    /// A server program, run as the server's user, with none of our environment but what finds libraries: PGDATA,
    /// PGPORT or a foreign locale would change what it does.
    pub fn command(&self, program: impl AsRef<Path>) -> Command {
        let mut command = Command::new(program.as_ref());
        command.env_clear().env("LC_ALL", "C").current_dir("/");
        for kept in ["PATH", "LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH"] {
            if let Some(value) = env::var_os(kept) {
                command.env(kept, value);
            }
        }
        if let Some(account) = &self.server {
            command.uid(account.uid).gid(account.gid);
        }
        command
    }

    /// Gives `path` to the server's user.
    pub fn give(&self, path: &Path) -> io::Result<()> {
        self.server.as_ref().map_or(Ok(()), |account| chown(path, Some(account.uid), Some(account.gid)))
    }

    /// Whether `metadata` belongs to the server's user.
    pub fn owns(&self, metadata: &fs::Metadata) -> bool {
        let uid =
            self.server.as_ref().map_or_else(|| rustix::process::geteuid().as_raw(), |account| account.uid);
        metadata.uid() == uid
    }

    /// Root makes the folder, but the server's user must be able to pass every folder above it.
    pub fn must_pass(&self, data: &Path) -> Result<(), ClusterError> {
        let Some(account) = &self.server else { return Ok(()) };
        if self.may_enter(data) {
            return Ok(());
        }
        let mut above: Vec<&Path> = data.ancestors().collect();
        above.reverse();
        let blocked = above.into_iter().find(|folder| !self.may_enter(folder)).unwrap_or(data);
        Err(ClusterError::NotPassable {
            blocked: blocked.to_owned(),
            data: data.to_owned(),
            user: account.name.clone(),
        })
    }

    /// Asked of the system itself, by a process of that user: mode bits alone do not know of access lists.
    fn may_enter(&self, folder: &Path) -> bool {
        self.command("/bin/sh")
            .args(["-c", "test -x \"$1\"", "sh"])
            .arg(folder)
            .status()
            .is_ok_and(|status| status.success())
    }
}

fn postgres() -> Result<Account, ClusterError> {
    let number = |flag| id(&[flag, SERVER_USER]).ok().and_then(|text| text.parse().ok());
    match (number("-u"), number("-g")) {
        (Some(uid), Some(gid)) if uid != 0 => Ok(Account { name: SERVER_USER.to_owned(), uid, gid }),
        _ => Err(ClusterError::NoServerUser),
    }
}

fn owner_of(metadata: &fs::Metadata) -> Result<Account, ClusterError> {
    let (uid, gid) = (metadata.uid(), metadata.gid());
    let name = id(&["-un", &uid.to_string()]).map_err(ClusterError::NoName)?;
    Ok(Account { name, uid, gid })
}

/// The system's own `id`, which also knows users that do not stand in `/etc/passwd`.
fn id(arguments: &[&str]) -> Result<String, String> {
    let output = Command::new("id").args(arguments).output().map_err(|error| format!("id: {error}"))?;
    if !output.status.success() {
        return Err(String::from_utf8_lossy(&output.stderr).trim().to_owned());
    }
    Ok(String::from_utf8_lossy(&output.stdout).trim().to_owned())
}
