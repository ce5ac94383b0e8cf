//! What is done at a car in its bay: each act is one press. One that is refused is said on the car's page.

use actix_web::post;
use actix_web::web::Path;
use baywright_core::job::usecase::{self, Finish, NewNote};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Crew;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_domain::id::JobId;
use baywright_domain::menu::Code;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::PageWrite;
use baywright_http::platform::wire::Text;

use super::HERE;
use crate::diary::tried;
use crate::platform::form::{Fields, Reading};

/// Longest note, in characters.
const LONGEST_NOTE: usize = 2000;

/// Longest reason, in characters.
const LONGEST_REASON: usize = 500;

/// An act, with what its form said.
#[derive(Debug, Clone)]
enum Ordered {
    Start(Code, Said),
    Stop(Code, Said),
    Finish(Code, Said),
    Undo(Code, Seen, Option<String>),
    Note(Option<Code>, String, bool),
}

impl Ordered {
    fn read(act: &str, fields: &Fields) -> Result<Self, Refused> {
        let mut form = Reading::of(fields);
        if act == "note" {
            let text = form.needed("text", Text::<LONGEST_NOTE>::parse);
            let step = Code::parse(&fields.text("step")).ok();
            let for_customer = fields.yes("for_customer");
            return form.done(text).map(|text| Self::Note(step, text.to_string(), for_customer));
        }
        let seen = form.version()?;
        let step = Code::parse(&fields.text("step")).map_err(|_| Refused::not_found("step"))?;
        match act {
            "start" => Ok(Self::Start(step, said)),
            "stop" => Ok(Self::Stop(step, said)),
            "finish" => Ok(Self::Finish(step, said)),
            "undo" => {
                let reason = form.optional("reason", Text::<LONGEST_REASON>::parse);
                form.done(Some(reason)).map(|reason| Self::Undo(step, seen, reason.map(|reason| reason.to_string())))
            }
            _ => Err(Refused::not_found("page")),
        }
    }

    /// Does it; gives the word for what was done.
    fn run(&self, tx: &mut Tx<'_>, job: &JobId) -> Done<&'static str> {
        match self {
            Self::Start(step, said) => usecase::start(tx, job, step, said).map(|_| "started"),
            Self::Stop(step, said) => usecase::stop(tx, job, step, said).map(|_| "stopped"),
            Self::Finish(step, said) => usecase::finish(tx, job, step, said, &Finish::default()).map(|_| "finished"),
            Self::Undo(step, seen, reason) => usecase::undo(tx, job, step, *seen, reason.as_deref()).map(|_| "undone"),
            Self::Note(step, text, for_customer) => {
                let note =
                    NewNote { step: step.clone(), text: text.clone(), photos: Vec::new(), for_customer: *for_customer };
                usecase::add_note(tx, job, &note).map(|_| "noted")
            }
        }
    }
}

/// Does something at a car.
#[post("/bay/{id}/{act}")]
pub(super) async fn take(page: PageWrite<Crew>, path: Path<(String, String)>) -> Answer {
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
        Err(problem) => super::one::refused(page, id, problem, fields.text("text")).await,
    }
}
