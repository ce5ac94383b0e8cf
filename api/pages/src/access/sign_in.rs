//! Signing in and out by cookie.

use actix_web::http::StatusCode;
use actix_web::http::header::{RETRY_AFTER, SET_COOKIE};
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, ResponseError, get, post};
use askama::Template;
use baywright_core::access::usecase::sign_in_on_pages;
use baywright_core::platform::identity::Anyone;
use baywright_core::platform::token::Token;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::app::{App, Demo};
use baywright_http::platform::page::{DoorForm, PageRead, PageWrite, SentForm, code_with};
use baywright_http::platform::problem::Problem;
use baywright_http::platform::sign_in::{cookie, no_cookie};
use baywright_http::platform::wire::Email;

use crate::platform::form::{Fields, FormView, Input, Reading};
use crate::platform::{AgainPage, Frame, Insider, SendAgain, html, of_ours, rendered, see_other};

/// The page to sign in on.
#[derive(Template)]
#[template(path = "access/views/sign_in.html")]
struct SignInPage<'a> {
    frame: Frame,
    form: FormView,
    demo: Option<&'a Demo>,
    /// The page that follows, or the address that takes the form that was interrupted.
    back: String,
    /// The form that was interrupted, as it came; empty if none was.
    typed: String,
}

impl<'a> SignInPage<'a> {
    /// The page with what was filled in, for the interrupted form `typed`. That is never taken from an address: whoever
    /// makes a link could fill in a form that its reader then sends.
    fn new(app: &'a App, fields: &Fields, typed: String) -> Self {
        let inputs = vec![
            Input::email("email", "Email address").autocomplete("username"),
            Input::password("password", "Password").autocomplete("current-password"),
        ];
        Self {
            frame: Frame::plain("Sign in", ""),
            form: FormView::new(inputs, fields, ""),
            demo: app.demo.as_ref(),
            back: of_ours(&fields.text("back")).to_owned(),
            typed,
        }
    }

    fn refused(mut self, problem: &Problem) -> Self {
        self.form = self.form.refused(problem.refused());
        self.frame.title = self.form.title("Sign in");
        self
    }
}

/// The page to sign in on, shown at the start page's own address.
///
/// # Errors
/// A defect: a template that does not render.
pub fn first_page(app: &App) -> Answer {
    html(StatusCode::OK, &SignInPage::new(app, &Fields::default(), String::new()))
}

/// The page to sign in on for a form that was sent without a sign-in; after it, the form can be sent again.
///
/// # Errors
/// A defect: a template that does not render.
pub fn sign_in_to_send(app: &App, address: &str, sent: Option<&SentForm>) -> Result<String, Problem> {
    let mut page = SignInPage::new(app, &Fields::default(), String::new());
    if let Some(sent) = sent {
        of_ours(address).clone_into(&mut page.back);
        page.typed = String::from_utf8_lossy(&sent.form).into_owned();
    }
    rendered(&page)
}

/// The form to sign in; whoever has signed in is led on.
#[get("/sign-in")]
pub(super) async fn show(app: Data<App>, page: Option<PageRead<Anyone>>, request: HttpRequest) -> Answer {
    let fields = Fields::of_query(request.query_string());
    if let Some(page) = page
        && page.read(Insider::of).await.is_ok()
    {
        return Ok(see_other(of_ours(&fields.text("back"))));
    }
    // On a tablet people tap their name.
    if let Some(address) = super::tablet::instead(&request, &app, &fields.text("back")) {
        return Ok(see_other(&address));
    }
    html(StatusCode::OK, &SignInPage::new(&app, &fields, String::new()))
}

/// Signs in with address and password.
#[post("/sign-in")]
pub(super) async fn sign_in(app: Data<App>, form: DoorForm) -> Answer {
    let fields = Fields::of_form(&form.form);
    let typed = if form.is_ours { fields.exact("typed") } else { String::new() };
    let mut reading = Reading::of(&fields);
    let email = reading.needed("email", |text| Email::parse(text.trim()));
    let password = reading.secret("password");
    let opened = match reading.done(email.zip(password)) {
        Ok((email, password)) => form.door.run(move |door| sign_in_on_pages(door, email.as_str(), &password)).await,
        Err(refused) => Err(refused.into()),
    };
    match opened {
        Ok(token) => signed_in(&app, &token, &fields, &typed),
        Err(problem) => {
            let status = match problem.status() {
                StatusCode::UNAUTHORIZED | StatusCode::UNPROCESSABLE_ENTITY => StatusCode::UNPROCESSABLE_ENTITY,
                StatusCode::TOO_MANY_REQUESTS => StatusCode::TOO_MANY_REQUESTS,
                _ => return Err(problem),
            };
            let mut answer = html(status, &SignInPage::new(&app, &fields, typed).refused(&problem))?;
            if let Some(seconds) = problem.error_response().headers().get(RETRY_AFTER) {
                answer.headers_mut().insert(RETRY_AFTER, seconds.clone());
            }
            Ok(answer)
        }
    }
}

/// Leads a browser on that has signed in with that token: back to its page, or to the form that was interrupted.
fn signed_in(app: &App, token: &Token, fields: &Fields, typed: &str) -> Answer {
    let back = fields.text("back");
    let back = of_ours(&back);
    let mut answer: HttpResponse = if typed.is_empty() {
        see_other(back)
    } else {
        let again = SendAgain::new(back, typed.as_bytes(), &code_with(token, &app.program));
        html(StatusCode::OK, &AgainPage::new("You are signed in", again))?
    };
    answer.headers_mut().insert(SET_COOKIE, cookie(&app.program.config, token)?);
    Ok(answer)
}

/// Signs out here.
#[post("/sign-out")]
pub(super) async fn sign_out(page: PageWrite<Anyone>) -> Answer {
    page.end().await?;
    let mut answer = see_other("/sign-in");
    answer.headers_mut().insert(SET_COOKIE, no_cookie(&page.app().program.config)?);
    Ok(answer)
}
