//! One instance a folder: a lock that the system lets go of when the process ends, however it ends.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, Write};

use super::ClusterError;
use super::folder::Folder;

/// Held as long as the instance runs.
#[derive(Debug)]
pub struct Lock {
    _file: File,
}

impl Lock {
    /// # Errors
    /// [`ClusterError::InUse`] with the other's process id where it is known; [`ClusterError::Write`].
    pub fn take(folder: &Folder) -> Result<Self, ClusterError> {
        let path = folder.lock();
        let mut file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(&path)
            .map_err(ClusterError::write(&path))?;
        folder.keep_owner(&path)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                let mut pid = String::new();
                let _ = file.read_to_string(&mut pid);
                return Err(ClusterError::InUse {
                    data: folder.root().to_owned(),
                    pid: pid.trim().parse().ok(),
                });
            }
            Err(TryLockError::Error(error)) => return Err(ClusterError::write(&path)(error)),
        }
        file.set_len(0)
            .and_then(|()| file.rewind())
            .and_then(|()| writeln!(file, "{}", std::process::id()))
            .map_err(ClusterError::write(&path))?;
        Ok(Self { _file: file })
    }
}
