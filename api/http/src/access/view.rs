//! A sign-in as the API shows it.

use actix_web::HttpResponse;
use actix_web::http::header::LOCATION;
use baywright_core::access::usecase::{Account, Opened};
use baywright_core::platform::identity::Studio;
use baywright_domain::people::Role;
use serde::Serialize;
use utoipa::ToSchema;

use crate::platform::wire::{CurrencyCode, Instant, Reference, Word};

/// A role as it is sent over HTTP; the API document's derive reads a plain name better than one with parameters.
type RoleWord = Word<Role>;

/// Signed-in person and their shop.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct MeView {
    /// Id of the person who is signed in.
    person: Reference,
    /// Name of the person who is signed in.
    #[schema(max_length = 120)]
    name: String,
    /// Role of the person, which decides what they may do.
    role: RoleWord,
    /// Id of the shop.
    shop: Reference,
    /// Trading name of the shop.
    #[schema(max_length = 200)]
    shop_name: String,
    /// Currency of the shop's documents, ISO 4217.
    currency: CurrencyCode,
    /// IANA name of the shop's time zone.
    #[schema(max_length = 60, example = "Europe/Dublin")]
    zone: String,
}

impl MeView {
    pub(super) fn of(account: &Account, studio: &Studio) -> Self {
        Self {
            person: Reference::from(&account.id),
            name: account.name.clone(),
            role: Word(account.role),
            shop: Reference::from(&studio.id),
            shop_name: studio.name.clone(),
            currency: CurrencyCode(studio.currency),
            zone: studio.zone.clone(),
        }
    }
}

/// Session with its tokens, shown in this answer only.
#[derive(Serialize, ToSchema)]
pub(super) struct SessionView {
    /// Access token, sent with every request as `Authorization: Bearer …`.
    #[schema(max_length = 2048)]
    access_token: String,
    /// Time when the access token ends, RFC 3339 in UTC.
    access_ends_at: Instant,
    /// Refresh token, exchanged for the next pair of tokens at `/v1/sessions/refresh`; works once.
    #[schema(max_length = 64)]
    refresh_token: String,
    /// Time until which the refresh token can be used, RFC 3339 in UTC.
    refresh_ends_at: Instant,
    /// Time when the session ends even if it is refreshed, RFC 3339 in UTC.
    ends_at: Instant,
    /// Signed-in person and their shop.
    me: MeView,
}

impl From<Opened> for SessionView {
    fn from(opened: Opened) -> Self {
        Self {
            me: MeView::of(&opened.account, &opened.studio),
            access_token: opened.access_token,
            access_ends_at: Instant(opened.access_ends_at),
            refresh_token: opened.refresh_token,
            refresh_ends_at: Instant(opened.refresh_ends_at),
            ends_at: Instant(opened.ends_at),
        }
    }
}

/// 201 with a new sign-in.
pub(super) fn opened(opened: Opened) -> HttpResponse {
    HttpResponse::Created().insert_header((LOCATION, "/v1/me")).json(SessionView::from(opened))
}
