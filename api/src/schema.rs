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
        kind -> Text,
        reference -> Nullable<Text>,
        name -> Text,
        contact_name -> Nullable<Text>,
        emails -> Text,
        phones -> Text,
        address_lines -> Text,
        city -> Nullable<Text>,
        postcode -> Nullable<Text>,
        region -> Nullable<Text>,
        country -> Nullable<Text>,
        vat_id -> Nullable<Text>,
        purchase_order_required -> Bool,
        prices -> Nullable<Text>,
        notes -> Text,
        language -> Text,
        erased_at -> Nullable<BigInt>,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
    }
}

diesel::table! {
    customer_consent (id) {
        id -> Text,
        shop_id -> Text,
        customer_id -> Text,
        kind -> Text,
        how -> Text,
        given_at -> BigInt,
        withdrawn_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    vehicle (id) {
        id -> Text,
        shop_id -> Text,
        customer_id -> Text,
        registration -> Nullable<Text>,
        registration_key -> Nullable<Text>,
        country -> Nullable<Text>,
        vin -> Nullable<Text>,
        market -> Text,
        make -> Text,
        model -> Text,
        year -> Nullable<Integer>,
        colour -> Nullable<Text>,
        size_class -> Text,
        paint_type -> Text,
        powertrain -> Text,
        odometer_unit -> Text,
        notes -> Text,
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

diesel::table! {
    photo (id) {
        id -> Text,
        shop_id -> Text,
        digest -> Text,
        bytes -> BigInt,
        width -> Integer,
        height -> Integer,
        thumb_digest -> Text,
        thumb_bytes -> BigInt,
        thumb_width -> Integer,
        thumb_height -> Integer,
        created_at -> BigInt,
    }
}

diesel::table! {
    search_subject (id) {
        id -> Text,
        shop_id -> Text,
        kind -> Text,
        title -> Text,
        detail -> Text,
    }
}

diesel::table! {
    search_word (shop_id, word, subject_id) {
        shop_id -> Text,
        word -> Text,
        subject_id -> Text,
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
    customer_consent,
    vehicle,
    photo,
    message,
    message_attachment,
    clock_run,
    search_subject,
    search_word
);
