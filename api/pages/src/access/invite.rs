//! Choosing a password with an invite, which the owner hands over as the address of this page.

use actix_web::http::StatusCode;
use actix_web::http::header::SET_COOKIE;
use actix_web::web::{Data, Path};
use actix_web::{get, post};
use askama::Template;
use baywright_core::access::usecase::{accept_on_pages, check_invite};
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::secret::Secret;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::app::App;
use baywright_http::platform::door::DoorCall;
use baywright_http::platform::page::DoorForm;
use baywright_http::platform::problem::Problem;
use baywright_http::platform::sign_in::cookie;

use crate::platform::form::{Fields, FormView, Input, Reading};
use crate::platform::{Frame, html, is_mendable, see_other};

/// The page to choose a password on.
#[derive(Template)]
#[template(path = "access/views/invite.html")]
struct InvitePage {
    frame: Frame,
    form: FormView,
    token: String,
}

fn page(status: StatusCode, token: String, refused: Option<&Refused>) -> Answer {
    let inputs = vec![
        Input::password("password", "Your password")
            .hint("At least 12 characters that are not easily guessed; several words are best.")
            .autocomplete("new-password"),
    ];
    let form = FormView::new(inputs, &Fields::default(), "");
    let form = match refused {
        Some(refused) => form.refused(refused),
        None => form,
    };
    html(status, &InvitePage { frame: Frame::plain(form.title("Choose your password"), ""), form, token })
}

/// The invite's token, or 404 if the address can't be one.
fn secret(token: &str) -> Result<Secret, Problem> {
    Secret::new(token.to_owned()).map_err(|_| Refused::not_found("invite").into())
}

/// The form to choose a password, while the invite can be used.
#[get("/invite/{token}")]
pub(super) async fn show(token: Path<String>, door: DoorCall) -> Answer {
    let token = token.into_inner();
    let invite = secret(&token)?;
    door.run(move |door| check_invite(door, &invite)).await?;
    page(StatusCode::OK, token, None)
}

/// Chooses the password and signs in.
#[post("/invite/{token}")]
pub(super) async fn choose(app: Data<App>, token: Path<String>, form: DoorForm) -> Answer {
    let token = token.into_inner();
    let invite = secret(&token)?;
    let fields = Fields::of_form(&form.form);
    let mut reading = Reading::of(&fields);
    let password = reading.secret("password");
    let chosen = match reading.done(password) {
        Ok(password) => form.door.run(move |door| accept_on_pages(door, &invite, &password)).await,
        Err(refused) => Err(refused.into()),
    };
    match chosen {
        Ok(opened) => {
            let mut answer = see_other("/");
            answer.headers_mut().insert(SET_COOKIE, cookie(&app.program.config, &opened)?);
            Ok(answer)
        }
        Err(problem) if is_mendable(&problem) => page(problem.status(), token, Some(problem.refused())),
        Err(problem) => Err(problem),
    }
}
