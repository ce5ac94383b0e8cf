//! Name, address and numbers of the studio.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, get, post};
use askama::Template;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Desk;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_core::shop::usecase::{self, Address, Profile, Shop};
use baywright_domain::country::Country;
use baywright_domain::payment::Iban;
use baywright_domain::vat_id::VatId;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::wire::{Email, Line, Phone};

use crate::platform::form::{Fields, FormView, Input, Reading};
use crate::platform::{DeskFrame, Insider, html, is_mendable, see_other};

/// The page with the form.
#[derive(Template)]
#[template(path = "shop/views/profile.html")]
struct Page {
    frame: DeskFrame,
    form: FormView,
    /// Whether the studio was just set up.
    is_new: bool,
    /// Whether the form was just saved.
    is_saved: bool,
}

/// The fields of the form.
fn inputs() -> Vec<Input> {
    let countries = Country::all().map(|country| (country.code().to_owned(), country.code().to_owned()));
    let countries = std::iter::once((String::new(), "Not said".to_owned())).chain(countries).collect();
    vec![
        Input::line("name", "Name of the studio").autocomplete("organization"),
        Input::line("legal_name", "Name in law").hint("For invoices. Empty if it is the same.").optional(),
        Input::email("email", "Email address")
            .hint("Replies to your emails go there.")
            .optional()
            .autocomplete("email"),
        Input::line("phone", "Telephone").optional().autocomplete("tel"),
        Input::line("address.street", "Street and number").under("Address").optional().autocomplete("street-address"),
        Input::short("address.postcode", "Postcode").optional().autocomplete("postal-code"),
        Input::line("address.city", "Town").optional().autocomplete("address-level2"),
        Input::short("address.country", "Country").hint("Its code of two letters.").options(countries),
        Input::line("vat_id", "VAT number").under("Numbers for invoices").optional(),
        Input::line("company_number", "Company number").optional(),
        Input::line("iban", "IBAN").hint("The account that customers pay to.").optional(),
    ]
}

/// The shop's profile as the form would bring it.
fn fields_of(shop: &Shop) -> Fields {
    let profile = &shop.found.profile;
    let given = |text: Option<&String>| text.cloned().unwrap_or_default();
    let address = &profile.address;
    Fields::of_record([
        ("version", shop.found.version.to_string()),
        ("name", profile.name.clone()),
        ("legal_name", profile.legal_name.clone()),
        ("email", given(profile.email.as_ref())),
        ("phone", given(profile.phone.as_ref())),
        ("address.street", given(address.street.as_ref())),
        ("address.postcode", given(address.postcode.as_ref())),
        ("address.city", given(address.city.as_ref())),
        ("address.country", address.country.as_ref().map(|country| country.code().to_owned()).unwrap_or_default()),
        ("vat_id", given(profile.vat_id.as_ref())),
        ("company_number", given(profile.company_number.as_ref())),
        ("iban", given(profile.iban.as_ref())),
    ])
}

/// The version that was seen and the profile, or everything that is wrong with the form.
fn read(fields: &Fields) -> Result<(Seen, Profile), Refused> {
    let mut form = Reading::of(fields);
    let seen = form.version()?;
    let name = form.needed("name", Line::<200>::parse);
    let legal_name = form.optional("legal_name", Line::<200>::parse);
    let email = form.optional("email", |text| Email::parse(text.trim()));
    let phone = form.optional("phone", Phone::parse);
    let street = form.optional("address.street", Line::<100>::parse);
    let postcode = form.optional("address.postcode", Line::<20>::parse);
    let city = form.optional("address.city", Line::<100>::parse);
    let country = form.optional("address.country", |text| Country::parse(text).map_err(|error| error.to_string()));
    let vat_id = form.optional("vat_id", |text| VatId::parse(text).map_err(|error| error.to_string()));
    let company_number = form.optional("company_number", Line::<40>::parse);
    let iban = form.optional("iban", |text| Iban::parse(text).map_err(|error| error.to_string()));
    let profile = name.map(Line::into_string).map(|name| Profile {
        legal_name: legal_name.map_or_else(|| name.clone(), Line::into_string),
        name,
        address: Address {
            street: street.map(Line::into_string),
            postcode: postcode.map(Line::into_string),
            city: city.map(Line::into_string),
            country,
        },
        email: email.map(Email::into_string),
        phone: phone.map(Phone::into_string),
        vat_id: vat_id.map(|id| id.as_str().to_owned()),
        company_number: company_number.map(Line::into_string),
        iban: iban.map(|iban| iban.as_str().to_owned()),
    });
    Ok((seen, form.done(profile)?))
}

/// The person and the shop as it is now.
fn found(tx: &mut Tx<'_>) -> Done<(Insider, Fields)> {
    let insider = Insider::of(tx)?;
    Ok((insider, fields_of(&usecase::show(tx)?)))
}

/// The form with what is saved.
#[get("/shop")]
pub(super) async fn show(page: PageRead<Desk>, request: HttpRequest) -> Answer {
    let asked = Fields::of_query(request.query_string());
    let (insider, fields) = page.read(found).await?;
    let form = FormView::new(inputs(), &fields, page.form_code());
    let frame = DeskFrame::new("Shop", insider, page.form_code(), "/shop");
    html(StatusCode::OK, &Page { frame, form, is_new: asked.yes("new"), is_saved: asked.yes("saved") })
}

/// Saves the form; the time zone and the terms stay as they are.
#[post("/shop")]
pub(super) async fn save(page: PageWrite<Desk>) -> Answer {
    let fields = Fields::of_form(page.form());
    let saved = match read(&fields) {
        Ok((seen, profile)) => {
            let saving = page.once(move |tx| {
                let shop = usecase::show(tx)?;
                usecase::replace(tx, seen, &profile, &shop.zone, &shop.terms)?;
                Ok("/shop?saved=yes".to_owned())
            });
            saving.await
        }
        Err(refused) => Err(refused.into()),
    };
    let problem = match saved {
        Ok(address) => return Ok(see_other(&address)),
        Err(problem) if is_mendable(&problem) => problem,
        Err(problem) => return Err(problem),
    };
    let (insider, theirs) = page.read(found).await?;
    let form = FormView::new(inputs(), &fields, page.form_code());
    let form = match problem.status() {
        StatusCode::PRECONDITION_FAILED => form.stale(&theirs),
        _ => form.refused(problem.refused()),
    };
    let frame = DeskFrame::new(form.title("Shop"), insider, page.form_code(), "/shop");
    html(problem.status(), &Page { frame, form, is_new: false, is_saved: false })
}
