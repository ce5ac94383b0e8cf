//! Whether customers may book themselves, over HTTP.

use actix_web::{get, put};
use baywright_core::platform::identity::{Desk, Owner};
use baywright_core::shop::usecase::{self, SelfBookingKept};
use baywright_domain::stay::SelfBooking;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::platform::answer::{Answer, item};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::wire::{Instant, Whole};

/// Setting that says whether customers may choose a free time by themselves.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SelfBookingBody {
    /// Whether customers may choose a free time on the page of their stay.
    #[schema(example = true)]
    allowed: bool,
    /// Hours from the customer's choice to the earliest start.
    #[schema(example = 24)]
    notice_hours: Whole<0, 720>,
}

/// Setting that says whether customers may choose a free time by themselves.
#[derive(Debug, Serialize, ToSchema)]
pub struct SelfBookingView {
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Whether customers may choose a free time on the page of their stay.
    allowed: bool,
    /// Hours from the customer's choice to the earliest start.
    notice_hours: Whole<0, 720>,
    /// Time when the setting last changed, RFC 3339 in UTC.
    updated_at: Instant,
}

crate::versioned!(SelfBookingView);

impl From<SelfBookingKept> for SelfBookingView {
    fn from(kept: SelfBookingKept) -> Self {
        Self {
            version: kept.version,
            allowed: kept.setting.allowed,
            notice_hours: Whole::of(kept.setting.notice_hours),
            updated_at: Instant(kept.updated_at),
        }
    }
}

/// Read the setting for bookings by customers.
///
/// Returns whether customers may choose a free time on the page of their stay, and how long before. It is off in a new shop.
#[utoipa::path(tag = "shop",
    responses((status = 200, description = "Setting for bookings by customers.", body = SelfBookingView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/self-booking")]
pub(super) async fn show(call: Call<Desk>, known: IfNoneMatch) -> Answer {
    let kept = call.read(usecase::self_booking).await?;
    Ok(item(&SelfBookingView::from(kept), &known))
}

/// Replace the setting for bookings by customers.
///
/// Bookings that customers made before stay booked. The times offered to customers come from the same search as those of
/// the desk.
#[utoipa::path(tag = "shop", request_body = SelfBookingBody, extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The setting after the change.", body = SelfBookingView)))]
#[put("/v1/self-booking")]
pub(super) async fn replace(call: Call<Owner>, IfMatch(seen): IfMatch, body: Body<SelfBookingBody>) -> Answer {
    let setting = SelfBooking { allowed: body.value.allowed, notice_hours: body.value.notice_hours.get() };
    call.change(move |tx| Ok(SelfBookingView::from(usecase::replace_self_booking(tx, seen, setting)?))).await
}
