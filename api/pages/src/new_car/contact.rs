//! The call in a form: contact details, the wish, and the day by which it is wanted.

use baywright_core::enquiry::usecase::Caller;
use baywright_core::new_car::usecase::{Call, NewCar};
use baywright_core::platform::refusal::Refused;
use baywright_domain::customer::CustomerKind;
use baywright_domain::enquiry::Channel;
use baywright_domain::id::{CustomerId, VehicleId};
use baywright_http::platform::wire::{Day, Email, Line, Phone, Text};

use crate::platform::form::{Fields, Input, Reading};

/// Name of the box about contacting the caller.
const CONSENT: &str = "caller.may_contact";

/// The inputs about the caller; `is_new` if they are not a customer yet.
pub(super) fn of_caller(is_new: bool) -> Vec<Input> {
    let kinds = CustomerKind::ALL.iter().map(|kind| (kind.as_str().to_owned(), in_words(*kind).to_owned()));
    let mut inputs = vec![
        Input::line("caller.name", "Name").autocomplete("off"),
        Input::line("caller.phone", "Telephone")
            .hint("This or an email address is needed.")
            .optional()
            .autocomplete("off"),
        Input::email("caller.email", "Email address").hint("The quote is sent there.").optional().autocomplete("off"),
    ];
    if is_new {
        let yes = vec![("yes".to_owned(), "They agree that we call or write to them about this job".to_owned())];
        inputs.push(Input::ticks(CONSENT, "Consent", yes));
    }
    inputs.push(Input::short("kind", "Kind of customer").options(kinds.collect()));
    inputs
}

/// The inputs about the wish.
pub(super) fn of_wish() -> Vec<Input> {
    let channels = Channel::ALL.iter().map(|channel| (channel.as_str().to_owned(), channel.label().to_owned()));
    vec![
        Input::long("wish", "What they want").hint("Such as: swirl marks out before it is sold."),
        Input { kind: "date", ..Input::short("wanted_by", "Wanted by").optional() },
        Input::short("channel", "How they asked").options(channels.collect()),
    ]
}

const fn in_words(kind: CustomerKind) -> &'static str {
    match kind {
        CustomerKind::Private => "Private: prices with VAT",
        CustomerKind::Trade => "Trade: prices before VAT",
    }
}

/// A form before anything is typed.
pub(super) fn blank() -> Fields {
    let usual = [("kind", CustomerKind::Private.as_str()), ("channel", Channel::Phone.as_str())];
    Fields::of_record(usual.map(|(name, word)| (name, word.to_owned())))
}

/// The call of an enquiry as its form would bring it.
pub(super) fn fields_of(new: &NewCar) -> Fields {
    let enquiry = &new.enquiry.details;
    let caller = enquiry.caller.as_ref();
    let known = new.customer.as_ref().map(|customer| &customer.details);
    let (name, phone, email, kind) = match known {
        Some(known) => (Some(&known.name), known.phones.first(), known.emails.first(), known.kind),
        None => (
            caller.map(|caller| &caller.name),
            caller.and_then(|caller| caller.phone.as_ref()),
            caller.and_then(|caller| caller.email.as_ref()),
            CustomerKind::Private,
        ),
    };
    let given = |text: Option<&String>| text.cloned().unwrap_or_default();
    let agreed = caller.is_some_and(|caller| caller.may_mail || caller.may_phone);
    Fields::of_record([
        ("version", new.enquiry.version.to_string()),
        ("customer_version", new.customer.as_ref().map_or(0, |customer| customer.version).to_string()),
        ("caller.name", given(name)),
        ("caller.phone", given(phone)),
        ("caller.email", given(email)),
        (CONSENT, if agreed { "yes".to_owned() } else { String::new() }),
        ("kind", kind.as_str().to_owned()),
        ("wish", enquiry.wish.clone()),
        ("wanted_by", enquiry.wanted_by.map(|day| day.to_string()).unwrap_or_default()),
        ("channel", enquiry.channel.as_str().to_owned()),
    ])
}

/// The call that a form brings, or everything that is wrong with it. A known customer is named by their id and has no
/// contact details in the form.
pub(super) fn read(fields: &Fields) -> Result<Call, Refused> {
    let mut form = Reading::of(fields);
    let customer = form.optional("customer", |id| Ok(CustomerId::new(id)));
    let vehicle = form.optional("vehicle", |id| Ok(VehicleId::new(id)));
    let caller = if customer.is_some() { None } else { read_caller(&mut form, fields) };
    let choose = "choose one of these";
    let kind = form.optional("kind", |text| CustomerKind::parse(text).map_err(|_| choose.to_owned()));
    let channel = form.optional("channel", |text| Channel::parse(text).map_err(|_| choose.to_owned()));
    let wish = form.needed("wish", |text| Text::<2000>::parse(text).map(Text::into_string));
    let wanted_by = form.optional("wanted_by", |text| Day::parse(text.trim()));
    let vehicle = vehicle.filter(|_| customer.is_some());
    let call = wish.map(|wish| Call {
        customer,
        vehicle,
        caller,
        kind: kind.unwrap_or(CustomerKind::Private),
        channel: channel.unwrap_or(Channel::Phone),
        wish,
        wanted_by: wanted_by.map(|day| day.0),
    });
    form.done(call)
}

fn read_caller(form: &mut Reading<'_>, fields: &Fields) -> Option<Caller> {
    let name = form.needed("caller.name", Line::<200>::parse);
    let phone = form.optional("caller.phone", Phone::parse);
    let email = form.optional("caller.email", |text| Email::parse(text.trim()));
    let agreed = fields.yes(CONSENT);
    name.map(|name| Caller {
        name: name.into_string(),
        may_mail: agreed && email.is_some(),
        may_phone: agreed && phone.is_some(),
        email: email.map(Email::into_string),
        phone: phone.map(Phone::into_string),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_box_is_a_consent_for_each_way_that_the_caller_left() {
        let fields = "caller.name=Niamh&caller.phone=%2B353+20+910+0042&caller.may_contact=yes&wish=shine";
        let call = read(&Fields::of_query(fields)).unwrap();
        let caller = call.caller.unwrap();
        assert_eq!((caller.may_phone, caller.may_mail, call.kind), (true, false, CustomerKind::Private));
    }

    #[test]
    fn a_known_customer_needs_no_contact_details_and_a_new_one_has_no_car_yet() {
        let call = read(&Fields::of_query("customer=c1&vehicle=v1&wish=shine&wanted_by=2026-12-24")).unwrap();
        assert!(call.caller.is_none() && call.vehicle.is_some() && call.wanted_by.is_some());
        assert!(read(&Fields::of_query("caller.name=N&vehicle=v1&wish=shine")).unwrap().vehicle.is_none());
        let refused = read(&Fields::of_query("caller.email=nobody")).unwrap_err();
        let told: Vec<&str> = refused.errors().iter().map(|fault| fault.pointer.as_str()).collect();
        assert_eq!(told, ["/caller/name", "/caller/email", "/wish"]);
    }
}
