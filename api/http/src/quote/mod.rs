//! Quotes over HTTP.

mod answer;
mod body;
mod document;
mod draft;
mod read;
mod shown;
mod view;
mod words;
mod write;

use utoipa_actix_web::service_config::ServiceConfig;

pub use body::{QuoteLinkBody, QuoteReasonBody, QuoteSendBody, QuoteSignOffBody};
pub use document::{LineExplanationView, QuoteDocumentView};
pub use draft::DraftLineBody;
pub use shown::DraftLineView;
pub use view::{QuoteLinkView, SignoffView};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(read::list).service(read::show).service(read::revision);
    config.service(write::create).service(write::price).service(write::change_draft).service(write::revise);
    config.service(write::send).service(write::send_again).service(write::withdraw);
    config.service(answer::link).service(answer::sign_off).service(answer::decline).service(answer::early_start);
}
