//! One throwaway PostgreSQL for the run, and a database per test, cloned from a template.

use std::io::Write;
use std::os::unix::fs::PermissionsExt;
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{ChildStdin, Command, Stdio};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use flitchbook::database::cluster::Search;
use sqlx::postgres::{PgConnectOptions, PgPoolOptions};
use sqlx::{AssertSqlSafe, ConnectOptions, Connection, PgPool};
use tokio::sync::OnceCell;

/// The server ends when this end of its pipe closes: with the test process, however that ends.
struct Server {
    folder: PathBuf,
    port: u16,
    _until: ChildStdin,
}

static SERVER: OnceCell<Server> = OnceCell::const_new();
static NUMBER: AtomicUsize = AtomicUsize::new(0);

/// What the socket of a server is called after; two servers have two folders.
const PORT: u16 = 5432;

/// The name of the database that all others are cloned from.
const TEMPLATE: &str = "template_shop";

/// A database that is filled once in a run; a test has a copy of its own of it.
pub struct Stocked {
    name: &'static str,
    filled: OnceCell<()>,
}

impl Stocked {
    pub const fn new(name: &'static str) -> Self {
        Self { name, filled: OnceCell::const_new() }
    }

    /// A copy of it for the test; whoever asks first fills it for all.
    pub async fn copy(&self, fill: impl AsyncFnOnce(PgPool)) -> PgPool {
        let server = SERVER.get_or_init(start).await;
        let once = async || {
            let pool = copy(server, TEMPLATE, self.name).await;
            fill(pool.clone()).await;
            // Nobody may look into it while it is copied.
            pool.close().await;
        };
        self.filled.get_or_init(once).await;
        copy(server, self.name, &fresh_name()).await
    }
}

/// A database of its own for the test, with all tables and nothing in them.
pub async fn database() -> PgPool {
    let server = SERVER.get_or_init(start).await;
    copy(server, TEMPLATE, &fresh_name()).await
}

fn fresh_name() -> String {
    format!("shop_{}", NUMBER.fetch_add(1, Ordering::SeqCst))
}

async fn copy(server: &Server, of: &str, name: &str) -> PgPool {
    let mut postgres = options(server, "postgres").connect().await.unwrap();
    let copy = format!("CREATE DATABASE {name} TEMPLATE {of}");
    sqlx::raw_sql(AssertSqlSafe(copy)).execute(&mut postgres).await.unwrap();
    PgPoolOptions::new().max_connections(3).connect_with(options(server, name)).await.unwrap()
}

fn options(server: &Server, database: &str) -> PgConnectOptions {
    PgConnectOptions::new_without_pgpass()
        .socket(&server.folder)
        .port(server.port)
        .username("flitch")
        .database(database)
}

/// A PostgreSQL of its own for one test, with these settings beside the usual ones. The files of `handed` are its own and lie in
/// `{place}`.
pub struct Apart(Server);

impl Apart {
    pub async fn start(port: u16, settings: &[String], handed: &[(&str, String)]) -> Self {
        let server = run(&programs(), port, settings, handed);
        connect(&server).await.close().await.unwrap();
        Self(server)
    }

    /// Where a file lies that was handed to a server.
    pub fn path(&self, name: &str) -> PathBuf {
        self.0.folder.join(name)
    }
}

/// The folder of the server programs.
fn programs() -> PathBuf {
    let programs = Search::usual().servers().into_iter().next().expect("PostgreSQL's server programs");
    programs.path("initdb").parent().map(Path::to_owned).unwrap()
}

async fn start() -> Server {
    let server = tokio::task::spawn_blocking(|| run(&programs(), PORT, &["listen_addresses=".into()], &[]))
        .await
        .unwrap();
    let mut postgres = connect(&server).await;
    sqlx::raw_sql(AssertSqlSafe(format!("CREATE DATABASE {TEMPLATE}"))).execute(&mut postgres).await.unwrap();
    flitchbook::database::migrate(&options(&server, TEMPLATE)).await.unwrap();
    server
}

async fn connect(server: &Server) -> sqlx::PgConnection {
    let patience = Instant::now() + Duration::from_secs(30);
    loop {
        match options(server, "postgres").connect().await {
            Ok(connection) => return connection,
            Err(why) => assert!(Instant::now() < patience, "the tests' server does not answer: {why}"),
        }
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

/// Without fsync, since nothing here outlives the run; in memory where the machine has room there.
fn run(programs: &Path, port: u16, settings: &[String], handed: &[(&str, String)]) -> Server {
    let base = if Path::new("/dev/shm").is_dir() { "/dev/shm".into() } else { std::env::temp_dir() };
    let folder = tempfile::Builder::new().prefix("shop-").tempdir_in(base).unwrap().keep();
    let script = r#"
        trap '' INT TERM
        "$1/initdb" -A trust -U flitch -N --no-instructions -D "$2/data" >"$2/log" 2>&1 || exit 1
        bin=$1 place=$2
        shift 2
        "$bin/postgres" -D "$place/data" -k "$place" -c fsync=off -c full_page_writes=off \
            -c synchronous_commit=off -c max_connections=200 "$@" >>"$place/log" 2>&1 &
        server=$!
        read -r _
        kill -QUIT $server
        wait $server
        rm -rf "$place"
    "#;
    let mut command = Command::new("sh");
    command.args(["-c", script, "sh"]).arg(programs).arg(&folder).stdin(Stdio::piped()).process_group(0);
    for setting in settings {
        command.arg("-c").arg(setting.replace("{place}", folder.to_str().unwrap()));
    }
    command.stdout(Stdio::null()).stderr(Stdio::null());
    let user = server_user();
    for (name, text) in handed {
        let path = folder.join(name);
        std::fs::write(&path, text).unwrap();
        std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o600)).unwrap();
        if let Some((uid, gid)) = user {
            std::os::unix::fs::chown(&path, Some(uid), Some(gid)).unwrap();
        }
    }
    if let Some((uid, gid)) = user {
        std::os::unix::fs::chown(&folder, Some(uid), Some(gid)).unwrap();
        command.uid(uid).gid(gid);
    }
    #[allow(clippy::zombie_processes, reason = "it outlives us by the moment that it needs to clear up")]
    let mut child = command.spawn().unwrap();
    let mut until = child.stdin.take().unwrap();
    until.flush().unwrap();
    Server { folder, port, _until: until }
}

/// PostgreSQL's programs refuse to run as root; then they run as the system's own user for them.
fn server_user() -> Option<(u32, u32)> {
    let id = |flag: &str, user: &[&str]| -> Option<u32> {
        let out = Command::new("id").arg(flag).args(user).output().ok()?;
        String::from_utf8(out.stdout).ok()?.trim().parse().ok()
    };
    if id("-u", &[])? != 0 {
        return None;
    }
    Some((id("-u", &["postgres"])?, id("-g", &["postgres"])?))
}
