//! Passwords and tokens in requests.

use baywright_core::platform::secret::{self, MOST};
use serde::{Deserialize, Deserializer};

use super::{described, string};

/// A password or a token, exactly as it was sent: not trimmed, and never logged.
#[derive(Debug, Clone)]
pub struct Secret(pub secret::Secret);

impl<'de> Deserialize<'de> for Secret {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        secret::Secret::new(String::deserialize(reader)?).map(Self).map_err(serde::de::Error::custom)
    }
}

described!([] Secret, "Secret", string().min_length(Some(1)).max_length(Some(MOST))
    .examples(["thirteen quiet buckets"]).build());
