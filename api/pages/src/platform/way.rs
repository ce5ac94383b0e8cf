//! Where a page leads on to.

use actix_web::HttpResponse;
use actix_web::http::header::LOCATION;

/// The longest address that a page leads back to, in bytes.
const LONGEST: usize = 2000;

/// 303 to another page, as the answer to a form.
pub fn see_other(address: &str) -> HttpResponse {
    HttpResponse::SeeOther().insert_header((LOCATION, address)).finish()
}

/// The address if it is one of this service, so that no link leads from here to another site; else the start page.
pub fn of_ours(address: &str) -> &str {
    let plain = address.bytes().all(|byte| byte.is_ascii_graphic() && byte != b'\\');
    let ours = address.starts_with('/') && !address.starts_with("//");
    if plain && ours && address.len() <= LONGEST { address } else { "/" }
}

/// The address of the page to sign in on, which leads back afterwards.
pub fn to_sign_in(back: &str) -> String {
    let mut query = url::form_urlencoded::Serializer::new(String::new());
    query.append_pair("back", of_ours(back));
    format!("/sign-in?{}", query.finish())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_way_leads_to_another_site() {
        assert_eq!(of_ours("/shop?saved=yes"), "/shop?saved=yes");
        for bad in ["", "shop", "//example.com", "https://example.com", "/\\example.com", "/a\r\nb", "/a b"] {
            assert_eq!(of_ours(bad), "/", "{bad}");
        }
        assert_eq!(to_sign_in("/cars?a=1&b=2"), "/sign-in?back=%2Fcars%3Fa%3D1%26b%3D2");
    }
}
