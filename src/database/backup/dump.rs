//! Makes a backup while the shop works on: what is saved is the book as it stood at one moment.

use std::fs::{self, File, OpenOptions};
use std::io;
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};
use std::process::Stdio;

use super::program::Tools;
use super::{BackupError, LEFT_BEHIND, server_major};
use crate::database::Database;

/// Writes the whole book to `file`, and reads the file back once before it gets its name. Only its owner may read
/// it: it holds the password hashes.
///
/// # Errors
/// [`BackupError::NoBook`]; [`BackupError::Exists`] unless `replace`; nothing of that name is made or changed when it fails.
pub async fn backup(database: &Database, file: &Path, replace: bool) -> Result<(), BackupError> {
    if !replace && file.exists() {
        return Err(BackupError::Exists { path: file.to_owned() });
    }
    let book: bool = sqlx::query_scalar("SELECT to_regclass('public.entry') IS NOT NULL")
        .fetch_one(database.pool())
        .await?;
    if !book {
        return Err(BackupError::NoBook);
    }
    let tools = Tools::for_server(server_major(database.pool()).await?)?;
    let partial = Partial::beside(file)?;
    dump(database, &tools, &partial).await?;
    tools.read_through(&partial.path).await?;
    partial.becomes(file)
}

async fn dump(database: &Database, tools: &Tools, partial: &Partial) -> Result<(), BackupError> {
    let out = partial.file.try_clone().map_err(|cause| partial.error(cause))?;
    let mut command = tools.connected("pg_dump", database);
    command.args(["--format=custom", "--no-owner", "--no-privileges", "--no-password"]);
    for table in LEFT_BEHIND {
        command.arg(format!("--exclude-table-data=public.{table}"));
    }
    command.stdout(Stdio::from(out));
    Tools::run(command, "Saving the book (pg_dump)").await.map(drop)
}

/// The file under a temporary name in the same folder; it goes away again unless it gets its name.
struct Partial {
    path: PathBuf,
    file: File,
}

impl Partial {
    fn beside(file: &Path) -> Result<Self, BackupError> {
        let error = |cause| BackupError::Write { path: file.to_owned(), cause };
        let name = file.file_name().ok_or_else(|| error(io::ErrorKind::IsADirectory.into()))?;
        let mut partial = std::ffi::OsString::from(".");
        partial.push(name);
        partial.push(format!(".{}.partial", std::process::id()));
        let path = file.with_file_name(partial);
        let file = OpenOptions::new().write(true).create_new(true).mode(0o600).open(&path).map_err(error)?;
        Ok(Self { path, file })
    }

    fn becomes(self, file: &Path) -> Result<(), BackupError> {
        let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        self.file
            .sync_all()
            .and_then(|()| fs::rename(&self.path, file))
            .and_then(|()| File::open(folder)?.sync_all())
            .map_err(|cause| BackupError::Write { path: file.to_owned(), cause })
    }

    fn error(&self, cause: io::Error) -> BackupError {
        BackupError::Write { path: self.path.clone(), cause }
    }
}

impl Drop for Partial {
    /// After the rename there is nothing of this name left.
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.path);
    }
}
