//! Calendar feeds: the diary of one bay or one person at a secret address that a calendar program reads by itself (RFC
//! 5545, with the properties of RFC 7986 for a feed's name and refresh interval).
//!
//! The address is shown once and stored as its digest. Anyone who has it sees bookings by vehicle and never by
//! customer, because the address ends up in telephones and calendar programs of others. It ends when it is revoked, and
//! with the person's account.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `POST /v1/calendar-feeds` | desk | creates a feed with its address |
//! | `GET /v1/calendar-feeds` | desk | one page of the feeds |
//! | `POST /v1/calendar-feeds/{id}/revoke` | desk | revokes one |
//! | `GET /feeds/{token}.ics` | anyone with the address | the calendar |

mod store;
pub mod usecase;
