//! Reminders over HTTP.

use actix_web::get;
use baywright_core::platform::identity::Desk;
use baywright_core::reminder::usecase::{self, Reminder, Wanted};
use baywright_domain::id::CustomerId;
use baywright_domain::reminder::{ReminderKind, ReminderWay};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, Page, page};
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::wire::{Day, Instant, Reference, Word, Words};

/// A kind of customer as it is sent over HTTP; the API document's derive reads a plain name better than one with
/// parameters.
type KindWord = Word<ReminderKind>;
/// A way of reminding as it is sent over HTTP.
type WayWord = Word<ReminderWay>;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list);
}

type KindWords = Words<ReminderKind>;
type WayWords = Words<ReminderWay>;

/// Conditions for the list of reminders.
#[derive(Debug, Clone, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct ReminderFilter {
    /// Limits the list to reminders of one of these kinds.
    #[serde(default)]
    #[param(inline, style = Form, explode = false, required = false)]
    kind: KindWords,
    /// Limits the list to reminders given in one of these ways; `DESK` lists customers whom somebody should call.
    #[serde(default)]
    #[param(inline, style = Form, explode = false, required = false)]
    way: WayWords,
    /// Limits the list to reminders of the customer with this id.
    #[param(inline, nullable = false)]
    customer_id: Option<Reference>,
}

/// Reminder that was given to a customer.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReminderView {
    /// Id of the reminder.
    id: Reference,
    /// Kind of reminder: booking, quote about to lapse, overdue invoice or invitation to come back.
    kind: KindWord,
    /// Kind of record that the reminder is about.
    #[schema(max_length = 20, example = "booking")]
    about_kind: String,
    /// Id of the record that the reminder is about.
    about_id: Reference,
    /// Occasion of the reminder: the day of a booking, the revision of a quote or the number of a letter.
    #[schema(max_length = 20, example = "2026-03-28")]
    occasion: String,
    /// Id of the customer who is reminded.
    customer_id: Reference,
    /// Way of reminding: by mail, or by the desk.
    way: WayWord,
    /// Id of the mail; null if the desk does it.
    message_id: Option<Reference>,
    /// Date of the reminder, in the shop's time zone.
    given_on: Day,
    /// Time when the record was created, RFC 3339 in UTC.
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

/// List the reminders.
///
/// Returns one page of the reminders that the program gave to customers, newest first. Customers without an email
/// address, or without consent to mails, are left to the desk.
#[utoipa::path(tag = "reminder", params(ReminderFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of reminders.", body = Page<ReminderView>)))]
#[get("/v1/reminders")]
async fn list(call: Call<Desk>, list: List<ReminderFilter>) -> Answer {
    let wanted = Wanted {
        kinds: list.filter.kind.0,
        ways: list.filter.way.0,
        customer: list.filter.customer_id.map(|id| CustomerId::new(id.into_string())),
    };
    let found = call.read(move |tx| usecase::list(tx, &wanted, &list.paging)).await?;
    Ok(page(&list.links, found.map(ReminderView::from)))
}
