//! Seller and buyer in CII.

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
    xml.text("ram:Name", party.name.trim());
    let trading = said(party.trading_name.as_ref()).filter(|name| *name != party.name.trim());
    let company = said(party.company_number.as_ref());
    if trading.is_some() || company.is_some() {
        xml.element("ram:SpecifiedLegalOrganization", |xml| {
            xml.maybe("ram:ID", company);
            xml.maybe("ram:TradingBusinessName", trading);
        });
    }
    contact(xml, party);
    xml.element("ram:PostalTradeAddress", |xml| address(xml, &party.address));
    if let Some(endpoint) = &party.endpoint {
        xml.element("ram:URIUniversalCommunication", |xml| {
            xml.text_with("ram:URIID", &[("schemeID", endpoint.scheme.as_str())], endpoint.id.trim());
        });
    }
    if let Some(number) = party.vat_id.as_ref().filter(|_| names_vat_id) {
        registration(xml, number.as_str(), "VA");
    }
    if let Some(number) = tax_number {
        registration(xml, number, "FC");
    }
}

fn contact(xml: &mut Xml, party: &Party) {
    let contact = &party.contact;
    let [name, phone, email] = [&contact.name, &contact.phone, &contact.email].map(|fact| said(fact.as_ref()));
    if name.is_none() && phone.is_none() && email.is_none() {
        return;
    }
    xml.element("ram:DefinedTradeContact", |xml| {
        xml.maybe("ram:PersonName", name);
        if let Some(phone) = phone {
            xml.element("ram:TelephoneUniversalCommunication", |xml| xml.text("ram:CompleteNumber", phone));
        }
        if let Some(email) = email {
            xml.element("ram:EmailURIUniversalCommunication", |xml| xml.text("ram:URIID", email));
        }
    });
}

fn address(xml: &mut Xml, address: &Address) {
    let [first, second, third] = address.three_lines();
    xml.maybe("ram:PostcodeCode", said(address.postcode.as_ref()));
    xml.maybe("ram:LineOne", first);
    xml.maybe("ram:LineTwo", second);
    xml.maybe("ram:LineThree", third);
    xml.maybe("ram:CityName", said(address.town.as_ref()));
    if let Some(country) = address.country {
        xml.text("ram:CountryID", country.code());
    }
    xml.maybe("ram:CountrySubDivisionName", said(address.region.as_ref()));
}

fn registration(xml: &mut Xml, number: &str, scheme: &str) {
    xml.element("ram:SpecifiedTaxRegistration", |xml| {
        xml.text_with("ram:ID", &[("schemeID", scheme)], number.trim());
    });
}
