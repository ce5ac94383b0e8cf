//! Times for signed work, as the page shows them: what is asked, and each time in words.

use baywright_core::booking::usecase::{MOST_OFFERS, Promised, Question};
use baywright_core::diary::usecase::{Asked, Names, Offered};
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::refusal::Refused;
use baywright_domain::id::{BayId, PersonId};
use baywright_domain::plan::Hands;
use baywright_domain::time::{Interval, Minute};
use baywright_http::platform::wire::{Day, Instant};

use super::clock::Clock;
use super::shown::{self, listed};
use crate::platform::form::{Fields, Input, Reading};

/// Sign between the start and the bay of a time in a form.
const AND: char = '/';

/// A time that can be chosen.
pub(super) struct TimeRow {
    /// What the form sends for it.
    pub(super) value: String,
    pub(super) starts: String,
    /// When the work is done, and what the customer would be promised.
    pub(super) ready: String,
    /// Bays, people, and whether it is the soonest.
    pub(super) note: String,
    pub(super) chosen: bool,
}

/// The place that a form names: the start, and the first bay.
pub(super) struct Chosen {
    pub(super) start: Minute,
    pub(super) bay: BayId,
}

/// The fields of a search.
pub(super) fn inputs(names: &Names) -> Vec<Input> {
    let all = |label: &str| (String::new(), label.to_owned());
    let bays = names.bays.iter().map(|(id, name)| (id.to_string(), name.clone()));
    let people = names.workers.iter().map(|(id, name)| (id.to_string(), name.clone()));
    let hands = Hands::ALL.iter().map(|hands| (hands.as_str().to_owned(), capital(hands.label())));
    let may_move = vec![("yes".to_owned(), "The car may change bays".to_owned())];
    vec![
        Input { kind: "date", ..Input::short("from", "Not before") }.optional().beside(),
        Input { kind: "date", ..Input::short("by", "Ready by the end of") }.optional().beside(),
        Input::short("bay_id", "Bay").options([all("Any bay")].into_iter().chain(bays).collect()).beside(),
        Input::short("person_id", "Person").options([all("Anyone")].into_iter().chain(people).collect()).beside(),
        Input::short("hands", "People at the work").options(hands.collect()).beside(),
        Input::ticks("may_move", "Bays", may_move)
            .hint("It does so anyway if no bay has everything that the work needs."),
    ]
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// What a page's address or form asks for.
pub(super) fn read(fields: &Fields, clock: &Clock) -> Result<Asked, Refused> {
    let mut form = Reading::of(fields);
    let day = |text: &str| Day::parse(text.trim());
    let (from, by) = (form.optional("from", day), form.optional("by", day));
    let hands = form.optional("hands", |text| Hands::parse(text).map_err(|_| "choose one of these".to_owned()));
    let id = |name: &str| Some(fields.text(name)).filter(|id| !id.is_empty());
    let by = by.and_then(|day| clock.whole_day(day)).map(Interval::to);
    if by.is_some_and(|by| by <= clock.now() || from.is_some_and(|from| by <= clock.at(from, 0))) {
        form.fault("by", "not_later", "Choose a day that is not over, and not before the first one.");
    }
    let question = Question {
        from: from.map(|day| clock.at(day, 0)),
        by,
        count: MOST_OFFERS,
        hands: hands.unwrap_or_default(),
        may_move: fields.yes("may_move"),
    };
    form.done(Some(Asked { question, bay: id("bay_id").map(BayId::new), person: id("person_id").map(PersonId::new) }))
}

/// The place that was chosen in a form.
pub(super) fn chosen(form: &mut Reading<'_>) -> Option<Chosen> {
    form.needed("time", |text| {
        let told = || "choose one of the times".to_owned();
        let (start, bay) = text.split_once(AND).ok_or_else(told)?;
        Ok(Chosen { start: Instant::parse(start).map_err(|_| told())?.0.minute(), bay: BayId::new(bay) })
    })
}

/// The times, in order; `chosen` is the one that a form has sent, or else the first is chosen.
pub(super) fn rows(offered: &Offered, clock: &Clock, chosen: &str) -> Vec<TimeRow> {
    let mut rows: Vec<TimeRow> = offered.offer.times.iter().map(|time| row(offered, clock, time)).collect();
    let at = rows.iter().position(|row| row.value == chosen).unwrap_or_default();
    if let Some(row) = rows.get_mut(at) {
        row.chosen = true;
    }
    rows
}

fn row(offered: &Offered, clock: &Clock, time: &Promised) -> TimeRow {
    let visit = &time.visit;
    let stays = visit.stays.iter().filter_map(|stay| Some((stay.bay.as_str(), Interval::new(stay.from, stay.to)?)));
    let mut people: Vec<String> = Vec::new();
    for who in visit.steps.iter().flat_map(|step| [step.leads(), step.helps()]).flatten() {
        let name = offered.names.person(who);
        if !people.iter().any(|known| known == name) {
            people.push(name.to_owned());
        }
    }
    let first = visit.stays.first().map_or("", |stay| stay.bay.as_str());
    TimeRow {
        value: format!("{}{AND}{first}", UtcTime::from_minute(visit.start)),
        starts: clock.in_full(visit.start),
        ready: format!("Work done {}; promised to the customer: {}", clock.moment(visit.finish), clock.moment(time.at)),
        note: format!("{}; {}", shown::bays(clock, &offered.names, stays), listed(&people)),
        chosen: false,
    }
}

/// The first day on which later times can be searched, after the last one that is offered.
pub(super) fn later(offered: &Offered, clock: &Clock) -> Option<Day> {
    let last = offered.offer.times.last().filter(|_| offered.found >= MOST_OFFERS)?;
    clock.date(last.visit.start).0.succ_opt().map(Day)
}
