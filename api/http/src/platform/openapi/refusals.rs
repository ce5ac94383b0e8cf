//! The refusals that operations share, each written once among the document's components.

use serde_json::{Map, Value, json};

use super::headers;
use crate::platform::problem::titled;

/// One kind of refusal.
struct Refusal {
    status: u16,
    /// Its name among the components.
    name: &'static str,
    description: &'static str,
    slug: &'static str,
    detail: &'static str,
}

const fn refusal(
    status: u16,
    name: &'static str,
    slug: &'static str,
    description: &'static str,
    detail: &'static str,
) -> Refusal {
    Refusal { status, name, description, slug, detail }
}

const ALL: [Refusal; 14] = [
    refusal(
        400,
        "Malformed",
        "malformed-request",
        "The request is malformed.",
        "limit must be a whole number of 1 or more.",
    ),
    refusal(401, "NotSignedIn", "not-signed-in", "Nobody is signed in, or the session has ended.", "Sign in first."),
    refusal(403, "NotAllowed", "not-allowed", "The caller's role does not allow this.", "This is for owner, desk."),
    refusal(404, "NotFound", "not-found", "The shop has no such record.", "There is no such customer."),
    refusal(
        408,
        "TooSlow",
        "too-slow",
        "The body took too long to arrive.",
        "The body took too long to arrive. Send it again.",
    ),
    refusal(
        409,
        "Conflict",
        "wrong-state",
        "The state of the record, or another record, prevents the change.",
        "The quote is lapsed and can't be signed; make a new revision.",
    ),
    refusal(
        412,
        "ChangedMeanwhile",
        "changed-meanwhile",
        "The record has changed since it was read.",
        "Someone changed this record since you read it. Read it again, and repeat your change on what it says now.",
    ),
    refusal(
        413,
        "BodyTooLarge",
        "body-too-large",
        "The body is too large.",
        "The body is too large. Send less at a time.",
    ),
    refusal(
        415,
        "UnsupportedMediaType",
        "unsupported-media-type",
        "The body does not have the expected media type.",
        "Send the body as JSON, with Content-Type: application/json.",
    ),
    refusal(
        422,
        "AgainstARule",
        "invalid-value",
        "The request is well formed but violates a rule.",
        "Write an amount of 0 or more.",
    ),
    refusal(
        428,
        "IfMatchRequired",
        "if-match-required",
        "The header If-Match is missing.",
        "Send If-Match with the ETag that you read last.",
    ),
    refusal(
        429,
        "TooManyRequests",
        "too-many-requests",
        "Too many requests were sent; Retry-After says how long to wait.",
        "This address has sent too many requests. Wait 20 seconds.",
    ),
    refusal(
        500,
        "Unexpected",
        "unexpected",
        "An unexpected error occurred; nothing was changed.",
        "Something went wrong here, and nothing was changed.",
    ),
    refusal(
        503,
        "Unavailable",
        "unavailable",
        "The service is not available now; Retry-After says when to try again.",
        "The database can't be reached just now. Try again in a moment.",
    ),
];

/// `components.responses`.
pub(super) fn components() -> Map<String, Value> {
    let each = ALL.iter().map(|refusal| {
        let mut response = json!({ "description": refusal.description, "content": content(refusal.status) });
        headers::add(refusal.status, false, false, &mut response);
        (refusal.name.to_owned(), response)
    });
    each.collect()
}

/// A reference to the shared refusal of that status.
pub(super) fn reference(status: u16) -> Value {
    match ALL.iter().find(|refusal| refusal.status == status) {
        Some(refusal) => json!({ "$ref": format!("#/components/responses/{}", refusal.name) }),
        None => json!({ "description": "The request is refused.", "content": content(status) }),
    }
}

/// The body of a refusal of that status, with an example.
pub(super) fn content(status: u16) -> Value {
    let known = ALL.iter().find(|refusal| refusal.status == status);
    let (slug, detail) =
        known.map_or(("malformed-request", "See the operation."), |refusal| (refusal.slug, refusal.detail));
    let title = titled(slug);
    json!({ "application/problem+json": {
        "schema": { "$ref": "#/components/schemas/Problem" },
        "example": {
            "type": format!("/problems/{slug}"), "title": title, "status": status, "detail": detail,
            "instance": "/v1/customers/0198c0de-0000-7000-8000-000000000001",
            "request_id": "0198c0de-0000-7000-8000-000000000002", "errors": [], "known": [], "figures": []
        }
    } })
}
