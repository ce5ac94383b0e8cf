//! Rows of photographs.

use baywright_domain::id::PhotoId;
use diesel::prelude::*;

use super::usecase::{Photo, Stored as File};
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::photo;

#[derive(Queryable, Selectable, Insertable)]
#[diesel(table_name = photo)]
struct Row {
    id: String,
    shop_id: String,
    digest: String,
    bytes: i64,
    width: i32,
    height: i32,
    thumb_digest: String,
    thumb_bytes: i64,
    thumb_width: i32,
    thumb_height: i32,
    created_at: i64,
}

impl Row {
    fn read(self) -> Stored<Photo> {
        let row = RowId::of("photo", &self.id);
        Ok(Photo {
            full: File { digest: self.digest, bytes: self.bytes, width: self.width, height: self.height },
            thumb: File {
                digest: self.thumb_digest,
                bytes: self.thumb_bytes,
                width: self.thumb_width,
                height: self.thumb_height,
            },
            created_at: row.read("created_at", self.created_at)?,
            id: self.id.into(),
        })
    }
}

pub(super) fn insert(tx: &mut Tx<'_>, new: &Photo) -> Stored<()> {
    let row = Row {
        id: new.id.to_string(),
        shop_id: tx.studio.id.to_string(),
        digest: new.full.digest.clone(),
        bytes: new.full.bytes,
        width: new.full.width,
        height: new.full.height,
        thumb_digest: new.thumb.digest.clone(),
        thumb_bytes: new.thumb.bytes,
        thumb_width: new.thumb.width,
        thumb_height: new.thumb.height,
        created_at: new.created_at.ms(),
    };
    diesel::insert_into(photo::table).values(&row).execute(tx.conn)?;
    Ok(())
}

pub(super) fn of_ids(tx: &mut Tx<'_>, ids: &[PhotoId]) -> Stored<Vec<Photo>> {
    let ids: Vec<String> = ids.iter().map(ToString::to_string).collect();
    let rows: Vec<Row> =
        rows_of_shop!(photo, tx).filter(photo::id.eq_any(ids)).select(Row::as_select()).load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}

pub(super) fn delete(tx: &mut Tx<'_>, id: &PhotoId) -> Stored<()> {
    diesel::delete(rows_of_shop!(photo, tx).filter(photo::id.eq(id.as_str()))).execute(tx.conn)?;
    Ok(())
}

/// All photographs of the shop.
pub(super) fn all(tx: &mut Tx<'_>) -> Stored<Vec<Photo>> {
    let rows: Vec<Row> = rows_of_shop!(photo, tx).order(photo::id).select(Row::as_select()).load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}

/// Whether any photograph of the shop has a file of that digest.
pub(super) fn is_named(tx: &mut Tx<'_>, digest: &str) -> Stored<bool> {
    let found: Option<String> = rows_of_shop!(photo, tx)
        .filter(photo::digest.eq(digest).or(photo::thumb_digest.eq(digest)))
        .select(photo::id)
        .first(tx.conn)
        .optional()?;
    Ok(found.is_some())
}
