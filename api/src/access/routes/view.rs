//! What a sign-in looks like.

use actix_web::HttpResponse;
use actix_web::http::header::LOCATION;
use baywright_domain::people::Role;
use serde::Serialize;
use utoipa::ToSchema;

use crate::access::usecase::{Account, Opened};
use crate::platform::identity::Studio;
use crate::platform::wire::{CurrencyCode, Instant, Reference, Word};

/// A role as it travels; the API document's derive reads a plain name better than one with parameters.
type RoleWord = Word<Role>;

/// Who is signed in, and where.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct MeView {
    /// The person's id.
    person: Reference,
    /// Their name.
    #[schema(max_length = 120)]
    name: String,
    /// What they may do.
    role: RoleWord,
    /// The shop's id.
    shop: Reference,
    /// The shop's trading name.
    #[schema(max_length = 200)]
    shop_name: String,
    /// The currency of the shop's documents.
    currency: CurrencyCode,
    /// The shop's time zone in the IANA database.
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

/// A sign-in with its tokens, which are told this once.
#[derive(Serialize, ToSchema)]
pub(super) struct SessionView {
    /// Goes with every request, as `Authorization: Bearer …`.
    #[schema(max_length = 2048)]
    access_token: String,
    /// Until when it holds.
    access_ends_at: Instant,
    /// Gets the next two tokens at `/v1/sessions/refresh`; it works once.
    #[schema(max_length = 64)]
    refresh_token: String,
    /// Until when it waits to be used.
    refresh_ends_at: Instant,
    /// When the sign-in ends in any case.
    ends_at: Instant,
    /// Who is signed in.
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
