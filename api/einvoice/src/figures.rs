//! Quantity and price of each line as an electronic invoice states them: a net price, never below zero (BR-27), from which
//! the line's net follows exactly.

use baywright_domain::document::{Document, Line, LineTotal, Prices};
use baywright_domain::money::{Currency, Money};
use rust_decimal::Decimal;

/// The most decimals of a price that is divided out; with more, the price is stated for the line's whole quantity.
const PRICE_DECIMALS: u32 = 4;

/// A line's figures.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Figures {
    /// Quantity (BT-129).
    pub(crate) quantity: Decimal,
    /// Price of the base quantity, without tax, in the currency's major unit (BT-146).
    pub(crate) price: Decimal,
    /// Quantity that the price is for, above zero (BT-149).
    pub(crate) base_quantity: Decimal,
    /// Amounts that are taken off the line (BG-27) or put on it (BG-28), without tax.
    pub(crate) changes: Vec<Change>,
    /// Net amount of the line (BT-131).
    pub(crate) net: Money,
    /// Sentence about a discount that the price contains already.
    pub(crate) remark: Option<String>,
}

/// An allowance or a charge.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Change {
    /// Whether the amount is put on.
    pub(crate) is_charge: bool,
    /// The amount, without tax.
    pub(crate) amount: Money,
    /// The reason, which the standard asks for (BR-33, BR-38, BR-42, BR-44).
    pub(crate) reason: String,
}

/// Reason of a discount for which nobody wrote one.
pub(crate) const DISCOUNT: &str = "Discount";
/// Reason of a charge for which nobody wrote one.
pub(crate) const CHARGE: &str = "Charge";

/// The figures of a line.
pub(crate) fn figures(document: &Document, line: &Line, total: &LineTotal) -> Figures {
    let is_plain = ![total.discount, line.allowance, line.charge].iter().any(|amount| amount.is_negative());
    if document.prices == Prices::Net && is_plain {
        as_agreed(line, total)
    } else {
        with_net_price(document, line, total)
    }
}

/// A line with the agreed price, and its discount beside it.
fn as_agreed(line: &Line, total: &LineTotal) -> Figures {
    let reason = line.discount.as_ref().map_or(DISCOUNT, |discount| discount.reason.as_str());
    let changes = [(false, total.discount, reason), (false, line.allowance, DISCOUNT), (true, line.charge, CHARGE)];
    let changes = changes.into_iter().filter(|(_, amount, _)| !amount.is_zero());
    Figures {
        quantity: line.quantity.normalize(),
        price: line.price.normalize(),
        base_quantity: line.base_quantity.normalize(),
        changes: changes
            .map(|(is_charge, amount, reason)| Change { is_charge, amount, reason: reason.to_owned() })
            .collect(),
        net: total.net,
        remark: None,
    }
}

/// A line whose price is made from its net, since the agreed price is with tax.
fn with_net_price(document: &Document, line: &Line, total: &LineTotal) -> Figures {
    let currency = document.currency;
    let net = total.net.major(currency);
    let quantity = line.quantity.normalize();
    let same_sign = net.is_zero() || net.is_sign_negative() == quantity.is_sign_negative();
    let quantity = match (quantity.is_zero(), same_sign) {
        (false, true) => quantity,
        // A price can't be below zero, nor can nothing cost something: the line becomes one piece of its amount.
        (true, _) if net.is_zero() => Decimal::ZERO,
        _ if net.is_sign_negative() => -Decimal::ONE,
        _ => Decimal::ONE,
    };
    let (price, base_quantity) = divided(net.abs(), quantity.abs());
    Figures {
        quantity,
        price,
        base_quantity,
        changes: Vec::new(),
        net: total.net,
        remark: remark(document, line, total),
    }
}

/// The price of one unit, if it ends within [`PRICE_DECIMALS`]; else the whole amount for the whole quantity.
fn divided(net: Decimal, quantity: Decimal) -> (Decimal, Decimal) {
    if quantity.is_zero() {
        return (Decimal::ZERO, Decimal::ONE);
    }
    let each = net.checked_div(quantity).map(|each| each.normalize()).filter(|each| each.scale() <= PRICE_DECIMALS);
    match each.filter(|each| each.checked_mul(quantity) == Some(net)) {
        Some(each) => (each, Decimal::ONE),
        None => (net.normalize(), quantity),
    }
}

fn remark(document: &Document, line: &Line, total: &LineTotal) -> Option<String> {
    if total.discount.is_zero() {
        return None;
    }
    let reason = line.discount.as_ref().map_or(DISCOUNT, |discount| discount.reason.as_str());
    let with_tax = if document.prices == Prices::Gross { ", including tax" } else { "" };
    let amount = amount(total.discount, document.currency);
    Some(format!("Price after a discount of {amount} {}{with_tax}: {reason}", document.currency.code()))
}

/// An amount as a file states it.
pub(crate) fn amount(money: Money, currency: Currency) -> String {
    money.to_major(currency)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decimal(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    #[test]
    fn a_price_is_divided_out_only_if_the_net_follows_from_it_exactly() {
        for (net, quantity, price, base) in [
            ("84.03", "1", "84.03", "1"),
            ("100.00", "8", "12.5", "1"),
            ("100.00", "3", "100", "3"),
            ("0.01", "0.05", "0.2", "1"),
            ("1.00", "0.7", "1", "0.7"),
            ("0.00", "2", "0", "1"),
            ("1.00", "0", "0", "1"),
        ] {
            assert_eq!(
                divided(decimal(net), decimal(quantity)),
                (decimal(price), decimal(base)),
                "{net} for {quantity}"
            );
        }
    }
}
