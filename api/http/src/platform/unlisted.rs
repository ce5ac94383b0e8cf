//! Pages and files for people, which the API document leaves out.

use actix_web::dev::{AppService, HttpServiceFactory};
use utoipa::openapi::RefOr;
use utoipa::openapi::path::{HttpMethod, OperationBuilder, Paths};
use utoipa::openapi::schema::Schema;
use utoipa_actix_web::OpenApiFactory;

use super::openapi;

// Pages add their routes beside those of the API, and use nothing else of the API document.
pub use utoipa_actix_web::service_config::ServiceConfig;

/// A page or file for people. The API document leaves it out, but other methods still get the right answer.
#[derive(Clone)]
pub struct Unlisted<S> {
    method: HttpMethod,
    path: &'static str,
    service: S,
}

impl<S> Unlisted<S> {
    /// A page that is read with GET, at the path that the service itself names.
    pub const fn get(path: &'static str, service: S) -> Self {
        Self { method: HttpMethod::Get, path, service }
    }

    /// A form that is sent with POST.
    pub const fn post(path: &'static str, service: S) -> Self {
        Self { method: HttpMethod::Post, path, service }
    }
}

impl<S: HttpServiceFactory> HttpServiceFactory for Unlisted<S> {
    fn register(self, config: &mut AppService) {
        self.service.register(config);
    }
}

impl<S> OpenApiFactory for Unlisted<S> {
    fn paths(&self) -> Paths {
        let operation = OperationBuilder::new().tag(openapi::PAGE).build();
        let mut paths = Paths::new();
        paths.add_path_operation(self.path, vec![self.method.clone()], operation);
        paths
    }

    fn schemas(&self, _: &mut Vec<(String, RefOr<Schema>)>) {}
}
