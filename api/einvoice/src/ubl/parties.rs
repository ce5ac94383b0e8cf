//! Seller and buyer in UBL.

use crate::issued::{Address, Issued, Party, said};
use crate::xml::Xml;

/// Writes the seller.
pub(super) fn seller(xml: &mut Xml, issued: &Issued) {
    let tax_number = said(issued.seller.tax_number.as_ref()).filter(|_| issued.names_vat_ids());
    party(xml, &issued.seller, issued.names_vat_ids(), tax_number);
}

/// Writes the buyer.
pub(super) fn buyer(xml: &mut Xml, issued: &Issued) {
    party(xml, &issued.buyer, issued.names_vat_ids(), None);
}

fn party(xml: &mut Xml, party: &Party, names_vat_id: bool, tax_number: Option<&str>) {
    xml.element("cac:Party", |xml| {
        if let Some(endpoint) = &party.endpoint {
            xml.text_with("cbc:EndpointID", &[("schemeID", endpoint.scheme.as_str())], endpoint.id.trim());
        }
        if let Some(name) = said(party.trading_name.as_ref()).filter(|name| *name != party.name.trim()) {
            xml.element("cac:PartyName", |xml| xml.text("cbc:Name", name));
        }
        xml.element("cac:PostalAddress", |xml| address(xml, &party.address));
        if let Some(number) = party.vat_id.as_ref().filter(|_| names_vat_id) {
            tax_scheme(xml, number.as_str(), "VAT");
        }
        if let Some(number) = tax_number {
            tax_scheme(xml, number, "TAX");
        }
        xml.element("cac:PartyLegalEntity", |xml| {
            xml.text("cbc:RegistrationName", party.name.trim());
            xml.maybe("cbc:CompanyID", said(party.company_number.as_ref()));
        });
        contact(xml, party);
    });
}

fn address(xml: &mut Xml, address: &Address) {
    let [street, second, third] = address.three_lines();
    xml.maybe("cbc:StreetName", street);
    xml.maybe("cbc:AdditionalStreetName", second);
    xml.maybe("cbc:CityName", said(address.town.as_ref()));
    xml.maybe("cbc:PostalZone", said(address.postcode.as_ref()));
    xml.maybe("cbc:CountrySubentity", said(address.region.as_ref()));
    if let Some(line) = third {
        xml.element("cac:AddressLine", |xml| xml.text("cbc:Line", line));
    }
    if let Some(country) = address.country {
        xml.element("cac:Country", |xml| xml.text("cbc:IdentificationCode", country.code()));
    }
}

fn tax_scheme(xml: &mut Xml, number: &str, scheme: &str) {
    xml.element("cac:PartyTaxScheme", |xml| {
        xml.text("cbc:CompanyID", number.trim());
        xml.element("cac:TaxScheme", |xml| xml.text("cbc:ID", scheme));
    });
}

fn contact(xml: &mut Xml, party: &Party) {
    let contact = &party.contact;
    let facts = [
        ("cbc:Name", said(contact.name.as_ref())),
        ("cbc:Telephone", said(contact.phone.as_ref())),
        ("cbc:ElectronicMail", said(contact.email.as_ref())),
    ];
    if facts.iter().any(|(_, fact)| fact.is_some()) {
        xml.element("cac:Contact", |xml| {
            for (name, fact) in facts {
                xml.maybe(name, fact);
            }
        });
    }
}
