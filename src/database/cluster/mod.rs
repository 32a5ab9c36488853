//! The private cluster: a PostgreSQL server of Flitchbook's own, in the data folder, on a Unix socket and nothing
//! else. It starts with the app and stops with it, and it outlives what a shop does to a computer: a pulled plug, a
//! killed app, a killed server.

mod error;
mod find;
mod folder;
mod init;
mod keep;
mod lock;
mod process;
mod run;
mod user;

use std::path::{Path, PathBuf};
use std::time::Duration;

use sqlx::postgres::{PgConnectOptions, PgSslMode};

pub use error::ClusterError;
pub use find::{OLDEST, Programs, Search};

use folder::Folder;
use keep::Keeper;
use lock::Lock;
use run::{Plan, Server};
use user::Users;

/// The app's role: an ordinary one, which owns its database and nothing else.
pub const ROLE: &str = "flitchbook";
/// The app's database.
pub const DATABASE: &str = "flitchbook";
/// Names the socket only (`.s.PGSQL.5432`); no port is opened.
const PORT: u16 = 5432;

/// A running private cluster. Stopping or dropping it stops the server, unless another instance runs it.
#[derive(Debug)]
pub struct Cluster {
    socket_folder: PathBuf,
    own: Option<Own>,
}

/// What the instance that runs the server holds, in the order in which it is let go: the lock last.
#[derive(Debug)]
struct Own {
    keeper: Keeper,
    /// A short socket folder outside the data folder, to be taken away again.
    short: Option<PathBuf>,
    _lock: Lock,
}

impl Cluster {
    /// Starts the server of the cluster in `data`, making both where they are missing, or joins one that a killed
    /// instance left running.
    ///
    /// # Errors
    /// [`ClusterError::InUse`] when another instance runs here; otherwise what stands in the way.
    pub async fn start(data: &Path) -> Result<Self, ClusterError> {
        let data = data.to_owned();
        blocking(move || Self::start_with(&data, &Search::usual())).await
    }

    /// As [`Cluster::start`], but where another instance runs the server, uses that one and leaves it running. For
    /// the short commands that a shop gives while its book is open. They make no cluster: a folder's name typed
    /// wrongly must not end with a backup of nothing.
    ///
    /// # Errors
    /// [`ClusterError::NoBook`], and all of [`Cluster::start`].
    pub async fn start_or_visit(data: &Path) -> Result<Self, ClusterError> {
        let data = data.to_owned();
        if !data.join("cluster").is_dir() {
            return Err(ClusterError::NoBook { data });
        }
        blocking(move || match Self::start_with(&data, &Search::usual()) {
            Err(in_use @ ClusterError::InUse { .. }) => Self::visit(&data).ok_or(in_use),
            other => other,
        })
        .await
    }

    /// As [`Cluster::start`], blocking, with the server programs looked for where `search` says.
    pub fn start_with(data: &Path, search: &Search) -> Result<Self, ClusterError> {
        // Looked for first: where there is nothing to run, nothing is made.
        let found = search.servers();
        if found.is_empty() {
            return Err(ClusterError::NoPrograms);
        }
        let folder = Folder::prepare(data)?;
        let lock = Lock::take(&folder)?;
        let existing = folder.major()?;
        let programs = find::choose(&found, folder.root(), existing)?;
        let users = Users::find(&folder.cluster())?;
        if existing.is_none() {
            init::create(&folder, &users, &programs)?;
        }
        let socket_folder = folder.socket_folder(&users)?;
        let plan = Plan { folder, users, programs, socket_folder: socket_folder.clone() };
        let server = plan.server()?;
        let short = (!socket_folder.starts_with(plan.folder.root())).then(|| socket_folder.clone());
        Ok(Self { socket_folder, own: Some(Own { keeper: Keeper::new(plan, server), short, _lock: lock }) })
    }

    /// The other instance may be starting still: its server is waited for a little.
    fn visit(data: &Path) -> Option<Self> {
        let cluster = Folder::prepare(data).ok()?.cluster();
        let mut found = None;
        process::wait_until(Duration::from_secs(10), || {
            found = Server::of_another(&cluster);
            found.is_some()
        });
        found.map(|found| Self { socket_folder: found.socket_folder, own: None })
    }

    /// Whether another instance runs the server.
    pub fn is_visited(&self) -> bool {
        self.own.is_none()
    }

    /// The server's process id, where it is ours to stop.
    pub fn pid(&self) -> Option<i32> {
        self.own.as_ref().map(|own| own.keeper.pid())
    }

    /// How to connect as the app. Nothing is taken from the environment's PG variables that would lead elsewhere.
    pub fn options(&self) -> PgConnectOptions {
        PgConnectOptions::new_without_pgpass()
            .socket(&self.socket_folder)
            .port(PORT)
            .username(ROLE)
            .database(DATABASE)
            .ssl_mode(PgSslMode::Disable)
    }

    /// The same as an address, for `psql` and for the log.
    pub fn url(&self) -> String {
        use std::os::unix::ffi::OsStrExt;
        let folder = percent_encoding::percent_encode(
            self.socket_folder.as_os_str().as_bytes(),
            percent_encoding::NON_ALPHANUMERIC,
        );
        format!("postgres://{ROLE}@localhost/{DATABASE}?host={folder}&port={PORT}")
    }

    /// Stops the server, if it is ours, and waits until it has written everything.
    pub async fn stop(self) {
        if tokio::task::spawn_blocking(move || drop(self)).await.is_err() {
            tracing::error!("stopping the database server was interrupted");
        }
    }
}

impl Drop for Own {
    /// While the lock is held: the next instance may want a folder of the same name.
    fn drop(&mut self) {
        self.keeper.stop();
        if let Some(folder) = &self.short {
            // Not empty when the server did not stop; then the next start joins it there.
            let _ = std::fs::remove_dir(folder);
        }
    }
}

async fn blocking<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, ClusterError> + Send + 'static,
) -> Result<T, ClusterError> {
    tokio::task::spawn_blocking(work).await.unwrap_or_else(|broken| {
        Err(ClusterError::io("Starting the database was interrupted")(std::io::Error::other(broken)))
    })
}
