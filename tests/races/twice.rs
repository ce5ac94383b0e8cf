//! The same request sent several times at once, and two changes of the same version at once.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Barrier;
use std::time::Instant;

use baywright_core::platform::db::Db;
use serde_json::json;

use crate::client::{Client, Said};
use crate::walls;

/// How many send the same request.
const SENDERS: usize = 8;

/// Sends each of `keys` new customers eight times at once under one key: each is added once, and all who are told that
/// it was hear the same, to the byte.
pub(crate) fn one_key(db: &Db, clients: &[Client], keys: u64) -> Result<String, String> {
    let began = Instant::now();
    let senders = &clients[..SENDERS];
    let ready = Barrier::new(SENDERS);
    let answers: Vec<Vec<Said>> = std::thread::scope(|scope| {
        let ready = &ready;
        let send = |client: &'_ Client| {
            let client = client.clone();
            scope.spawn(move || {
                let one = |key| {
                    let body = json!({ "name": format!("Key {key}") });
                    ready.wait();
                    client.post("/v1/customers", &format!("one-key-{key}"), None, &body).ok()
                };
                (0..keys).filter_map(one).collect()
            })
        };
        let threads: Vec<_> = senders.iter().map(send).collect();
        threads.into_iter().map(|thread| thread.join().unwrap()).collect()
    });
    if answers.iter().any(|answers| answers.len() as u64 != keys) {
        return Err("a connection broke".to_owned());
    }
    let mut statuses: BTreeMap<u16, u64> = BTreeMap::new();
    for key in 0..usize::try_from(keys).unwrap() {
        let told: Vec<&Said> = answers.iter().map(|answers| &answers[key]).collect();
        for said in &told {
            *statuses.entry(said.status).or_default() += 1;
        }
        // 409 says that the first is still under way.
        let made: Vec<&&Said> = told.iter().filter(|said| said.status != 409).collect();
        let texts: BTreeSet<&str> = made.iter().map(|said| said.text.as_str()).collect();
        let first = made.iter().filter(|said| !said.replayed).count();
        if texts.len() != 1 || first != 1 || made.iter().any(|said| said.status != 201) {
            return Err(format!("key {key}: {first} were told of the first time, and heard {texts:?}"));
        }
    }
    walls::customers_of_keys(db, i64::try_from(keys).unwrap())?;
    let took = began.elapsed().as_secs();
    Ok(format!("{keys} keys sent {SENDERS} times each in {took} s, answers {statuses:?}, {keys} customers"))
}

/// Lets two writers change the same version of a customer, `rounds` times: one wins each time, and what the winner wrote
/// is what stands there.
pub(crate) fn one_version(clients: &[Client], rounds: u64) -> Result<String, String> {
    let began = Instant::now();
    let body = |name: &str| json!({ "name": name, "kind": "PRIVATE" });
    let made = clients[0].post("/v1/customers", "one-version", None, &body("Nobody yet")).map_err(broken)?;
    let path = format!("/v1/customers/{}", made.body["id"].as_str().unwrap());
    let mut wins = [0_u64; 2];
    for round in 0..rounds {
        let version = i64::try_from(round + 1).unwrap();
        let ready = Barrier::new(2);
        let said: Vec<Option<Said>> = std::thread::scope(|scope| {
            let write = |place: usize| {
                let (client, ready, path) = (clients[place].clone(), &ready, &path);
                let body = body(&format!("Writer {place} in round {round}"));
                scope.spawn(move || {
                    ready.wait();
                    client.put(path, version, &body).ok()
                })
            };
            let threads = [write(0), write(1)];
            threads.into_iter().map(|thread| thread.join().unwrap()).collect()
        });
        let said: Vec<Said> = said.into_iter().collect::<Option<_>>().ok_or("a connection broke")?;
        let winner = match [said[0].status, said[1].status] {
            [200, 412] => 0,
            [412, 200] => 1,
            other => return Err(format!("round {round}: not one winner and one who is late, but {other:?}")),
        };
        wins[winner] += 1;
        let now = clients[1 - winner].get(&path).map_err(broken)?;
        // The answer to a change has warnings beside the record.
        let mut told = said[winner].body.clone();
        told.as_object_mut().and_then(|told| told.remove("warnings"));
        if now.body != told || now.body["version"] != version + 1 {
            return Err(format!("round {round}: told {}, and there is {}", said[winner].text, now.text));
        }
    }
    if rounds >= 100 && wins.contains(&0) {
        return Err(format!("one of them always wins, so they were never there at once: {wins:?}"));
    }
    let took = began.elapsed().as_secs();
    Ok(format!("{rounds} rounds of two writers in {took} s, won {} and {}", wins[0], wins[1]))
}

fn broken(_: crate::client::Broken) -> String {
    "a connection broke".to_owned()
}
