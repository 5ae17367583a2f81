//! A file that appears whole or not at all.
//!
//! Written under a temporary name in the same folder and renamed when it is complete; given up, it leaves nothing behind
//! and what stood there before is untouched.

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// A file being written.
#[derive(Debug)]
pub struct Kept {
    temporary: PathBuf,
    target: PathBuf,
}

impl Kept {
    /// Opens the temporary file beside `target`.
    ///
    /// # Errors
    /// What the operating system says.
    pub fn create(target: &Path) -> io::Result<(Self, BufWriter<File>)> {
        let name = target.file_name().ok_or(io::ErrorKind::InvalidInput)?;
        let mut hidden = std::ffi::OsString::from(".");
        hidden.push(name);
        hidden.push(format!(".{}.tmp", std::process::id()));
        let kept = Self {
            temporary: target.with_file_name(hidden),
            target: target.to_owned(),
        };
        let file = File::create(&kept.temporary)?;
        Ok((kept, BufWriter::with_capacity(1 << 16, file)))
    }

    /// Puts the finished file in its place.
    ///
    /// # Errors
    /// What the operating system says; the temporary file is then gone and an earlier file stays.
    pub fn keep(self, mut out: BufWriter<File>) -> io::Result<()> {
        out.flush()?;
        out.get_ref().sync_all()?;
        fs::rename(&self.temporary, &self.target)
    }
}

impl Drop for Kept {
    fn drop(&mut self) {
        // After a rename there is nothing left to remove; before it, the error that led here is the one worth reporting.
        let _ = fs::remove_file(&self.temporary);
    }
}
