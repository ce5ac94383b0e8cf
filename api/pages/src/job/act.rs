//! What is done at a car in its bay: each act is one press. One that is refused is said on the car's page.
//!
//! A script sends the time of a press with it, so that it keeps its true time if it arrives later. Such a press follows those
//! before it, so the version of the step is not compared; the state of the step decides.

use actix_web::post;
use actix_web::web::Path;
use baywright_core::job::usecase::{self, Finish, Said};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Bay;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_domain::id::JobId;
use baywright_domain::menu::Code;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::PageWrite;
use baywright_http::platform::wire::{Instant, Text};

use super::HERE;
use crate::diary::tried;
use crate::platform::form::{Fields, Reading};

/// Longest reason, in characters.
const LONGEST_REASON: usize = 500;

/// An act, with what its form said.
#[derive(Debug, Clone)]
enum Ordered {
    Start(Code, Said),
    Stop(Code, Said),
    Finish(Code, Said),
    Undo(Code, Seen, Option<String>),
    EndWait(Code, Seen, String),
}

/// The version that was seen, or the time of a press that a script sends.
fn said(mut form: Reading<'_>) -> Result<Said, Refused> {
    let at = form.optional("at", Instant::parse);
    let seen = match at {
        Some(_) => None,
        None => Some(form.version()?),
    };
    form.done(Some(Said { seen, who: None, at: at.map(|at| at.0) }))
}

impl Ordered {
    fn read(act: &str, fields: &Fields) -> Result<Self, Refused> {
        if !["start", "stop", "finish", "undo", "end-wait"].contains(&act) {
            return Err(Refused::not_found("page"));
        }
        let mut form = Reading::of(fields);
        let step = Code::parse(&fields.text("step")).map_err(|_| Refused::not_found("step"))?;
        match act {
            "start" => Ok(Self::Start(step, said(form)?)),
            "stop" => Ok(Self::Stop(step, said(form)?)),
            "finish" => Ok(Self::Finish(step, said(form)?)),
            "end-wait" => {
                let seen = form.version()?;
                let reason = form.needed("reason", Text::<LONGEST_REASON>::parse);
                form.done(reason).map(|reason| Self::EndWait(step, seen, reason.to_string()))
            }
            _ => {
                let seen = form.version()?;
                let reason = form.optional("reason", Text::<LONGEST_REASON>::parse);
                form.done(Some(reason)).map(|reason| Self::Undo(step, seen, reason.map(|reason| reason.to_string())))
            }
        }
    }

    /// Does it; gives the word for what was done.
    fn run(&self, tx: &mut Tx<'_>, job: &JobId) -> Done<&'static str> {
        match self {
            Self::Start(step, said) => usecase::start(tx, job, step, said).map(|_| "started"),
            Self::Stop(step, said) => usecase::stop(tx, job, step, said).map(|_| "stopped"),
            Self::Finish(step, said) => usecase::finish(tx, job, step, said, &Finish::default()).map(|_| "finished"),
            Self::Undo(step, seen, reason) => usecase::undo(tx, job, step, *seen, reason.as_deref()).map(|_| "undone"),
            Self::EndWait(step, seen, reason) => usecase::end_wait(tx, job, step, *seen, None, reason).map(|_| "dry"),
        }
    }
}

/// Does something at a car.
#[post("/bay/{id}/{act}")]
pub(super) async fn take(page: PageWrite<Bay>, path: Path<(String, String)>) -> Answer {
    let (id, act) = path.into_inner();
    let (id, fields) = (JobId::new(id), Fields::of_form(page.form()));
    let tried = match Ordered::read(&act, &fields) {
        Ok(ordered) => {
            let of = id.clone();
            tried(&page, move |tx| Ok(format!("{HERE}/{of}?done={}", ordered.run(tx, &of)?))).await?
        }
        Err(refused) if refused.errors().is_empty() => return Err(refused.into()),
        Err(refused) => Err(refused.into()),
    };
    match tried {
        Ok(answer) => Ok(answer),
        Err(problem) => super::one::refused(&page, id, &problem, &fields).await,
    }
}
