//! Which processes really work in a cluster. A process id alone proves nothing: the process may be a zombie, or the
//! number may have gone to somebody else since.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};
use std::{fs, io, thread};

use rustix::process::{Pid, Signal, kill_process, test_kill_process};

/// What PostgreSQL writes about itself in its folder (`postmaster.pid`, a line each: process id, folder, start time,
/// port, socket folder, TCP address, shared memory, status).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PidFile {
    pub pid: i32,
    pub socket_folder: PathBuf,
    pub ready: bool,
}

impl PidFile {
    pub fn path(cluster: &Path) -> PathBuf {
        cluster.join("postmaster.pid")
    }

    /// None when there is no file, or none that can be made sense of yet: the server writes it in steps.
    pub fn read(cluster: &Path) -> Option<Self> {
        Self::parse(&fs::read_to_string(Self::path(cluster)).ok()?)
    }

    fn parse(text: &str) -> Option<Self> {
        let lines: Vec<&str> = text.lines().collect();
        Some(Self {
            pid: lines.first()?.trim().parse().ok()?,
            socket_folder: lines.get(4).copied().unwrap_or_default().into(),
            ready: lines.get(7).is_some_and(|status| status.trim() == "ready"),
        })
    }
}

/// Whether process `pid` lives and has `folder` as its working folder, as every PostgreSQL process has.
pub fn works_in(pid: i32, folder: &Path) -> bool {
    if has_proc() {
        return fs::read_link(format!("/proc/{pid}/cwd")).is_ok_and(|at| at == folder);
    }
    // Without /proc (macOS) the next best: it lives, is no zombie, and is a postgres.
    let output = Command::new("ps").args(["-o", "stat=,comm=", "-p", &pid.to_string()]).output();
    let said = output.map(|output| String::from_utf8_lossy(&output.stdout).into_owned()).unwrap_or_default();
    said.contains("postgres") && !said.trim_start().starts_with('Z')
}

/// Whether any process has `folder` as its working folder: when the server is killed, those it started need a moment
/// to notice. Unknown without /proc, where PostgreSQL's own guard on shared memory is left to refuse.
pub fn any_works_in(folder: &Path) -> bool {
    let Ok(processes) = fs::read_dir("/proc") else { return false };
    processes
        .filter_map(Result::ok)
        .filter_map(|entry| entry.file_name().to_str()?.parse().ok())
        .any(|pid| works_in(pid, folder))
}

/// Whether the system knows a process of this number at all, zombies included. PostgreSQL asks the same and then
/// refuses to start.
pub fn number_taken(pid: i32) -> bool {
    Pid::from_raw(pid).is_some_and(|pid| test_kill_process(pid) != Err(rustix::io::Errno::SRCH))
}

/// Sends `signal`; a process that is gone already is no error.
pub fn signal(pid: i32, signal: Signal) -> io::Result<()> {
    let Some(pid) = Pid::from_raw(pid) else { return Ok(()) };
    match kill_process(pid, signal) {
        Err(rustix::io::Errno::SRCH) | Ok(()) => Ok(()),
        Err(error) => Err(error.into()),
    }
}

/// Asks again every few milliseconds until `done` or the time is over; says whether it was done.
pub fn wait_until(limit: Duration, mut done: impl FnMut() -> bool) -> bool {
    let end = Instant::now() + limit;
    loop {
        if done() {
            return true;
        }
        if Instant::now() >= end {
            return false;
        }
        thread::sleep(Duration::from_millis(10));
    }
}

fn has_proc() -> bool {
    Path::new("/proc/self/cwd").exists()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_server_that_is_still_starting_is_not_ready() {
        let text = "812\n/srv/shop/cluster\n1764000000\n5432\n/srv/shop/run\n\n  1234 56\nstarting\n";
        let file = PidFile::parse(text).unwrap();
        assert_eq!(file, PidFile { pid: 812, socket_folder: "/srv/shop/run".into(), ready: false });
        assert!(PidFile::parse(&text.replace("starting", "ready   ")).unwrap().ready);
    }

    #[test]
    fn a_half_written_pid_file_is_no_server_yet() {
        assert_eq!(PidFile::parse(""), None);
        assert_eq!(PidFile::parse("not a number\n"), None);
    }

    #[test]
    fn a_process_that_works_elsewhere_does_not_hold_the_cluster() {
        let own = i32::try_from(std::process::id()).unwrap();
        let place = tempfile::tempdir().unwrap();
        assert!(number_taken(own));
        assert!(!works_in(own, place.path()));
        assert!(!any_works_in(place.path()));
    }
}
