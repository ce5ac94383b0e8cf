//! The frame of each page.

use super::{Reach, assets};

/// The frame of a page for whoever is not signed in: the customer's, or one with a bare band (`plain.html`).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Frame {
    /// Title for the browser.
    pub title: String,
    /// The studio's name; empty if it is not known.
    pub studio: String,
    /// Contact details of the studio; `None` if they are not known.
    pub reach: Option<Reach>,
    /// Legal details of the studio: legal name, address and VAT number, as far as known.
    pub imprint: Vec<String>,
    /// Whether the page is on the studio's own device.
    pub in_person: bool,
    /// Whether anyone with the page's address can answer on it.
    pub private: bool,
    /// Address of the style sheet.
    pub style: String,
    /// Address of the icon.
    pub icon: String,
    /// Address of the script, if the page has one.
    pub script: Option<String>,
}

impl Frame {
    /// The frame of a page with that title.
    pub fn new(title: impl Into<String>, studio: impl Into<String>) -> Self {
        Self {
            title: title.into(),
            studio: studio.into(),
            reach: None,
            imprint: Vec::new(),
            in_person: false,
            private: false,
            style: assets::style(),
            icon: assets::icon(),
            script: None,
        }
    }

    /// The frame of a page with a bare band, which names the studio if there is one.
    pub fn plain(title: impl Into<String>, studio: impl Into<String>) -> Self {
        Self { style: assets::desk_style(), ..Self::new(title, studio) }
    }

    /// The frame with the script of the pages where customers choose and sign.
    #[must_use]
    pub fn with_sign_script(mut self) -> Self {
        self.script = Some(assets::sign_script());
        self
    }
}
