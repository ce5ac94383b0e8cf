//! The first setup over HTTP.

use actix_web::http::header::LOCATION;
use actix_web::{HttpResponse, post};
use baywright_core::menu::usecase::FirstMenu;
use baywright_core::platform::refusal::{FieldFault, Refused, Why};
use baywright_core::setup::usecase::{self, Setup};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::view::SessionView;
use crate::platform::answer::Answer;
use crate::platform::body::Body;
use crate::platform::door::DoorCall;
use crate::platform::warned::WarningView;
use crate::platform::wire::{Amount, CurrencyCode, Email, Line, Number, Secret, Tried};

/// First shop and its owner.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SetupBody {
    /// Setup code that the program printed when it started.
    #[serde(default)]
    #[schema(value_type = Line<40>, required = true, example = "ABCDE-FGHJK-LMNPQ-RSTUV")]
    code: Tried<Line<40>>,
    /// Trading name of the shop.
    #[serde(default)]
    #[schema(value_type = Line<200>, required = true, example = "Harbour Detailing")]
    name: Tried<Line<200>>,
    /// Currency of all documents of the shop, ISO 4217; cannot be changed later.
    #[serde(default)]
    #[schema(value_type = CurrencyCode, required = true)]
    currency: Tried<CurrencyCode>,
    /// IANA name of the shop's time zone, such as `Europe/Dublin`.
    #[serde(default)]
    #[schema(value_type = Line<60>, required = true, example = "Europe/Dublin")]
    zone: Tried<Line<60>>,
    /// Standard rate of tax on sales, in percent; `"0"` if the shop charges no tax.
    #[serde(default)]
    #[schema(value_type = Number, required = true, example = "23")]
    tax_percent: Tried<Number>,
    /// Owner of the shop, who is signed in.
    #[serde(default)]
    #[schema(required = true)]
    owner: OwnerBody,
    /// Settings for loading the starter menu; null or left out for an empty menu.
    #[serde(default)]
    first_menu: Option<SetupMenuBody>,
}

/// Account of the shop's owner.
#[derive(Debug, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct OwnerBody {
    /// Name of the person as colleagues use it.
    #[serde(default)]
    #[schema(value_type = Line<120>, required = true, example = "Orla")]
    name: Tried<Line<120>>,
    /// Email address to sign in with.
    #[serde(default)]
    #[schema(value_type = Email, required = true, example = "orla@example.com")]
    email: Tried<Email>,
    /// Password: at least 12 characters that are not easily guessed.
    #[serde(default)]
    #[schema(value_type = Secret, required = true)]
    password: Tried<Secret>,
}

/// Settings with which the starter menu is loaded.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SetupMenuBody {
    /// Price of one hour of work by one person, with tax.
    #[serde(default)]
    #[schema(value_type = Amount, required = true)]
    labour_rate: Tried<Amount>,
    /// Step to which prices are rounded up, with tax: each price becomes a multiple of this amount.
    #[serde(default)]
    #[schema(value_type = Amount, required = true)]
    price_step: Tried<Amount>,
}

/// Session of the owner of the first shop, with its tokens, shown in this answer only.
#[derive(Serialize, ToSchema)]
pub(super) struct SetupView {
    /// Session of the owner.
    #[serde(flatten)]
    session: SessionView,
    /// Warnings about settings of the starter menu that should be checked.
    #[schema(max_items = 200)]
    warnings: Vec<WarningView>,
}

impl SetupBody {
    /// Body of the first setup.
    ///
    /// # Errors
    /// 400 with every field that can't be read, else 422 with the faults that the rules find in the others.
    fn read(self) -> Result<Setup, Refused> {
        let mut faults = Vec::new();
        let code = self.code.take("/code", &mut faults);
        let shop_name = self.name.take("/name", &mut faults);
        let currency = self.currency.take("/currency", &mut faults).map(|currency| currency.0);
        let zone = self.zone.take("/zone", &mut faults);
        let tax = self.tax_percent.take("/tax_percent", &mut faults).map(|percent| percent.0);
        let owner_name = self.owner.name.take("/owner/name", &mut faults);
        let owner_email = self.owner.email.take("/owner/email", &mut faults);
        let password = self.owner.password.take("/owner/password", &mut faults).map(|password| password.0);
        let mut first_menu = None;
        let mut broken = Vec::new();
        if let Some(body) = self.first_menu {
            let labour_rate = body.labour_rate.take("/first_menu/labour_rate", &mut faults);
            let price_step = body.price_step.take("/first_menu/price_step", &mut faults);
            if let (Some(currency), Some(labour_rate), Some(price_step)) = (currency, labour_rate, price_step) {
                let mut money = |amount: &Amount, pointer: &str| match amount.positive(currency, pointer) {
                    Ok(money) => Some(money),
                    Err(problem) => {
                        broken.extend_from_slice(problem.errors());
                        None
                    }
                };
                let rate = money(&labour_rate, "/first_menu/labour_rate");
                let step = money(&price_step, "/first_menu/price_step");
                first_menu = rate.zip(step).map(|(labour_rate, price_step)| FirstMenu {
                    labour_rate,
                    price_step,
                    services: Vec::new(),
                });
            }
        }
        let known: Vec<&str> = [
            shop_name.as_ref().map(Line::as_str),
            owner_name.as_ref().map(Line::as_str),
            owner_email.as_ref().map(Email::as_str),
        ]
        .into_iter()
        .flatten()
        .collect();
        if faults.is_empty()
            && broken.is_empty()
            && let (Some(code), Some(name), Some(currency), Some(zone)) = (&code, &shop_name, currency, &zone)
            && let (Some(tax), Some(owner), Some(email), Some(password)) = (tax, &owner_name, &owner_email, &password)
        {
            return Ok(Setup {
                code: code.to_string(),
                shop_name: name.to_string(),
                currency,
                zone: zone.to_string(),
                tax,
                owner_name: owner.to_string(),
                owner_email: email.to_string(),
                password: password.clone(),
                first_menu,
            });
        }
        let zone = zone.as_ref().map(Line::as_str);
        broken.extend(usecase::setup_faults(zone, tax, password.as_ref().map(|password| (password, known.as_slice()))));
        Err(refused(faults, broken))
    }
}

/// 400 if a field can't be read, 422 if all can be read and only break a rule; both kinds of faults are reported.
fn refused(unreadable: Vec<FieldFault>, broken: Vec<FieldFault>) -> Refused {
    let detail = match unreadable.len() + broken.len() {
        1 => "One field is wrong. Correct it and send the request again.".to_owned(),
        many => format!("{many} fields are wrong. Correct them and send the request again."),
    };
    let problem = if unreadable.is_empty() {
        Refused::invalid("invalid-value", detail)
    } else {
        Refused::new(Why::Malformed, "invalid-body", detail)
    };
    problem.with_faults([unreadable, broken].concat())
}

/// Set up the first shop.
///
/// Possible only while there is no shop; needs the setup code that the program printed when it started. Signs the owner
/// in. Reports every fault of the form at once. With `first_menu`, the menu draft begins with the services that most
/// studios offer.
#[utoipa::path(tag = "access", request_body = SetupBody, security(()),
    responses((status = 201, description = "The shop is set up and its owner is signed in.", body = SetupView)))]
#[post("/v1/setup")]
pub(super) async fn set_up(door: DoorCall, body: Body<SetupBody>) -> Answer {
    let setup = body.value.read()?;
    let (opened, warnings) = door.run(move |door| usecase::set_up(door, &setup)).await?;
    let warnings = warnings.into_iter().map(WarningView::from).collect();
    let view = SetupView { session: SessionView::from(opened), warnings };
    Ok(HttpResponse::Created().insert_header((LOCATION, "/v1/me")).json(view))
}
