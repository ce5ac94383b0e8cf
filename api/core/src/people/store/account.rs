//! Rows of accounts.

use std::collections::{BTreeMap, BTreeSet};

use baywright_domain::calendar::{DayHours, DayOfWeek};
use baywright_domain::id::PersonId;
use baywright_domain::menu::Code;
use baywright_domain::people::{Role, email_key};
use diesel::prelude::*;

use super::week;
use crate::people::usecase::{Person, PersonDetails};
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::{person, person_skill};

#[derive(Queryable, Selectable)]
#[diesel(table_name = person)]
struct Row {
    id: String,
    name: String,
    email: String,
    role: String,
    password_hash: String,
    active: bool,
    version: i64,
    created_at: i64,
    updated_at: i64,
}

/// Everyone in the shop, in the order in which they were added, with skills and shifts: three queries, however many
/// people there are.
pub(in crate::people) fn all(tx: &mut Tx<'_>) -> Stored<Vec<Person>> {
    let shop = tx.studio.id.as_str();
    let rows: Vec<Row> =
        rows_of_shop!(person, id = shop).order(person::id.asc()).select(Row::as_select()).load(tx.conn)?;
    let pairs: Vec<(String, String)> =
        rows_of_shop!(person_skill, id = shop).select((person_skill::person_id, person_skill::skill)).load(tx.conn)?;
    let mut skills: BTreeMap<String, BTreeSet<Code>> = BTreeMap::new();
    for (id, skill) in pairs {
        let code: Code = RowId::of("person_skill", &id).read("skill", skill)?;
        skills.entry(id).or_default().insert(code);
    }
    let mut shifts = week::of_everyone(tx)?;
    rows.into_iter()
        .map(|row| {
            let (skills, shifts) = (skills.remove(&row.id), shifts.remove(&row.id));
            read(row, skills.unwrap_or_default(), shifts.unwrap_or_default())
        })
        .collect()
}

fn read(row: Row, skills: BTreeSet<Code>, shifts: Vec<(DayOfWeek, DayHours)>) -> Stored<Person> {
    let at = RowId::of("person", &row.id);
    let role: Role = at.read("role", row.role)?;
    Ok(Person {
        version: row.version,
        details: PersonDetails { name: row.name, email: row.email, role, skills, shifts },
        active: row.active,
        has_password: !row.password_hash.is_empty(),
        created_at: at.read("created_at", row.created_at)?,
        updated_at: at.read("updated_at", row.updated_at)?,
        id: row.id.into(),
    })
}

pub(in crate::people) fn insert(
    tx: &mut Tx<'_>,
    id: &PersonId,
    details: &PersonDetails,
    password_hash: &str,
) -> Stored<()> {
    diesel::insert_into(person::table)
        .values((
            person::id.eq(id.as_str()),
            person::shop_id.eq(tx.studio.id.as_str()),
            person::name.eq(&details.name),
            person::email.eq(&details.email),
            person::email_key.eq(email_key(&details.email)),
            person::role.eq(details.role.as_str()),
            person::password_hash.eq(password_hash),
            person::active.eq(true),
            person::version.eq(1_i64),
            person::created_at.eq(tx.now.ms()),
            person::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    put_skills(tx, id, details)?;
    week::put(tx, id, &details.shifts)
}

pub(in crate::people) fn update(tx: &mut Tx<'_>, id: &PersonId, version: i64, details: &PersonDetails) -> Stored<()> {
    diesel::update(rows_of_shop!(person, tx).filter(person::id.eq(id.as_str())))
        .set((
            person::name.eq(&details.name),
            person::email.eq(&details.email),
            person::email_key.eq(email_key(&details.email)),
            person::role.eq(details.role.as_str()),
            person::version.eq(version),
            person::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    diesel::delete(rows_of_shop!(person_skill, tx).filter(person_skill::person_id.eq(id.as_str()))).execute(tx.conn)?;
    put_skills(tx, id, details)?;
    week::put(tx, id, &details.shifts)
}

fn put_skills(tx: &mut Tx<'_>, id: &PersonId, details: &PersonDetails) -> Stored<()> {
    for skill in &details.skills {
        diesel::insert_into(person_skill::table)
            .values((
                person_skill::person_id.eq(id.as_str()),
                person_skill::shop_id.eq(tx.studio.id.as_str()),
                person_skill::skill.eq(skill.as_str()),
            ))
            .execute(tx.conn)?;
    }
    Ok(())
}

pub(in crate::people) fn set_active(tx: &mut Tx<'_>, id: &PersonId, active: bool, version: i64) -> Stored<()> {
    diesel::update(rows_of_shop!(person, tx).filter(person::id.eq(id.as_str())))
        .set((person::active.eq(active), person::version.eq(version), person::updated_at.eq(tx.now.ms())))
        .execute(tx.conn)?;
    Ok(())
}

/// Number of active people who have the role.
pub(in crate::people) fn active_with(tx: &mut Tx<'_>, role: Role) -> Stored<i64> {
    Ok(rows_of_shop!(person, tx)
        .filter(person::role.eq(role.as_str()))
        .filter(person::active.eq(true))
        .count()
        .get_result(tx.conn)?)
}
