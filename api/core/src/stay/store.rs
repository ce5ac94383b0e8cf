//! Rows of questions that customers asked.

use baywright_domain::id::QuoteId;
use diesel::prelude::*;

use super::usecase::Question;
use crate::platform::clock::UtcTime;
use crate::platform::db::{columns, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::stay_question;
use crate::signoff::usecase::Link;

columns! {
    /// A question.
    read struct Row in stay_question as Question {
        id: String,
        text: String,
        asked_at: UtcTime,
    }
}

/// Questions about a stay, the first one first.
pub(super) fn questions(tx: &mut Tx<'_>, quote: &QuoteId) -> Stored<Vec<Question>> {
    let rows: Vec<Row> = rows_of_shop!(stay_question, tx)
        .filter(stay_question::quote_id.eq(quote.as_str()))
        .order(stay_question::id.asc())
        .select(Row::as_select())
        .load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}

pub(super) fn insert(tx: &mut Tx<'_>, quote: &QuoteId, link: &Link, question: &Question) -> Stored<()> {
    diesel::insert_into(stay_question::table)
        .values((
            stay_question::id.eq(&question.id),
            stay_question::shop_id.eq(tx.studio.id.as_str()),
            stay_question::quote_id.eq(quote.as_str()),
            stay_question::link_id.eq(link.id.as_str()),
            stay_question::text.eq(&question.text),
            stay_question::asked_at.eq(question.asked_at.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Blanks the texts of questions.
pub(super) fn blank(tx: &mut Tx<'_>, ids: &[String]) -> Stored<()> {
    diesel::update(rows_of_shop!(stay_question, id = tx.studio.id.to_string()).filter(stay_question::id.eq_any(ids)))
        .set(stay_question::text.eq(""))
        .execute(tx.conn)?;
    Ok(())
}
