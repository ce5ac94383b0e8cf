//! Name, address and numbers of the studio.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, get, post};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Desk;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_core::shop::usecase::{self, Address, Profile, Shop};
use baywright_domain::calendar::Zone;
use baywright_domain::country::Country;
use baywright_domain::money::Currency;
use baywright_domain::payment::Iban;
use baywright_domain::vat_id::VatId;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::wire::{Email, Line, Phone};

use crate::platform::form::{Entry, Fields, FormPage, FormView, Input, Reading};
use crate::platform::{Insider, taken};

/// The fields of the form.
fn inputs(currency: Currency) -> Vec<Input> {
    let countries = Country::all().map(|country| (country.code().to_owned(), country.code().to_owned()));
    let countries = std::iter::once((String::new(), "Not set".to_owned())).chain(countries).collect();
    vec![
        Input::line("name", "Name of the studio").autocomplete("organization"),
        Input::line("legal_name", "Legal name").hint("For invoices. Leave it empty if it is the same.").optional(),
        Input::email("email", "Email address")
            .hint("Replies to your emails go there.")
            .optional()
            .autocomplete("email"),
        Input::line("phone", "Telephone").optional().autocomplete("tel"),
        Input::line("address.street", "Street and number").under("Address").optional().autocomplete("street-address"),
        Input::short("address.postcode", "Postcode").optional().autocomplete("postal-code"),
        Input::line("address.city", "Town").optional().autocomplete("address-level2"),
        Input::short("address.country", "Country").hint("Two-letter code.").options(countries),
        Input::short("zone", "Time zone")
            .under("Time and currency")
            .hint(format!("Its IANA name, such as Europe/Dublin. Prices are in {}.", currency.code())),
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
        ("zone", shop.zone.clone()),
        ("vat_id", given(profile.vat_id.as_ref())),
        ("company_number", given(profile.company_number.as_ref())),
        ("iban", given(profile.iban.as_ref())),
    ])
}

/// What the form brings.
struct Read {
    seen: Seen,
    profile: Profile,
    zone: String,
}

/// What the form brings, or everything that is wrong with it.
fn read(fields: &Fields) -> Result<Read, Refused> {
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
    let zone = form.needed("zone", |text| {
        let zone = Zone::named(text.trim()).map_err(|error| error.to_string())?;
        Ok(zone.name().to_owned())
    });
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
    let (profile, zone) = form.done(profile.zip(zone))?;
    Ok(Read { seen, profile, zone })
}

/// The person, the shop as it is now, and its currency.
fn found(tx: &mut Tx<'_>) -> Done<(Insider, Fields, Currency)> {
    let insider = Insider::of(tx)?;
    Ok((insider, fields_of(&usecase::show(tx)?), tx.studio.currency))
}

fn shown(insider: Insider, form: FormView) -> FormPage {
    let pages = [
        ("Opening hours", "the usual week", "/hours", false),
        ("Bays", "where cars stand while they are worked on", "/bays", false),
        ("Tablets", "devices beside the bays, for people without a desk", "/shop/tablets", true),
        ("Tax", "the rate of new services", "/tax", true),
        ("Bookings by customers", "whether customers choose a time themselves", "/self-booking", true),
        ("Test email", "check that your emails arrive", "/set-up/mail", true),
        ("All steps of the setup", "what is done and what is next", "/set-up/steps", true),
    ];
    let open = pages.into_iter().filter(|(_, _, _, owners_alone)| insider.is_owner() || !owners_alone);
    let list = open.map(|(title, note, address, _)| Entry {
        title: title.to_owned(),
        note: note.to_owned(),
        address: address.to_owned(),
    });
    let list = list.collect();
    FormPage::new("Shop", insider, "/shop", form, "/shop")
        .lead("Quotes, invoices and emails show these details.")
        .list("More settings", list)
        .form_heading("Name, address and numbers", "Save")
}

/// The form with what is saved.
#[get("/shop")]
pub(super) async fn show(page: PageRead<Desk>, request: HttpRequest) -> Answer {
    let asked = Fields::of_query(request.query_string());
    let (insider, fields, currency) = page.read(found).await?;
    let form = FormView::new(inputs(currency), &fields, page.form_code());
    shown(insider, form).saved(asked.yes("saved")).answer(StatusCode::OK)
}

/// Saves the form; the terms stay as they are.
#[post("/shop")]
pub(super) async fn save(page: PageWrite<Desk>) -> Answer {
    let fields = Fields::of_form(page.form());
    let taken = taken(&page, read(&fields), |tx, read| {
        let terms = usecase::show(tx)?.terms;
        usecase::replace(tx, read.seen, &read.profile, &read.zone, &terms)?;
        Ok("/shop?saved=yes".to_owned())
    });
    let problem = match taken.await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let (insider, theirs, currency) = page.read(found).await?;
    let form = FormView::new(inputs(currency), &fields, page.form_code()).after(&problem, &theirs);
    shown(insider, form).answer(problem.status())
}
