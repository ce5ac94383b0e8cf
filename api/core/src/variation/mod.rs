//! Variations: changes to the signed work, agreed before they are done.
//!
//! draft → sent → signed · declined. A variation is written while the car is in its bay: more work that was discovered
//! on the clean paint, or less. It is priced from the menu that the signed quote froze, so that agreed prices stay;
//! items that the menu doesn't have are custom items. Sending freezes it, and the customer signs it like a quote:
//! through a link, in person, or, within the tolerance that the shop has set, by a phone call that somebody records.
//!
//! Once signed it applies: the quote's next plan includes its work, the job under way gets the new steps, steps that
//! are no longer needed are removed, the time that it names is what the booking promises, and [`crate::agreement`] tells
//! the invoice what is owed.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/quotes/{id}/variations` | accounts | all of a quote, first one first |
//! | `POST /v1/quotes/{id}/variations` | desk | writes one as a draft |
//! | `GET /v1/variations/{id}` | accounts | one variation |
//! | `PUT /v1/variations/{id}` | desk | changes the draft |
//! | `POST /v1/variations/{id}/send` | desk | freezes it and sends it |
//! | `POST /v1/variations/{id}/links` | desk | creates a link, for signing in person or to send in another way |
//! | `POST /v1/variations/{id}/sign-off` | desk | records an acceptance by phone |
//! | `POST /v1/variations/{id}/decline` | desk | records that the customer declined |

pub mod usecase;
