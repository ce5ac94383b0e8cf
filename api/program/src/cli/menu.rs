//! `baywright menu`: fills the draft of a shop's menu.

use baywright_core::menu::usecase::{FirstMenu, draft, load_first, publish};
use baywright_core::platform::config::Store;
use baywright_core::platform::version::Seen;
use baywright_core::platform::warning::Confirmed;
use baywright_domain::menu;
use baywright_domain::money::{Currency, Money};
use baywright_http::platform::wire::Code;
use clap::{Args, Subcommand};

use super::Trouble;
use super::operator::Operator;

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Load a first menu: usual services with steps, times, waits, products and cautions
    First(First),
}

/// Long help of the command, after the options.
const HELP: &str = "Check each time, wait, mix, amount and caution before you use the menu: against your own work, the \
    product's own label and safety data sheet, and local law. They are starting points from common practice, without a \
    published source. Each item is marked until you clear its mark.";

#[derive(Debug, Args)]
#[command(after_long_help = HELP)]
pub(super) struct First {
    /// Price of one hour of work by one person, such as 65.00; with or without tax, as the shop's menu states prices
    #[arg(long)]
    labour_rate: String,
    /// Prices are rounded up to a multiple of this amount, such as 1.00
    #[arg(long)]
    price_step: String,
    /// Code of a service to load; may be repeated. Without it, the services that most studios offer are loaded
    #[arg(long = "service", value_parser = Code::parse)]
    services: Vec<Code>,
    /// Replace the draft even if it is not empty
    #[arg(long)]
    replace: bool,
    /// Publish the draft immediately
    #[arg(long)]
    publish: bool,
    /// Name or id of the shop; not needed if there is only one
    #[arg(long)]
    shop: Option<String>,
}

pub(super) fn run(store: &Store, command: &Command) -> Result<(), Trouble> {
    let Command::First(arguments) = command;
    let operator = Operator::at(store)?;
    let shop = operator.shop(arguments.shop.as_deref())?;
    let currency = operator.read(&shop, |tx| Ok(tx.studio.currency))?;
    let wanted = FirstMenu {
        labour_rate: amount("--labour-rate", &arguments.labour_rate, currency)?,
        price_step: amount("--price-step", &arguments.price_step, currency)?,
        services: services(&arguments.services)?,
    };
    let loaded = operator.write(&shop, |tx| {
        if arguments.replace {
            tx.confirmed = Confirmed::from_query("confirm=draft-not-empty");
        }
        let before = draft(tx)?;
        let draft = load_first(tx, Seen(before.version), &wanted)?;
        if arguments.publish {
            publish(tx, Seen(draft.version), None, "")?;
        }
        Ok((draft, std::mem::take(&mut tx.warnings)))
    })?;
    let (loaded, warnings) = loaded;
    let menu = &loaded.menu;
    println!(
        "Loaded {} services, {} packages, {} steps and {} products into the draft.",
        menu.services.len(),
        menu.packages.len(),
        menu.steps.len(),
        menu.products.len()
    );
    println!("Their values are common practice: check them before you use them.");
    for warning in warnings {
        println!("{}", warning.detail);
    }
    Ok(())
}

fn services(wanted: &[Code]) -> Result<Vec<menu::Code>, Trouble> {
    let read =
        |code: &Code| menu::Code::parse(code.as_str()).map_err(|error| Trouble::from(format!("--service: {error}")));
    wanted.iter().map(read).collect()
}

fn amount(option: &str, text: &str, currency: Currency) -> Result<Money, Trouble> {
    let money = Money::parse(text, currency).map_err(|error| format!("{option}: {error}"))?;
    if money.is_negative() {
        return Err(format!("{option}: write an amount of 0 or more").into());
    }
    Ok(money)
}
