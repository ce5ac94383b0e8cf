//! Notes about a car, with photographs.

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{HttpRequest, get, post};
use baywright_core::job::usecase::{self as job, NewNote, add_note};
use baywright_core::media::usecase::{self as media, Size};
use baywright_core::platform::identity::Bay;
use baywright_core::platform::refusal::Refused;
use baywright_domain::id::{JobId, PhotoId};
use baywright_domain::menu::Code;
use baywright_http::media::{Incoming, add_from_page, served};
use baywright_http::platform::answer::Answer;
use baywright_http::platform::call::blocking;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::page_file::PageFile;
use baywright_http::platform::problem::Problem;
use baywright_http::platform::wire::Text;

use super::HERE;
use crate::diary::tried;
use crate::platform::form::{Fields, Reading};

/// Longest note, in characters.
const LONGEST_NOTE: usize = 2000;

/// A form beside a car, with the photograph that came with it, or the reason why that was not taken.
pub(super) struct Photographed {
    pub(super) page: PageWrite<Bay>,
    pub(super) fields: Fields,
    pub(super) photos: Vec<PhotoId>,
    pub(super) refused: Option<Problem>,
}

impl Photographed {
    /// Keeps the photograph of a form that was not taken before. A form that is shown again carries those that it has.
    pub(super) async fn of(sent: PageFile<Bay, Incoming>) -> Result<Self, Problem> {
        let PageFile { page, file } = sent;
        let fields = Fields::of_form(page.form());
        let photos = fields.all("photo_ids").map(PhotoId::new).collect();
        let mut this = Self { page, fields, photos, refused: None };
        let Some(file) = file else { return Ok(this) };
        // A form that is sent twice brings its photograph twice.
        if this.page.is_known().await? {
            return Ok(this);
        }
        let added = match file {
            Ok(file) => add_from_page(&this.page, file).await,
            Err(refused) => Err(refused.into()),
        };
        match added {
            Ok(photo) => this.photos.push(photo),
            Err(problem) if problem.status() == StatusCode::INTERNAL_SERVER_ERROR => return Err(problem),
            Err(problem) => this.refused = Some(problem),
        }
        Ok(this)
    }
}

fn read(fields: &Fields, photos: Vec<PhotoId>) -> Result<NewNote, Refused> {
    let mut form = Reading::of(fields);
    let text = if photos.is_empty() {
        form.needed("text", Text::<LONGEST_NOTE>::parse).map(|text| text.to_string())
    } else {
        Some(form.optional("text", Text::<LONGEST_NOTE>::parse).map(|text| text.to_string()).unwrap_or_default())
    };
    let step = Code::parse(&fields.text("step")).ok();
    let for_customer = fields.yes("for_customer");
    form.done(text).map(|text| NewNote { step, text, photos, for_customer })
}

/// Keeps a note.
#[post("/bay/{id}/note")]
pub(super) async fn keep(sent: PageFile<Bay, Incoming>, id: Path<String>) -> Answer {
    let id = JobId::new(id.into_inner());
    let Photographed { page, fields, photos, refused } = Photographed::of(sent).await?;
    let read = match refused {
        Some(problem) => Err(problem),
        None => read(&fields, photos).map_err(Problem::from),
    };
    let tried = match read {
        Ok(note) => {
            let of = id.clone();
            let keep = tried(&page, move |tx| {
                add_note(tx, &of, &note)?;
                Ok(format!("{HERE}/{of}?done=noted"))
            });
            keep.await?
        }
        Err(problem) => Err(problem),
    };
    match tried {
        Ok(answer) => Ok(answer),
        Err(problem) => super::one::refused(&page, id, &problem, &fields).await,
    }
}

/// A photograph of a note about the car, or its thumbnail with `size=small`.
#[get("/bay/{id}/photos/{photo}")]
pub(super) async fn show_photo(page: PageRead<Bay>, path: Path<(String, String)>, request: HttpRequest) -> Answer {
    let (id, photo) = path.into_inner();
    let (id, photo) = (JobId::new(id), PhotoId::new(photo));
    let small = Fields::of_query(request.query_string()).text("size") == "small";
    let size = if small { Size::Thumb } else { Size::Full };
    let found = page.read(move |tx| {
        if !job::notes(tx, &id)?.iter().any(|note| note.photos.contains(&photo)) {
            return Err(Refused::not_found("photograph").into());
        }
        Ok((media::show(tx, &photo)?, tx.studio.id.clone()))
    });
    let (photo, shop) = found.await?;
    let data = page.app().program.config.data.clone();
    let wanted = photo.clone();
    let bytes = blocking(move || media::bytes(&data, &shop, &wanted, size)).await?;
    Ok(served(&photo, size, bytes))
}
