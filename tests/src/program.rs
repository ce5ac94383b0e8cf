//! The program in a process of its own, as a person starts it.

use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::json;

use crate::engine::Fresh;
use crate::person::Person;

/// The owner of the shop that [`Program::found_shop`] founds.
pub const EMAIL: &str = "owner@example.com";
/// What they sign in with.
pub const PASSWORD: &str = "four wet sponges dry slowly";

/// The program with a database and a folder.
#[derive(Debug, Clone)]
pub struct Program {
    path: PathBuf,
    /// The database's address.
    pub database: String,
    /// The folder for photographs and mails.
    pub data: PathBuf,
}

/// What a command did.
#[derive(Debug, Clone)]
pub struct Ran {
    /// Whether it ended well.
    pub ok: bool,
    /// The number that it ended with; none where a signal ended it.
    pub code: Option<i32>,
    /// What it said.
    pub out: String,
    /// What it complained of.
    pub err: String,
}

/// A process that serves; it is ended when dropped.
#[derive(Debug)]
pub struct Serving {
    child: Child,
    /// Where it listens.
    pub base: String,
    /// How long it took from start to the line that it listens.
    pub started_in: Duration,
}

impl Program {
    /// The program at `path` (a test's `CARGO_BIN_EXE_program`) on that database.
    pub fn new(path: impl Into<PathBuf>, fresh: &Fresh) -> Self {
        Self { path: path.into(), database: fresh.address.clone(), data: fresh.folder().to_owned() }
    }

    /// The same program on another database and folder.
    #[must_use]
    pub fn on(&self, database: &str, data: &Path) -> Self {
        Self { path: self.path.clone(), database: database.to_owned(), data: data.to_owned() }
    }

    fn bare(&self) -> Command {
        let mut command = Command::new(&self.path);
        // Settings of whoever runs the tests are none of theirs.
        let set = std::env::vars().filter(|(name, _)| name.starts_with("BAYWRIGHT_"));
        set.for_each(|(name, _)| _ = command.env_remove(name));
        command
    }

    fn command(&self) -> Command {
        let mut command = self.bare();
        command.env("BAYWRIGHT_DATABASE", &self.database).env("BAYWRIGHT_DATA", &self.data);
        command
    }

    /// Runs a command to its end.
    pub fn run(&self, arguments: &[&str]) -> Ran {
        self.run_with(arguments, "")
    }

    /// The same, with text on its standard input.
    pub fn run_with(&self, arguments: &[&str], input: &str) -> Ran {
        let mut command = self.command();
        command.args(arguments);
        ran(command, input)
    }

    /// Runs a command to its end in its folder with these variables alone, also without its own database and folder.
    pub fn run_among(&self, variables: &[(&str, &str)], arguments: &[&str]) -> Ran {
        let mut command = self.bare();
        command.args(arguments).envs(variables.iter().copied()).current_dir(&self.data);
        ran(command, "")
    }

    /// Founds a shop of that name.
    #[track_caller]
    pub fn found_shop(&self, name: &str) {
        let place = ["shop", "create", "--name", name, "--currency", "EUR", "--zone", "Europe/Dublin", "--tax", "23"];
        let owner = ["--owner-name", "Orla Kane", "--owner-email", EMAIL, "--password-stdin"];
        self.run_with(&[&place[..], &owner].concat(), &format!("{PASSWORD}\n")).good();
    }

    /// Starts the service on a free port and waits until it listens.
    pub fn serve(&self, arguments: &[&str]) -> Serving {
        self.serve_with(arguments, Stdio::inherit())
    }

    /// The same, with its log lines (JSON, at the level `info`) written to that file.
    pub fn serve_logging(&self, log: &Path) -> Serving {
        let file = std::fs::File::create(log).unwrap();
        self.serve_with(&["--log-json", "--log", "info"], file.into())
    }

    fn serve_with(&self, arguments: &[&str], errors: Stdio) -> Serving {
        let begun = Instant::now();
        let mut command = self.command();
        command.args(["serve", "--listen", "127.0.0.1:0", "--rate", "1000000"]).args(arguments);
        if !arguments.contains(&"--log") {
            command.args(["--log", "warn"]);
        }
        let mut child = command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(errors).spawn().unwrap();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        let mut line = String::new();
        out.read_line(&mut line).unwrap();
        let base = line.trim_end().strip_prefix("Baywright listens on ").unwrap_or_else(|| panic!("it said {line:?}"));
        let base = base.to_owned();
        let started_in = begun.elapsed();
        // What else it says is read, so that it never waits for a reader.
        std::thread::spawn(move || std::io::copy(&mut out, &mut std::io::sink()));
        Serving { child, base, started_in }
    }
}

fn ran(mut command: Command, input: &str) -> Ran {
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    // A command that reads nothing may be gone already.
    drop(child.stdin.take().unwrap().write_all(input.as_bytes()));
    let output = child.wait_with_output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    let (ok, code) = (output.status.success(), output.status.code());
    Ran { ok, code, out: text(output.stdout), err: text(output.stderr) }
}

impl Ran {
    /// What a command said that must have ended well.
    #[track_caller]
    pub fn good(self) -> String {
        assert!(self.ok, "{}{}", self.out, self.err);
        self.out
    }

    /// What a command complained of that must have failed.
    #[track_caller]
    pub fn bad(self) -> String {
        assert!(!self.ok, "it ended well: {}", self.out);
        self.err
    }
}

impl Serving {
    /// The process's id.
    pub fn id(&self) -> u32 {
        self.child.id()
    }

    /// Someone who is not signed in.
    pub fn nobody(&self) -> Person {
        Person::new(&self.base, None)
    }

    /// The owner of the shop, signed in anew.
    #[track_caller]
    pub fn owner(&self) -> Person {
        let body = json!({ "email": EMAIL, "password": PASSWORD });
        let session = self.nobody().json("POST", "/v1/sessions", &[], &body).expect(201);
        Person::new(&self.base, Some(session["access_token"].as_str().unwrap().to_owned()))
    }

    /// Someone with an access token that was signed elsewhere.
    pub fn with_token(&self, token: &str) -> Person {
        Person::new(&self.base, Some(token.to_owned()))
    }

    /// Ends the process at once (`SIGKILL`).
    pub fn kill(&mut self) {
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

impl Drop for Serving {
    fn drop(&mut self) {
        self.kill();
    }
}
