//! The base of every feature, owned by none. Each file has one concern; features use these and never the other way
//! round.

pub mod canonical;
pub mod clock;
pub mod clock_run;
pub mod config;
pub mod db;
pub mod door;
pub mod email;
pub mod ended;
pub mod fail;
pub mod faults;
pub mod identity;
pub mod ids;
pub mod kept;
pub mod keyring;
pub mod mapped;
pub mod paging;
pub mod password;
pub mod personal;
pub mod phone;
pub mod places;
pub mod program;
pub mod prolonged;
pub mod rate;
pub mod record;
pub mod refusal;
pub mod replay;
pub mod secret;
mod slip;
pub mod steady;
pub mod telemetry;
pub mod token;
pub mod tx;
pub mod version;
pub mod warning;
