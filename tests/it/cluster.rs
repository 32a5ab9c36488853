//! The private cluster against real server programs, and what a shop does to a computer.

use std::fs::{self, Permissions};
use std::io::{BufRead, BufReader};
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use flitchbook::database::cluster::{Cluster, ClusterError, Search};
use sqlx::{ConnectOptions, Connection, PgConnection};
use tempfile::TempDir;

/// Where the helper below finds its data folder.
const HELD: &str = "HELD_DATA_FOLDER";

/// A place that the server's user may pass, in memory where there is such a disk.
pub fn place() -> TempDir {
    let memory = Path::new("/dev/shm");
    let place = if memory.is_dir() { tempfile::tempdir_in(memory) } else { tempfile::tempdir() }.unwrap();
    fs::set_permissions(place.path(), Permissions::from_mode(0o755)).unwrap();
    place
}

fn start(data: &Path) -> Result<Cluster, ClusterError> {
    Cluster::start_with(data, &Search::usual())
}

async fn connect(cluster: &Cluster) -> PgConnection {
    cluster.options().connect().await.unwrap()
}

async fn write_line(cluster: &Cluster, text: &str) {
    let mut connection = connect(cluster).await;
    sqlx::query("CREATE TABLE IF NOT EXISTS line (text text)").execute(&mut connection).await.unwrap();
    sqlx::query("INSERT INTO line VALUES ($1)").bind(text).execute(&mut connection).await.unwrap();
    connection.close().await.unwrap();
}

async fn lines(cluster: &Cluster) -> Vec<String> {
    sqlx::query_scalar("SELECT text FROM line").fetch_all(&mut connect(cluster).await).await.unwrap()
}

async fn setting(cluster: &Cluster, name: &str) -> String {
    let query = "SELECT current_setting($1)";
    sqlx::query_scalar(query).bind(name).fetch_one(&mut connect(cluster).await).await.unwrap()
}

fn kill(pid: i32) {
    let killed = Command::new("kill").args(["-9", &pid.to_string()]).status().unwrap();
    assert!(killed.success());
}

fn eventually(what: &str, mut done: impl FnMut() -> bool) {
    let end = Instant::now() + Duration::from_secs(30);
    while !done() {
        assert!(Instant::now() < end, "{what}");
        std::thread::sleep(Duration::from_millis(20));
    }
}

/// An app of its own on `data`, to be killed: this very program, told to run the one helper below.
struct App {
    process: Child,
    server: i32,
}

impl App {
    fn start(data: &Path) -> Self {
        let mut process = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "cluster::holds_a_cluster_until_it_is_killed", "--ignored", "--nocapture"])
            .env(HELD, data)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let said = BufReader::new(process.stdout.take().unwrap());
        let server = said
            .lines()
            .map_while(Result::ok)
            .find_map(|line| line.split_once("server ").and_then(|(_, pid)| pid.parse().ok()))
            .expect("the helper says which server it runs");
        Self { process, server }
    }

    fn kill(&mut self) {
        self.process.kill().unwrap();
        self.process.wait().unwrap();
    }
}

impl Drop for App {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// The app of the tests that kill one; never run by itself.
#[test]
#[ignore = "a helper that the tests about a killed app start as a process of its own"]
fn holds_a_cluster_until_it_is_killed() {
    let Some(data) = std::env::var_os(HELD) else { return };
    let cluster = start(Path::new(&data)).unwrap();
    println!("\nserver {}", cluster.pid().unwrap());
    std::thread::sleep(Duration::from_mins(2));
}

#[tokio::test]
async fn a_first_start_makes_the_cluster_and_a_later_one_finds_what_was_written() {
    let place = place();
    let data = place.path().join("not/there yet");
    let cluster = start(&data).unwrap();
    write_line(&cluster, "92.4 kg").await;
    cluster.stop().await;
    assert!(!data.join("cluster/postmaster.pid").exists(), "the server is stopped");
    let cluster = start(&data).unwrap();
    assert_eq!(lines(&cluster).await, ["92.4 kg"]);
}

#[tokio::test]
async fn the_server_is_durable_opens_no_port_and_gives_the_app_no_power_over_triggers() {
    let place = place();
    let data = place.path().join("data");
    let cluster = start(&data).unwrap();
    for durable in ["fsync", "full_page_writes", "synchronous_commit", "data_checksums"] {
        assert_eq!(setting(&cluster, durable).await, "on", "{durable}");
    }
    assert_eq!(setting(&cluster, "listen_addresses").await, "");
    assert_eq!(setting(&cluster, "is_superuser").await, "off");
    assert_eq!(setting(&cluster, "server_encoding").await, "UTF8");
    let off = "SET session_replication_role = replica";
    assert!(sqlx::query(off).execute(&mut connect(&cluster).await).await.is_err());
    assert_eq!(fs::metadata(data.join("run")).unwrap().permissions().mode() & 0o777, 0o700);
}

#[tokio::test]
async fn a_dropped_cluster_leaves_no_server_behind() {
    let place = place();
    let cluster = start(place.path()).unwrap();
    let pid = cluster.pid().unwrap();
    drop(cluster);
    assert!(!Path::new(&format!("/proc/{pid}")).exists());
    assert!(!place.path().join("cluster/postmaster.pid").exists());
}

#[tokio::test]
async fn a_server_that_is_killed_while_the_app_runs_is_started_again() {
    let place = place();
    let cluster = start(place.path()).unwrap();
    write_line(&cluster, "signed").await;
    let first = cluster.pid().unwrap();
    kill(first);
    eventually("a new server comes up", || cluster.pid() != Some(first));
    assert_eq!(lines(&cluster).await, ["signed"]);
}

#[tokio::test]
async fn after_the_app_is_killed_the_server_it_left_running_is_joined_and_then_stopped() {
    let place = place();
    let mut app = App::start(place.path());
    app.kill();
    let cluster = start(place.path()).unwrap();
    assert_eq!(cluster.pid(), Some(app.server), "the same server");
    write_line(&cluster, "joined").await;
    assert_eq!(lines(&cluster).await, ["joined"]);
    cluster.stop().await;
    assert!(!place.path().join("cluster/postmaster.pid").exists(), "a joined server is stopped too");
}

#[tokio::test]
async fn after_app_and_server_are_both_killed_every_signed_line_is_there() {
    let place = place();
    let cluster = start(place.path()).unwrap();
    write_line(&cluster, "before").await;
    cluster.stop().await;
    let mut app = App::start(place.path());
    app.kill();
    kill(app.server);
    let cluster = start(place.path()).unwrap();
    assert_ne!(cluster.pid(), Some(app.server));
    assert_eq!(lines(&cluster).await, ["before"]);
}

#[tokio::test]
async fn a_pid_file_whose_number_has_gone_to_a_stranger_does_not_keep_the_shop_closed() {
    let place = place();
    start(place.path()).unwrap().stop().await;
    let mut stranger = Command::new("sleep").arg("60").spawn().unwrap();
    let run = place.path().join("run");
    let stale =
        format!("{}\n{}\n0\n5432\n{}\n\n\nready\n", stranger.id(), place.path().display(), run.display());
    fs::write(place.path().join("cluster/postmaster.pid"), &stale).unwrap();
    fs::write(run.join(".s.PGSQL.5432.lock"), &stale).unwrap();
    let cluster = start(place.path()).unwrap();
    assert_eq!(setting(&cluster, "fsync").await, "on");
    stranger.kill().unwrap();
    stranger.wait().unwrap();
}

#[tokio::test]
async fn an_empty_pid_file_left_by_a_full_disk_does_not_keep_the_shop_closed() {
    let place = place();
    start(place.path()).unwrap().stop().await;
    fs::write(place.path().join("cluster/postmaster.pid"), "").unwrap();
    start(place.path()).unwrap();
}

#[tokio::test]
async fn spaces_quotes_and_accents_in_the_path_are_no_trouble() {
    let place = place();
    let data = place.path().join("Frau Kühn's \"book\", 2 %");
    let cluster = start(&data).unwrap();
    write_line(&cluster, "here").await;
    let mut by_address: PgConnection = PgConnection::connect(&cluster.url()).await.unwrap();
    let text: String = sqlx::query_scalar("SELECT text FROM line").fetch_one(&mut by_address).await.unwrap();
    assert_eq!(text, "here");
}

#[tokio::test]
async fn a_path_too_long_for_a_socket_gets_a_short_private_folder_elsewhere() {
    let place = place();
    let data = place.path().join("a long way down/".repeat(8));
    let cluster = start(&data).unwrap();
    write_line(&cluster, "deep").await;
    let folder = cluster.options().get_socket().unwrap().clone();
    assert!(!folder.starts_with(place.path()));
    assert_eq!(fs::metadata(&folder).unwrap().permissions().mode() & 0o777, 0o700);
    cluster.stop().await;
    let cluster = start(&data).unwrap();
    assert_eq!(lines(&cluster).await, ["deep"]);
    cluster.stop().await;
    assert!(!folder.exists(), "it is taken away again");
}

#[tokio::test]
async fn a_second_instance_on_the_same_folder_is_refused_by_name_and_a_short_command_may_visit() {
    let place = place();
    let app = App::start(place.path());
    let link = place.path().join("by another name");
    symlink(place.path(), &link).unwrap();
    let refused = start(&link).unwrap_err();
    assert!(
        matches!(refused, ClusterError::InUse { pid: Some(pid), .. } if pid == app.process.id().cast_signed())
    );
    let said = refused.to_string();
    assert!(said.contains("already running on the folder") && said.contains("--data"), "{said}");
    let visit = Cluster::start_or_visit(place.path()).await.unwrap();
    assert!(visit.is_visited());
    write_line(&visit, "beside").await;
    visit.stop().await;
    let visit = Cluster::start_or_visit(place.path()).await.unwrap();
    assert_eq!(lines(&visit).await, ["beside"], "a visit leaves the server running");
    drop(app);
    start(place.path()).unwrap().stop().await;
}

#[tokio::test]
async fn a_short_command_on_a_folder_without_a_book_makes_none() {
    let place = place();
    let data = place.path().join("dta");
    let said = Cluster::start_or_visit(&data).await.unwrap_err().to_string();
    assert!(said.starts_with("There is no book in the folder"), "{said}");
    assert!(!data.exists());
}

#[test]
fn a_cluster_of_another_version_is_left_alone_and_the_way_to_move_it_is_told() {
    let place = place();
    drop(start(place.path()).unwrap());
    let version = place.path().join("cluster/PG_VERSION");
    fs::write(&version, "99\n").unwrap();
    let said = start(place.path()).unwrap_err().to_string();
    for part in ["PostgreSQL 99", "flitchbook backup", "rename", "flitchbook restore"] {
        assert!(said.contains(part), "{said}");
    }
    assert_eq!(fs::read_to_string(&version).unwrap(), "99\n");
}

#[test]
fn without_server_programs_nothing_is_made() {
    let place = place();
    let data = place.path().join("data");
    let refused = Cluster::start_with(&data, &Search::only(vec![place.path().to_owned()])).unwrap_err();
    assert!(matches!(refused, ClusterError::NoPrograms));
    assert!(!data.exists());
}

#[test]
fn a_file_in_the_place_of_the_folder_is_refused() {
    let place = place();
    let data = place.path().join("data");
    fs::write(&data, "a list of hooks").unwrap();
    for data in [data.clone(), data.join("below")] {
        let said = start(&data).unwrap_err().to_string();
        assert!(said.contains("is not a folder"), "{said}");
    }
    assert_eq!(fs::read_to_string(&data).unwrap(), "a list of hooks");
}

#[test]
fn a_cluster_that_cannot_be_made_leaves_nothing_half_written() {
    let place = place();
    let programs = place.path().join("programs");
    fs::create_dir(&programs).unwrap();
    let real = Search::usual().servers().into_iter().next().unwrap();
    for (name, text) in [
        ("postgres", format!("#!/bin/sh\nexec '{}' \"$@\"\n", real.path("postgres").display())),
        (
            "initdb",
            "#!/bin/sh\necho 'initdb: error: could not write: No space left on device' >&2\nexit 1\n".into(),
        ),
    ] {
        fs::write(programs.join(name), text).unwrap();
        fs::set_permissions(programs.join(name), Permissions::from_mode(0o755)).unwrap();
    }
    let data = place.path().join("data");
    let said = Cluster::start_with(&data, &Search::only(vec![programs])).unwrap_err().to_string();
    assert!(said.contains("The disk is full"), "{said}");
    let left: Vec<_> = fs::read_dir(&data).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(left, ["flitchbook.lock"]);
}

#[test]
fn what_a_killed_first_start_left_is_cleared_away() {
    let place = place();
    let unfinished = place.path().join("cluster.new-4711");
    fs::create_dir(&unfinished).unwrap();
    fs::write(unfinished.join("PG_VERSION"), "15\n").unwrap();
    drop(start(place.path()).unwrap());
    assert!(!unfinished.exists());
}

#[tokio::test]
async fn a_server_left_running_without_durable_settings_is_not_joined() {
    let place = place();
    let mut app = App::start(place.path());
    app.kill();
    let noted = place.path().join("cluster/postmaster.opts");
    let words = fs::read_to_string(&noted).unwrap().replace("fsync=on", "fsync=off");
    fs::write(&noted, words).unwrap();
    let cluster = start(place.path()).unwrap();
    assert_ne!(cluster.pid(), Some(app.server));
    assert_eq!(setting(&cluster, "fsync").await, "on");
}
