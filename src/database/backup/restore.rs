//! Reads a backup back into a database without a book.

use std::fs::File;
use std::path::Path;
use std::process::Stdio;

use sqlx::{PgConnection, PgPool};

use super::program::Tools;
use super::{BackupError, server_major};
use crate::database::Database;

/// Restores the whole book from `file`, all of it or nothing. The caller then migrates and verifies.
///
/// # Errors
/// [`BackupError::BookThere`] when the database has entries; [`BackupError::NotABackup`]; [`BackupError::Strangers`].
pub async fn restore(database: &Database, file: &Path) -> Result<(), BackupError> {
    File::open(file).map_err(|cause| BackupError::Read { path: file.to_owned(), cause })?;
    let tools = Tools::for_server(server_major(database.pool()).await?)?;
    check_archive(&tools, file).await?;
    make_room(database.pool()).await?;
    let mut command = tools.connected("pg_restore", database);
    let name = database.options().get_database().unwrap_or_else(|| database.options().get_username());
    command
        .args(["--single-transaction", "--exit-on-error", "--no-owner", "--no-privileges", "--no-password"])
        .args(["--dbname", name])
        .arg(file);
    Tools::run(command, "Restoring the book (pg_restore)").await.map(drop)
}

/// An archive that can be read to its end and has the book's table in it.
async fn check_archive(tools: &Tools, file: &Path) -> Result<(), BackupError> {
    let not_a_backup = || BackupError::NotABackup { path: file.to_owned() };
    let mut command = tools.command("pg_restore");
    command.arg("--list").arg(file).stdout(Stdio::piped());
    let list = Tools::run(command, "Reading the backup (pg_restore)").await;
    let list = match list {
        // It names the way out: a newer program.
        Err(BackupError::Program { what, said }) if said.contains("unsupported version") => {
            return Err(BackupError::Program { what, said });
        }
        other => other.map_err(|_| not_a_backup())?,
    };
    let list = String::from_utf8_lossy(&list.stdout).into_owned();
    if !list.lines().any(|line| line.contains(" TABLE DATA public entry ")) {
        return Err(not_a_backup());
    }
    tools.read_through(file).await.map_err(|_| not_a_backup())
}

/// Looks whether there is a book, and if there is none, takes away the empty tables that an earlier start has made.
/// Both in one transaction that nobody else can write an entry beside.
async fn make_room(pool: &PgPool) -> Result<(), BackupError> {
    let mut transaction = pool.begin().await?;
    let tables = tables(&mut transaction).await?;
    if tables.iter().any(|table| table == "entry") {
        sqlx::query("LOCK TABLE public.entry IN ACCESS EXCLUSIVE MODE").execute(&mut *transaction).await?;
        let entries: i64 =
            sqlx::query_scalar("SELECT count(*) FROM public.entry").fetch_one(&mut *transaction).await?;
        if entries > 0 {
            return Err(BackupError::BookThere { entries });
        }
    }
    if !tables.is_empty() && !tables.iter().any(|table| table == "_sqlx_migrations") {
        return Err(BackupError::Strangers(tables.join(", ")));
    }
    sqlx::raw_sql(TAKE_AWAY).execute(&mut *transaction).await?;
    transaction.commit().await?;
    Ok(())
}

async fn tables(connection: &mut PgConnection) -> Result<Vec<String>, BackupError> {
    Ok(sqlx::query_scalar("SELECT tablename::text FROM pg_tables WHERE schemaname = 'public' ORDER BY 1")
        .fetch_all(connection)
        .await?)
}

/// Everything in the schema, but for what belongs to an extension. The schema itself stays: on PostgreSQL 14 it
/// belongs to the superuser.
const TAKE_AWAY: &str = r"
DO $$
DECLARE
    thing record;
BEGIN
    FOR thing IN
        SELECT 'VIEW' AS kind, c.oid::regclass::text AS name
        FROM pg_class c WHERE c.relnamespace = 'public'::regnamespace AND c.relkind = 'v'
        UNION ALL
        SELECT 'MATERIALIZED VIEW', c.oid::regclass::text
        FROM pg_class c WHERE c.relnamespace = 'public'::regnamespace AND c.relkind = 'm'
        UNION ALL
        SELECT 'TABLE', c.oid::regclass::text
        FROM pg_class c WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'p')
        UNION ALL
        SELECT 'SEQUENCE', c.oid::regclass::text
        FROM pg_class c WHERE c.relnamespace = 'public'::regnamespace AND c.relkind = 'S'
        UNION ALL
        SELECT 'ROUTINE', p.oid::regprocedure::text
        FROM pg_proc p
        WHERE p.pronamespace = 'public'::regnamespace
          AND NOT EXISTS (SELECT FROM pg_depend d WHERE d.objid = p.oid AND d.deptype = 'e')
        UNION ALL
        SELECT CASE t.typtype WHEN 'd' THEN 'DOMAIN' ELSE 'TYPE' END, t.oid::regtype::text
        FROM pg_type t
        WHERE t.typnamespace = 'public'::regnamespace AND t.typtype IN ('d', 'e')
          AND NOT EXISTS (SELECT FROM pg_depend d WHERE d.objid = t.oid AND d.deptype = 'e')
    LOOP
        EXECUTE format('DROP %s IF EXISTS %s CASCADE', thing.kind, thing.name);
    END LOOP;
END
$$;
";
