//! Getting in: setup, sign-in, refresh, invites, passwords and their limits.

mod tablet;

use std::collections::BTreeSet;

use baywright_core::platform::fail::DbError;
use baywright_core::platform::keyring::kept;
use baywright_core::schema::{person, refresh_token};
use baywright_core::setup::usecase::setup_code;
use baywright_tests::answer::Answer;
use baywright_tests::make::people::body;
use baywright_tests::person::Person;
use baywright_tests::{Studio, on_each_engine, on_each_engine_without_a_shop};
use diesel::prelude::*;
use serde_json::{Value, json};

pub(crate) const PASSWORD: &str = "thirteen quiet buckets";

/// A colleague of that role who has chosen [`PASSWORD`]; gives the sign-in's body and the account's.
pub(crate) fn settled(studio: &Studio, role: &str) -> (Value, Value) {
    let owner = studio.owner();
    let account = owner.post("/v1/people", &body("Orla", role, &[])).expect(201);
    let invite = owner.post(&format!("/v1/people/{}/invite", account["id"].as_str().unwrap()), &json!({})).expect(200);
    let chosen = json!({ "token": invite["token"], "password": PASSWORD });
    (studio.nobody().post("/v1/invites/accept", &chosen).expect(201), account)
}

fn sign_in(studio: &Studio, account: &Value, password: &str) -> Answer {
    studio.nobody().post("/v1/sessions", &json!({ "email": account["email"], "password": password }))
}

fn bearer(studio: &Studio, session: &Value) -> Person {
    studio.with_token(session["access_token"].as_str().unwrap())
}

#[test]
fn the_first_shop_is_founded_with_the_code_of_the_first_start_and_only_then() {
    on_each_engine_without_a_shop(|studio| {
        let code = setup_code(&studio.db, studio.clock.now()).unwrap().unwrap();
        let nobody = studio.nobody();
        let mut setup = json!({
            "code": "AAAAA-AAAAA-AAAAA-AAAAA", "name": "Harbour Detailing", "currency": "EUR",
            "zone": "Europe/Dublin", "tax_percent": "23",
            "owner": { "name": "Orla", "email": "orla@example.com", "password": PASSWORD },
        });
        let wrong = nobody.post("/v1/setup", &setup).problem(422, "invalid-value");
        assert_eq!(wrong["errors"][0]["pointer"], "/code");
        setup["code"] = json!(code.to_lowercase());
        setup["owner"]["password"] = json!("harbourdetailing");
        let weak = nobody.post("/v1/setup", &setup).problem(422, "invalid-value");
        assert_eq!(weak["errors"][0]["pointer"], "/owner/password");
        setup["zone"] = json!("Dublin");
        setup["tax_percent"] = json!("230");
        setup["code"] = json!("AAAAA-AAAAA-AAAAA-AAAAA");
        let pointers = |problem: &Value| -> Vec<String> {
            let errors = problem["errors"].as_array().unwrap().iter();
            errors.map(|one| one["pointer"].as_str().unwrap().to_owned()).collect()
        };
        let all = nobody.post("/v1/setup", &setup).problem(422, "invalid-value");
        assert_eq!(pointers(&all), ["/code", "/zone", "/tax_percent", "/owner/password"], "every fault at once");
        let mut other_money = setup.clone();
        let pounds = json!({ "amount": "65.00", "currency": "GBP" });
        other_money["first_menu"] = json!({ "labour_rate": pounds, "price_step": pounds });
        let all = nobody.post("/v1/setup", &other_money).problem(422, "invalid-value");
        assert_eq!(pointers(&all)[..2], ["/first_menu/labour_rate/currency", "/first_menu/price_step/currency"]);
        let mut unreadable = setup.clone();
        unreadable["currency"] = json!("EURO");
        unreadable["owner"]["email"] = json!("orla");
        unreadable.as_object_mut().unwrap().remove("name");
        let all = nobody.post("/v1/setup", &unreadable).problem(400, "invalid-body");
        assert_eq!(
            pointers(&all),
            ["/name", "/currency", "/owner/email", "/zone", "/tax_percent", "/owner/password"],
            "what can't be read and what the rules say"
        );
        setup["zone"] = json!("Europe/Dublin");
        setup["tax_percent"] = json!("23");
        setup["code"] = json!(code);
        setup["owner"]["password"] = json!(PASSWORD);
        let euros = |amount: &str| json!({ "amount": amount, "currency": "EUR" });
        setup["first_menu"] = json!({ "labour_rate": euros("0.00"), "price_step": euros("1.00") });
        let made = nobody.post("/v1/setup", &setup);
        assert_eq!(made.warnings(), ["labour-rate-zero"]);
        assert_eq!(made.json()["warnings"][0]["pointer"], "/first_menu/labour_rate");
        let session = made.expect(201);
        assert_eq!(session["me"]["role"], "OWNER");
        assert_eq!(bearer(studio, &session).get("/v1/shop").expect(200)["name"], "Harbour Detailing");
        nobody.post("/v1/setup", &setup).problem(409, "set-up-already");
        assert_eq!(setup_code(&studio.db, studio.clock.now()).unwrap(), None);
    });
}

#[test]
fn a_person_signs_in_with_the_password_they_chose() {
    on_each_engine(|studio| {
        let (first, account) = settled(studio, "DESK");
        assert_eq!(first["me"]["name"], "Orla");
        let again = sign_in(studio, &account, PASSWORD);
        assert_eq!(again.header("location"), "/v1/me");
        assert_eq!(again.header("cache-control"), "no-store");
        let session = again.expect(201);
        let me = bearer(studio, &session).get("/v1/me").expect(200);
        assert_eq!((&me["person"], &me["role"]), (&account["id"], &json!("DESK")));
        let shouted = json!({ "email": account["email"].as_str().unwrap().to_uppercase(), "password": PASSWORD });
        studio.nobody().post("/v1/sessions", &shouted).expect(201);
        let unknown = json!({ "email": "nobody@example.com", "password": PASSWORD });
        let one = studio.nobody().post("/v1/sessions", &unknown).problem(401, "not-signed-in");
        let other = sign_in(studio, &account, "thirteen quiet bucket").problem(401, "not-signed-in");
        assert_eq!(one["detail"], other["detail"]);
    });
}

#[test]
fn a_deactivated_person_and_one_without_a_password_do_not_get_in() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let fresh = owner.post("/v1/people", &body("Fia", "DESK", &[])).expect(201);
        sign_in(studio, &fresh, PASSWORD).problem(401, "not-signed-in");
        let (session, account) = settled(studio, "DESK");
        let path = format!("/v1/people/{}", account["id"].as_str().unwrap());
        let tag = owner.get(&path).etag();
        owner.act(&format!("{path}/deactivate"), &tag, &json!({})).expect(200);
        sign_in(studio, &account, PASSWORD).problem(401, "not-signed-in");
        let token = json!({ "refresh_token": session["refresh_token"] });
        studio.nobody().post("/v1/sessions/refresh", &token).problem(401, "not-signed-in");
        owner.post(&format!("{path}/invite"), &json!({})).problem(409, "not-active");
    });
}

#[test]
fn a_refresh_token_works_once_and_its_second_use_ends_the_sign_in() {
    on_each_engine(|studio| {
        let (first, _) = settled(studio, "DESK");
        let refresh = |session: &Value| {
            studio.nobody().post("/v1/sessions/refresh", &json!({ "refresh_token": session["refresh_token"] }))
        };
        studio.pass_minutes(14);
        let second = refresh(&first).expect(200);
        assert_ne!(first["refresh_token"], second["refresh_token"]);
        assert_eq!(first["ends_at"], second["ends_at"]);
        studio.pass_minutes(2);
        bearer(studio, &first).get("/v1/me").problem(401, "not-signed-in");
        bearer(studio, &second).get("/v1/me").expect(200);
        refresh(&first).problem(401, "not-signed-in");
        bearer(studio, &second).get("/v1/me").problem(401, "not-signed-in");
        refresh(&second).problem(401, "not-signed-in");
        studio
            .nobody()
            .post("/v1/sessions/refresh", &json!({ "refresh_token": "never given" }))
            .problem(401, "not-signed-in");
    });
}

#[test]
fn a_sign_in_ends_when_idle_and_after_a_working_day() {
    on_each_engine(|studio| {
        let (idle, account) = settled(studio, "DESK");
        let refresh = |session: &Value| {
            studio.nobody().post("/v1/sessions/refresh", &json!({ "refresh_token": session["refresh_token"] }))
        };
        studio.pass_minutes(30);
        refresh(&idle).problem(401, "not-signed-in");
        let mut session = sign_in(studio, &account, PASSWORD).expect(201);
        for _ in 0..28 {
            studio.pass_minutes(25);
            session = refresh(&session).expect(200);
        }
        studio.pass_minutes(20);
        bearer(studio, &session).get("/v1/me").problem(401, "not-signed-in");
        refresh(&session).problem(401, "not-signed-in");
    });
}

#[test]
fn signing_out_counts_at_once_here_or_everywhere() {
    on_each_engine(|studio| {
        let (first, account) = settled(studio, "TECHNICIAN");
        let second = sign_in(studio, &account, PASSWORD).expect(201);
        let third = sign_in(studio, &account, PASSWORD).expect(201);
        let [first, second, third] = [&first, &second, &third].map(|session| bearer(studio, session));
        first.post("/v1/sessions/end", &json!({})).expect(204);
        first.get("/v1/me").problem(401, "not-signed-in");
        second.get("/v1/me").expect(200);
        second.post("/v1/sessions/end-all", &json!({})).expect(204);
        second.get("/v1/me").problem(401, "not-signed-in");
        third.get("/v1/me").problem(401, "not-signed-in");
    });
}

#[test]
fn a_change_of_password_needs_the_present_one_and_ends_the_other_sign_ins() {
    on_each_engine(|studio| {
        let (first, account) = settled(studio, "ACCOUNTANT");
        let second = sign_in(studio, &account, PASSWORD).expect(201);
        let (first, second) = (bearer(studio, &first), bearer(studio, &second));
        let change = |current: &str, password: &str| {
            second.post("/v1/me/password", &json!({ "current": current, "password": password }))
        };
        let wrong = change("not my password", "fourteen loud kettles").problem(422, "invalid-value");
        assert_eq!(wrong["errors"][0]["pointer"], "/current");
        change(PASSWORD, "short").problem(422, "invalid-value");
        change(PASSWORD, "aaaaaaaaaaaaaaaa").problem(422, "invalid-value");
        change(PASSWORD, "fourteen loud kettles").expect(204);
        first.get("/v1/me").problem(401, "not-signed-in");
        second.get("/v1/me").expect(200);
        // The answer was lost, and the request is sent again; with another new password it is no repetition.
        change(PASSWORD, "fourteen loud kettles").expect(204);
        let wrong = change(PASSWORD, "fifteen quiet kettles").problem(422, "invalid-value");
        assert_eq!(wrong["errors"][0]["pointer"], "/current");
        sign_in(studio, &account, PASSWORD).problem(401, "not-signed-in");
        sign_in(studio, &account, "fourteen loud kettles").expect(201);
    });
}

#[test]
fn an_invite_works_once_for_an_hour_and_the_last_one_counts() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let account = owner.post("/v1/people", &body("Fia", "DESK", &[])).expect(201);
        let path = format!("/v1/people/{}/invite", account["id"].as_str().unwrap());
        let accept = |invite: &Value| {
            studio.nobody().post("/v1/invites/accept", &json!({ "token": invite["token"], "password": PASSWORD }))
        };
        let earlier = owner.post(&path, &json!({})).expect(200);
        let last = owner.post(&path, &json!({})).expect(200);
        accept(&earlier).problem(410, "invite-ended");
        accept(&last).expect(201);
        accept(&last).problem(410, "invite-ended");
        let late = owner.post(&path, &json!({})).expect(200);
        studio.pass_minutes(60);
        accept(&late).problem(410, "invite-ended");
        studio.stranger().post(&path, &json!({})).problem(404, "not-found");
        studio
            .colleague(baywright_core::platform::identity::Role::Desk)
            .post(&path, &json!({}))
            .problem(403, "not-allowed");
    });
}

#[test]
fn an_invite_ends_with_the_account_the_address_or_the_password_it_was_for() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let (session, account) = settled(studio, "DESK");
        let path = format!("/v1/people/{}", account["id"].as_str().unwrap());
        let invite = || owner.post(&format!("{path}/invite"), &json!({})).expect(200);
        let accept = |invite: &Value| {
            studio.nobody().post("/v1/invites/accept", &json!({ "token": invite["token"], "password": PASSWORD }))
        };
        let act = |verb: &str| {
            let etag = owner.get(&path).etag();
            owner.act(&format!("{path}/{verb}"), &etag, &json!({})).expect(200)
        };

        let before_the_password = invite();
        let change = json!({ "current": PASSWORD, "password": "fourteen loud kettles" });
        bearer(studio, &session).post("/v1/me/password", &change).expect(204);
        accept(&before_the_password).problem(410, "invite-ended");

        let before_the_address = invite();
        owner.put(&path, &owner.get(&path).etag(), &body("Orla", "DESK", &[])).expect(200);
        accept(&before_the_address).problem(410, "invite-ended");

        let before_the_end = invite();
        act("deactivate");
        act("reactivate");
        accept(&before_the_end).problem(410, "invite-ended");
        accept(&invite()).expect(201);
    });
}

#[test]
fn a_guesser_reaches_the_hashing_a_few_times_only_and_the_owner_still_gets_in() {
    on_each_engine(|studio| {
        let (_, account) = settled(studio, "DESK");
        let mut answers = Vec::new();
        for guess in 0..40 {
            answers.push(sign_in(studio, &account, &format!("guess number {guess}")).status);
        }
        assert_eq!(answers.iter().filter(|status| **status == 401).count(), 5, "{answers:?}");
        assert_eq!(answers.iter().filter(|status| **status == 429).count(), 35, "{answers:?}");
        let told = sign_in(studio, &account, PASSWORD);
        assert!(told.header("retry-after").parse::<u32>().unwrap() <= 60);
        told.problem(429, "too-many-attempts");
        studio.pass_minutes(1);
        sign_in(studio, &account, PASSWORD).expect(201);
        sign_in(studio, &account, "wrong again").problem(401, "not-signed-in");
    });
}

#[test]
fn a_right_password_is_only_slowed_by_wrong_guesses_at_other_accounts_from_its_address() {
    on_each_engine(|studio| {
        let (_, account) = settled(studio, "DESK");
        let guess = |number: usize| {
            let body = json!({ "email": format!("made-up-{number}@example.com"), "password": "a wrong password" });
            studio.nobody().post("/v1/sessions", &body)
        };
        let refused: Vec<Answer> = (0..60).map(guess).filter(|answer| answer.status != 401).collect();
        assert!(!refused.is_empty(), "the guesser was never slowed");
        for answer in refused {
            assert!(answer.header("retry-after").parse::<u64>().unwrap() <= 3);
            answer.problem(429, "too-many-attempts");
        }
        let mut answer = sign_in(studio, &account, PASSWORD);
        for _ in 0..5 {
            let Ok(seconds) = answer.header("retry-after").parse() else { break };
            std::thread::sleep(std::time::Duration::from_secs(seconds));
            answer = sign_in(studio, &account, PASSWORD);
        }
        answer.expect(201);
    });
}

#[test]
fn an_invite_is_taken_whatever_others_tried_before() {
    on_each_engine(|studio| {
        let wrong = json!({ "token": "never given", "password": PASSWORD });
        for _ in 0..8 {
            studio.nobody().post("/v1/invites/accept", &wrong).problem(410, "invite-ended");
        }
        settled(studio, "DESK");
    });
}

#[test]
fn a_clock_that_is_set_back_keeps_nobody_out() {
    on_each_engine(|studio| {
        let (_, account) = settled(studio, "DESK");
        let answers: Vec<u16> =
            (0..6).map(|n| sign_in(studio, &account, &format!("guess number {n}")).status).collect();
        assert_eq!(answers, [401, 401, 401, 401, 401, 429]);
        studio.pass_minutes(-24 * 60);
        sign_in(studio, &account, PASSWORD).expect(201);
    });
}

#[test]
fn guesses_at_once_are_counted_too() {
    on_each_engine(|studio| {
        let (_, account) = settled(studio, "DESK");
        let statuses: Vec<u16> = std::thread::scope(|scope| {
            let guess = |n: usize| {
                let account = &account;
                scope.spawn(move || sign_in(studio, account, &format!("guess number {n}")).status)
            };
            let all: Vec<_> = (0..16).map(guess).collect();
            all.into_iter().map(|thread| thread.join().unwrap()).collect()
        });
        assert!(statuses.iter().filter(|status| **status == 401).count() <= 5, "{statuses:?}");
        assert!(statuses.iter().all(|status| [401, 429].contains(status)), "{statuses:?}");
    });
}

#[test]
fn keys_are_made_kept_and_rotated_without_ending_a_sign_in() {
    on_each_engine(|studio| {
        let mut config = (**studio.config()).clone();
        config.token_key = None;
        let ring = |minutes: i64| kept::load(&studio.db, &config, studio.clock.now().plus_minutes(minutes)).unwrap();
        let first = ring(0);
        assert_eq!(first.len(), 1);
        assert_eq!(ring(0)[0].id, first[0].id);
        studio.pass_minutes(10);
        let told = kept::rotate(&studio.db, studio.clock.now()).unwrap();
        assert_eq!(ring(0)[0].id, first[0].id);
        let later: Vec<String> = ring(3).into_iter().map(|key| key.id).collect();
        assert_eq!(later, [told.id.clone(), first[0].id.clone()]);
        assert_eq!(ring(30).into_iter().map(|key| key.id).collect::<BTreeSet<_>>(), BTreeSet::from([told.id]));
    });
}

#[test]
fn no_password_token_or_code_is_kept_as_it_is() {
    on_each_engine(|studio| {
        let (session, account) = settled(studio, "DESK");
        let digest = studio.db.read(|conn| {
            let tokens: Vec<String> =
                refresh_token::table.select(refresh_token::digest).load(conn).map_err(DbError::from)?;
            assert!(!tokens.is_empty() && tokens.iter().all(|kept| *kept != session["refresh_token"]));
            let person = person::table.filter(person::id.eq(account["id"].as_str().unwrap()));
            Ok(person.select(person::password_hash).first::<String>(conn).map_err(DbError::from)?)
        });
        assert!(digest.unwrap().starts_with("$argon2id$v=19$m=19456,t=2,p=1$"));
        let log = studio.owner().get("/v1/people").text + &studio.owner().get("/v1/me").text;
        assert!(!log.contains("argon2") && !log.contains(PASSWORD));
    });
}
