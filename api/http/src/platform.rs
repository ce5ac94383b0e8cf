//! The base of every route: requests read and checked, answers and problems written, types of request and response
//! bodies, the API document. The base of rules, stores and jobs is in [`baywright_core::platform`], where nothing names
//! the framework.

pub mod accept;
pub mod answer;
pub mod app;
mod arriving;
pub mod body;
pub mod call;
pub mod connections;
pub mod cursor;
pub mod door;
pub mod etag;
pub mod form_code;
pub mod guard;
mod gzip;
pub mod idempotency;
pub mod methods;
mod multipart;
pub mod openapi;
pub mod page;
pub mod page_file;
pub mod pieces;
pub mod prefer;
pub mod problem;
pub mod sign_in;
pub mod trace;
pub mod turn;
pub mod unlisted;
pub mod unread;
pub mod upload;
pub mod warned;
pub mod wire;
