//! A server: started or joined, asked whether it lives, stopped.

use std::fs;
use std::io::{Read, Seek, SeekFrom};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Stdio};
use std::time::Duration;

use rustix::process::Signal;

use super::ClusterError;
use super::find::Programs;
use super::folder::Folder;
use super::init::{SUPERUSER, tail};
use super::process::{self, PidFile, wait_until};
use super::user::Users;
use super::{PORT, ROLE};

/// How long a server may take to come up: after a crash it first reads its write-ahead log again.
const COMES_UP: Duration = Duration::from_mins(5);
/// How long it may take to end when asked: it writes all that is in memory to the disk.
const ENDS: Duration = Duration::from_mins(1);
/// How long the processes of a killed server may take to notice.
const NOTICES: Duration = Duration::from_secs(20);

/// Everything that is needed to start the server again just as it was.
#[derive(Debug, Clone)]
pub struct Plan {
    pub folder: Folder,
    pub users: Users,
    pub programs: Programs,
    pub socket_folder: PathBuf,
}

/// A running server. It is a child of ours, or was left running by an instance that was killed.
#[derive(Debug)]
pub struct Server {
    cluster: PathBuf,
    pid: i32,
    child: Option<Child>,
}

impl Plan {
    /// Joins the server that an earlier run left behind, or starts one.
    pub fn server(&self) -> Result<Server, ClusterError> {
        self.write_access()?;
        match self.left_running()? {
            Some(server) => Ok(server),
            None => self.start(),
        }
    }

    /// On the socket, by the name that the system itself vouches for; nobody else at all.
    fn write_access(&self) -> Result<(), ClusterError> {
        self.folder.put(&self.folder.hba(), "local all all peer map=shop\n")?;
        let mut map = String::new();
        for user in ["root", &self.users.own_name, self.users.server_name()] {
            for role in [ROLE, SUPERUSER] {
                let line = format!("shop \"{user}\" {role}\n");
                if !map.contains(&line) {
                    map.push_str(&line);
                }
            }
        }
        self.folder.put(&self.folder.ident(), &map)
    }

    fn left_running(&self) -> Result<Option<Server>, ClusterError> {
        let cluster = self.folder.cluster();
        let Some(found) = PidFile::read(&cluster) else {
            clear_away_empty(&cluster)?;
            return Ok(None);
        };
        if !process::works_in(found.pid, &cluster) {
            clear_away(&cluster, &found)?;
            return Ok(None);
        }
        let mut server = Server { cluster, pid: found.pid, child: None };
        if !wait_until(COMES_UP, || server.ready() || !server.lives()) {
            return Err(ClusterError::Wedged { path: server.cluster, pid: server.pid });
        }
        if server.lives() && self.started_as_we_would(&server) {
            tracing::info!(pid = server.pid, "joined the database server that an earlier run left running");
            return Ok(Some(server));
        }
        server.stop();
        Ok(None)
    }

    /// PostgreSQL notes the words it was started with, each in double quotes. A server with other settings (without
    /// fsync, or on TCP) is not joined.
    fn started_as_we_would(&self, server: &Server) -> bool {
        let noted = fs::read_to_string(server.cluster.join("postmaster.opts")).unwrap_or_default();
        let ours = self.words().join("\" \"");
        noted.trim_end().ends_with(&format!(" \"{ours}\""))
    }

    fn start(&self) -> Result<Server, ClusterError> {
        let (log, before) = self.folder.open_log()?;
        let spoken = log.try_clone().map_err(ClusterError::write(&self.folder.log()))?;
        self.users.must_pass(self.folder.root())?;
        let child = self
            .users
            .command(self.programs.path("postgres"))
            .args(self.words())
            .stdin(Stdio::null())
            .stdout(log)
            .stderr(spoken)
            // Its own group: Ctrl-C in the terminal reaches us, and we stop the server when nobody writes any more.
            .process_group(0)
            .spawn()
            .map_err(ClusterError::io("The database server could not be started"))?;
        let pid = i32::try_from(child.id()).expect("a process id fits, as the system keeps it in a pid_t");
        let mut server = Server { cluster: self.folder.cluster(), pid, child: Some(child) };
        let up = wait_until(COMES_UP, || server.ready() || !server.lives());
        if up && server.lives() {
            return Ok(server);
        }
        server.stop();
        Err(ClusterError::Program { what: "Starting the database server", said: self.said_since(before) })
    }

    /// Settings on the command line stand above the cluster's own files, so that an edited file cannot make the book
    /// less durable.
    fn words(&self) -> Vec<String> {
        let quoted = format!("\"{}\"", self.socket_folder.display().to_string().replace('"', "\"\""));
        let mut words = vec!["-D".to_owned(), self.folder.cluster().display().to_string()];
        let mut set = |name: &str, value: &str| words.extend(["-c".to_owned(), format!("{name}={value}")]);
        set("listen_addresses", "");
        set("port", &PORT.to_string());
        set("unix_socket_directories", &quoted);
        set("unix_socket_permissions", "0700");
        set("hba_file", &self.folder.hba().display().to_string());
        set("ident_file", &self.folder.ident().display().to_string());
        for durable in ["fsync", "full_page_writes", "synchronous_commit"] {
            set(durable, "on");
        }
        if cfg!(target_os = "macos") {
            // PostgreSQL's manual, "Reliability": on macOS only this reaches past the drive's own cache.
            set("wal_sync_method", "fsync_writethrough");
        }
        set("max_connections", "60");
        set("logging_collector", "off");
        set("log_destination", "stderr");
        set("log_checkpoints", "off");
        set("lc_messages", "C");
        set("timezone", "UTC");
        set("log_timezone", "UTC");
        words
    }

    fn said_since(&self, before: u64) -> String {
        let mut said = Vec::new();
        let read = fs::File::open(self.folder.log()).and_then(|mut log| {
            log.seek(SeekFrom::Start(before))?;
            log.read_to_end(&mut said)
        });
        read.map_or_else(|error| format!("(its log could not be read: {error})"), |_| tail(&said))
    }
}

impl Server {
    /// A server that another instance runs, as far as its own files show one.
    pub fn of_another(cluster: &Path) -> Option<PidFile> {
        PidFile::read(cluster).filter(|found| found.ready && process::works_in(found.pid, cluster))
    }

    pub fn pid(&self) -> i32 {
        self.pid
    }

    /// Whether it still runs; a child that has ended is reaped by asking.
    pub fn lives(&mut self) -> bool {
        match &mut self.child {
            Some(child) => matches!(child.try_wait(), Ok(None)),
            None => process::works_in(self.pid, &self.cluster),
        }
    }

    fn ready(&self) -> bool {
        PidFile::read(&self.cluster).is_some_and(|found| found.pid == self.pid && found.ready)
    }

    /// Stops it: open transactions are rolled back and everything is written (SIGINT, "fast"); a server that does not
    /// answer is ended at once (SIGQUIT, "immediate"), which the next start recovers from.
    pub fn stop(&mut self) {
        for (signal, limit) in [(Signal::INT, ENDS), (Signal::QUIT, NOTICES)] {
            if !self.lives() {
                return;
            }
            if let Err(error) = process::signal(self.pid, signal) {
                tracing::warn!(pid = self.pid, %error, "the database server could not be told to stop");
            }
            if wait_until(limit, || !self.lives()) {
                return;
            }
        }
        tracing::error!(pid = self.pid, "the database server did not stop; the next start joins it");
    }
}

/// After a kill the pid file may name a zombie, or a stranger who got its number since; PostgreSQL would refuse to
/// start for either. It is removed only when no process works in the cluster: PostgreSQL's own guard against two
/// servers on one cluster hangs on this file.
fn clear_away(cluster: &Path, found: &PidFile) -> Result<(), ClusterError> {
    if !wait_until(NOTICES, || !process::any_works_in(cluster)) {
        return Err(ClusterError::Wedged { path: cluster.to_owned(), pid: found.pid });
    }
    if !process::number_taken(found.pid) {
        return Ok(());
    }
    let socket = format!(".s.PGSQL.{PORT}");
    let lock = format!("{socket}.lock");
    for stale in [PidFile::path(cluster), found.socket_folder.join(lock), found.socket_folder.join(socket)] {
        remove(&stale)?;
    }
    Ok(())
}

/// A disk that was full leaves an empty pid file, which PostgreSQL does not dare to remove.
fn clear_away_empty(cluster: &Path) -> Result<(), ClusterError> {
    let path = PidFile::path(cluster);
    if path.exists() && !process::any_works_in(cluster) { remove(&path) } else { Ok(()) }
}

fn remove(stale: &Path) -> Result<(), ClusterError> {
    match fs::remove_file(stale) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => Err(ClusterError::write(stale)(error)),
        _ => Ok(()),
    }
}
