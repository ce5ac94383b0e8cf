//! Rows of sign-offs; they are written once.

use baywright_domain::id::{LinkId, PersonId, SignoffId};
use baywright_domain::signoff::Method;
use diesel::prelude::*;

use crate::platform::clock::UtcTime;
use crate::platform::db::rows_of_shop;
use crate::platform::fail::{DbError, Stored};
use crate::platform::tx::Tx;
use crate::schema::signoff;
use crate::signoff::usecase::{Purpose, Signoff, Subject};

#[derive(Queryable, Selectable)]
#[diesel(table_name = signoff)]
struct Row {
    id: String,
    subject_kind: String,
    subject_id: String,
    document: String,
    document_digest: String,
    evidence: String,
    evidence_digest: String,
    choices: String,
    method: String,
    typed_name: String,
    noted_by: Option<String>,
    link_id: Option<String>,
    early_start: Option<bool>,
    signed_at: i64,
}

/// A sign-off about to be written.
#[derive(Insertable)]
#[diesel(table_name = signoff)]
pub(in crate::signoff) struct NewRow<'a> {
    pub(in crate::signoff) id: &'a str,
    pub(in crate::signoff) shop_id: &'a str,
    pub(in crate::signoff) subject_kind: &'a str,
    pub(in crate::signoff) subject_id: &'a str,
    pub(in crate::signoff) document: &'a str,
    pub(in crate::signoff) document_digest: &'a str,
    pub(in crate::signoff) evidence: &'a str,
    pub(in crate::signoff) evidence_digest: &'a str,
    pub(in crate::signoff) choices: &'a str,
    pub(in crate::signoff) method: &'a str,
    pub(in crate::signoff) typed_name: &'a str,
    pub(in crate::signoff) noted_by: Option<&'a str>,
    pub(in crate::signoff) link_id: Option<&'a str>,
    pub(in crate::signoff) early_start: Option<bool>,
    pub(in crate::signoff) signed_at: i64,
}

impl TryFrom<Row> for Signoff {
    type Error = DbError;

    fn try_from(row: Row) -> Stored<Self> {
        let corrupt = |error: &dyn std::fmt::Display| DbError::Corrupt(format!("a sign-off: {error}"));
        Ok(Self {
            id: SignoffId::new(row.id),
            subject: Subject {
                purpose: Purpose::parse(&row.subject_kind).ok_or_else(|| corrupt(&row.subject_kind))?,
                id: row.subject_id,
            },
            document: row.document,
            document_digest: row.document_digest,
            evidence: row.evidence,
            evidence_digest: row.evidence_digest,
            choices: serde_json::from_str(&row.choices).map_err(|error| corrupt(&error))?,
            method: Method::parse(&row.method).map_err(|error| corrupt(&error))?,
            typed_name: row.typed_name,
            noted_by: row.noted_by.map(PersonId::new),
            link: row.link_id.map(LinkId::new),
            early_start: row.early_start,
            signed_at: UtcTime::from_ms(row.signed_at),
        })
    }
}

pub(in crate::signoff) fn insert(tx: &mut Tx<'_>, row: &NewRow<'_>) -> Stored<()> {
    diesel::insert_into(signoff::table).values(row).execute(tx.conn)?;
    Ok(())
}

pub(in crate::signoff) fn find(tx: &mut Tx<'_>, subject: &Subject) -> Stored<Option<Signoff>> {
    let row: Option<Row> = rows_of_shop!(signoff, tx)
        .filter(signoff::subject_kind.eq(subject.purpose.as_str()))
        .filter(signoff::subject_id.eq(&subject.id))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(Signoff::try_from).transpose()
}

/// Up to `most` sign-offs of the shop after that id, in order of id.
pub(in crate::signoff) fn batch(tx: &mut Tx<'_>, after: &str, most: i64) -> Stored<Vec<Signoff>> {
    let rows: Vec<Row> = rows_of_shop!(signoff, tx)
        .filter(signoff::id.gt(after))
        .order(signoff::id.asc())
        .limit(most)
        .select(Row::as_select())
        .load(tx.conn)?;
    rows.into_iter().map(Signoff::try_from).collect()
}
