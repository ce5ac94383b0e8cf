//! The first setup over HTTP.

use actix_web::post;
use baywright_domain::money::Percent;
use serde::Deserialize;
use utoipa::ToSchema;

use super::view::{SessionView, opened};
use crate::access::usecase::{self, Setup};
use crate::platform::answer::Answer;
use crate::platform::body::Body;
use crate::platform::door::Door;
use crate::platform::problem::Problem;
use crate::platform::wire::{CurrencyCode, Email, Line, Number, Secret};

/// The first shop and its owner.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SetupBody {
    /// The code that the program printed when it started.
    #[schema(example = "ABCDE-FGHJK-LMNPQ-RSTUV")]
    code: Line<40>,
    /// The shop's trading name.
    #[schema(example = "Harbour Detailing")]
    name: Line<200>,
    /// The currency of its documents, for good.
    currency: CurrencyCode,
    /// Name of its time zone in the IANA database.
    #[schema(example = "Europe/Dublin")]
    zone: Line<60>,
    /// Percent of its standard tax on sales; `"0"` where it charges none.
    #[schema(example = "23")]
    tax_percent: Number,
    /// Its owner.
    owner: OwnerBody,
}

/// The first account.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct OwnerBody {
    /// The name as colleagues say it.
    #[schema(example = "Orla")]
    name: Line<120>,
    /// The address to sign in with.
    #[schema(example = "orla@example.com")]
    email: Email,
    /// The password: at least 12 characters that are not easily guessed.
    password: Secret,
}

/// Found the first shop.
///
/// Works until there is a shop; needs the code that the program printed when it started. Signs the owner in.
#[utoipa::path(tag = "access", request_body = SetupBody, security(()),
    responses((status = 201, description = "The shop is founded and its owner signed in.", body = SessionView)))]
#[post("/v1/setup")]
pub(super) async fn set_up(door: Door, body: Body<SetupBody>) -> Answer {
    let body = body.value;
    let tax = Percent::new(body.tax_percent.0)
        .map_err(|e| Problem::field("/tax_percent", "not_a_percentage", format!("{e}.")))?;
    let setup = Setup {
        code: body.code.into_string(),
        shop_name: body.name.into_string(),
        currency: body.currency.0,
        zone: body.zone.into_string(),
        tax,
        owner_name: body.owner.name.into_string(),
        owner_email: body.owner.email.into_string(),
        password: body.owner.password,
    };
    Ok(opened(door.run(move |door| usecase::set_up(door, &setup)).await?))
}
