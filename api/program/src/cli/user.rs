//! `baywright user`: people who can sign in.

use baywright_core::access::usecase::{INVITE_MINUTES, end_all, invite};
use baywright_core::people::usecase::{NewPerson, Person, add, everyone};
use baywright_core::platform::config::Store;
use baywright_core::platform::email::Email;
use baywright_domain::people::Role;
use baywright_http::platform::wire::Line;
use clap::{Args, Subcommand};

use super::Trouble;
use super::operator::{Operator, typed_password};

#[derive(Debug, Args)]
pub(super) struct Which {
    /// Name or id of the shop; not needed if there is only one
    #[arg(long)]
    shop: Option<String>,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Add an account
    Add {
        #[command(flatten)]
        which: Which,
        /// Name of the person
        #[arg(long)]
        name: String,
        /// Email address with which they sign in
        #[arg(long, value_parser = Email::parse)]
        email: Email,
        /// Role of the person: owner, desk, technician or accountant
        #[arg(long, value_parser = role)]
        role: Role,
        /// Read the password from the first line of standard input; without this option an invite is printed
        #[arg(long)]
        password_stdin: bool,
    },
    /// List the accounts
    List(Which),
    /// Print a token with which a person can choose their first password, or a new one
    Invite {
        #[command(flatten)]
        which: Which,
        /// Email address with which they sign in
        email: String,
    },
    /// Sign a person out everywhere
    SignOut {
        #[command(flatten)]
        which: Which,
        /// Email address with which they sign in
        email: String,
    },
}

fn role(text: &str) -> Result<Role, String> {
    Role::parse(&text.to_uppercase()).map_err(|_| "write owner, desk, technician or accountant".to_owned())
}

pub(super) fn run(store: &Store, command: Command) -> Result<(), Trouble> {
    let operator = match command {
        Command::List(_) => Operator::reading(store)?,
        _ => Operator::at(store)?,
    };
    match command {
        Command::Add { which, name, email, role, password_stdin } => {
            let shop = operator.shop(which.shop.as_deref())?;
            let name = Line::<120>::parse(&name)?.into_string();
            let password_hash = if password_stdin { typed_password(&[&name, email.as_str()])? } else { String::new() };
            let new = NewPerson { name, email: email.into_string(), role, password_hash };
            let id = operator.write(&shop, |tx| add(tx, &new))?;
            println!("Added {} as {}.", new.email, role.as_str().to_lowercase());
            if password_stdin {
                return Ok(());
            }
            let invite = operator.write(&shop, |tx| invite(tx, &id))?;
            tell(&invite.token);
        }
        Command::List(which) => {
            let shop = operator.shop(which.shop.as_deref())?;
            for person in operator.read(&shop, everyone)? {
                let state = match (person.active, person.has_password) {
                    (false, _) => "  (deactivated)",
                    (true, false) => "  (no password yet)",
                    (true, true) => "",
                };
                let (role, details) = (person.details.role.as_str().to_lowercase(), &person.details);
                println!("{:11} {}  {}{state}", role, details.email, details.name);
            }
        }
        Command::Invite { which, email } => {
            let shop = operator.shop(which.shop.as_deref())?;
            let person = find(operator.read(&shop, everyone)?, &email)?;
            tell(&operator.write(&shop, |tx| invite(tx, &person.id))?.token);
        }
        Command::SignOut { which, email } => {
            let shop = operator.shop(which.shop.as_deref())?;
            let person = find(operator.read(&shop, everyone)?, &email)?;
            operator.write(&shop, |tx| end_all(tx, &person.id))?;
            println!("{} is signed out everywhere.", person.details.email);
        }
    }
    Ok(())
}

fn find(people: Vec<Person>, email: &str) -> Result<Person, Trouble> {
    let found = people.into_iter().find(|person| person.details.email.eq_ignore_ascii_case(email));
    found.ok_or_else(|| format!("nobody signs in with {email}; `baywright user list` lists everyone who can").into())
}

fn tell(token: &str) {
    println!("They can choose a password at POST /v1/invites/accept with this token,");
    println!("which is valid for {INVITE_MINUTES} minutes: {token}");
}
