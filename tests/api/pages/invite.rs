//! Choosing a password with an invite.

use baywright_core::platform::identity::Role;
use baywright_tests::answer::Answer;
use baywright_tests::on_each_engine;
use baywright_tests::visitor::fields_of;

use crate::access::PASSWORD;

/// The path of the invite that a page shows.
#[track_caller]
fn path_in(page: &Answer) -> String {
    assert_eq!(page.status, 200, "{}", page.text);
    let rest = page.text.split_once("/invite/").unwrap().1;
    format!("/invite/{}", rest.split('<').next().unwrap())
}

#[test]
fn an_invite_is_made_on_a_page_and_used_once_on_another() {
    on_each_engine(|studio| {
        let owner = studio.browser_of(Role::Owner);
        let id = studio.hire(Role::Technician);
        let invite = || path_in(&owner.post(&format!("/people/{id}/invite"), &fields_of(&[("code", &owner.code())])));
        let (first, path) = (invite(), invite());
        let browser = studio.browser();
        assert_eq!(browser.get(&first).status, 410, "a later invite ends the first");
        assert_eq!(browser.get(&path).status, 200);
        let weak = browser.post(&path, &fields_of(&[("password", "technician")]));
        assert_eq!(weak.status, 422);
        assert!(weak.text.contains("href=\"#password\"") && !weak.text.contains("value=\"technician\""));
        let foreign = [("sec-fetch-site", "cross-site")];
        let password = fields_of(&[("password", PASSWORD)]);
        assert_eq!(browser.send("POST", &path, &foreign, Some(&password)).status, 403);
        let chosen = browser.post(&path, &password);
        assert_eq!((chosen.status, chosen.header("location")), (303, "/"), "{}", chosen.text);
        assert_eq!(browser.after(&chosen).get("/").header("location"), "/today", "and is led to the day");
        assert_eq!(browser.post(&path, &password).status, 410, "it works once");
        let late = invite();
        studio.pass_minutes(61);
        assert_eq!(browser.get(&late).status, 410, "and for an hour");
    });
}
