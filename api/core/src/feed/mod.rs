//! Calendar feeds: the diary of one bay or one person, behind a secret link that a calendar program reads by itself
//! (RFC 5545, with the properties of RFC 7986 for a feed's name and how often to come back).
//!
//! A link is shown once and kept as its digest. Whoever has it sees what is booked, by vehicle and never by customer,
//! because its address ends up in telephones and calendar programs of others. It ends when it is taken back, and with the
//! person's account.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `POST /v1/calendar-feeds` | desk | makes a link |
//! | `GET /v1/calendar-feeds` | desk | the links there are |
//! | `POST /v1/calendar-feeds/{id}/revoke` | desk | takes one back |
//! | `GET /feeds/{token}.ics` | whoever has the link | the calendar |

mod store;
pub mod usecase;
