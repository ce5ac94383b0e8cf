//! An invite: its address is shown once, for the owner to hand over.

use actix_web::http::StatusCode;
use actix_web::post;
use actix_web::web::Path;
use askama::Template;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Owner;
use baywright_core::platform::tx::Tx;
use baywright_core::shop::usecase::settings;
use baywright_core::{access, people};
use baywright_domain::id::PersonId;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::PageWrite;

use super::HERE;
use crate::platform::{DeskFrame, Insider, html};

/// The page with the address of an invite.
#[derive(Template)]
#[template(path = "people/views/invite.html")]
struct Page {
    frame: DeskFrame,
    made: Made,
}

/// An invite that was made.
struct Made {
    name: String,
    address: String,
    /// The time when it ends, as the clock on the shop's wall will show it.
    until: String,
}

fn invited(tx: &mut Tx<'_>, id: &PersonId) -> Done<(Insider, Made)> {
    let insider = Insider::of(tx)?;
    let name = people::usecase::show(tx, id)?.details.name;
    let invite = access::usecase::invite(tx, id)?;
    let until = settings(tx)?.wall(invite.ends_at.minute());
    let address = format!("{}/invite/{}", tx.config.public_url, invite.token);
    Ok((insider, Made { name, address, until }))
}

/// Makes an invite. Its token is kept as a digest alone, so it takes no key: sent twice, it makes another invite, which
/// takes the place of the first.
#[post("/people/{id}/invite")]
pub(super) async fn make(page: PageWrite<Owner>, id: Path<String>) -> Answer {
    let id = PersonId::new(id.into_inner());
    let (insider, made) = page.write(move |tx| invited(tx, &id)).await?;
    let frame = DeskFrame::new("Invite", insider, page.form_code(), HERE);
    html(StatusCode::OK, &Page { frame, made })
}
