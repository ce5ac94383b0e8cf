//! Reminders over HTTP.

use actix_web::get;
use baywright_domain::id::CustomerId;
use baywright_domain::reminder::{ReminderKind, ReminderWay};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::usecase::{self, Reminder, Wanted};
use crate::platform::answer::{Answer, Page, page};
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::identity::Desk;
use crate::platform::wire::{Day, Instant, Reference, Word, Words};

crate::wire_words! {
    ReminderKind => "ReminderKind",
    ReminderWay => "ReminderWay",
}

/// A kind as it travels; the API document's derive reads a plain name better than one with parameters.
type KindWord = Word<ReminderKind>;
/// A way as it travels.
type WayWord = Word<ReminderWay>;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list);
}

type KindWords = Words<ReminderKind>;
type WayWords = Words<ReminderWay>;

/// Which reminders are wanted.
#[derive(Debug, Clone, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct ReminderFilter {
    /// Only those of one of these kinds.
    #[serde(default)]
    #[param(inline, style = Form, explode = false, required = false)]
    kind: KindWords,
    /// Only those given in one of these ways; `DESK` lists customers whom somebody should call.
    #[serde(default)]
    #[param(inline, style = Form, explode = false, required = false)]
    way: WayWords,
    /// Only this customer's.
    #[param(inline, nullable = false)]
    customer_id: Option<Reference>,
}

/// A reminder that was given.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReminderView {
    /// The reminder's id.
    id: Reference,
    /// Of what.
    kind: KindWord,
    /// The kind of record that it is about.
    #[schema(max_length = 20, example = "booking")]
    about_kind: String,
    /// The id of that record.
    about_id: Reference,
    /// Which occasion of that record: the day of a booking, the revision of a quote, the number of a letter.
    #[schema(max_length = 20, example = "2026-03-28")]
    occasion: String,
    /// Who is reminded.
    customer_id: Reference,
    /// How: by mail, or left to the desk.
    way: WayWord,
    /// The mail; null where the desk does it.
    message_id: Option<Reference>,
    /// On which day, where the shop is.
    given_on: Day,
    /// When the record was made.
    created_at: Instant,
}

impl From<Reminder> for ReminderView {
    fn from(reminder: Reminder) -> Self {
        Self {
            id: Reference::from(&reminder.id),
            kind: Word(reminder.kind),
            about_kind: reminder.subject.0,
            about_id: Reference::from(&reminder.subject.1),
            occasion: reminder.occasion,
            customer_id: Reference::from(&reminder.customer),
            way: Word(reminder.way),
            message_id: reminder.message.as_ref().map(Reference::from),
            given_on: Day(reminder.sent_on),
            created_at: Instant(reminder.created_at),
        }
    }
}

/// List reminders.
///
/// One page of what the program reminded customers of, newest first. A customer who can't be mailed, or has not agreed
/// to it, is left to the desk.
#[utoipa::path(tag = "reminder", params(ReminderFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page.", body = Page<ReminderView>)))]
#[get("/v1/reminders")]
async fn list(call: Call<Desk>, list: List<ReminderFilter>) -> Answer {
    let wanted = Wanted {
        kinds: list.filter.kind.0,
        ways: list.filter.way.0,
        customer: list.filter.customer_id.map(|id| CustomerId::new(id.into_string())),
    };
    let found = call.read(move |tx| usecase::list(tx, &wanted, &list.paging)).await?;
    Ok(page(&found.map(ReminderView::from)))
}
