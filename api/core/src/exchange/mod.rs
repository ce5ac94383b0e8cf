//! Customers and vehicles as lists for a spreadsheet, in and out.
//!
//! A list is CSV text (RFC 4180) in UTF-8 whose first row names its columns; comma, semicolon and tab may separate the
//! cells. Each row goes through the same checks and the same use case as a single creation. A row that is refused
//! leaves nothing behind and is reported with its line, its column and what to do; the other rows stay. A row whose
//! customer or vehicle is there already is passed over and reported, so that taking in the same list twice adds nothing
//! twice: the rules for that are `Traits::same` of the domain's customer and vehicle.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/exports/customers` | desk | every customer, as a list that can be taken in |
//! | `GET /v1/exports/vehicles` | desk | every vehicle with its customer |
//! | `POST /v1/imports/customers` | desk | adds the customers of a list |
//! | `POST /v1/imports/vehicles` | desk | adds the vehicles of a list to customers that are there |

pub mod customers;
mod directory;
mod report;
pub mod sheet;
pub mod usecase;
pub mod vehicles;
