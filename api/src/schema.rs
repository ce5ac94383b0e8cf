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

diesel::table! {
    message (id) {
        id -> Text,
        shop_id -> Text,
        kind -> Text,
        about_kind -> Text,
        about_id -> Text,
        from_name -> Text,
        reply_to -> Text,
        to_name -> Text,
        to_email -> Text,
        to_key -> Text,
        subject -> Text,
        text -> Text,
        html -> Text,
        header_id -> Text,
        state -> Text,
        tries -> Integer,
        due_at -> BigInt,
        lease -> Nullable<Text>,
        trouble -> Text,
        sent_at -> Nullable<BigInt>,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
    }
}

diesel::table! {
    message_attachment (id) {
        id -> Text,
        shop_id -> Text,
        message_id -> Text,
        place -> Integer,
        name -> Text,
        media_type -> Text,
        bytes -> Binary,
    }
}

diesel::table! {
    clock_run (shop_id, job) {
        shop_id -> Text,
        job -> Text,
        period -> BigInt,
        ran_at -> BigInt,
    }
}

diesel::allow_tables_to_appear_in_same_query!(
    shop,
    person,
    session,
    signing_key,
    record,
    idempotency,
    customer,
    message,
    message_attachment,
    clock_run
);
