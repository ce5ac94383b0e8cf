//! Requests over HTTP before anyone is signed in, as their handlers receive them.

use std::future::{Ready, ready};

use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpRequest};
use baywright_core::platform::door::Door;
use baywright_core::platform::fail::Done;

use super::app::App;
use super::call::{blocking, origin};
use super::problem::Problem;

/// A request of somebody who may not be signed in; its use case gets a [`Door`].
#[derive(Clone)]
pub struct DoorCall(Door);

impl DoorCall {
    pub(super) fn new(door: Door) -> Self {
        Self(door)
    }

    /// Runs a use case on a thread that may block.
    pub async fn run<T: Send + 'static>(
        &self,
        f: impl FnOnce(&Door) -> Done<T> + Send + 'static,
    ) -> Result<T, Problem> {
        let door = self.0.clone();
        blocking(move || f(&door)).await
    }
}

impl FromRequest for DoorCall {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let app = App::of(request);
        ready(app.map(|app| Self::new(Door::new(app.program.clone(), origin(request, app)))))
    }
}
