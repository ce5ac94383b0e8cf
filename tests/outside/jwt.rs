//! Access tokens against RFC 7515 (signatures), RFC 7519 (claims) and the list of RFC 8725 (what to refuse).
//!
//! Source: `data/jwt/SOURCE.md`. The forged tokens are built here by hand, without the library that the program uses.

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD as BASE64;
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::keyring::{Key, Keyring};
use hmac::{Hmac, KeyInit, Mac};
use serde_json::{Value, json};
use sha2::{Sha256, Sha384, Sha512};

const SECRET: [u8; 32] = [7; 32];
const NOW: i64 = 1_772_438_400;

fn sha256(secret: &[u8], text: &str) -> Vec<u8> {
    let mut mac = Hmac::<Sha256>::new_from_slice(secret).unwrap();
    mac.update(text.as_bytes());
    mac.finalize().into_bytes().to_vec()
}

fn sha384(secret: &[u8], text: &str) -> Vec<u8> {
    let mut mac = Hmac::<Sha384>::new_from_slice(secret).unwrap();
    mac.update(text.as_bytes());
    mac.finalize().into_bytes().to_vec()
}

fn sha512(secret: &[u8], text: &str) -> Vec<u8> {
    let mut mac = Hmac::<Sha512>::new_from_slice(secret).unwrap();
    mac.update(text.as_bytes());
    mac.finalize().into_bytes().to_vec()
}

fn unsigned(header: &str, claims: &str) -> String {
    format!("{}.{}", BASE64.encode(header), BASE64.encode(claims))
}

fn signed(header: &str, claims: &str) -> String {
    let text = unsigned(header, claims);
    let signature = BASE64.encode(sha256(&SECRET, &text));
    format!("{text}.{signature}")
}

fn header() -> Value {
    json!({ "alg": "HS256", "typ": "at+jwt", "kid": "one" })
}

fn claims() -> Value {
    json!({
        "iss": "baywright", "aud": "baywright-api", "sub": "person", "sid": "session", "shop": "shop",
        "iat": NOW, "nbf": NOW, "exp": NOW + 900,
    })
}

fn with(mut value: Value, changes: &Value) -> String {
    for (name, change) in changes.as_object().unwrap() {
        if change.is_null() {
            value.as_object_mut().unwrap().remove(name);
        } else {
            value[name] = change.clone();
        }
    }
    value.to_string()
}

fn ring() -> Keyring {
    Keyring::new(vec![Key::new("one", SECRET.to_vec()).unwrap()])
}

fn at(seconds: i64) -> UtcTime {
    UtcTime::from_ms(seconds * 1000)
}

#[test]
fn the_signature_of_rfc_7515_comes_out() {
    let vector: Value = serde_json::from_str(include_str!("../data/jwt/jwt.json")).unwrap();
    let (text, signature) = vector["token"].as_str().unwrap().rsplit_once('.').unwrap();
    let key = BASE64.decode(vector["key_b64url"].as_str().unwrap()).unwrap();
    assert_eq!(BASE64.encode(sha256(&key, text)), signature);
    // What the program signs is signed in the same way.
    let own = Keyring::new(vec![Key::new("rfc", key.clone()).unwrap()]);
    let token = own.sign("p", "s", "t", at(NOW)).unwrap();
    let (text, signature) = token.rsplit_once('.').unwrap();
    assert_eq!(BASE64.encode(sha256(&key, text)), signature);
    // It is a good token, but not one of ours.
    assert!(own.verify(vector["token"].as_str().unwrap(), at(1_300_819_000)).is_err());
}

#[test]
fn a_token_built_by_hand_as_ours_are_is_taken() {
    let token = signed(&header().to_string(), &claims().to_string());
    assert!(ring().verify(&token, at(NOW)).is_ok());
    assert!(ring().verify(&token, at(NOW + 899)).is_ok());
}

#[test]
fn forged_tokens_are_refused() {
    let (good_header, good_claims) = (header().to_string(), claims().to_string());
    let of_header = |changes: Value| signed(&with(header(), &changes), &good_claims);
    let of_claims = |changes: Value| signed(&good_header, &with(claims(), &changes));
    let none = |alg: &str| format!("{}.", unsigned(&with(header(), &json!({ "alg": alg })), &good_claims));
    let good = signed(&good_header, &good_claims);
    let (text, signature) = good.rsplit_once('.').unwrap();
    let other_alg = |alg: &str, mac: fn(&[u8], &str) -> Vec<u8>| {
        let text = unsigned(&with(header(), &json!({ "alg": alg })), &good_claims);
        format!("{text}.{}", BASE64.encode(mac(&SECRET, &text)))
    };
    let changed = unsigned(&good_header, &with(claims(), &json!({ "sub": "somebody else" })));
    let other_key = BASE64.encode(sha256(&[8; 32], text));
    let twice = good_claims.replacen('{', "{\"sub\":\"somebody else\",", 1);
    let forged: Vec<(&str, String)> = vec![
        ("alg none", none("none")),
        ("alg None", none("None")),
        ("alg NONE", none("NONE")),
        ("alg nOnE", none("nOnE")),
        ("alg empty", none("")),
        ("no alg", of_header(json!({ "alg": null }))),
        ("HS384", other_alg("HS384", sha384)),
        ("HS512", other_alg("HS512", sha512)),
        ("RS256 named, the secret used as if it were a public key", of_header(json!({ "alg": "RS256" }))),
        ("ES256 named", of_header(json!({ "alg": "ES256" }))),
        ("claims changed after signing", format!("{changed}.{signature}")),
        ("no signature", format!("{text}.")),
        ("a short signature", format!("{text}.{}", &signature[..20])),
        ("two segments", text.to_owned()),
        ("four segments", format!("{good}.{signature}")),
        ("five segments, as an encrypted token has", format!("{good}.{signature}.{signature}")),
        ("another key", format!("{text}.{other_key}")),
        ("an unknown key id", of_header(json!({ "kid": "two" }))),
        ("no key id", of_header(json!({ "kid": null }))),
        ("a key id that is a path", of_header(json!({ "kid": "../../one" }))),
        ("the kind of another token", of_header(json!({ "typ": "JWT" }))),
        ("no kind", of_header(json!({ "typ": null }))),
        ("an unknown critical header", of_header(json!({ "crit": ["b64"], "b64": false }))),
        ("a key of its own", of_header(json!({ "jwk": { "kty": "oct", "k": BASE64.encode(SECRET) } }))),
        ("an address of keys", of_header(json!({ "jku": "https://keys.example/set" }))),
        ("an address of a certificate", of_header(json!({ "x5u": "https://keys.example/cert" }))),
        ("compressed", of_header(json!({ "zip": "DEF" }))),
        ("an unknown header", of_header(json!({ "admin": true }))),
        ("another issuer", of_claims(json!({ "iss": "somebody" }))),
        ("no issuer", of_claims(json!({ "iss": null }))),
        ("another audience", of_claims(json!({ "aud": "another-api" }))),
        ("several audiences", of_claims(json!({ "aud": ["baywright-api", "another-api"] }))),
        ("no audience", of_claims(json!({ "aud": null }))),
        ("no subject", of_claims(json!({ "sub": null }))),
        ("no session", of_claims(json!({ "sid": null }))),
        ("no end", of_claims(json!({ "exp": null }))),
        ("an end as text", of_claims(json!({ "exp": (NOW + 900).to_string() }))),
        ("ended", of_claims(json!({ "iat": NOW - 901, "nbf": NOW - 901, "exp": NOW - 1 }))),
        ("ends now", of_claims(json!({ "iat": NOW - 900, "nbf": NOW - 900, "exp": NOW }))),
        ("not yet", of_claims(json!({ "nbf": NOW + 1 }))),
        ("signed in the future", of_claims(json!({ "iat": NOW + 1 }))),
        ("holds longer than any of ours", of_claims(json!({ "exp": NOW + 901 }))),
        ("an unknown claim", of_claims(json!({ "role": "OWNER" }))),
        ("a claim twice", signed(&good_header, &twice)),
        ("padded", format!("{good}=")),
        ("a space", format!(" {good}")),
        ("empty", String::new()),
        ("far too long", format!("{good}{}", "A".repeat(4096))),
    ];
    assert!(forged.len() >= 25);
    for (what, token) in forged {
        assert!(ring().verify(&token, at(NOW)).is_err(), "{what}: {token}");
    }
}

#[test]
fn a_short_key_is_an_error_and_an_empty_ring_signs_nothing() {
    assert!(Key::new("short", vec![1; 31]).is_err());
    assert!(Keyring::default().sign("p", "s", "t", at(NOW)).is_err());
    let none = signed(&header().to_string(), &claims().to_string());
    assert!(Keyring::default().verify(&none, at(NOW)).is_err());
}
