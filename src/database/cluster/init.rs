//! A new cluster: made whole under a temporary name, then renamed. Whatever goes wrong before that leaves nothing.

use std::fs::{self, DirBuilder};
use std::io::Write;
use std::os::unix::fs::DirBuilderExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use super::ClusterError;
use super::find::Programs;
use super::folder::Folder;
use super::user::Users;
use super::{DATABASE, ROLE};

/// Room asked for before a cluster is made, in megabytes: a new one takes about 40 with its write-ahead log, which
/// grows by 16 at a time.
const ROOM_MB: u64 = 200;

/// The server's own superuser, which the app does not use: as an ordinary role it cannot switch triggers off.
pub const SUPERUSER: &str = "postgres";

/// Makes the cluster, with the app's role and its empty database.
pub fn create(folder: &Folder, users: &Users, programs: &Programs) -> Result<(), ClusterError> {
    let free_mb =
        folder.free_mb().map_err(ClusterError::io("The free space on the disk could not be read"))?;
    if free_mb < ROOM_MB {
        return Err(ClusterError::Full { path: folder.root().to_owned(), free_mb, needed_mb: ROOM_MB });
    }
    for left in folder.unfinished() {
        if let Err(error) = fs::remove_dir_all(&left) {
            // The killed start's own initdb may still write there; it is cleared away another time.
            tracing::warn!(folder = %left.display(), %error, "an unfinished cluster could not be removed");
        }
    }
    let fresh = Fresh::make(folder, users)?;
    users.must_pass(folder.root())?;
    initdb(&fresh.path, users, programs)?;
    role_and_database(&fresh.path, users, programs)?;
    fresh.becomes(folder)
}

/// A folder that goes away again unless it becomes the cluster.
struct Fresh {
    path: PathBuf,
}

impl Fresh {
    fn make(folder: &Folder, users: &Users) -> Result<Self, ClusterError> {
        let path = folder.root().join(format!("cluster.new-{}", std::process::id()));
        DirBuilder::new().mode(0o700).create(&path).map_err(ClusterError::write(&path))?;
        let fresh = Self { path };
        users.give(&fresh.path).map_err(ClusterError::write(&fresh.path))?;
        Ok(fresh)
    }

    /// The rename is made durable too: a power cut right after the shop is set up must not lose the folder's name.
    fn becomes(self, folder: &Folder) -> Result<(), ClusterError> {
        let cluster = folder.cluster();
        fs::rename(&self.path, &cluster)
            .and_then(|()| fs::File::open(folder.root())?.sync_all())
            .map_err(ClusterError::write(&cluster))
    }
}

impl Drop for Fresh {
    fn drop(&mut self) {
        if self.path.exists() {
            let _ = fs::remove_dir_all(&self.path);
        }
    }
}

/// `initdb` syncs what it wrote to the disk before it ends. Pages carry checksums, so that a rotten disk is noticed.
/// Text sorts by code point, so that neither a system update nor a move to another machine changes an index.
fn initdb(cluster: &Path, users: &Users, programs: &Programs) -> Result<(), ClusterError> {
    let mut command = users.command(programs.path("initdb"));
    command
        .arg("--pgdata")
        .arg(cluster)
        .args(["--username", SUPERUSER, "--encoding=UTF8", "--lc-collate=C", "--data-checksums"])
        .arg(format!("--lc-ctype={}", ctype(users)))
        .args(["--auth-local=peer", "--auth-host=reject"]);
    let output = command.output().map_err(ClusterError::io("initdb could not be started"))?;
    if output.status.success() {
        return Ok(());
    }
    Err(ClusterError::Program { what: "Making the database (initdb)", said: tail(&output.stderr) })
}

/// A locale that knows which letters are capitals beyond A to Z, where the system has one.
fn ctype(users: &Users) -> &'static str {
    let output = users.command("locale").arg("-a").output();
    let known = output.map(|output| String::from_utf8_lossy(&output.stdout).into_owned()).unwrap_or_default();
    let has = |name: &str| known.lines().any(|line| line.eq_ignore_ascii_case(name));
    if has("C.utf8") || has("C.UTF-8") {
        "C.UTF-8"
    } else if has("en_US.utf8") || has("en_US.UTF-8") {
        "en_US.UTF-8"
    } else {
        "C"
    }
}

/// In single-user mode, so that no server runs before the cluster is whole. That mode ends with success even after an
/// error, so what it said is read.
fn role_and_database(cluster: &Path, users: &Users, programs: &Programs) -> Result<(), ClusterError> {
    let mut command = users.command(programs.path("postgres"));
    command.arg("--single").arg("-D").arg(cluster).args(["-c", "log_min_messages=error", "postgres"]);
    let statements = format!("CREATE ROLE {ROLE} LOGIN\nCREATE DATABASE {DATABASE} OWNER {ROLE}\n");
    let (ended_well, said) =
        feed(&mut command, &statements).map_err(ClusterError::io("postgres could not be started"))?;
    if ended_well && !["ERROR:", "FATAL:", "PANIC:"].iter().any(|word| said.contains(word)) {
        return Ok(());
    }
    Err(ClusterError::Program { what: "Making the book's database", said: tail(said.as_bytes()) })
}

fn feed(command: &mut Command, input: &str) -> std::io::Result<(bool, String)> {
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::null()).stderr(Stdio::piped()).spawn()?;
    if let Some(mut stdin) = child.stdin.take() {
        // A program that ended at once closes the pipe; why it ended stands in what it said.
        let _ = stdin.write_all(input.as_bytes());
    }
    let output = child.wait_with_output()?;
    Ok((output.status.success(), String::from_utf8_lossy(&output.stderr).into_owned()))
}

/// The last lines of what a program said; the cause stands at the end.
pub fn tail(said: &[u8]) -> String {
    let text = String::from_utf8_lossy(said);
    let lines: Vec<&str> = text.lines().filter(|line| !line.trim().is_empty()).collect();
    lines[lines.len().saturating_sub(8)..].join("\n")
}
