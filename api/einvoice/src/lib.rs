//! Issued documents as electronic invoices of EN 16931-1, in both of its syntaxes: UBL 2.1 and UN/CEFACT CII (D16B).
//!
//! A document comes in as an [`Issued`]: the rules' own [`Document`](baywright_domain::document::Document), which is
//! summed up here once more, so that no figure in the file can differ from its lines, and the texts beside it.
//! [`Checked::new`] refuses it with every reason at once if a mandatory term is missing; a caller asks before it spends a
//! number. A [`Checked`] is written by [`Checked::ubl`] and [`Checked::cii`], which can't fail, and always gives the same
//! bytes.
//!
//! | buyer | form of the file |
//! | --- | --- |
//! | has an address in the Peppol network | Peppol BIS Billing 3.0, which asks for the seller's address and a reference too |
//! | has none | EN 16931 without further rules |
//!
//! The writer of XML is our own (`api/einvoice/src/xml.rs`): a file needs elements, attributes and escaped text, which are fewer lines than
//! calling a library, and no time to build.

mod check;
mod cii;
mod figures;
mod issued;
mod refused;
mod ubl;
mod xml;

pub use check::Checked;
pub use issued::{Address, Contact, Endpoint, ExemptionReason, Issued, LineText, Party, Preceding};
pub use refused::NotElectronic;
