//! State that all workers of the server share.

use std::sync::Arc;

use actix_web::HttpRequest;
use actix_web::web::Data;
use baywright_core::platform::program::Program;
use tokio::sync::Semaphore;

use super::problem::Problem;
use super::unread::Unread;

/// Maximum number of reschedulings that are searched for at the same time; each search takes a core for seconds.
const THINKING: usize = 2;

/// The program as the server's workers have it: what everything shares, and what only requests need.
pub struct App {
    /// Database, clock, keys, settings and limits.
    pub program: Arc<Program>,
    /// Limits the number of reschedulings that are computed at once, since each takes a core for seconds.
    pub thinking: Arc<Semaphore>,
    /// Large answers that wait for their reader.
    pub unread: Unread,
    /// Data of the demo for the start page; `None` outside the demo.
    pub demo: Option<Demo>,
}

impl App {
    /// The shared state of a server for that program.
    pub fn new(program: Program) -> Self {
        Self {
            program: Arc::new(program),
            thinking: Arc::new(Semaphore::new(THINKING)),
            unread: Unread::default(),
            demo: None,
        }
    }

    /// The shared state of the server that a request came to.
    pub(super) fn of(request: &HttpRequest) -> Result<&Data<Self>, Problem> {
        request.app_data::<Data<Self>>().ok_or_else(Problem::unexpected)
    }
}

/// Data of the demo for the start page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Demo {
    /// Address of a customer's page with a quote that waits for an answer.
    pub customer_page: String,
    /// People who can sign in.
    pub people: Vec<DemoPerson>,
    /// Everyone's password.
    pub password: String,
    /// Folder of the sent mails.
    pub mails: String,
}

/// Somebody of the demo who can sign in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DemoPerson {
    /// Name of the person.
    pub name: String,
    /// Role of the person, in small letters.
    pub role: String,
    /// Email address that they sign in with.
    pub email: String,
}
