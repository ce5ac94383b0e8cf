//! What every feature stands on and no feature owns. One file holds one concern; features use these and never the
//! other way round.

pub mod accept;
pub mod answer;
mod arriving;
pub mod body;
pub mod call;
pub mod clock;
pub mod clock_run;
pub mod config;
pub mod cursor;
pub mod db;
pub mod door;
pub mod etag;
pub mod fail;
pub mod guard;
pub mod idempotency;
pub mod identity;
pub mod ids;
pub mod keyring;
pub mod methods;
pub mod openapi;
pub mod password;
pub mod personal;
mod pieces;
pub mod places;
pub mod prefer;
pub mod problem;
pub mod rate;
pub mod record;
pub mod steady;
pub mod telemetry;
pub mod token;
pub mod trace;
pub mod tx;
pub mod upload;
pub mod warning;
pub mod wire;
