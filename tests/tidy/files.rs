//! How files are named, how long they are, and what never stands in one.

use crate::sources::{Source, none, program, shipped, top, under};

#[test]
fn every_module_says_what_it_is() {
    let mut all = shipped();
    all.extend(under("tests", &[".rs"]));
    all.extend(under("domain/tests", &[".rs"]));
    let silent = all.iter().filter(|source| !source.text.starts_with("//! "));
    // `#![doc = include_str!("../README.md")]` is a module's doc too.
    let silent = silent.filter(|source| !source.text.starts_with("#![doc = include_str!"));
    none(silent.map(|source| source.path.clone()).collect(), "each file starts with a line `//! What it is.`");
}

#[test]
fn each_file_of_tests_is_part_of_its_program() {
    let mut all = under("domain/tests", &[".rs"]);
    all.extend(under("tests", &[".rs"]));
    let mut faults = Vec::new();
    for program in all.iter().filter(|source| source.path.ends_with("/main.rs")) {
        let folder = program.path.trim_end_matches("main.rs");
        for source in &all {
            let Some(file) = source.path.strip_prefix(folder).and_then(|file| file.strip_suffix(".rs")) else {
                continue;
            };
            let name = file.trim_end_matches("/mod");
            let named = format!("mod {name};");
            if name != "main" && !name.contains('/') && !program.text.lines().any(|line| line == named) {
                faults.push(format!("{} is not in {}", source.path, program.path));
            }
        }
    }
    none(faults, "a file that `main.rs` does not name is never compiled, and its tests never run");
}

#[test]
fn no_file_is_named_after_nothing() {
    let names = ["util", "utils", "helper", "helpers", "common", "types", "misc", "shared", "stuff", "manager"];
    let all = under(".", &[".rs", ".py", ".html", ".js", ".mjs", ".ts", ".css", ".sql"]);
    let bad = all
        .iter()
        .filter(|source| source.parts().iter().any(|part| names.contains(&part.split('.').next().unwrap_or_default())));
    none(bad.map(|source| source.path.clone()).collect(), "a file is named after what is in it");
}

#[test]
fn files_stay_short_enough_to_read() {
    let mut all = shipped();
    all.extend(under("tests/src", &[".rs"]));
    // The tables stay in one file, since joins need them together.
    let kept = |path: &str| path.ends_with("tests.rs") || path.ends_with("api/core/src/schema.rs");
    let long = all.iter().filter(|source| !kept(&source.path)).filter_map(|source| {
        let lines = source.text.lines().take_while(|line| !line.starts_with("#[cfg(test)]")).count();
        (lines > 400).then(|| format!("{} has {lines} lines", source.path))
    });
    none(long.collect(), "a file over 400 lines becomes a folder, split by verb or concept");
}

#[test]
fn nothing_is_left_for_later() {
    // Written in two halves, so that this file does not find itself.
    let words = [
        concat!("TO", "DO"),
        concat!("FIX", "ME"),
        concat!("#[ig", "nore"),
        concat!("todo", "!("),
        concat!("unimplemented", "!("),
        concat!("/wo", "rk/"),
    ];
    let mut faults = Vec::new();
    for source in under(".", &[".rs", ".py", ".html", ".js", ".mjs", ".ts", ".css", ".sql", ".md", ".toml", ".yml"]) {
        if source.path.contains("/data/") {
            continue;
        }
        for (at, line) in source.text.lines().enumerate() {
            for word in words.iter().filter(|word| line.contains(*word)) {
                faults.push(format!("{}:{} says {word}", source.path, at + 1));
            }
        }
    }
    none(faults, "no work is left for later, and no path of one machine is written down");
}

#[test]
fn templates_escape_everything_and_hold_no_style_or_script() {
    let mut faults = Vec::new();
    for source in under("api", &[".html"]) {
        let mail = source.path.contains("/mail/");
        for (at, line) in source.text.lines().enumerate() {
            let at = at + 1;
            let plain = line.replace(' ', "");
            if plain.contains("|safe") || plain.contains("escape=\"none\"") {
                faults.push(format!("{}:{at} turns escaping off", source.path));
            }
            // A mail has no style sheet to link to; a page has, and its policy forbids what stands inside it.
            if !mail && (line.contains(" style=") || line.contains("<style") || line.contains(" onclick=")) {
                faults.push(format!("{}:{at} has style or script of its own", source.path));
            }
            if line.contains("<script") && !line.contains(" src=") {
                faults.push(format!("{}:{at} has a script inside", source.path));
            }
        }
    }
    none(faults, "templates escape, and pages load style and script from our own files");
}

#[test]
fn each_script_can_be_run() {
    use std::os::unix::fs::PermissionsExt;
    let mut scripts = vec![top().join("tests/run"), top().join("tests/with-postgres"), top().join(".ci/run")];
    scripts.extend(std::fs::read_dir(top().join("tests/parts")).unwrap().map(|entry| entry.unwrap().path()));
    for script in scripts {
        let text = std::fs::read_to_string(&script).unwrap();
        assert!(text.starts_with("#!/usr/bin/env "), "{} has no first line", script.display());
        let mode = std::fs::metadata(&script).unwrap().permissions().mode();
        assert!(mode & 0o100 != 0, "{} may not be run", script.display());
        if script.parent().is_some_and(|folder| folder.ends_with("parts")) {
            assert!(text.contains("\n# part: "), "{} does not say what it checks", script.display());
        }
    }
}

#[test]
fn a_variable_is_a_setting_of_the_program_or_one_of_the_tests() {
    let name = |text: &str| -> String {
        let end = |c: &char| c.is_ascii_uppercase() || c.is_ascii_digit() || *c == '_';
        text.chars().take_while(end).collect()
    };
    let sources = program();
    let settings: Vec<String> = sources
        .iter()
        .flat_map(Source::code)
        .filter_map(|(_, line)| line.split_once("env = \"").map(|(_, rest)| name(rest)))
        .collect();
    assert!(settings.len() > 15, "{settings:?}");
    let mut all = under("tests", &[".rs", ".py", ".mjs", ".ts", "run", "with-postgres"]);
    all.extend(under("tests/parts", &[""]));
    all.extend(under(".", &["DEVELOPERS.md", "README.md", "docker-compose.yml", "Dockerfile"]));
    let mut faults = Vec::new();
    // That file misspells some on purpose.
    for source in all.iter().filter(|source| source.path != "tests/cli/config.rs") {
        for (at, _) in source.text.match_indices(concat!("BAYWRIGHT", "_")) {
            let found = name(&source.text[at..]);
            let known = settings.iter().any(|setting| *setting == found.trim_end_matches("_FILE"));
            if !known && !found.starts_with("BAYWRIGHT_TEST_") && found != "BAYWRIGHT_" {
                faults.push(format!("{}: {found}", source.path));
            }
        }
    }
    none(faults, "the program refuses variables that it does not know; those of the tests begin with BAYWRIGHT_TEST_");
}
