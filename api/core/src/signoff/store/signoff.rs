//! Rows of sign-offs; they are written once.

use baywright_domain::id::{LinkId, PersonId, SignoffId};
use diesel::prelude::*;

use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
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

/// A sign-off that is to be stored.
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

impl Row {
    fn read(self) -> Stored<Signoff> {
        let row = RowId::of("signoff", &self.id);
        let purpose = Purpose::parse(&self.subject_kind);
        let purpose = purpose.ok_or_else(|| row.corrupt("subject_kind", &self.subject_kind))?;
        Ok(Signoff {
            subject: Subject { purpose, id: self.subject_id },
            document: self.document,
            document_digest: self.document_digest,
            evidence: self.evidence,
            evidence_digest: self.evidence_digest,
            choices: row.read_json("choices", &self.choices)?,
            method: row.read("method", self.method)?,
            typed_name: self.typed_name,
            noted_by: self.noted_by.map(PersonId::new),
            link: self.link_id.map(LinkId::new),
            early_start: self.early_start,
            signed_at: row.read("signed_at", self.signed_at)?,
            id: SignoffId::new(self.id),
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
    row.map(Row::read).transpose()
}

/// Up to `most` sign-offs of the shop after that id, in order of id.
pub(in crate::signoff) fn batch(tx: &mut Tx<'_>, after: &str, most: i64) -> Stored<Vec<Signoff>> {
    let rows: Vec<Row> = rows_of_shop!(signoff, tx)
        .filter(signoff::id.gt(after))
        .order(signoff::id.asc())
        .limit(most)
        .select(Row::as_select())
        .load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}
