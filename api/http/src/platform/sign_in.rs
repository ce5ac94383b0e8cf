//! How a request says who sends it: programs by an access token, pages by the token in their cookie. A route of the API never
//! reads the cookie, and a page never reads the header `Authorization`.

use actix_web::HttpRequest;
use actix_web::http::header::HeaderValue;
use baywright_core::access::usecase::used_on_pages;
use baywright_core::platform::config::Config;
use baywright_core::platform::db::Conn;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::{Actor, SignedIn, shop_on_pages, sign_in_ended, standing, standing_on_pages};
use baywright_core::platform::keyring::Claims;
use baywright_core::platform::program::Program;
use baywright_core::platform::token::{self, Token};
use baywright_domain::id::ShopId;

use super::problem::Problem;

/// Who sends a request, as far as that is known before the database is asked.
#[derive(Clone)]
pub(super) enum SignIn {
    /// Claims of an access token that was verified.
    Token(Claims),
    /// Digest of the token in a page's cookie.
    Page(String),
}

impl SignIn {
    /// The claims of a program's access token; `None` for a page.
    pub(super) fn claims(&self) -> Option<&Claims> {
        match self {
            Self::Token(claims) => Some(claims),
            Self::Page(_) => None,
        }
    }

    /// The shop of the sign-in.
    pub(super) fn shop(&self, program: &Program) -> Done<ShopId> {
        match self {
            Self::Token(claims) => Ok(ShopId::new(&claims.shop)),
            Self::Page(digest) => program.db.read(|conn| shop_on_pages(conn, digest)),
        }
    }

    /// The actor and the shop of the sign-in, or 401 if it has ended.
    pub(super) fn standing(&self, conn: &mut Conn, program: &Program) -> Done<SignedIn> {
        let now = program.clock.now();
        let found = match self {
            Self::Token(claims) => standing(conn, claims, now),
            Self::Page(digest) => standing_on_pages(conn, digest, program.prolonged.end_of(digest), now),
        }?;
        match &found.actor {
            Actor::Person { session, .. } if program.ended.has(session.as_str()) => Err(sign_in_ended()),
            _ => Ok(found),
        }
    }

    /// Notes that the sign-in was used, so that it doesn't end as idle.
    pub(super) fn used(&self, program: &Program) {
        if let Self::Page(digest) = self {
            used_on_pages(program, digest);
        }
    }
}

/// Name of the cookie. Browsers take a name with that prefix only for one host, over HTTPS and for all paths (RFC 6265bis,
/// section 4.1.3.2), so nobody else can set it.
const NAME: &str = "__Host-baywright";

/// Its name on plain HTTP on one machine, where browsers refuse the prefix.
const LOCAL_NAME: &str = "baywright";

/// Name of the cookie of an enrolled tablet, and its name on one machine.
const TABLET_NAME: &str = "__Host-baywright-tablet";
const LOCAL_TABLET_NAME: &str = "baywright-tablet";

/// Seconds for which a browser keeps the cookie of a tablet: 400 days, the most that browsers allow. Ending the tablet ends it
/// at once.
const TABLET_SECONDS: u32 = 400 * 24 * 60 * 60;

fn name(config: &Config) -> &'static str {
    if config.is_local_http() { LOCAL_NAME } else { NAME }
}

fn tablet_name(config: &Config) -> &'static str {
    if config.is_local_http() { LOCAL_TABLET_NAME } else { TABLET_NAME }
}

/// The digest of the token in the request's cookie of an enrolled tablet, if it has one that can be a token.
pub fn digest_of_tablet(request: &HttpRequest, config: &Config) -> Option<String> {
    let cookie = request.cookie(tablet_name(config))?;
    token::is_plausible(cookie.value()).then(|| token::digest(cookie.value()))
}

/// The value of `Set-Cookie` that makes a device an enrolled tablet.
///
/// # Errors
/// As [`cookie`].
pub fn tablet_cookie(config: &Config, token: &Token) -> Result<HeaderValue, Problem> {
    set(config, tablet_name(config), token.as_str(), &format!("; Max-Age={TABLET_SECONDS}"))
}

/// The digest of the token in the request's cookie, if it has one that can be a token.
pub(super) fn digest_of_cookie(request: &HttpRequest, config: &Config) -> Option<String> {
    let cookie = request.cookie(name(config))?;
    token::is_plausible(cookie.value()).then(|| token::digest(cookie.value()))
}

/// The value of `Set-Cookie` that signs a browser in.
///
/// # Errors
/// 500, if the token can't stand in a header: a defect.
pub fn cookie(config: &Config, token: &Token) -> Result<HeaderValue, Problem> {
    set(config, name(config), token.as_str(), "")
}

/// The value of `Set-Cookie` that takes the token away again.
///
/// # Errors
/// As [`cookie`].
pub fn no_cookie(config: &Config) -> Result<HeaderValue, Problem> {
    set(config, name(config), "", "; Max-Age=0")
}

fn set(config: &Config, name: &str, value: &str, end: &str) -> Result<HeaderValue, Problem> {
    let secure = if config.is_local_http() { "" } else { "; Secure" };
    let text = format!("{name}={value}; Path=/; HttpOnly; SameSite=Lax{secure}{end}");
    HeaderValue::from_str(&text).map_err(|_| Problem::unexpected())
}

#[cfg(test)]
mod tests {
    use actix_web::test::TestRequest;

    use super::*;

    #[test]
    fn a_cookie_belongs_to_one_host_over_https_but_on_the_machine_itself() {
        let token = Token::new().unwrap();
        let mut config = Config::of_environment().unwrap();
        for (url, local) in [
            ("https://bay.example.com", false),
            ("http://bay.example.com", false),
            ("http://192.0.2.7:8080", false),
            ("https://127.0.0.1:8080", false),
            ("http://127.0.0.1:8080", true),
            ("http://localhost:8080", true),
            ("http://[::1]:8080", true),
        ] {
            url.clone_into(&mut config.public_url);
            let cookie = cookie(&config, &token).unwrap().to_str().unwrap().to_owned();
            assert_eq!(cookie.starts_with("__Host-baywright="), !local, "{url}: {cookie}");
            assert_eq!(cookie.contains("; Secure"), !local, "{url}: {cookie}");
            let sent = cookie.split(';').next().unwrap().to_owned();
            let request = TestRequest::default().insert_header(("cookie", sent)).to_http_request();
            assert_eq!(digest_of_cookie(&request, &config), Some(token.digest()), "{url}");
        }
        let other = TestRequest::default().insert_header(("cookie", "baywright=short")).to_http_request();
        assert_eq!(digest_of_cookie(&other, &config), None);
    }
}
