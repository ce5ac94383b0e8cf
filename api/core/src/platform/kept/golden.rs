//! Documents of `tests/data/kept` as tests read them.

use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

use crate::platform::canonical::canonical;

/// Reads a document of the current form, and checks that it is written back as the same canonical JSON.
pub(crate) fn written_back<T: DeserializeOwned + Serialize>(text: &str) -> T {
    let read: T = serde_json::from_str(text).unwrap();
    let (file, written) = (serde_json::from_str::<Value>(text).unwrap(), serde_json::to_value(&read).unwrap());
    assert_eq!(canonical(&written).unwrap(), canonical(&file).unwrap());
    read
}
