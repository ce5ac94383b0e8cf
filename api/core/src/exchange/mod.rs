//! Customers and vehicles as lists for a spreadsheet, in and out.
//!
//! A list is CSV text (RFC 4180) in UTF-8 whose first row names its columns; comma, semicolon and tab may separate the
//! cells. Each row goes through the same checks and the same use case as a single creation. A refused row stores
//! nothing and is reported with its line, its column and what to do; the other rows are imported. A row whose customer
//! or vehicle already exists is skipped and reported, so that importing the same list twice adds nothing twice: the
//! rules for that are `Traits::same` of the domain's customer and vehicle.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/exports/customers` | desk | every customer, as a list that can be imported |
//! | `GET /v1/exports/vehicles` | desk | every vehicle with its customer |
//! | `POST /v1/imports/customers` | desk | adds the customers of a list |
//! | `POST /v1/imports/vehicles` | desk | adds the vehicles of a list to existing customers |

pub mod customers;
mod directory;
mod report;
pub mod sheet;
pub mod usecase;
pub mod vehicles;
