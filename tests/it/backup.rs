//! The whole book in one file, and back.

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::Path;

use flitchbook::database::backup::{BackupError, backup, restore};
use flitchbook::database::{self, Company, Database, MigrationError, OpenError, Source};
use sqlx::{ConnectOptions, Executor};

use crate::cluster::place;

/// A small book, written by hand: what a backup keeps does not hang on what the tables mean.
const SMALL_BOOK: &str = "
    CREATE TYPE form AS ENUM ('carcass', 'cut');
    CREATE TABLE _sqlx_migrations (version bigint PRIMARY KEY);
    CREATE TABLE entry (seq bigint PRIMARY KEY, body jsonb NOT NULL, form form NOT NULL);
    CREATE TABLE session (token_hash bytea PRIMARY KEY);
    CREATE FUNCTION refuse() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION 'in ink'; END $$;
    CREATE TRIGGER in_ink BEFORE UPDATE OR DELETE ON entry FOR EACH ROW EXECUTE FUNCTION refuse();
";
const THREE_ENTRIES: &str = r#"
    INSERT INTO entry VALUES (1, '{"grams":"92400.00"}', 'carcass'), (2, '{"grams":"3180.00"}', 'cut'), (3, '{}', 'cut');
    INSERT INTO session VALUES ('\x00');
"#;

async fn opened(data: &Path) -> Database {
    database::connect(&Source::Private(data.to_owned()), Company::Alone).await.unwrap()
}

async fn book(data: &Path) -> Database {
    let database = opened(data).await;
    database.pool().execute(SMALL_BOOK).await.unwrap();
    database.pool().execute(THREE_ENTRIES).await.unwrap();
    database
}

async fn count(database: &Database, query: &'static str) -> i64 {
    sqlx::query_scalar(query).fetch_one(database.pool()).await.unwrap()
}

fn names(folder: &Path) -> Vec<String> {
    fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
}

#[tokio::test]
async fn a_book_comes_back_whole_with_its_guards_and_without_its_sessions() {
    let (place, files) = (place(), place());
    let file = files.path().join("book.backup");
    let old = book(&place.path().join("old")).await;
    backup(&old, &file, false).await.unwrap();
    assert_eq!(names(files.path()), ["book.backup"]);
    assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o600);

    let new = opened(&place.path().join("new")).await;
    restore(&new, &file).await.unwrap();
    let weight = "SELECT (body->>'grams')::numeric::bigint FROM entry WHERE seq = 1 AND form = 'carcass'";
    assert_eq!(count(&new, weight).await, 92_400);
    assert_eq!(count(&new, "SELECT count(*) FROM entry").await, 3);
    assert_eq!(count(&new, "SELECT count(*) FROM session").await, 0);
    let changed = new.pool().execute("UPDATE entry SET body = '[]'").await.unwrap_err().to_string();
    assert!(changed.contains("in ink"), "{changed}");
}

#[tokio::test]
async fn a_book_is_never_overwritten() {
    let (place, files) = (place(), place());
    let file = files.path().join("book.backup");
    let database = book(place.path()).await;
    backup(&database, &file, false).await.unwrap();
    database.pool().execute("INSERT INTO entry VALUES (4, '{}', 'cut')").await.unwrap();
    let refused = restore(&database, &file).await.unwrap_err();
    assert!(matches!(refused, BackupError::BookThere { entries: 4 }));
    assert_eq!(count(&database, "SELECT count(*) FROM entry").await, 4);
}

#[tokio::test]
async fn the_empty_tables_of_a_first_start_make_room() {
    let (place, files) = (place(), place());
    let file = files.path().join("book.backup");
    let old = book(&place.path().join("old")).await;
    backup(&old, &file, false).await.unwrap();
    let new = opened(&place.path().join("new")).await;
    new.pool().execute(SMALL_BOOK).await.unwrap();
    new.pool().execute("CREATE TABLE of_a_later_version (seq bigint REFERENCES entry)").await.unwrap();
    restore(&new, &file).await.unwrap();
    assert_eq!(count(&new, "SELECT count(*) FROM entry").await, 3);
}

#[tokio::test]
async fn tables_of_somebody_else_are_not_taken_away() {
    let (place, files) = (place(), place());
    let file = files.path().join("book.backup");
    let old = book(&place.path().join("old")).await;
    backup(&old, &file, false).await.unwrap();
    let other = opened(&place.path().join("other")).await;
    other.pool().execute("CREATE TABLE payroll (name text)").await.unwrap();
    let refused = restore(&other, &file).await.unwrap_err();
    assert!(matches!(&refused, BackupError::Strangers(tables) if tables == "payroll"), "{refused}");
    assert_eq!(count(&other, "SELECT count(*) FROM payroll").await, 0);
}

#[tokio::test]
async fn a_file_that_is_no_backup_or_is_cut_off_is_refused_before_anything_is_touched() {
    let (place, files) = (place(), place());
    let whole = files.path().join("whole");
    let database = book(&place.path().join("old")).await;
    backup(&database, &whole, false).await.unwrap();
    let bytes = fs::read(&whole).unwrap();
    let empty = opened(&place.path().join("new")).await;
    empty.pool().execute(SMALL_BOOK).await.unwrap();
    for (name, bytes) in
        [("letter", b"Dear Sir".as_slice()), ("cut off", &bytes[..bytes.len() - 40]), ("empty", b"")]
    {
        let file = files.path().join(name);
        fs::write(&file, bytes).unwrap();
        let refused = restore(&empty, &file).await.unwrap_err();
        assert!(matches!(refused, BackupError::NotABackup { .. }), "{name}: {refused}");
        assert_eq!(count(&empty, "SELECT count(*) FROM entry").await, 0, "{name}");
    }
    let refused = restore(&empty, &files.path().join("missing")).await.unwrap_err();
    assert!(matches!(refused, BackupError::Read { .. }));
}

#[tokio::test]
async fn a_backup_that_is_there_already_is_kept_unless_asked() {
    let (place, files) = (place(), place());
    let file = files.path().join("book.backup");
    fs::write(&file, "last week").unwrap();
    let database = book(place.path()).await;
    assert!(matches!(backup(&database, &file, false).await, Err(BackupError::Exists { .. })));
    assert_eq!(fs::read(&file).unwrap(), b"last week");
    backup(&database, &file, true).await.unwrap();
    assert_ne!(fs::read(&file).unwrap(), b"last week");
    let nowhere = files.path().join("no such folder/book.backup");
    assert!(matches!(backup(&database, &nowhere, false).await, Err(BackupError::Write { .. })));
    assert_eq!(names(files.path()), ["book.backup"]);
}

#[tokio::test]
async fn a_database_without_a_book_is_not_saved_as_one() {
    let (place, files) = (place(), place());
    let refused =
        backup(&opened(place.path()).await, &files.path().join("book.backup"), false).await.unwrap_err();
    assert!(matches!(refused, BackupError::NoBook));
    assert!(names(files.path()).is_empty());
}

#[tokio::test]
async fn a_database_given_by_its_address_is_saved_too() {
    let (place, files) = (place(), place());
    let file = files.path().join("book.backup");
    let private = book(place.path()).await;
    let url = private.options().to_url_lossy().to_string();
    let by_address = database::connect(&Source::Url(url), Company::Alone).await.unwrap();
    backup(&by_address, &file, false).await.unwrap();
    assert!(file.exists());
}

#[tokio::test]
async fn a_book_that_a_newer_program_has_opened_is_refused() {
    let place = place();
    let source = Source::Private(place.path().to_owned());
    let database = database::open(&source, Company::Alone).await.unwrap();
    let later = "INSERT INTO _sqlx_migrations (version, description, success, checksum, execution_time)
        VALUES (9999, 'a later step', true, '\\x00', 1)";
    database.pool().execute(later).await.unwrap();
    database.close().await;
    let refused = database::open(&source, Company::Alone).await.unwrap_err();
    assert!(matches!(refused, OpenError::Migrate(MigrationError::Newer(9999))), "{refused}");
    assert!(refused.to_string().contains("newer Flitchbook"));
    assert!(!place.path().join("cluster/postmaster.pid").exists(), "no server is left behind");
}
