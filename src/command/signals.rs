//! Being asked to stop.

use std::future::poll_fn;
use std::io::{self, IsTerminal};
use std::task::Poll;

use tokio::signal::unix::{Signal, SignalKind, signal};

/// Listens from the moment it is made: a Ctrl-C while the database starts stops it again, too.
#[derive(Debug)]
pub struct Shutdown {
    signals: Vec<Signal>,
}

impl Shutdown {
    /// Ctrl-C and `kill`; a closed terminal too, unless the program was detached from it (`nohup`).
    pub fn listen() -> io::Result<Self> {
        let mut kinds = vec![SignalKind::interrupt(), SignalKind::terminate()];
        if io::stdin().is_terminal() {
            kinds.push(SignalKind::hangup());
        }
        Ok(Self { signals: kinds.into_iter().map(signal).collect::<io::Result<_>>()? })
    }

    /// Comes back when somebody asks the program to stop.
    pub async fn asked(&mut self) {
        poll_fn(|context| {
            let asked = self.signals.iter_mut().any(|signal| signal.poll_recv(context).is_ready());
            if asked { Poll::Ready(()) } else { Poll::Pending }
        })
        .await;
    }
}
