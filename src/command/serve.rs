//! Answers on the shop's address until asked to stop.

use std::io;
use std::net::SocketAddr;
use std::time::Duration;

use anyhow::{Context, Result, anyhow};
use axum::Router;
use tokio::net::TcpListener;
use tokio::sync::oneshot;
use tokio::time::timeout;

use super::{Outcome, Shutdown, unless_stopped};
use crate::app;
use crate::clock::Clock;
use crate::config::Settings;
use crate::database::{self, Company};
use crate::web::{Hashing, Site};

/// How long pages that are being answered may take to finish. What was signed is signed before that.
const FINISHES: Duration = Duration::from_secs(10);

/// `flitchbook serve`
pub async fn run(settings: &Settings, shutdown: &mut Shutdown) -> Result<Outcome> {
    let opening = async { Ok(database::open(&settings.database, Company::Alone).await?) };
    let database = unless_stopped(shutdown, opening).await?;
    let app = app::open(database.pool().clone(), Clock::Machine, site(settings));
    let ready = |address| println!("The book is open on http://{address}. Ctrl-C closes it.");
    let answered = answer(settings.listen, app::router(app), shutdown, ready).await;
    database.close().await;
    answered.map(|()| Outcome::Fine)
}

/// How the program is reached, as the settings have it.
pub fn site(settings: &Settings) -> Site {
    let origin = settings.origin();
    Site {
        address: origin.to_string(),
        secure: origin.is_secure(),
        trust_proxy: settings.trust_proxy,
        session_days: settings.session_days,
        hashing: Hashing::Strong,
    }
}

/// Serves `router` on `listen`, calls `ready` with the address once pages can be asked for, and comes back when
/// somebody asks the program to stop and the pages under way are answered.
///
/// Who asks is known to the router as `ConnectInfo<SocketAddr>`.
pub async fn answer(
    listen: SocketAddr,
    router: Router,
    shutdown: &mut Shutdown,
    ready: impl FnOnce(SocketAddr),
) -> Result<()> {
    let listener = TcpListener::bind(listen).await.map_err(|error| cannot_listen(listen, &error))?;
    ready(listener.local_addr().context("The address listened on is not known")?);
    let (tell, told) = oneshot::channel::<()>();
    let service = router.into_make_service_with_connect_info::<SocketAddr>();
    let serving = axum::serve(listener, service).with_graceful_shutdown(async {
        // An end of the channel without a word is the end, too.
        let _ = told.await;
    });
    let mut serving = std::pin::pin!(serving.into_future());
    tokio::select! {
        ended = &mut serving => return ended.context("The pages can no longer be answered"),
        () = shutdown.asked() => {}
    }
    tracing::info!("stopping");
    drop(tell);
    if let Ok(ended) = timeout(FINISHES, serving).await {
        return ended.context("The last pages could not be answered");
    }
    tracing::warn!("some pages were not answered in time and were given up");
    Ok(())
}

fn cannot_listen(listen: SocketAddr, error: &io::Error) -> anyhow::Error {
    match error.kind() {
        io::ErrorKind::AddrInUse => anyhow!(
            "Another program already answers on {listen}. Stop it, or choose another port with --listen."
        ),
        io::ErrorKind::PermissionDenied => anyhow!(
            "The system does not let this user answer on {listen}; ports below 1024 are kept. Choose another with --listen."
        ),
        io::ErrorKind::AddrNotAvailable => {
            anyhow!("{listen} is not an address of this machine. Choose another with --listen.")
        }
        _ => anyhow!("{listen} could not be listened on: {error}."),
    }
}

#[cfg(test)]
mod tests {
    use std::io::{Read, Write};
    use std::net::TcpStream;
    use std::thread;

    use axum::routing::get;
    use rustix::process::{Signal, getpid, kill_process};

    use super::*;

    const ANY_PORT: SocketAddr = SocketAddr::new(std::net::IpAddr::V4(std::net::Ipv4Addr::LOCALHOST), 0);

    /// Asks for a page that takes its time, and asks the program to stop before it is there.
    fn ask_then_stop(address: SocketAddr) -> String {
        let mut connection = TcpStream::connect(address).unwrap();
        connection.write_all(b"GET / HTTP/1.1\r\nHost: shop\r\n\r\n").unwrap();
        thread::sleep(Duration::from_millis(150));
        kill_process(getpid(), Signal::TERM).unwrap();
        let mut page = String::new();
        connection.read_to_string(&mut page).unwrap();
        page
    }

    #[tokio::test]
    async fn a_page_under_way_is_answered_before_the_program_stops() {
        let slow = get(|| async {
            tokio::time::sleep(Duration::from_millis(500)).await;
            "signed"
        });
        let mut shutdown = Shutdown::listen().unwrap();
        let mut asking = None;
        let ready = |address| asking = Some(thread::spawn(move || ask_then_stop(address)));
        answer(ANY_PORT, Router::new().route("/", slow), &mut shutdown, ready).await.unwrap();
        let page = asking.unwrap().join().unwrap();
        assert!(page.starts_with("HTTP/1.1 200") && page.ends_with("signed"), "{page}");
    }

    #[tokio::test]
    async fn a_port_that_is_taken_is_named() {
        let taken = TcpListener::bind(ANY_PORT).await.unwrap();
        let address = taken.local_addr().unwrap();
        let mut shutdown = Shutdown::listen().unwrap();
        let refused = answer(address, Router::new(), &mut shutdown, |_| ()).await.unwrap_err().to_string();
        assert!(refused.starts_with(&format!("Another program already answers on {address}.")), "{refused}");
    }
}
