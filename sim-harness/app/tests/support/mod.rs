//! A folder of its own for every test, and the program run inside it.
#![allow(dead_code, reason = "each test file uses its own part")]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

/// A fresh folder, removed when the test ends.
pub struct Folder(PathBuf);

impl Folder {
    /// A folder named after the test.
    pub fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("couplet-test-{}-{name}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        std::fs::create_dir_all(&path).expect("a temporary folder can be made");
        Self(path)
    }

    /// A path inside.
    pub fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    /// Writes a file and returns its path as text.
    pub fn file(&self, name: &str, content: &[u8]) -> String {
        let path = self.path(name);
        std::fs::write(&path, content).expect("a temporary file can be written");
        path.display().to_string()
    }

    /// Every file below `name` with its bytes.
    pub fn all_files(&self, name: &str) -> BTreeMap<String, Vec<u8>> {
        let entries = std::fs::read_dir(self.path(name)).expect("the folder exists");
        entries
            .map(|entry| {
                let entry = entry.expect("readable");
                let bytes = std::fs::read(entry.path()).expect("readable");
                (entry.file_name().to_string_lossy().into_owned(), bytes)
            })
            .collect()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// Runs the program inside `folder`: status, standard output, standard error.
pub fn couplet(folder: &Folder, arguments: &[&str]) -> (Option<i32>, String, String) {
    let done = Command::new(env!("CARGO_BIN_EXE_couplet"))
        .args(arguments)
        .current_dir(folder.path(""))
        .output()
        .expect("the program starts");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (done.status.code(), text(&done.stdout), text(&done.stderr))
}

/// The text of a file.
pub fn text_of(path: &Path) -> String {
    std::fs::read_to_string(path).expect("readable text")
}
