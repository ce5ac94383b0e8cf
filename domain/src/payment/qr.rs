//! Text of the QR code from which a customer's banking program fills in a transfer in euro.
//!
//! Source: European Payments Council, EPC069-12 (version 002 of the text, UTF-8): one element a line, in a fixed order,
//! without empty elements at the end. The code that contains the text has error correction M and at most version 13.

use alloc::string::String;

use super::{Bic, Iban, Reference};
use crate::money::{Currency, Money};
use crate::refusal::{Kind, Refusal};

/// Maximum number of bytes of the text.
pub const MOST_QR_BYTES: usize = 331;

/// Maximum number of characters of the payee's name.
const MOST_NAME: usize = 70;

/// Maximum number of bytes of the payee's name that leave room for all other elements.
const MOST_NAME_BYTES: usize = 140;

/// Maximum number of characters of a free text.
const MOST_TEXT: usize = 140;

/// The largest amount: 999,999,999.99.
const MOST_CENTS: i64 = 99_999_999_999;

/// Countries of the European Economic Area: a transfer to an account there needs no bank code.
const EEA: &str = "AT BE BG CY CZ DE DK EE ES FI FR GR HR HU IE IS IT LI LT LU LV MT NL NO PL PT RO SE SI SK";

/// A transfer that a customer is asked to make.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TransferRequest<'a> {
    /// Name of the payee; it is cut to 70 characters.
    pub payee: &'a str,
    /// The payee's account.
    pub account: &'a Iban,
    /// The payee's bank; needed for an account outside the European Economic Area.
    pub bank: Option<&'a Bic>,
    /// Unpaid amount.
    pub amount: Money,
    /// Currency of the amount: such codes exist only for the euro.
    pub currency: Currency,
    /// Purpose of the transfer.
    pub purpose: Remittance<'a>,
}

/// Purpose of a transfer: a creditor reference or free text, never both.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Remittance<'a> {
    /// A reference of ISO 11649.
    Reference(&'a Reference),
    /// Free text; it is cut to 140 characters.
    Text(&'a str),
}

/// Reason why there is no code for a transfer; it can still be made in other ways.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoQr {
    /// Another currency.
    #[error("only transfers in euro have a QR code")]
    Currency,
    /// Nothing is unpaid, or more than a transfer can have.
    #[error("a transfer by QR code is from 0.01 to 999999999.99 euro")]
    Amount,
    /// No name.
    #[error("enter the name of the shop: a transfer needs its payee")]
    Payee,
    /// An account outside the European Economic Area without its bank's code.
    #[error("enter the bank's code (BIC): a transfer to this country needs it")]
    Bank,
}

impl Refusal for NoQr {
    fn kind(&self) -> Kind {
        Kind::Conflict
    }

    fn code(&self) -> &'static str {
        "no-payment-code"
    }
}

impl TransferRequest<'_> {
    /// The text of the code.
    ///
    /// # Errors
    /// [`NoQr`] with the reason.
    pub fn text(&self) -> Result<String, NoQr> {
        if self.currency != Currency::EUR {
            return Err(NoQr::Currency);
        }
        if !(1..=MOST_CENTS).contains(&self.amount.minor()) {
            return Err(NoQr::Amount);
        }
        let payee = one_line(self.payee, MOST_NAME, MOST_NAME_BYTES);
        if payee.is_empty() {
            return Err(NoQr::Payee);
        }
        let bank = self.bank.map_or("", Bic::as_str);
        if bank.is_empty() && !EEA.split(' ').any(|country| country == self.account.country()) {
            return Err(NoQr::Bank);
        }
        let account = self.account.as_str();
        let amount = self.amount.to_major(self.currency);
        // The empty element after the amount is a purpose code, which a studio does not have.
        let head = alloc::format!("BCD\n002\n1\nSCT\n{bank}\n{payee}\n{account}\nEUR{amount}\n\n");
        let text = match self.purpose {
            Remittance::Reference(reference) => alloc::format!("{head}{}", reference.as_str()),
            Remittance::Text(text) => {
                let room = MOST_QR_BYTES.saturating_sub(head.len() + 1);
                alloc::format!("{head}\n{}", one_line(text, MOST_TEXT, room))
            }
        };
        Ok(text.trim_end_matches('\n').into())
    }
}

/// The text on one line, cut to the given number of characters and bytes.
fn one_line(text: &str, most: usize, most_bytes: usize) -> String {
    let mut line = String::new();
    for c in text.trim().chars().take(most).map(|c| if c.is_control() { ' ' } else { c }) {
        if line.len() + c.len_utf8() > most_bytes {
            break;
        }
        line.push(c);
    }
    line.truncate(line.trim_end().len());
    line
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(payee: &str, account: &str, cents: i64, purpose: Remittance<'_>) -> Result<String, NoQr> {
        let account = Iban::parse(account).unwrap();
        let amount = Money::from_minor(cents);
        TransferRequest { payee, account: &account, bank: None, amount, currency: Currency::EUR, purpose }.text()
    }

    const DE: &str = "DE89370400440532013000";

    #[test]
    fn the_text_is_that_of_the_guideline() {
        let reference = Reference::for_number("INV-2026-0042").unwrap();
        let made = text("Example Studio", DE, 50_510, Remittance::Reference(&reference));
        let expected = "BCD\n002\n1\nSCT\n\nExample Studio\nDE89370400440532013000\nEUR505.10\n\nRF73INV20260042";
        assert_eq!(made.as_deref(), Ok(expected));
        let made = text("Example Fund", "BE72000000001616", 100, Remittance::Text("Urgency\nfund"));
        let expected = "BCD\n002\n1\nSCT\n\nExample Fund\nBE72000000001616\nEUR1.00\n\n\nUrgency fund";
        assert_eq!(made.as_deref(), Ok(expected));
        let made = text("Example Fund", "BE72000000001616", 1, Remittance::Text(" "));
        assert_eq!(made.as_deref(), Ok("BCD\n002\n1\nSCT\n\nExample Fund\nBE72000000001616\nEUR0.01"));
    }

    #[test]
    fn what_has_no_code_is_said() {
        let plain = Remittance::Text("x");
        assert_eq!(text("A", DE, 0, plain), Err(NoQr::Amount));
        assert_eq!(text("A", DE, 100_000_000_000, plain), Err(NoQr::Amount));
        assert_eq!(text("\n ", DE, 1, plain), Err(NoQr::Payee));
        assert_eq!(text("A", "CH9300762011623852957", 1, plain), Err(NoQr::Bank));
        let account = Iban::parse("CH9300762011623852957").unwrap();
        let bank = Bic::parse("ABCDCHZZ").unwrap();
        let asked = TransferRequest {
            payee: "A",
            account: &account,
            bank: Some(&bank),
            amount: Money::from_minor(1),
            currency: Currency::EUR,
            purpose: plain,
        };
        assert!(asked.text().is_ok_and(|text| text.starts_with("BCD\n002\n1\nSCT\nABCDCHZZ\nA\n")));
        let swiss = TransferRequest { currency: Currency::of("CHF").unwrap(), ..asked };
        assert_eq!(swiss.text(), Err(NoQr::Currency));
    }

    #[test]
    fn the_longest_text_fits_the_code() {
        let wide = "\u{1f697}".repeat(200);
        for purpose in [&wide, &"x".repeat(200), &String::new()] {
            let made = text(&wide, "MT84MALT011000012345MTLCAST001S", MOST_CENTS, Remittance::Text(purpose)).unwrap();
            assert!(made.len() <= MOST_QR_BYTES, "{}", made.len());
            assert!((8..=11).contains(&made.lines().count()));
        }
    }
}
