//! The list of customers: its columns, a row that was read, and a customer written as a row.

use baywright_domain::customer::ConsentKind;

use super::sheet::Cells;
use crate::customer::usecase::{Customer, Details, GivenConsent};
use crate::platform::clock::UtcTime;

/// The columns, in the order in which they are written.
pub const COLUMNS: [&str; 27] = [
    "reference",
    "kind",
    "name",
    "contact_name",
    "emails",
    "phones",
    "address_line_1",
    "address_line_2",
    "address_line_3",
    "address_line_4",
    "city",
    "postcode",
    "region",
    "country",
    "vat_id",
    "purchase_order_required",
    "prices",
    "language",
    "consent_mail",
    "consent_mail_at",
    "consent_phone",
    "consent_phone_at",
    "consent_marketing",
    "consent_marketing_at",
    "consent_photos",
    "consent_photos_at",
    "notes",
];

/// The columns of the lines of an address, in order.
pub const ADDRESS_LINES: [&str; 4] = ["address_line_1", "address_line_2", "address_line_3", "address_line_4"];

/// A customer as a row describes them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// Details of the customer.
    pub details: Details,
    /// Consents of the customer.
    pub consents: Vec<GivenConsent>,
}

impl Listed {
    /// The column for a pointer into the body of a single creation.
    pub(super) fn column(&self, pointer: &str) -> String {
        let given: Vec<ConsentKind> = self.consents.iter().map(|consent| consent.kind).collect();
        column(pointer, &Cells::default(), &given)
    }
}

/// Name of the column that says how a consent was given; the one with the suffix `_at` says when.
pub fn consent_column(kind: ConsentKind) -> String {
    format!("consent_{}", kind.as_str().to_lowercase())
}

/// The column for a JSON pointer into the body that was made from the row.
pub fn column(pointer: &str, cells: &Cells, given: &[ConsentKind]) -> String {
    let mut parts = pointer.trim_start_matches('/').split('/');
    let (first, second, third) = (parts.next().unwrap_or_default(), parts.next(), parts.next());
    let place = |part: Option<&str>| part.and_then(|part| part.parse::<usize>().ok());
    match (first, second) {
        ("address", Some("lines")) => {
            let mut filled = ADDRESS_LINES.iter().filter(|name| cells.get(name).is_some());
            filled.nth(place(third).unwrap_or(0)).unwrap_or(&ADDRESS_LINES[0]).to_string()
        }
        ("address", Some(field)) => field.to_owned(),
        ("consents", at) => {
            let name = place(at).and_then(|at| given.get(at)).map(|kind| consent_column(*kind));
            let name = name.unwrap_or_default();
            if third == Some("given_at") { name + "_at" } else { name }
        }
        _ => first.to_owned(),
    }
}

/// A customer as a row; withdrawn consents are left out.
pub fn cells(customer: &Customer) -> [String; 27] {
    let details = &customer.details;
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    let address = details.address.as_ref();
    let line = |at: usize| address.and_then(|address| address.lines.get(at)).cloned().unwrap_or_default();
    let consent = |kind| {
        let mut standing = customer.consents.iter().filter(|kept| kept.consent.withdrawn_at.is_none());
        let kept = standing.find(|kept| kept.consent.kind == kind);
        kept.map_or_else(Default::default, |kept| (kept.how.clone(), UtcTime::from(kept.consent.given_at).to_string()))
    };
    let (mail, mail_at) = consent(ConsentKind::Mail);
    let (phone, phone_at) = consent(ConsentKind::Phone);
    let (marketing, marketing_at) = consent(ConsentKind::Marketing);
    let (photos, photos_at) = consent(ConsentKind::Photos);
    [
        text(&details.reference),
        details.kind.as_str().to_owned(),
        details.name.clone(),
        text(&details.contact_name),
        details.emails.join("; "),
        details.phones.join("; "),
        line(0),
        line(1),
        line(2),
        line(3),
        address.map(|address| address.city.clone()).unwrap_or_default(),
        address.and_then(|address| address.postcode.clone()).unwrap_or_default(),
        address.and_then(|address| address.region.clone()).unwrap_or_default(),
        address.map(|address| address.country.to_string()).unwrap_or_default(),
        details.vat_id.as_ref().map(ToString::to_string).unwrap_or_default(),
        if details.purchase_order_required { "yes" } else { "no" }.to_owned(),
        details.prices.map(|prices| prices.as_str().to_owned()).unwrap_or_default(),
        details.language.clone(),
        mail,
        mail_at,
        phone,
        phone_at,
        marketing,
        marketing_at,
        photos,
        photos_at,
        details.notes.clone(),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_consent_has_its_two_columns() {
        for kind in ConsentKind::ALL {
            let name = consent_column(*kind);
            assert!(COLUMNS.contains(&name.as_str()) && COLUMNS.contains(&format!("{name}_at").as_str()), "{name}");
        }
    }
}
