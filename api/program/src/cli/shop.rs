//! `baywright shop`: creates a shop, or lists the existing ones.

use baywright_core::access::usecase::{INVITE_MINUTES, invite};
use baywright_core::people::usecase::NewPerson;
use baywright_core::platform::config::Store;
use baywright_core::platform::db::Scope;
use baywright_core::platform::email::Email;
use baywright_core::setup::usecase::{NewShop, found};
use baywright_domain::money::{Currency, Percent};
use baywright_domain::people::Role;
use baywright_http::platform::wire::{CurrencyCode, Line, Number};
use clap::{Args, Subcommand};

use super::Trouble;
use super::operator::{Operator, said, typed_password};

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Create a shop with its owner; all other settings start with usual values
    Create(Create),
    /// List the shops
    List,
}

#[derive(Debug, Args)]
pub(super) struct Create {
    /// The shop's trading name
    #[arg(long)]
    name: String,
    /// Currency of the shop: three letters of ISO 4217, such as EUR. It can't be changed later
    #[arg(long, value_parser = CurrencyCode::parse)]
    currency: CurrencyCode,
    /// Time zone of the shop by its IANA name, such as Europe/Dublin
    #[arg(long)]
    zone: String,
    /// Standard tax on sales, in percent; 0 if the shop charges none
    #[arg(long, value_parser = Number::parse)]
    tax: Number,
    /// The owner's name
    #[arg(long)]
    owner_name: String,
    /// Email address with which the owner signs in
    #[arg(long, value_parser = Email::parse)]
    owner_email: Email,
    /// Read the owner's password from the first line of standard input; without this option an invite is printed
    #[arg(long)]
    password_stdin: bool,
}

pub(super) fn run(store: &Store, command: Command) -> Result<(), Trouble> {
    match command {
        Command::Create(arguments) => create(&Operator::at(store)?, &arguments),
        Command::List => {
            let operator = Operator::reading(store)?;
            for shop in operator.shops()? {
                println!("{}  {}  {}  {}", shop.id, shop.currency, shop.zone, shop.name);
            }
            Ok(())
        }
    }
}

fn create(operator: &Operator, arguments: &Create) -> Result<(), Trouble> {
    let name = Line::<200>::parse(&arguments.name)?.into_string();
    let owner = Line::<120>::parse(&arguments.owner_name)?.into_string();
    let currency: Currency = arguments.currency.0;
    let password_hash = if arguments.password_stdin {
        typed_password(&[&name, &owner, arguments.owner_email.as_str()])?
    } else {
        String::new()
    };
    let new = NewShop {
        name,
        currency,
        zone: arguments.zone.clone(),
        tax: Percent::new(arguments.tax.0).map_err(|e| e.to_string())?,
        owner: NewPerson {
            name: owner,
            email: arguments.owner_email.as_str().to_owned(),
            role: Role::Owner,
            password_hash,
        },
    };
    let now = operator.clock.now();
    let made = operator.db.write(Scope::Program, |conn| found(conn, &operator.config, now, &new));
    let (shop, owner) = made.map_err(said)?;
    println!("Created the shop {} ({shop}).", new.name);
    if !arguments.password_stdin {
        let invite = operator.write(&shop, |tx| invite(tx, &owner))?;
        println!("{} can choose a password at POST /v1/invites/accept with this token,", new.owner.name);
        println!("which is valid for {INVITE_MINUTES} minutes: {}", invite.token);
    }
    Ok(())
}
