//! The paths that the project's main texts name exist, and its map stays short enough to read.

use std::path::Path;

use crate::sources::{none, top};

/// The map of the code.
const MAP: &str = "DEVELOPERS.md";

/// The most lines of the map: reasons stand at the head of the file that they are about.
const MOST_LINES: usize = 200;

/// Texts whose paths are checked. The paths of each start at the project's top folder.
const TEXTS: [&str; 3] = [MAP, "README.md", "tests/README.md"];

/// What follows the last dot in the name of a file, by which a word without a slash is known as a path.
const ENDINGS: [&str; 15] =
    ["c", "conf", "css", "html", "js", "json", "md", "mjs", "py", "rs", "sh", "sql", "toml", "ts", "yml"];

fn read(name: &str) -> String {
    std::fs::read_to_string(top().join(name)).unwrap()
}

/// Whether a word in backticks is meant as a path. Addresses of the API start with a slash, options with a dash; a word with
/// other characters than those of our names is an address of a server or has a placeholder, such as `api/core/src/<feature>/`.
fn is_path(word: &str) -> bool {
    let is_plain = |c: char| c.is_ascii_alphanumeric() || "/._-".contains(c);
    let ending = Path::new(word).extension().and_then(|ending| ending.to_str());
    let is_named = word.contains('/') || ending.is_some_and(|ending| ENDINGS.contains(&ending));
    is_named && word.chars().all(is_plain) && !word.starts_with(['/', '-'])
}

/// The paths in backticks of a text, each with its line. Blocks between fences hold commands and pictures.
fn paths(text: &str) -> Vec<(usize, &str)> {
    let (mut found, mut line) = (Vec::new(), 1);
    for (block, part) in text.split("```").enumerate() {
        for (piece, said) in part.split('`').enumerate() {
            if block.is_multiple_of(2) && !piece.is_multiple_of(2) {
                found.extend(said.split_whitespace().filter(|word| is_path(word)).map(|word| (line, word)));
            }
            line += said.matches('\n').count();
        }
    }
    found
}

/// Whether a path exists, or is made by running the program or the tests: `made` is what `.gitignore` says.
fn exists(path: &str, made: &str) -> bool {
    let name = path.trim_end_matches('/');
    top().join(name).exists() || made.lines().any(|line| line.trim_start_matches('/') == name)
}

fn faults(name: &str, text: &str, made: &str) -> Vec<String> {
    let gone = paths(text).into_iter().filter(|(_, path)| !exists(path, made));
    let mut faults: Vec<String> = gone.map(|(line, path)| format!("{name}:{line} names {path}")).collect();
    let lines = text.lines().count();
    if name == MAP && lines > MOST_LINES {
        faults.push(format!("{name} has {lines} lines, {MOST_LINES} at most"));
    }
    faults
}

#[test]
fn the_main_texts_name_only_paths_that_exist_and_the_map_is_short() {
    let made = read(".gitignore");
    let mut all = Vec::new();
    for name in TEXTS {
        let text = read(name);
        assert!(!paths(&text).is_empty(), "the paths in {name} are found");
        all.extend(faults(name, &text, &made));
    }
    none(all, "a path in backticks exists and starts at the project's top folder, and the map fits in its lines");
}

#[test]
fn a_path_that_is_gone_is_refused_with_its_line() {
    let text = "\
# A map
The rules are in `domain/src/lib.rs` and `domain/gone/`, the check is `tests/run --list`.
```
cargo openapi > openapi/nowhere.json
```
| `cargo openapi > openapi/gone.json` | `gone.py`, `made/by-a-run.md` |

`POST /v1/setup`, `--data`, `postgres://…`, `api/core/src/<feature>/gone.rs`, `Db::read` and `.clippy.toml`; a plain gone/too.
";
    assert_eq!(
        faults("README.md", text, "/target\n/made/by-a-run.md\n"),
        ["README.md:2 names domain/gone/", "README.md:6 names openapi/gone.json", "README.md:6 names gone.py"]
    );
}

#[test]
fn a_map_that_is_too_long_is_refused() {
    let text = "A line.\n".repeat(MOST_LINES);
    assert!(faults(MAP, &text, "").is_empty());
    assert!(faults("README.md", &text.repeat(2), "").is_empty(), "other texts may be longer");
    assert_eq!(faults(MAP, &(text + "One more.\n"), ""), ["DEVELOPERS.md has 201 lines, 200 at most"]);
}
