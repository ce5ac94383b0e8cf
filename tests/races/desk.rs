//! Somebody at the desk who places, moves, agrees and calls off the bookings of their own quotes, knows what they were
//! told, and says so where an answer doesn't fit it.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde_json::{Value, json};

use crate::client::{Broken, Client, Said};
use crate::dice::Dice;
use crate::floor::Floor;

/// One who works alone with some of the quotes; nobody else touches these.
pub(crate) struct Desk {
    client: Client,
    dice: Dice,
    floor: Arc<Floor>,
    work: Vec<Work>,
    name: String,
    keys: u64,
    pending: Option<Request>,
    /// How many places were asked for.
    pub(crate) asked: u64,
    /// How often each status came.
    pub(crate) statuses: BTreeMap<u16, u64>,
    /// The version of each booking as it was last told.
    pub(crate) told: BTreeMap<String, i64>,
    /// What didn't fit.
    pub(crate) faults: Vec<String>,
}

struct Work {
    quote: String,
    booking: Option<Seen>,
}

/// A booking as it was last told.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Seen {
    id: String,
    version: i64,
    state: String,
    bay: String,
    start: String,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Deed {
    Place,
    Book,
    Move,
    Cancel,
}

struct Request {
    deed: Deed,
    work: usize,
    path: String,
    key: String,
    seen: Option<i64>,
    body: Value,
}

impl Desk {
    pub(crate) fn new(client: Client, floor: &Arc<Floor>, quotes: &[String], seed: u64, place: usize) -> Self {
        Self {
            client,
            dice: Dice::of(seed, place as u64),
            floor: floor.clone(),
            work: quotes.iter().map(|quote| Work { quote: quote.clone(), booking: None }).collect(),
            name: format!("desk-{place}"),
            keys: 0,
            pending: None,
            asked: 0,
            statuses: BTreeMap::new(),
            told: BTreeMap::new(),
            faults: Vec::new(),
        }
    }

    /// Forgets its connections, which went with the program that was killed.
    pub(crate) fn reconnect(&mut self, client: Client) {
        self.client = client;
    }

    /// Does one thing. Where the answer is lost, the thing is kept, to be asked again.
    pub(crate) fn step(&mut self) -> Result<(), Broken> {
        let request = self.choose();
        self.send(request)
    }

    /// Asks again what was not answered, with the same key. Gives whether there was anything.
    pub(crate) fn ask_again(&mut self) -> Result<bool, Broken> {
        match self.pending.take() {
            None => Ok(false),
            Some(request) => self.send(request).map(|()| true),
        }
    }

    /// Reads every booking that stands, and compares it with what was told.
    pub(crate) fn check(&mut self) -> Result<(), Broken> {
        for place in 0..self.work.len() {
            let Some(told) = self.work[place].booking.clone() else { continue };
            let said = self.client.get(&format!("/v1/bookings/{}", told.id))?;
            let now = Seen::read(&said.body);
            if said.status != 200 || now.as_ref() != Some(&told) {
                self.faults.push(format!("{}: told {told:?}, and now {} {}", self.name, said.status, said.body));
            }
        }
        Ok(())
    }

    fn choose(&mut self) -> Request {
        let work = usize::try_from(self.dice.below(self.work.len() as u64)).unwrap();
        let deed = match &self.work[work].booking {
            None => Deed::Place,
            Some(seen) if seen.state == "HELD" && self.dice.yes(40) => Deed::Book,
            Some(_) if self.dice.yes(50) => Deed::Move,
            Some(_) => Deed::Cancel,
        };
        self.keys += 1;
        let key = format!("{}-{}", self.name, self.keys);
        let (bay, start) = (self.dice.of_list(&self.floor.bays).clone(), self.dice.of_list(&self.floor.starts).clone());
        let hands = if self.dice.yes(50) { "TWO" } else { "ONE" };
        let body = match deed {
            Deed::Place => {
                self.asked += 1;
                let quote = &self.work[work].quote;
                let hold = self.dice.yes(30);
                json!({ "quote_id": quote, "bay_id": bay, "start": start, "hold": hold, "hands": hands, "note": key })
            }
            Deed::Move => json!({ "bay_id": bay, "start": start, "hands": hands }),
            Deed::Cancel => json!({ "reason": "Another week" }),
            Deed::Book => json!({}),
        };
        let (path, seen) = match (&self.work[work].booking, deed) {
            (Some(seen), Deed::Book) => (format!("/v1/bookings/{}/book", seen.id), Some(seen.version)),
            (Some(seen), Deed::Move) => (format!("/v1/bookings/{}/move", seen.id), Some(seen.version)),
            (Some(seen), _) => (format!("/v1/bookings/{}/cancel", seen.id), Some(seen.version)),
            (None, _) => ("/v1/bookings".to_owned(), None),
        };
        Request { deed, work, path, key, seen, body }
    }

    fn send(&mut self, request: Request) -> Result<(), Broken> {
        match self.client.post(&request.path, &request.key, request.seen, &request.body) {
            Ok(said) => {
                *self.statuses.entry(said.status).or_default() += 1;
                if let Err(fault) = self.learn(&request, &said) {
                    let Request { path, key, seen, body, .. } = request;
                    let Said { status, replayed, body: answer, .. } = said;
                    let told = format!("{path} {key} {seen:?} {body}: {status} replayed={replayed} {answer}");
                    self.faults.push(format!("{}: {fault}: {told}", self.name));
                }
                Ok(())
            }
            Err(broken) => {
                self.pending = Some(request);
                Err(broken)
            }
        }
    }

    /// Takes in what was answered, where it fits what was asked.
    fn learn(&mut self, request: &Request, said: &Said) -> Result<(), &'static str> {
        let done = if request.deed == Deed::Place { 201 } else { 200 };
        if said.status == 409 && matches!(request.deed, Deed::Place | Deed::Move) {
            return if said.body["type"] == "/problems/slot-taken" { Ok(()) } else { Err("another conflict") };
        }
        if said.status != done {
            return Err("another status");
        }
        let now = Seen::read(&said.body).ok_or("no booking")?;
        let before = self.work[request.work].booking.as_ref();
        // A move to the very place that it has changes nothing.
        let stays = request.deed == Deed::Move && before == Some(&now);
        let next = now.version == before.map_or(1, |seen| seen.version + 1);
        if before.is_some_and(|before| before.id != now.id) || !(next || stays) {
            return Err("another booking or version");
        }
        let asked = |name: &str| request.body[name].as_str();
        if matches!(request.deed, Deed::Place | Deed::Move)
            && (asked("bay_id") != Some(&now.bay) || asked("start") != Some(&now.start))
        {
            return Err("another place");
        }
        let state = match request.deed {
            Deed::Place if request.body["hold"] == true => "HELD",
            Deed::Place | Deed::Book => "BOOKED",
            Deed::Move => before.map_or("", |seen| &seen.state),
            Deed::Cancel => "CANCELLED",
        };
        if now.state != state {
            return Err("another state");
        }
        self.told.insert(now.id.clone(), now.version);
        self.work[request.work].booking = (request.deed != Deed::Cancel).then_some(now);
        Ok(())
    }
}

impl Seen {
    fn read(body: &Value) -> Option<Self> {
        let text = |name: &str| body[name].as_str().map(str::to_owned);
        Some(Self {
            id: text("id")?,
            version: body["version"].as_i64()?,
            state: text("state")?,
            bay: text("bay_id")?,
            start: text("start")?,
        })
    }
}
