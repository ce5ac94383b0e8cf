//! Tablets beside the bays: enrolling the device that opens these pages, and signing in on it with four digits.

use actix_web::http::StatusCode;
use actix_web::http::header::{RETRY_AFTER, SET_COOKIE};
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, ResponseError, get, post};
use askama::Template;
use baywright_core::access::usecase::tablet::{Here, enrol, here, sign_in};
use baywright_core::platform::identity::Bay;
use baywright_core::platform::token::Token;
use baywright_domain::id::PersonId;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::app::App;
use baywright_http::platform::door::DoorCall;
use baywright_http::platform::page::{DoorForm, PageRead, PageWrite, SentForm, code_with};
use baywright_http::platform::problem::Problem;
use baywright_http::platform::sign_in::{cookie, digest_of_tablet, no_cookie, tablet_cookie};
use baywright_http::platform::wire::Line;

use crate::platform::form::{Fields, FormView, Input, Reading};
use crate::platform::{AgainPage, Frame, Insider, SendAgain, html, of_ours, rendered, see_other};

/// The page of the bays.
const BAY: &str = "/bay";

/// The page on which people sign in on a tablet.
const SIGN_IN: &str = "/bay/sign-in";

/// The page that makes a device a tablet.
#[derive(Template)]
#[template(path = "access/views/tablet.html")]
struct EnrolPage {
    frame: Frame,
    form: FormView,
}

/// The page to sign in on a tablet: first the names, then the digits of one person.
#[derive(Template)]
#[template(path = "access/views/tablet_sign_in.html")]
struct SignInPage {
    frame: Frame,
    /// The tablet and its people; `None` if the device is none.
    here: Option<Here>,
    /// Id and name of the person who was tapped.
    person: Option<(String, String)>,
    form: FormView,
    /// The page that follows, or the address that takes the form that was interrupted.
    back: String,
    /// The form that was interrupted, as it came; empty if none was.
    typed: String,
}

/// The page that says that a form waits until somebody has signed in on the tablet.
#[derive(Template)]
#[template(path = "access/views/tablet_again.html")]
struct InterruptedPage {
    frame: Frame,
    back: String,
    typed: String,
}

fn enrol_page(status: StatusCode, fields: &Fields, problem: Option<&Problem>) -> Answer {
    let code =
        Input::short("code", "Code of the tablet").hint("The owner sees it when adding a tablet.").autocomplete("off");
    let form = FormView::new(vec![code], fields, "");
    let form = match problem {
        Some(problem) => form.refused(problem.refused()),
        None => form,
    };
    html(status, &EnrolPage { frame: Frame::plain(form.title("Make this device a tablet"), ""), form })
}

/// The form to make this device a tablet.
#[get("/tablet")]
pub(super) async fn show_enrol() -> Answer {
    enrol_page(StatusCode::OK, &Fields::default(), None)
}

/// Makes this device a tablet.
#[post("/tablet")]
pub(super) async fn enrol_here(app: Data<App>, form: DoorForm) -> Answer {
    let fields = Fields::of_form(&form.form);
    let mut reading = Reading::of(&fields);
    let code = reading.needed("code", Line::<40>::parse);
    let enrolled = match reading.done(code) {
        Ok(code) => form.door.run(move |door| enrol(door, code.as_str())).await,
        Err(refused) => Err(refused.into()),
    };
    match enrolled {
        Ok(device) => {
            let mut answer = see_other(SIGN_IN);
            answer.headers_mut().insert(SET_COOKIE, tablet_cookie(&app.program.config, &device)?);
            Ok(answer)
        }
        Err(problem) if is_shown(&problem) => {
            with_wait(enrol_page(problem.status(), &fields, Some(&problem))?, &problem)
        }
        Err(problem) => Err(problem),
    }
}

fn is_shown(problem: &Problem) -> bool {
    matches!(problem.status(), StatusCode::UNPROCESSABLE_ENTITY | StatusCode::TOO_MANY_REQUESTS)
}

/// The page with the seconds to wait, if the problem says some.
fn with_wait(mut answer: HttpResponse, problem: &Problem) -> Answer {
    if let Some(seconds) = problem.error_response().headers().get(RETRY_AFTER) {
        answer.headers_mut().insert(RETRY_AFTER, seconds.clone());
    }
    Ok(answer)
}

/// Whether the request comes from a device that has the cookie of a tablet.
fn is_tablet(request: &HttpRequest, app: &App) -> bool {
    digest_of_tablet(request, &app.program.config).is_some()
}

/// The page on which somebody signs in on a tablet who is led to `back`; `None` for other devices and other pages.
pub(super) fn instead(request: &HttpRequest, app: &App, back: &str) -> Option<String> {
    let in_bay = back == BAY || back.starts_with("/bay/") || back.starts_with("/bay?");
    (in_bay && is_tablet(request, app)).then(|| {
        let mut query = url::form_urlencoded::Serializer::new(String::new());
        query.append_pair("back", of_ours(back));
        format!("{SIGN_IN}?{}", query.finish())
    })
}

/// The page for a form of the bays that was sent from a tablet without a sign-in; `None` for other devices and forms.
///
/// # Errors
/// A defect: a template that does not render.
pub fn tablet_to_send(
    request: &HttpRequest,
    app: &App,
    address: &str,
    sent: Option<&SentForm>,
) -> Option<Result<String, Problem>> {
    instead(request, app, address)?;
    let typed = sent.map(|sent| String::from_utf8_lossy(&sent.form).into_owned()).unwrap_or_default();
    let back = of_ours(address).to_owned();
    Some(rendered(&InterruptedPage { frame: Frame::plain("Sign in", ""), back, typed }))
}

async fn tablet(door: &DoorCall, request: &HttpRequest, app: &App) -> Result<Option<Here>, Problem> {
    let Some(digest) = digest_of_tablet(request, &app.program.config) else { return Ok(None) };
    door.run(move |door| here(door, &digest)).await
}

fn sign_in_page(
    status: StatusCode,
    here: Option<Here>,
    fields: &Fields,
    typed: String,
    problem: Option<&Problem>,
) -> Answer {
    let asked = fields.text("person_id");
    let tapped = here.as_ref().and_then(|here| here.people.iter().find(|person| person.id.as_str() == asked));
    let person = tapped.map(|person| (person.id.to_string(), person.name.clone()));
    let digits = Input::password("digits", "Your four digits").numeric().autocomplete("off");
    let inputs = if person.is_some() { vec![digits] } else { Vec::new() };
    let form = FormView::new(inputs, &Fields::default(), "");
    let form = match problem {
        Some(problem) => form.refused(problem.refused()),
        None => form,
    };
    let studio = here.as_ref().map(|here| format!("{}, {}", here.studio, here.name)).unwrap_or_default();
    let back = match fields.text("back") {
        back if back.is_empty() => BAY.to_owned(),
        back => of_ours(&back).to_owned(),
    };
    html(
        status,
        &SignInPage { frame: Frame::plain(form.title("Who are you?"), studio), here, person, form, back, typed },
    )
}

/// The names to tap, or the digits of the one who was tapped; whoever is signed in is led on.
#[get("/bay/sign-in")]
pub(super) async fn show_sign_in(
    app: Data<App>,
    page: Option<PageRead<Bay>>,
    door: DoorCall,
    request: HttpRequest,
) -> Answer {
    let fields = Fields::of_query(request.query_string());
    if let Some(page) = page
        && page.read(Insider::of).await.is_ok()
    {
        let back = fields.text("back");
        return Ok(see_other(if back.is_empty() { BAY } else { of_ours(&back) }));
    }
    let here = tablet(&door, &request, &app).await?;
    sign_in_page(StatusCode::OK, here, &fields, String::new(), None)
}

/// Signs in with four digits; without them, asks for them and keeps the form that was interrupted.
#[post("/bay/sign-in")]
pub(super) async fn take_sign_in(app: Data<App>, form: DoorForm, request: HttpRequest) -> Answer {
    let fields = Fields::of_form(&form.form);
    let typed = if form.is_ours { fields.exact("typed") } else { String::new() };
    let door = form.door.clone();
    let (Some(digest), true) = (digest_of_tablet(&request, &app.program.config), fields.has("digits")) else {
        let here = tablet(&door, &request, &app).await?;
        return sign_in_page(StatusCode::OK, here, &fields, typed, None);
    };
    let who = PersonId::new(fields.text("person_id"));
    let mut reading = Reading::of(&fields);
    let digits = reading.secret("digits");
    let opened = match reading.done(digits) {
        Ok(digits) => door.run(move |door| sign_in(door, &digest, &who, &digits)).await,
        Err(refused) => Err(refused.into()),
    };
    match opened {
        Ok(token) => signed_in(&app, &token, &fields, &typed),
        Err(problem) if is_shown(&problem) || problem.status() == StatusCode::UNAUTHORIZED => {
            let status = match problem.status() {
                StatusCode::UNAUTHORIZED => StatusCode::UNPROCESSABLE_ENTITY,
                other => other,
            };
            let here = tablet(&door, &request, &app).await?;
            with_wait(sign_in_page(status, here, &fields, typed, Some(&problem))?, &problem)
        }
        Err(problem) => Err(problem),
    }
}

/// Leads on whoever has signed in with that token: to the cars, or to the form that was interrupted.
fn signed_in(app: &App, token: &Token, fields: &Fields, typed: &str) -> Answer {
    let back = fields.text("back");
    let back = if back.is_empty() { BAY } else { of_ours(&back) };
    let mut answer: HttpResponse = if typed.is_empty() {
        see_other(back)
    } else {
        let again = SendAgain::new(back, typed.as_bytes(), &code_with(token, &app.program));
        html(StatusCode::OK, &AgainPage::new("You are signed in", again))?
    };
    answer.headers_mut().insert(SET_COOKIE, cookie(&app.program.config, token)?);
    Ok(answer)
}

/// Signs out on the tablet, so that the next person can tap their name.
#[post("/bay/sign-out")]
pub(super) async fn sign_out(page: PageWrite<Bay>) -> Answer {
    page.end().await?;
    let mut answer = see_other(SIGN_IN);
    answer.headers_mut().insert(SET_COOKIE, no_cookie(&page.app().program.config)?);
    Ok(answer)
}
