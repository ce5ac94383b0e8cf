//! Delivery of mails: to a mail server, or into a folder while none is set.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::time::Duration;

use lettre::transport::smtp::Error as SmtpError;
use lettre::transport::smtp::authentication::Credentials;
use lettre::transport::smtp::client::{Certificate, Tls, TlsParameters};
use lettre::{SmtpTransport, Transport};
use secrecy::ExposeSecret;

use super::mime::mime;
use crate::message::usecase::{Message, Outcome};
use crate::platform::config::{Mail, Security};

/// Delivers mails, one at a time. Blocking.
pub struct Carrier {
    from: String,
    way: Way,
}

enum Way {
    Smtp(Box<Server>),
    Folder(PathBuf),
}

/// A mail server, with the settings for its connection.
struct Server {
    transport: SmtpTransport,
    host: String,
    port: u16,
    seconds: u16,
}

/// Result for one mail, and whether the next one is worth a try now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Went {
    /// Result for this mail.
    pub outcome: Outcome,
    /// Whether the mail server itself seems to be out of reach.
    pub unreachable: bool,
}

/// A fault of the mail settings.
#[derive(Debug, thiserror::Error)]
pub enum NoWay {
    /// The server's name is invalid, or its certificates can't be read.
    #[error("--smtp-host {host:?} can't be used: {why}")]
    Server {
        /// The server's name.
        host: String,
        /// Description of the fault.
        why: String,
    },
    /// The file of `--smtp-ca`.
    #[error("can't read --smtp-ca {file:?} as PEM certificates: {why}")]
    Authority {
        /// The file.
        file: PathBuf,
        /// Description of the fault.
        why: String,
    },
}

impl Carrier {
    /// The delivery that the settings ask for; mails without a server go to the folder `mail` under `data`.
    ///
    /// # Errors
    /// [`NoWay`] with what to change.
    pub fn new(settings: &Mail, data: &Path) -> Result<Self, NoWay> {
        let way = match &settings.host {
            Some(host) => Way::Smtp(Box::new(server(settings, host)?)),
            None => Way::Folder(folder(data)),
        };
        Ok(Self { from: settings.from.clone(), way })
    }

    /// Delivers one mail.
    pub fn carry(&self, message: &Message) -> Went {
        let mail = match mime(message, &self.from) {
            Ok(mail) => mail,
            Err(why) => return Went { outcome: Outcome::Refused(why), unreachable: false },
        };
        match &self.way {
            Way::Smtp(server) => match server.transport.send(&mail) {
                Ok(_) => Went { outcome: Outcome::Sent, unreachable: false },
                Err(error) => went_wrong(&error, server),
            },
            Way::Folder(folder) => match file(folder, message.id.as_str(), &mail.formatted()) {
                Ok(()) => Went { outcome: Outcome::Sent, unreachable: false },
                Err(error) => {
                    let why = format!("can't write into {}: {error}", folder.display());
                    Went { outcome: Outcome::Later(why), unreachable: true }
                }
            },
        }
    }
}

/// Writes the mail under its id, all of it or nothing; a second time it replaces the first.
fn file(folder: &Path, id: &str, bytes: &[u8]) -> std::io::Result<()> {
    std::fs::create_dir_all(folder)?;
    let (part, whole) = (folder.join(format!("{id}.part")), folder.join(format!("{id}.eml")));
    std::fs::write(&part, bytes)?;
    std::fs::rename(&part, &whole)
}

/// The folder of the mails that no mail server took.
fn folder(data: &Path) -> PathBuf {
    data.join("mail")
}

/// Deletes the files of these mails, if there are any; one that can't be deleted is logged.
pub fn forget(data: &Path, mails: &[String]) {
    for (id, ending) in mails.iter().flat_map(|id| [(id, "part"), (id, "eml")]) {
        match std::fs::remove_file(folder(data).join(format!("{id}.{ending}"))) {
            Err(error) if error.kind() != ErrorKind::NotFound => {
                tracing::error!(mail = id, %error, "the file of a mail can't be removed");
            }
            _ => {}
        }
    }
}

fn server(settings: &Mail, host: &str) -> Result<Server, NoWay> {
    let protection = || protection(settings, host);
    let (tls, port) = match settings.security {
        Security::Tls => (Tls::Wrapper(protection()?), 465),
        Security::Starttls => (Tls::Required(protection()?), 587),
        Security::None => (Tls::None, 25),
    };
    let port = settings.port.unwrap_or(port);
    let mut builder = SmtpTransport::builder_dangerous(host)
        .port(port)
        .tls(tls)
        .timeout(Some(Duration::from_secs(u64::from(settings.timeout_seconds))));
    if let (Some(user), Some(password)) = (&settings.user, &settings.password) {
        builder = builder.credentials(Credentials::new(user.clone(), password.expose_secret().to_owned()));
    }
    Ok(Server { transport: builder.build(), host: host.to_owned(), port, seconds: settings.timeout_seconds })
}

fn protection(settings: &Mail, host: &str) -> Result<TlsParameters, NoWay> {
    let mut builder = TlsParameters::builder(host.to_owned());
    if let Some(file) = &settings.authority {
        let no = |why: String| NoWay::Authority { file: file.clone(), why };
        let pem = std::fs::read(file).map_err(|error| no(error.to_string()))?;
        let certificate = Certificate::from_pem(&pem).map_err(|error| no(error.to_string()))?;
        builder = builder.add_root_certificate(certificate);
    }
    builder.build_rustls().map_err(|error| NoWay::Server { host: host.to_owned(), why: error.to_string() })
}

/// Meaning of a mail server's error for the mail (RFC 5321, 4.2.1: 4yz is temporary, 5yz is permanent) and for the next
/// ones. A refused sign-in (RFC 4954, section 6) is a fault of the settings, so the mail waits until they are
/// corrected.
fn went_wrong(error: &SmtpError, server: &Server) -> Went {
    let code = error.status().map(u16::from);
    let why = if ran_out_of_time(error) { server.silent() } else { told(error) };
    match code {
        Some(421 | 454 | 530 | 534 | 535 | 538) | None => Went { outcome: Outcome::Later(why), unreachable: true },
        Some(500..) => Went { outcome: Outcome::Refused(why), unreachable: false },
        Some(_) => Went { outcome: Outcome::Later(why), unreachable: false },
    }
}

/// Whether the server did not answer in time. A socket whose read times out says "would block" on Unix and "timed out"
/// on Windows (Rust's `std::net::TcpStream::set_read_timeout`); connecting says the latter everywhere.
fn ran_out_of_time(error: &SmtpError) -> bool {
    let mut cause = std::error::Error::source(error);
    while let Some(inner) = cause {
        let io = inner.downcast_ref::<std::io::Error>().map(std::io::Error::kind);
        if matches!(io, Some(ErrorKind::WouldBlock | ErrorKind::TimedOut)) {
            return true;
        }
        cause = inner.source();
    }
    false
}

impl Server {
    /// Error message for a server that doesn't answer in time.
    fn silent(&self) -> String {
        format!(
            "the mail server {} did not answer on port {} within {} s: check that it is running, that nothing blocks \
             the port, that --smtp-port and --smtp-security fit each other, and that --smtp-timeout is long enough",
            self.host, self.port, self.seconds
        )
    }
}

/// The error with its causes, on one line of at most 500 characters, because a server's text is not trusted.
fn told(error: &SmtpError) -> String {
    let mut text = error.to_string();
    let mut cause = std::error::Error::source(error);
    while let Some(inner) = cause {
        let more = inner.to_string();
        if !text.contains(&more) {
            text.push_str(": ");
            text.push_str(&more);
        }
        cause = inner.source();
    }
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).take(500).collect()
}

#[cfg(test)]
mod tests {
    use std::net::TcpListener;

    use super::*;

    #[test]
    fn a_server_that_never_answers_is_told_as_such_with_what_to_check() {
        // The server accepts the connection and says nothing.
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let port = listener.local_addr().unwrap().port();
        let settings = Mail { port: Some(port), security: Security::None, timeout_seconds: 1, ..Mail::default() };
        let server = server(&settings, "127.0.0.1").unwrap();
        let error = server.transport.test_connection().unwrap_err();
        let went = went_wrong(&error, &server);
        assert!(went.unreachable);
        let Outcome::Later(why) = went.outcome else { panic!("{went:?}") };
        let begin = format!("the mail server 127.0.0.1 did not answer on port {port} within 1 s: check that it is");
        assert!(why.starts_with(&begin) && why.contains("--smtp-security"), "{why}");
    }

    #[test]
    fn a_server_that_is_not_there_is_told_in_its_own_words() {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let port = listener.local_addr().unwrap().port();
        drop(listener);
        let settings = Mail { port: Some(port), security: Security::None, timeout_seconds: 1, ..Mail::default() };
        let server = server(&settings, "127.0.0.1").unwrap();
        let went = went_wrong(&server.transport.test_connection().unwrap_err(), &server);
        let Outcome::Later(why) = went.outcome else { panic!("{went:?}") };
        assert!(went.unreachable && !why.contains("did not answer"), "{why}");
    }
}
