//! Looks after the server while the app runs: when it is killed, it is started again, and the pool finds it at the
//! same socket.

use std::sync::mpsc::{self, RecvTimeoutError, Sender};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use super::run::{Plan, Server};

const LOOKS_EVERY: Duration = Duration::from_millis(500);
const TRIES_AGAIN_AFTER: Duration = Duration::from_secs(5);

/// Holds the server; stopping or dropping it stops the server.
#[derive(Debug)]
pub struct Keeper {
    server: Arc<Mutex<Server>>,
    stop: Option<(Sender<()>, JoinHandle<()>)>,
}

impl Keeper {
    pub fn new(plan: Plan, server: Server) -> Self {
        let server = Arc::new(Mutex::new(server));
        let (stop, stopped) = mpsc::channel();
        let kept = Arc::clone(&server);
        let thread = thread::spawn(move || {
            let mut pause = LOOKS_EVERY;
            while stopped.recv_timeout(pause) == Err(RecvTimeoutError::Timeout) {
                pause = look(&plan, &kept);
            }
        });
        Self { server, stop: Some((stop, thread)) }
    }

    pub fn pid(&self) -> i32 {
        self.server.lock().unwrap_or_else(PoisonError::into_inner).pid()
    }

    /// Stops looking after it first, or it would be started again.
    pub fn stop(&mut self) {
        let Some((stop, thread)) = self.stop.take() else { return };
        drop(stop);
        let _ = thread.join();
        self.server.lock().unwrap_or_else(PoisonError::into_inner).stop();
    }
}

impl Drop for Keeper {
    fn drop(&mut self) {
        self.stop();
    }
}

fn look(plan: &Plan, server: &Mutex<Server>) -> Duration {
    let mut server = server.lock().unwrap_or_else(PoisonError::into_inner);
    if server.lives() {
        return LOOKS_EVERY;
    }
    tracing::warn!(pid = server.pid(), "the database server has ended by itself; starting it again");
    match plan.server() {
        Ok(started) => {
            *server = started;
            LOOKS_EVERY
        }
        Err(error) => {
            tracing::error!("{error}");
            TRIES_AGAIN_AFTER
        }
    }
}
