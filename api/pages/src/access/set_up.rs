//! Creates the first shop in an empty database, with the code that the program printed. The steps in `crate::setup` ask
//! for everything else that the shop needs.

use actix_web::http::StatusCode;
use actix_web::http::header::SET_COOKIE;
use actix_web::web::Data;
use actix_web::{get, post};
use askama::Template;
use baywright_core::platform::refusal::Refused;
use baywright_core::setup::usecase::{Setup, set_up_on_pages, setup_faults};
use baywright_core::shop::usecase::any_shop;
use baywright_domain::money::Currency;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::app::App;
use baywright_http::platform::door::DoorCall;
use baywright_http::platform::page::DoorForm;
use baywright_http::platform::sign_in::cookie;
use baywright_http::platform::wire::{Email, Line};

use crate::platform::form::{Fields, FormView, Input, Reading, number};
use crate::platform::{Frame, html, is_mendable, see_other};

/// The page that comes next: the steps of the guided setup.
const NEXT: &str = "/set-up/steps";

/// The page to set up on.
#[derive(Template)]
#[template(path = "access/views/set_up.html")]
struct SetUpPage {
    frame: Frame,
    form: FormView,
}

/// The fields of the form.
fn inputs() -> Vec<Input> {
    let currencies = Currency::all().map(|currency| (currency.code().to_owned(), currency.code().to_owned()));
    let currencies = std::iter::once((String::new(), "Choose".to_owned())).chain(currencies).collect();
    vec![
        Input::short("code", "Setup code")
            .under("1. The code of this program")
            .hint("The program printed it when it started. Start it again for a new one.")
            .autocomplete("off"),
        Input::line("name", "Name of the studio").under("2. Your studio").autocomplete("organization"),
        Input::short("currency", "Currency")
            .hint("All prices and invoices are in it. It can't be changed later.")
            .options(currencies),
        Input::short("zone", "Time zone").hint("Its IANA name, such as Europe/Dublin."),
        Input::short("tax_percent", "Standard rate of VAT, in percent").hint("0 if you charge none."),
        Input::line("owner.name", "Your name").under("3. You, its owner").autocomplete("name"),
        Input::email("owner.email", "Your email address").hint("You sign in with it.").autocomplete("username"),
        Input::password("owner.password", "Your password")
            .hint("At least 12 characters that are not easily guessed; several words are best.")
            .autocomplete("new-password"),
    ]
}

fn page(status: StatusCode, fields: &Fields, refused: Option<&Refused>) -> Answer {
    let form = FormView::new(inputs(), fields, "");
    let form = match refused {
        Some(refused) => form.refused(refused),
        None => form,
    };
    html(status, &SetUpPage { frame: Frame::plain(form.title("Set up your studio"), ""), form })
}

/// The form to set up; if there is a shop already, its start page.
#[get("/set-up")]
pub(super) async fn show(door: DoorCall) -> Answer {
    if door.run(|door| door.read(any_shop)).await? {
        return Ok(see_other("/"));
    }
    page(StatusCode::OK, &Fields::default(), None)
}

/// Creates the shop and signs its owner in.
#[post("/set-up")]
pub(super) async fn set_up(app: Data<App>, form: DoorForm) -> Answer {
    let fields = Fields::of_form(&form.form);
    let done = match read(&fields) {
        Ok(setup) => form.door.run(move |door| set_up_on_pages(door, &setup)).await,
        Err(refused) => Err(refused.into()),
    };
    match done {
        Ok((token, _)) => {
            let mut answer = see_other(NEXT);
            answer.headers_mut().insert(SET_COOKIE, cookie(&app.program.config, &token)?);
            Ok(answer)
        }
        // Whoever presses the button twice creates one shop, and signs in with the password that they have just chosen.
        Err(problem) if problem.code() == "set-up-already" => Ok(see_other("/")),
        Err(problem) if is_mendable(&problem) => page(problem.status(), &fields, Some(problem.refused())),
        Err(problem) => Err(problem),
    }
}

/// What the setup needs, or everything that is wrong with the form. If all can be read, the use case finds the rest.
fn read(fields: &Fields) -> Result<Setup, Refused> {
    let mut form = Reading::of(fields);
    let code = form.needed("code", Line::<40>::parse);
    let name = form.needed("name", Line::<200>::parse);
    let chosen = |text: &str| Currency::of(text).ok_or_else(|| "choose the currency".to_owned());
    let currency = form.needed("currency", chosen);
    let zone = form.needed("zone", Line::<60>::parse);
    let tax = form.needed("tax_percent", |text| number(text.trim().trim_end_matches('%'), 4));
    let owner_name = form.needed("owner.name", Line::<120>::parse);
    let owner_email = form.needed("owner.email", |text| Email::parse(text.trim()));
    let password = form.secret("owner.password");
    let known: Vec<&str> = [
        name.as_ref().map(Line::as_str),
        owner_name.as_ref().map(Line::as_str),
        owner_email.as_ref().map(Email::as_str),
    ]
    .into_iter()
    .flatten()
    .collect();
    if !form.is_clean() {
        let password = password.as_ref().map(|password| (password, known.as_slice()));
        form.add(setup_faults(zone.as_ref().map(Line::as_str), tax, password));
    }
    let setup = (|| {
        Some(Setup {
            code: code?.into_string(),
            shop_name: name?.into_string(),
            currency: currency?,
            zone: zone?.into_string(),
            tax: tax?,
            owner_name: owner_name?.into_string(),
            owner_email: owner_email?.into_string(),
            password: password?,
            first_menu: None,
        })
    })();
    form.done(setup)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_form_is_read_as_people_write_and_every_fault_is_told_at_once() {
        let good = "code=abcde&name=Harbour&currency=EUR&zone=Europe%2FDublin&tax_percent=13%2C5+%25&owner.name=Orla\
                    &owner.email=orla%40example.com&owner.password=four+wet+sponges+dry+slowly";
        let setup = read(&Fields::of_query(good)).unwrap();
        assert_eq!((setup.tax.to_string().as_str(), setup.currency.code()), ("13.5", "EUR"));
        let bad = "code=&name=Harbour&zone=Moon&tax_percent=much&owner.email=orla";
        let refused = read(&Fields::of_query(bad)).unwrap_err();
        let told: Vec<&str> = refused.errors().iter().map(|fault| fault.pointer.as_str()).collect();
        let wanted = ["/code", "/currency", "/tax_percent", "/owner/name", "/owner/email", "/owner/password"];
        assert!(wanted.iter().all(|pointer| told.contains(pointer)), "{told:?}");
        assert!(told.contains(&"/zone"), "{told:?}");
    }
}
