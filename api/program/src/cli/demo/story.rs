//! The story of one car in `demo-data/story.json`.

use serde::Deserialize;

/// A line of `story.json`.
#[derive(Deserialize)]
pub(super) struct Story {
    /// The car's registration.
    pub(super) car: String,
    pub(super) end: End,
    #[serde(default)]
    pub(super) services: Vec<String>,
    #[serde(default)]
    pub(super) package: Option<String>,
    #[serde(default)]
    pub(super) options: Vec<String>,
    #[serde(default)]
    pub(super) take_options: bool,
    #[serde(default)]
    pub(super) discount_percent: Option<String>,
    #[serde(default)]
    pub(super) discount_reason: Option<String>,
    /// Whether the car is photographed when it is inspected. The customer's page that the demo shows belongs to such a
    /// car.
    #[serde(default)]
    pub(super) photographed: bool,
    pub(super) soil: Soil,
    /// Days from today to the work, or to the quote if there is no work.
    pub(super) day: i64,
}

/// The end of a story.
#[derive(Deserialize, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[serde(rename_all = "SCREAMING_SNAKE_CASE")]
pub(super) enum End {
    Draft,
    Withdrawn,
    Replaced,
    Declined,
    Lapsed,
    Sent,
    Signed,
    Held,
    Cancelled,
    NoShow,
    Booked,
    InBay,
    Ready,
    HandedOver,
    Invoiced,
    Overdue,
    PartPaid,
    Paid,
}

#[derive(Deserialize, Clone, Copy)]
#[serde(rename_all = "SCREAMING_SNAKE_CASE")]
pub(super) enum Soil {
    Light,
    Fair,
    Heavy,
}
