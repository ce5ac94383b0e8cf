//! Requests for pages of people who have signed in by cookie.
//!
//! A page that is only shown takes a [`PageRead`], which has no way to write, so a GET that changes something does not
//! compile. A form that is sent takes a [`PageWrite`]. Both name their audience as [`Call`](super::call::Call) does, and share
//! with it the check of sign-in and role inside the transaction, the shop's scope and the retries.
//!
//! Forms are taken only from our own pages, as [`form_code`](super::form_code) says.

use std::future::{Future, Ready, ready};
use std::marker::PhantomData;
use std::pin::Pin;

use actix_web::dev::Payload;
use actix_web::web::Bytes;
use actix_web::{FromRequest, HttpMessage, HttpRequest};
use baywright_core::platform::canonical::hex;
use baywright_core::platform::fail::{Done, Fail};
use baywright_core::platform::identity::{Audience, Invited};
use baywright_core::platform::program::Program;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::replay::{self, StoredAnswer};
use baywright_core::platform::token::Token;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::warning::Confirmed;
use sha2::{Digest, Sha256};

use super::app::App;
use super::body::Form;
use super::call::{Asked, given, taken};
use super::door::DoorCall;
use super::form_code::{Site, form_code, is_form_code};
use super::idempotency::is_key;
use super::problem::Problem;
use super::sign_in::{SignIn, digest_of_cookie};

/// Name of the field with the form's code.
const CODE: &str = "code";

/// Name of the field with the key under which a form takes effect once.
const KEY: &str = "key";

/// A request to see a page, of someone in the audience `A`.
pub struct PageRead<A> {
    asked: Asked,
    code: String,
    audience: PhantomData<A>,
}

/// A form that was sent from a page of ours by someone in the audience `A`.
pub struct PageWrite<A> {
    asked: Asked,
    code: String,
    form: Bytes,
    /// Digest of the file that came with the form; empty if none did.
    file: String,
    audience: PhantomData<A>,
}

/// A form that was sent from a page of ours by somebody who may not be signed in.
pub struct DoorForm {
    /// The request without its form.
    pub door: DoorCall,
    /// The form, as it came.
    pub form: Bytes,
    /// Whether the browser says that the form is from a page of ours. Old browsers say nothing, so another site could have
    /// filled it in.
    pub is_ours: bool,
}

/// A form that was sent from a page of ours, kept with its request so that nothing typed is lost if it is not taken.
#[derive(Debug, Clone)]
pub struct SentForm {
    /// The form, as it came.
    pub form: Bytes,
    /// The code that it needs now, if it has that of another sign-in.
    pub code: Option<String>,
}

/// What follows a form that was taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outcome {
    /// Address of the page that follows.
    pub address: String,
    /// Advice on what to check, a sentence or a few each; empty if all is as usual.
    pub advice: Vec<String>,
}

impl<A: Audience> PageRead<A> {
    /// What the server's workers share.
    pub fn app(&self) -> &App {
        &self.asked.app
    }

    /// The code for the forms on the page.
    pub fn form_code(&self) -> &str {
        &self.code
    }

    /// Runs a use case that changes nothing.
    pub fn read<T: Send + 'static>(
        &self,
        f: impl FnOnce(&mut Tx<'_>) -> Done<T> + Send + 'static,
    ) -> impl Future<Output = Result<T, Problem>> {
        taken(self.asked.read(Box::new(move |tx: &mut Tx<'_>| f(tx).map(given))))
    }
}

impl<A: Audience> PageWrite<A> {
    /// What the server's workers share.
    pub fn app(&self) -> &App {
        &self.asked.app
    }

    /// The form, as it came.
    pub fn form(&self) -> &Bytes {
        &self.form
    }

    /// The code for the forms on the page that answers.
    pub fn form_code(&self) -> &str {
        &self.code
    }

    /// Runs a use case that changes nothing.
    pub fn read<T: Send + 'static>(
        &self,
        f: impl FnOnce(&mut Tx<'_>) -> Done<T> + Send + 'static,
    ) -> impl Future<Output = Result<T, Problem>> {
        taken(self.asked.read(Box::new(move |tx: &mut Tx<'_>| f(tx).map(given))))
    }

    /// Runs a use case in a transaction; it may run more than once. For changes that do no harm if they are made twice.
    pub fn write<T: Send + 'static>(
        &self,
        mut f: impl FnMut(&mut Tx<'_>) -> Done<T> + Send + 'static,
    ) -> impl Future<Output = Result<T, Problem>> {
        taken(self.asked.write(Box::new(move |tx: &mut Tx<'_>| f(tx).map(given))))
    }

    /// The same request outside any transaction, for a use case that must wait for digits to be hashed; the caller has read
    /// before who is signed in, with [`read`](Self::read).
    pub fn door(&self) -> DoorCall {
        self.asked.door()
    }

    /// Ends the sign-in of whoever sent the form, even while the database can't be written.
    ///
    /// # Errors
    /// The sign-in has ended already, or can't be read.
    pub async fn end(&self) -> Result<(), Problem> {
        self.asked.end().await
    }

    /// Whether a form with this key was taken before, so that its answer is stored.
    ///
    /// # Errors
    /// Those of the database.
    pub async fn is_known(&self) -> Result<bool, Problem> {
        let Some(key) = field(&self.form, KEY).filter(|key| is_key(key)) else { return Ok(false) };
        let route = self.asked.scope_of_keys();
        self.read(move |tx| replay::is_known(tx, &route, &key)).await
    }

    /// Runs a use case once per key of the form; it gives the address of the page that follows. A form that is sent twice
    /// leads to the same page, with the same advice.
    ///
    /// # Errors
    /// Those of the use case; 400 if the form has no key, 422 if its key was used for another form.
    pub async fn once(
        &self,
        mut f: impl FnMut(&mut Tx<'_>) -> Done<String> + Send + 'static,
    ) -> Result<Outcome, Problem> {
        let key = field(&self.form, KEY).filter(|key| is_key(key)).ok_or_else(|| {
            Problem::from(Refused::malformed("Open the page again and send the form from there. This one has no key."))
        })?;
        let route = self.asked.scope_of_keys();
        let form_fingerprint = fingerprint(&format!("{route}{}", self.file), &self.form);
        let write = self.asked.write(Box::new(move |tx: &mut Tx<'_>| {
            let mut kept = |tx: &mut Tx<'_>| -> Done<StoredAnswer> {
                let location = f(tx)?;
                let advice: Vec<&str> = tx.warnings.iter().map(|warning| warning.detail.as_str()).collect();
                let body = serde_json::to_string(&advice).map_err(Fail::unexpected)?;
                Ok(StoredAnswer { status: 303, location, etag: String::new(), body, replayed: false })
            };
            replay::once(tx, &route, &key, &form_fingerprint, &mut kept).map(given)
        }));
        let kept = taken::<StoredAnswer>(write).await?;
        Ok(Outcome { advice: serde_json::from_str(&kept.body).unwrap_or_default(), address: kept.location })
    }
}

/// The first value of a form's field.
fn field(form: &[u8], name: &str) -> Option<String> {
    url::form_urlencoded::parse(form).find(|(known, _)| known == name).map(|(_, value)| value.into_owned())
}

/// Digest of a form without its code, which is another one after the next sign-in.
fn fingerprint(route: &str, form: &[u8]) -> String {
    let mut digest = Sha256::new();
    digest.update(route.as_bytes());
    for (name, value) in url::form_urlencoded::parse(form).filter(|(name, _)| name != CODE) {
        digest.update(format!("\n{}:{name}{}:{value}", name.len(), value.len()).as_bytes());
    }
    hex(&digest.finalize())
}

/// The code for forms of a browser with that token in its cookie, for a page that answers a sign-in.
pub fn code_with(token: &Token, program: &Program) -> String {
    form_code(program, &token.digest())
}

/// Refuses a form that another site's page sent.
pub(super) fn own_site(request: &HttpRequest) -> Result<(), Problem> {
    match Site::of(request) {
        Site::Own | Site::Unsaid => Ok(()),
        Site::Other => Err(Refused::not_allowed("This form was sent from another site, so nothing was done.").into()),
    }
}

fn digest(request: &HttpRequest, app: &App) -> Result<String, Problem> {
    digest_of_cookie(request, &app.program.config)
        .ok_or_else(|| Refused::unauthenticated("Sign in to see this page.").into())
}

fn asked_to_see(request: &HttpRequest, invited: Invited) -> Result<(Asked, String), Problem> {
    let app = App::of(request)?;
    let digest = digest(request, app)?;
    let code = form_code(&app.program, &digest);
    Ok((Asked::of(request, app, SignIn::Page(digest), invited, Confirmed::default()), code))
}

fn asked_to_take(request: &HttpRequest, form: &Bytes, invited: Invited) -> Result<(Asked, String), Problem> {
    own_site(request)?;
    let keep = |code: Option<String>| {
        // What an old browser sends is not kept: another site could have filled it in.
        if Site::of(request) == Site::Own {
            request.extensions_mut().insert(SentForm { form: form.clone(), code });
        }
    };
    keep(None);
    let app = App::of(request)?;
    let digest = digest(request, app)?;
    let code = form_code(&app.program, &digest);
    if !is_form_code(&app.program, &digest, &field(form, CODE).unwrap_or_default()) {
        keep(Some(code));
        return Err(Refused::not_allowed(
            "This form was made before the last sign-in, or was not sent from its own page. Nothing was done.",
        )
        .into());
    }
    let confirmed = Confirmed::from_query(std::str::from_utf8(form).unwrap_or_default());
    Ok((Asked::of(request, app, SignIn::Page(digest), invited, confirmed), code))
}

impl<A: Audience> FromRequest for PageRead<A> {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let asked = asked_to_see(request, A::invited());
        ready(asked.map(|(asked, code)| Self { asked, code, audience: PhantomData }))
    }
}

impl<A: Audience> FromRequest for PageWrite<A> {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let form = Form::from_request(request, payload);
        let request = request.clone();
        Box::pin(async move {
            let Form(form) = form.await?;
            Self::of(&request, form, String::new())
        })
    }
}

impl<A: Audience> PageWrite<A> {
    /// The form of a request, if it is from a page of ours; `file` is the digest of the file that came with it.
    pub(super) fn of(request: &HttpRequest, form: Bytes, file: String) -> Result<Self, Problem> {
        let (asked, code) = asked_to_take(request, &form, A::invited())?;
        Ok(Self { asked, code, form, file, audience: PhantomData })
    }
}

impl FromRequest for DoorForm {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let (door, form) = (DoorCall::from_request(request, payload), Form::from_request(request, payload));
        let (own, is_ours) = (own_site(request), Site::of(request) == Site::Own);
        Box::pin(async move {
            own?;
            Ok(Self { door: door.await?, form: form.await?.0, is_ours })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_is_the_same_under_another_code_and_another_one_with_another_word() {
        let of = |form: &str| fingerprint("POST /shop", form.as_bytes());
        assert_eq!(of("code=a&name=Harbour"), of("name=Harbour&code=b"));
        assert_ne!(of("name=Harbour"), of("name=Harbor"));
        assert_ne!(of("name=a&other=b"), of("name=a%0A5%3Aother1%3Ab"));
        assert_eq!(field(b"a=1&key=k%20k", KEY).as_deref(), Some("k k"));
    }
}
