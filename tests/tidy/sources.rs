//! The project's own files, read once.

use std::path::{Path, PathBuf};

/// One text file.
pub struct Source {
    /// Its path from the project's top, with `/`.
    pub path: String,
    /// What stands in it.
    pub text: String,
}

impl Source {
    /// The words between the slashes of its path.
    pub fn parts(&self) -> Vec<&str> {
        self.path.split('/').collect()
    }

    /// The crate under `api` that it is part of, and its place in there without the ending: `core` and `quote/usecase/send`.
    pub fn place(&self) -> Option<(&str, &str)> {
        let (layer, inside) = self.path.strip_prefix("api/")?.split_once("/src/")?;
        Some((layer, inside.trim_end_matches(".rs")))
    }

    /// The numbered lines that are code: before the tests in the file, and no comment.
    pub fn code(&self) -> impl Iterator<Item = (usize, &str)> {
        let all = self.text.lines().enumerate();
        all.take_while(|(_, line)| !line.starts_with("#[cfg(test)]"))
            .filter(|(_, line)| !line.trim_start().starts_with("//"))
            .map(|(at, line)| (at + 1, line))
    }
}

/// The project's top folder.
pub fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().to_owned()
}

/// All files under `folder` whose name ends so.
pub fn under(folder: &str, endings: &[&str]) -> Vec<Source> {
    let mut found = Vec::new();
    walk(&top().join(folder), &mut |path| {
        let name = path.strip_prefix(top()).unwrap().to_string_lossy().into_owned();
        if endings.iter().any(|ending| name.ends_with(ending)) {
            found.push(Source { path: name, text: std::fs::read_to_string(path).unwrap() });
        }
    });
    found.sort_by(|a, b| a.path.cmp(&b.path));
    found
}

/// The Rust files of the program and the domain.
pub fn shipped() -> Vec<Source> {
    let mut all = under("domain/src", &[".rs"]);
    all.extend(program());
    all
}

/// The Rust files of the crates under `api`.
pub fn program() -> Vec<Source> {
    under("api", &[".rs"]).into_iter().filter(|source| source.place().is_some()).collect()
}

fn walk(folder: &Path, found: &mut impl FnMut(&Path)) {
    const NOT_OURS: [&str; 6] = ["target", ".git", "node_modules", ".venv", "__pycache__", "baywright-data"];
    let mut entries: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if NOT_OURS.contains(&name.as_str()) {
            continue;
        }
        if path.is_dir() {
            walk(&path, found);
        } else {
            found(&path);
        }
    }
}

/// Fails with all faults at once.
#[track_caller]
pub fn none(faults: Vec<String>, rule: &str) {
    assert!(faults.is_empty(), "{rule}\n  {}", faults.join("\n  "));
}
