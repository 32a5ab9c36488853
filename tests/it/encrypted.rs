//! A database that runs elsewhere is reached over TLS, and its certificate is held against the one that it should have.

use std::net::TcpListener;

use flitchbook::database::{self, Company, Source};
use rcgen::generate_simple_self_signed;

use crate::shop::Apart;

/// A certificate for this machine's own address, and its key.
fn certificate() -> (String, String) {
    let made = generate_simple_self_signed(vec!["127.0.0.1".to_owned()]).unwrap();
    (made.cert.pem(), made.signing_key.serialize_pem())
}

/// A server that answers on a port, encrypted or not at all, and what leads to it.
async fn server() -> (Apart, u16) {
    let port = TcpListener::bind(("127.0.0.1", 0)).unwrap().local_addr().unwrap().port();
    let (certificate, key) = certificate();
    let who = "local all all trust\nhostssl all all 127.0.0.1/32 trust\n".to_owned();
    let settings = [
        "listen_addresses=127.0.0.1".to_owned(),
        format!("port={port}"),
        "ssl=on".to_owned(),
        "ssl_cert_file={place}/server.crt".to_owned(),
        "ssl_key_file={place}/server.key".to_owned(),
        "hba_file={place}/who".to_owned(),
    ];
    let handed = [
        ("server.crt", certificate),
        ("server.key", key),
        ("who", who),
        ("other.crt", self::certificate().0),
    ];
    (Apart::start(port, &settings, &handed).await, port)
}

fn at(port: u16, more: &str) -> Source {
    Source::Url(format!("postgres://flitch@127.0.0.1:{port}/postgres?{more}"))
}

#[tokio::test]
async fn a_database_elsewhere_is_reached_over_tls_by_its_own_certificate_alone() {
    let (server, port) = server().await;
    let root = |name: &str| format!("sslmode=verify-full&sslrootcert={}", server.path(name).display());
    let book = database::open(&at(port, &root("server.crt")), Company::Alone).await.unwrap();
    let encrypted = "SELECT ssl FROM pg_stat_ssl WHERE pid = pg_backend_pid()";
    assert!(sqlx::query_scalar::<_, bool>(encrypted).fetch_one(book.pool()).await.unwrap());
    book.close().await;
    let asked = database::open(&at(port, "sslmode=require"), Company::Alone).await.unwrap();
    asked.close().await;
    let other = database::open(&at(port, &root("other.crt")), Company::Alone).await.unwrap_err();
    assert!(other.to_string().to_lowercase().contains("certificate"), "{other}");
    let plain = database::open(&at(port, "sslmode=disable"), Company::Alone).await;
    assert!(plain.is_err(), "it lets nobody in without TLS");
}
