//! The tables as diesel sees them, in feature order: the only hand-kept copy of the columns. A test compares it with
//! the catalogue of both engines.

#![allow(missing_docs, reason = "the tables' docs are the migrations and the stores")]

diesel::table! {
    shop (id) {
        id -> Text,
        name -> Text,
        currency -> Text,
        zone -> Text,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
    }
}

diesel::table! {
    person (id) {
        id -> Text,
        shop_id -> Text,
        name -> Text,
        email -> Text,
        email_key -> Text,
        role -> Text,
        password_hash -> Text,
        active -> Bool,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
    }
}

diesel::table! {
    session (id) {
        id -> Text,
        shop_id -> Text,
        person_id -> Text,
        created_at -> BigInt,
        ended_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    signing_key (id) {
        id -> Text,
        secret -> Binary,
        created_at -> BigInt,
        retired_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    record (id) {
        id -> Text,
        shop_id -> Text,
        seq -> BigInt,
        at -> BigInt,
        actor_kind -> Text,
        actor_id -> Text,
        action -> Text,
        subject_kind -> Text,
        subject_id -> Text,
        detail -> Text,
        previous -> Text,
        digest -> Text,
    }
}

diesel::table! {
    idempotency (shop_id, route, key) {
        shop_id -> Text,
        route -> Text,
        key -> Text,
        print -> Text,
        status -> Integer,
        location -> Text,
        etag -> Text,
        body -> Text,
        created_at -> BigInt,
    }
}

diesel::table! {
    customer (id) {
        id -> Text,
        shop_id -> Text,
        name -> Text,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
    }
}

diesel::allow_tables_to_appear_in_same_query!(shop, person, session, signing_key, record, idempotency, customer);
