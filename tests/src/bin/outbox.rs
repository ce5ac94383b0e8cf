//! Fills an outbox, for tests of the courier: mails as JSON lines in, their ids out.

use std::io::{BufRead, Write};
use std::sync::Arc;

use baywright_core::mail::outbox::{NewMail, send};
use baywright_core::people::usecase::NewPerson;
use baywright_core::platform::clock::Clock;
use baywright_core::platform::config::Config;
use baywright_core::platform::db::{Db, Scope};
use baywright_core::platform::fail::Fail;
use baywright_core::platform::identity::{Actor, Role, Studio};
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::setup::usecase::{NewShop, found};
use baywright_domain::id::ShopId;
use baywright_domain::money::{Currency, Percent};
use clap::Parser;
use serde::Deserialize;

/// Writes mails into the outbox of a database, each in a transaction of its own.
///
/// Reads {"to_name", "to_email", "subject", "text", "roll_back"} a line and answers each with the message's id, or with
/// null where the transaction was rolled back. Makes the database and a shop where there is none.
#[derive(Parser)]
#[command(name = "outbox")]
struct Arguments {
    /// As the program's --database.
    database: String,
    /// The program's settings.
    #[command(flatten)]
    config: Config,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Line {
    to_name: String,
    to_email: String,
    subject: String,
    text: String,
    #[serde(default)]
    roll_back: bool,
}

type Trouble = Box<dyn std::error::Error>;

fn main() -> Result<(), Trouble> {
    let arguments = Arguments::parse();
    let config = Arc::new(arguments.config.checked()?);
    let db = Db::open(&arguments.database)?;
    db.migrate()?;
    let shop = shop(&db, &config).map_err(|fail| format!("{fail:?}"))?;
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    for line in std::io::stdin().lock().lines() {
        let line: Line = serde_json::from_str(&line?)?;
        let written = db.write(Scope::Shop(&shop), |conn| {
            let now = Clock::system().now();
            let mut tx = Tx::for_program(conn, Actor::Operator, &shop, now, config.clone())?;
            let id = send(&mut tx, mail(&line))?;
            if line.roll_back { Err(Refused::not_found("thing").into()) } else { Ok(id.to_string()) }
        });
        match written {
            Ok(id) => writeln!(out, "\"{id}\"")?,
            Err(_) if line.roll_back => writeln!(out, "null")?,
            Err(fail) => return Err(format!("{fail:?}").into()),
        }
    }
    Ok(out.flush()?)
}

fn mail(line: &Line) -> NewMail {
    NewMail {
        kind: "test.notice",
        to_name: line.to_name.clone(),
        to_email: line.to_email.clone(),
        subject: line.subject.clone(),
        text: line.text.clone(),
        html: format!("<p>{}</p>", line.text),
        attachments: Vec::new(),
        about: ("test", "1".to_owned()),
    }
}

fn shop(db: &Db, config: &Arc<Config>) -> Result<ShopId, Fail> {
    if let Some(shop) = db.read(Studio::all)?.into_iter().next() {
        return Ok(shop);
    }
    let new = NewShop {
        name: "Test Studio".into(),
        currency: Currency::EUR,
        zone: "Europe/Dublin".into(),
        tax: Percent::whole(23),
        owner: NewPerson {
            name: "Test Person".into(),
            email: "owner@example.com".into(),
            role: Role::Owner,
            password_hash: "none".into(),
        },
    };
    Ok(db.write(Scope::Program, |conn| found(conn, config, Clock::system().now(), &new))?.0)
}
