//! Variations: changes to what was signed, agreed before their work is done.
//!
//! draft → sent → signed · declined. A variation is written while the car is in its bay: more work that clean paint
//! showed, or less. It is priced from the menu that the signed quote froze, so that a price that was agreed is the
//! price; what the menu doesn't have is typed. Sending freezes it, and the customer signs it like a quote: by a link, in
//! person, or, within the tolerance that the shop has set, on a phone call that somebody notes.
//!
//! Once signed it counts: the quote's next plan has its work, the job under way gets the new steps, steps that nobody
//! needs any more are struck out, and [`crate::agreement`] tells the invoice what is owed.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/quotes/{id}/variations` | accounts | all of a quote, the first one first |
//! | `POST /v1/quotes/{id}/variations` | desk | writes one as a draft |
//! | `GET /v1/variations/{id}` | accounts | one |
//! | `PUT /v1/variations/{id}` | desk | changes the draft |
//! | `POST /v1/variations/{id}/send` | desk | freezes it and sends it |
//! | `POST /v1/variations/{id}/links` | desk | makes a link, for signing in person or to send by hand |
//! | `POST /v1/variations/{id}/sign-off` | desk | notes a yes by phone |
//! | `POST /v1/variations/{id}/decline` | desk | notes a no |

pub mod usecase;
