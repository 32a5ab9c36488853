//! The database: where it is, how it is opened, how it is kept. What stands in it belongs to the areas.

pub mod backup;
pub mod cluster;
mod migrate;
mod pool;

use std::path::PathBuf;

use sqlx::PgPool;
use sqlx::postgres::PgConnectOptions;

pub use cluster::{Cluster, ClusterError};
pub use migrate::{MIGRATIONS, MigrationError, migrate};
pub use pool::{ConnectError, check_address};

/// Where the book is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Source {
    /// A PostgreSQL server run by somebody else, by its address (`postgres://…`).
    Url(String),
    /// A private cluster in this data folder.
    Private(PathBuf),
}

/// Whether another instance may run on the same data folder. With an address it always may.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Company {
    /// The one instance here: the shop's own, the demo, a restore.
    Alone,
    /// A short command, which uses a server that the shop's instance already runs.
    Beside,
}

/// An open database. [`Database::close`] ends its connections and stops the private server; dropping it stops the
/// server too.
#[derive(Debug)]
pub struct Database {
    pool: PgPool,
    options: PgConnectOptions,
    source: Source,
    cluster: Option<Cluster>,
}

/// Why the database could not be opened.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    #[error(transparent)]
    Cluster(#[from] ClusterError),
    #[error(transparent)]
    Connect(#[from] ConnectError),
    #[error(transparent)]
    Migrate(#[from] MigrationError),
}

/// Opens the database and brings its tables up to this program.
pub async fn open(source: &Source, company: Company) -> Result<Database, OpenError> {
    let database = connect(source, company).await?;
    match migrate(&database.options).await {
        Ok(()) => Ok(database),
        Err(error) => {
            database.close().await;
            Err(error.into())
        }
    }
}

/// Opens the database as it is, without touching its tables: for a backup, and for a restore into an empty one.
pub async fn connect(source: &Source, company: Company) -> Result<Database, OpenError> {
    let (options, cluster) = match source {
        Source::Url(url) => (pool::parse(url)?, None),
        Source::Private(data) => {
            let cluster = match company {
                Company::Alone => Cluster::start(data).await?,
                Company::Beside => Cluster::start_or_visit(data).await?,
            };
            (cluster.options(), Some(cluster))
        }
    };
    match pool::connect(options.clone()).await {
        Ok(pool) => Ok(Database { pool, options, source: source.clone(), cluster }),
        Err(error) => {
            if let Some(cluster) = cluster {
                cluster.stop().await;
            }
            Err(error.into())
        }
    }
}

impl Database {
    pub fn pool(&self) -> &PgPool {
        &self.pool
    }

    /// How to connect, for what needs a connection of its own.
    pub fn options(&self) -> &PgConnectOptions {
        &self.options
    }

    pub fn source(&self) -> &Source {
        &self.source
    }

    /// Whether the server belongs to an instance that runs beside this one.
    pub fn is_visited(&self) -> bool {
        self.cluster.as_ref().is_some_and(Cluster::is_visited)
    }

    /// Brings the tables up to this program, where [`connect`] was used to open.
    pub async fn migrate(&self) -> Result<(), MigrationError> {
        migrate(&self.options).await
    }

    /// Ends the connections, then the server.
    pub async fn close(self) {
        self.pool.close().await;
        if let Some(cluster) = self.cluster {
            cluster.stop().await;
        }
    }
}
