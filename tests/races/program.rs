//! The program as it ships, in a process of its own.

use std::io::{BufRead, BufReader};
use std::net::{SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use serde_json::json;

/// How the program is started.
#[derive(Clone)]
pub(crate) struct Program {
    pub(crate) path: PathBuf,
    pub(crate) database: String,
    pub(crate) data: PathBuf,
}

/// A process that serves; it is killed when dropped.
pub(crate) struct Running {
    child: Child,
    pub(crate) base: String,
}

/// What the owner of the races' shop signs in with.
const EMAIL: &str = "owner@example.com";
const PASSWORD: &str = "four wet sponges dry slowly";

impl Program {
    /// Founds the shop.
    pub(crate) fn found_shop(&self) {
        let mut child = self
            .command()
            .args(["shop", "create", "--name", "Race Studio", "--currency", "EUR", "--zone", "Europe/Dublin"])
            .args(["--tax", "23", "--owner-name", "Race Owner", "--owner-email", EMAIL, "--password-stdin"])
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        std::io::Write::write_all(&mut child.stdin.take().unwrap(), format!("{PASSWORD}\n").as_bytes()).unwrap();
        assert!(child.wait().unwrap().success(), "the shop could not be founded");
    }

    /// Starts to serve at that address and waits until it listens.
    pub(crate) fn serve(&self, listen: SocketAddr) -> Running {
        let mut child = self
            .command()
            .args(["serve", "--listen", &listen.to_string(), "--rate", "100000000", "--workers", "2"])
            .args(["--public-url", &format!("http://{listen}"), "--log", "warn"])
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        let mut line = String::new();
        out.read_line(&mut line).unwrap();
        assert!(line.starts_with("Baywright listens on"), "the program said {line:?}");
        // What else it says is read, so that it never waits for a reader.
        std::thread::spawn(move || std::io::copy(&mut out, &mut std::io::sink()));
        Running { child, base: format!("http://{listen}") }
    }

    /// Lets the program itself follow the log and recompute every seal.
    pub(crate) fn verify(&self) -> Result<(), String> {
        let said = self.command().arg("verify").output().map_err(|error| error.to_string())?;
        if said.status.success() {
            return Ok(());
        }
        Err(format!("verify: {}{}", String::from_utf8_lossy(&said.stdout), String::from_utf8_lossy(&said.stderr)))
    }

    fn command(&self) -> Command {
        let mut command = Command::new(&self.path);
        command.arg("--database").arg(&self.database).arg("--data").arg(&self.data);
        command
    }
}

impl Running {
    /// Signs the owner in; gives the access token.
    pub(crate) fn sign_in(&self) -> String {
        let nobody = baywright_tests::person::Person::new(&self.base, None);
        let body = json!({ "email": EMAIL, "password": PASSWORD });
        let session = nobody.json("POST", "/v1/sessions", &[], &body).expect(201);
        session["access_token"].as_str().unwrap().to_owned()
    }

    /// Ends the process at once, as a power cut of the program would: nothing of it runs any more.
    pub(crate) fn kill(&mut self) {
        // On Unix this is SIGKILL.
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

/// An address on which nothing listens now.
pub(crate) fn free_address() -> SocketAddr {
    TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap()
}

/// Whether there is such a program.
pub(crate) fn is_there(path: &Path) -> bool {
    path.is_file()
}
