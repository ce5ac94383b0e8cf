//! The tables as diesel sees them, in feature order: the only hand-kept copy of the columns. A test compares it with
//! the catalogue of both engines.

#![allow(missing_docs, reason = "the tables' docs are the migrations and the stores")]

diesel::table! {
    shop (id) {
        id -> Text,
        name -> Text,
        currency -> Text,
        zone -> Text,
        legal_name -> Text,
        street -> Text,
        postcode -> Text,
        city -> Text,
        country -> Text,
        email -> Text,
        phone -> Text,
        vat_id -> Text,
        company_number -> Text,
        iban -> Text,
        hours_version -> BigInt,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
    }
}

diesel::table! {
    shop_terms (shop_id) {
        shop_id -> Text,
        quote_days -> Integer,
        hold_minutes -> Integer,
        slot_minutes -> Integer,
        deposit_kind -> Text,
        deposit_amount -> Nullable<BigInt>,
        deposit_percent -> Nullable<Text>,
        call_tolerance -> Nullable<BigInt>,
        payment_days -> Integer,
        quote_prefix -> Text,
        invoice_prefix -> Text,
        booking_reminder_days -> Integer,
        lapse_reminder_days -> Integer,
        first_letter_days -> Integer,
        second_letter_days -> Integer,
        third_letter_days -> Integer,
        letter_gap_days -> Integer,
        keep_years -> Integer,
        paint_floor_um -> Integer,
        removal_budget_um -> Integer,
        asks_express_wish -> Bool,
        consent_text -> Text,
        conditions_text -> Text,
        learning_jobs -> Integer,
        usual_spread_percent -> Integer,
        promise_percent -> Integer,
        promise_step_minutes -> Integer,
        price_detail -> Text,
        undo_minutes -> Integer,
        max_stays -> Integer,
        move_minutes -> Integer,
    }
}

diesel::table! {
    shop_rates (shop_id) {
        shop_id -> Text,
        private_prices -> Text,
        trade_prices -> Text,
        tax_basis -> Text,
        tax_rounding -> Text,
        labour_rate -> BigInt,
        price_step -> BigInt,
        size_small -> Text,
        size_medium -> Text,
        size_large -> Text,
        size_extra_large -> Text,
        condition_light -> Text,
        condition_fair -> Text,
        condition_heavy -> Text,
        condition_severe -> Text,
        wet_dry_minutes -> Integer,
        outside_inside_minutes -> Integer,
        zone_minutes -> Integer,
        tool_out_minutes -> Integer,
        tool_away_minutes -> Integer,
        mask_on_minutes -> Integer,
        mask_off_minutes -> Integer,
        clean_up_minutes -> Integer,
        version -> BigInt,
        updated_at -> BigInt,
    }
}

diesel::table! {
    shop_self_booking (shop_id) {
        shop_id -> Text,
        allowed -> Bool,
        notice_hours -> Integer,
        version -> BigInt,
        updated_at -> BigInt,
    }
}

diesel::table! {
    tax_category (id) {
        id -> Text,
        shop_id -> Text,
        code -> Text,
        name -> Text,
        category -> Text,
        reason -> Text,
        usual -> Bool,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
    }
}

diesel::table! {
    tax_rate (tax_category_id, from_day) {
        tax_category_id -> Text,
        shop_id -> Text,
        from_day -> Text,
        percent -> Text,
    }
}

diesel::table! {
    opening_hours (shop_id, weekday, opens) {
        shop_id -> Text,
        weekday -> Integer,
        opens -> Integer,
        closes -> Integer,
    }
}

diesel::table! {
    bay (id) {
        id -> Text,
        shop_id -> Text,
        name -> Text,
        in_use -> Bool,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
    }
}

diesel::table! {
    bay_feature (bay_id, feature) {
        bay_id -> Text,
        shop_id -> Text,
        feature -> Text,
    }
}

diesel::table! {
    closure (id) {
        id -> Text,
        shop_id -> Text,
        bay_id -> Nullable<Text>,
        from_day -> Text,
        until_day -> Text,
        reason -> Text,
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
    person_skill (person_id, skill) {
        person_id -> Text,
        shop_id -> Text,
        skill -> Text,
    }
}

diesel::table! {
    shift (person_id, weekday, begins) {
        person_id -> Text,
        shop_id -> Text,
        weekday -> Integer,
        begins -> Integer,
        ends -> Integer,
    }
}

diesel::table! {
    absence (id) {
        id -> Text,
        shop_id -> Text,
        person_id -> Text,
        from_day -> Nullable<Text>,
        until_day -> Nullable<Text>,
        from_minute -> Nullable<BigInt>,
        until_minute -> Nullable<BigInt>,
        note -> Text,
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
        ends_at -> BigInt,
        ended_at -> Nullable<BigInt>,
        page_digest -> Nullable<Text>,
        page_used_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    refresh_token (id) {
        id -> Text,
        shop_id -> Text,
        session_id -> Text,
        digest -> Text,
        created_at -> BigInt,
        ends_at -> BigInt,
        used_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    invite (id) {
        id -> Text,
        shop_id -> Text,
        person_id -> Text,
        digest -> Text,
        created_at -> BigInt,
        ends_at -> BigInt,
        used_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    setup_code (digest) {
        digest -> Text,
        created_at -> BigInt,
    }
}

diesel::table! {
    sign_in_attempt (key) {
        key -> Text,
        failures -> Integer,
        since -> BigInt,
        blocked_until -> BigInt,
    }
}

diesel::table! {
    known_address (key, shop_id) {
        key -> Text,
        shop_id -> Text,
        until -> BigInt,
    }
}

diesel::table! {
    tablet (id) {
        id -> Text,
        shop_id -> Text,
        version -> BigInt,
        name -> Text,
        idle_minutes -> Integer,
        code_digest -> Nullable<Text>,
        code_ends_at -> Nullable<BigInt>,
        device_digest -> Nullable<Text>,
        enrolled_at -> Nullable<BigInt>,
        ended_at -> Nullable<BigInt>,
        created_at -> BigInt,
        updated_at -> BigInt,
    }
}

diesel::table! {
    tablet_digits (shop_id, person_id) {
        shop_id -> Text,
        person_id -> Text,
        digest -> Text,
        updated_at -> BigInt,
    }
}

diesel::table! {
    tablet_session (session_id) {
        session_id -> Text,
        shop_id -> Text,
        tablet_id -> Text,
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
        phone_keys -> Text,
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
        merged_into -> Nullable<Text>,
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
        merged_into -> Nullable<Text>,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
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
    inspection (id) {
        id -> Text,
        shop_id -> Text,
        vehicle_id -> Text,
        state -> Text,
        stage -> Text,
        odometer -> Nullable<Integer>,
        soil_grade -> Integer,
        contamination_grade -> Integer,
        beyond_repair -> Text,
        note -> Text,
        condition_class -> Nullable<Text>,
        condition_reasons -> Nullable<Text>,
        condition_factor -> Nullable<Text>,
        paint_floor_um -> Nullable<Integer>,
        removal_budget_um -> Nullable<Integer>,
        refinish_above_um -> Nullable<Integer>,
        least_spots -> Nullable<Integer>,
        inspected_by -> Nullable<Text>,
        completed_at -> Nullable<BigInt>,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
    }
}

diesel::table! {
    finding (id) {
        id -> Text,
        shop_id -> Text,
        inspection_id -> Text,
        place -> Integer,
        panel -> Text,
        kind -> Text,
        severity -> Text,
        note -> Text,
    }
}

diesel::table! {
    inspection_photo (id) {
        id -> Text,
        shop_id -> Text,
        inspection_id -> Text,
        finding_id -> Nullable<Text>,
        photo_id -> Text,
        place -> Integer,
    }
}

diesel::table! {
    paint_reading (id) {
        id -> Text,
        shop_id -> Text,
        inspection_id -> Text,
        panel -> Text,
        place -> Integer,
        micrometres -> Integer,
    }
}

diesel::table! {
    paint_decision (id) {
        id -> Text,
        shop_id -> Text,
        inspection_id -> Text,
        person_id -> Text,
        role -> Text,
        go_ahead -> Bool,
        reason -> Text,
        created_at -> BigInt,
        void_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    menu_draft (id) {
        id -> Text,
        shop_id -> Text,
        content -> Text,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
    }
}

diesel::table! {
    menu_revision (id) {
        id -> Text,
        shop_id -> Text,
        number -> BigInt,
        valid_from -> BigInt,
        note -> Text,
        content -> Text,
        digest -> Text,
        published_by -> Text,
        created_at -> BigInt,
        prices -> Text,
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
    enquiry (id) {
        id -> Text,
        shop_id -> Text,
        state -> Text,
        channel -> Text,
        customer_id -> Nullable<Text>,
        caller_name -> Nullable<Text>,
        caller_email -> Nullable<Text>,
        caller_phone -> Nullable<Text>,
        may_mail -> Bool,
        may_phone -> Bool,
        vehicle_id -> Nullable<Text>,
        vehicle_words -> Text,
        wish -> Text,
        wanted_by -> Nullable<Text>,
        notes -> Text,
        quote_id -> Nullable<Text>,
        close_reason -> Nullable<Text>,
        close_note -> Nullable<Text>,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
    }
}

diesel::table! {
    invoice (id) {
        id -> Text,
        shop_id -> Text,
        customer_id -> Text,
        quote_id -> Nullable<Text>,
        state -> Text,
        series -> Text,
        year -> Integer,
        counter -> Nullable<BigInt>,
        number -> Nullable<Text>,
        buyer_name -> Text,
        issued_on -> Nullable<Text>,
        due_on -> Nullable<Text>,
        net -> BigInt,
        tax -> BigInt,
        payable -> BigInt,
        open -> BigInt,
        paid -> BigInt,
        written_off -> BigInt,
        document -> Text,
        digest -> Nullable<Text>,
        issued_at -> Nullable<BigInt>,
        mailed_at -> Nullable<BigInt>,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
        kind -> Text,
        credited -> BigInt,
        recovered -> BigInt,
        disputed_on -> Nullable<Text>,
        follows_quote -> Bool,
    }
}

diesel::table! {
    payment (id) {
        id -> Text,
        shop_id -> Text,
        customer_id -> Text,
        method -> Text,
        received_on -> Text,
        amount -> BigInt,
        surplus -> BigInt,
        reference -> Text,
        note -> Text,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
        undone_on -> Nullable<Text>,
        undo_reason -> Nullable<Text>,
        undo_note -> Nullable<Text>,
    }
}

diesel::table! {
    payment_part (payment_id, invoice_id) {
        payment_id -> Text,
        invoice_id -> Text,
        shop_id -> Text,
        place -> Integer,
        amount -> BigInt,
        recovered -> BigInt,
    }
}

diesel::table! {
    reminder (id) {
        id -> Text,
        shop_id -> Text,
        kind -> Text,
        subject_kind -> Text,
        subject_id -> Text,
        occasion -> Text,
        customer_id -> Text,
        way -> Text,
        message_id -> Nullable<Text>,
        sent_on -> Text,
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
        rules -> Text,
    }
}

diesel::table! {
    search_word (shop_id, word, subject_id) {
        shop_id -> Text,
        word -> Text,
        subject_id -> Text,
    }
}

diesel::table! {
    quote (id) {
        id -> Text,
        shop_id -> Text,
        number -> Text,
        series -> Text,
        year -> Integer,
        counter -> BigInt,
        customer_id -> Text,
        vehicle_id -> Text,
        latest -> Integer,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
    }
}

diesel::table! {
    quote_revision (id) {
        id -> Text,
        shop_id -> Text,
        quote_id -> Text,
        number -> Integer,
        state -> Text,
        payable -> Nullable<BigInt>,
        sent_at -> Nullable<BigInt>,
        holds_until -> Nullable<BigInt>,
        decided_at -> Nullable<BigInt>,
        reason -> Nullable<Text>,
        created_at -> BigInt,
        updated_at -> BigInt,
        digest -> Nullable<Text>,
        draft -> Text,
        document -> Nullable<Text>,
        menu -> Nullable<Text>,
        beliefs -> Nullable<Text>,
        explanation -> Nullable<Text>,
    }
}

diesel::table! {
    link (id) {
        id -> Text,
        shop_id -> Text,
        token_hash -> Text,
        purpose -> Text,
        subject_id -> Text,
        method -> Text,
        contact -> Text,
        person_id -> Nullable<Text>,
        sent_at -> BigInt,
        first_opened_at -> Nullable<BigInt>,
        ends_at -> BigInt,
        used_at -> Nullable<BigInt>,
        revoked_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    signoff (id) {
        id -> Text,
        shop_id -> Text,
        subject_kind -> Text,
        subject_id -> Text,
        document -> Text,
        document_digest -> Text,
        evidence -> Text,
        evidence_digest -> Text,
        choices -> Text,
        method -> Text,
        typed_name -> Text,
        noted_by -> Nullable<Text>,
        link_id -> Nullable<Text>,
        early_start -> Nullable<Bool>,
        signed_at -> BigInt,
    }
}

diesel::table! {
    early_start (signoff_id) {
        signoff_id -> Text,
        shop_id -> Text,
        method -> Text,
        noted_by -> Nullable<Text>,
        link_id -> Nullable<Text>,
        words -> Text,
        agreed_at -> BigInt,
    }
}

diesel::table! {
    stay_question (id) {
        id -> Text,
        shop_id -> Text,
        quote_id -> Text,
        link_id -> Text,
        text -> Text,
        asked_at -> BigInt,
    }
}

diesel::table! {
    plan (id) {
        id -> Text,
        shop_id -> Text,
        quote_id -> Text,
        number -> Integer,
        revision_id -> Text,
        variations -> Text,
        customer_id -> Text,
        vehicle_id -> Text,
        deposit -> Nullable<BigInt>,
        content -> Text,
        digest -> Text,
        created_at -> BigInt,
    }
}

diesel::table! {
    booking (id) {
        id -> Text,
        shop_id -> Text,
        quote_id -> Text,
        plan_id -> Text,
        customer_id -> Text,
        vehicle_id -> Text,
        state -> Text,
        hands -> Text,
        fits -> Bool,
        hold_until -> Nullable<BigInt>,
        booked_at -> Nullable<BigInt>,
        arrived_at -> Nullable<BigInt>,
        ready_at -> Nullable<BigInt>,
        handed_over_at -> Nullable<BigInt>,
        ended_at -> Nullable<BigInt>,
        reason -> Nullable<Text>,
        note -> Text,
        deposit -> Nullable<BigInt>,
        deposit_received_at -> Nullable<BigInt>,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
    }
}

diesel::table! {
    placement (id) {
        id -> Text,
        shop_id -> Text,
        booking_id -> Text,
        bay_id -> Text,
        starts -> BigInt,
        finishes -> BigInt,
        live -> Bool,
        hold_until -> Nullable<BigInt>,
        promise_margin -> Integer,
        vehicle_id -> Nullable<Text>,
        standing -> Bool,
        agreed_starts -> Nullable<BigInt>,
        driven_out_on_arrival -> Nullable<Text>,
        driven_out_on_entry -> Nullable<Text>,
        plan_order -> Integer,
        move_minutes -> Integer,
    }
}

diesel::table! {
    booking_stay (id) {
        id -> Text,
        shop_id -> Text,
        booking_id -> Text,
        ordinal -> Integer,
        bay_id -> Text,
        starts -> BigInt,
        finishes -> BigInt,
        begins_with -> Nullable<Text>,
        live -> Bool,
        hold_until -> Nullable<BigInt>,
        vehicle_id -> Nullable<Text>,
    }
}

diesel::table! {
    attendance (id) {
        id -> Text,
        shop_id -> Text,
        booking_id -> Text,
        person_id -> Text,
        step -> Text,
        place -> Integer,
        helps -> Bool,
        starts -> BigInt,
        finishes -> BigInt,
        live -> Bool,
        hold_until -> Nullable<BigInt>,
    }
}

diesel::table! {
    job (id) {
        id -> Text,
        shop_id -> Text,
        booking_id -> Text,
        plan_id -> Text,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
        set_aside_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    job_step (id) {
        id -> Text,
        shop_id -> Text,
        job_id -> Text,
        code -> Text,
        place -> Integer,
        name -> Text,
        after_codes -> Text,
        budget_minutes -> Integer,
        wait_minutes -> Integer,
        wait_when -> Text,
        state -> Text,
        clear_from -> Nullable<BigInt>,
        finished_at -> Nullable<BigInt>,
        struck_because -> Nullable<Text>,
        version -> BigInt,
        updated_at -> BigInt,
        wait_holds -> Text,
    }
}

diesel::table! {
    job_piece (id) {
        id -> Text,
        shop_id -> Text,
        step_id -> Text,
        person_id -> Text,
        from_at -> BigInt,
        until_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    job_use (id) {
        id -> Text,
        shop_id -> Text,
        step_id -> Text,
        product -> Text,
        amount -> Text,
        person_id -> Text,
        at -> BigInt,
    }
}

diesel::table! {
    job_note (id) {
        id -> Text,
        shop_id -> Text,
        job_id -> Text,
        step_code -> Nullable<Text>,
        person_id -> Text,
        text -> Text,
        photos -> Text,
        at -> BigInt,
        for_customer -> Bool,
    }
}

diesel::table! {
    handover (id) {
        id -> Text,
        shop_id -> Text,
        booking_id -> Text,
        job_id -> Text,
        person_id -> Text,
        received_by -> Text,
        odometer -> Nullable<Integer>,
        odometer_unit -> Nullable<Text>,
        checklist -> Text,
        aftercare -> Text,
        note -> Text,
        at -> BigInt,
    }
}

diesel::table! {
    variation (id) {
        id -> Text,
        shop_id -> Text,
        quote_id -> Text,
        revision_id -> Text,
        booking_id -> Text,
        number -> Integer,
        state -> Text,
        draft -> Text,
        document -> Nullable<Text>,
        digest -> Nullable<Text>,
        change -> Nullable<BigInt>,
        sent_at -> Nullable<BigInt>,
        decided_at -> Nullable<BigInt>,
        reason -> Nullable<Text>,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
        beliefs -> Nullable<Text>,
        explanation -> Nullable<Text>,
    }
}

diesel::table! {
    feed (id) {
        id -> Text,
        shop_id -> Text,
        token_hash -> Text,
        bay_id -> Nullable<Text>,
        person_id -> Nullable<Text>,
        created_at -> BigInt,
        revoked_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    lesson (id) {
        id -> Text,
        shop_id -> Text,
        job_id -> Text,
        step -> Text,
        services -> Text,
        size_class -> Text,
        condition -> Text,
        two_hands -> Bool,
        quantity_thousandths -> Integer,
        actual_minutes -> Integer,
        learned_at -> BigInt,
    }
}

diesel::table! {
    proposal (id) {
        id -> Text,
        shop_id -> Text,
        state -> Text,
        content -> Text,
        version -> BigInt,
        created_at -> BigInt,
        accepted_at -> Nullable<BigInt>,
    }
}

diesel::table! {
    amendment (id) {
        id -> Text,
        shop_id -> Text,
        booking_id -> Text,
        kind -> Text,
        step -> Nullable<Text>,
        undone -> Nullable<Text>,
        made_at -> Nullable<BigInt>,
        person_id -> Nullable<Text>,
        reason -> Nullable<Text>,
        at -> BigInt,
    }
}

diesel::table! {
    job_move (id) {
        id -> Text,
        shop_id -> Text,
        step_id -> Text,
        version -> BigInt,
        what -> Text,
        at -> BigInt,
        was -> Text,
    }
}

diesel::table! {
    menu_withdrawal (id) {
        id -> Text,
        shop_id -> Text,
        revision_id -> Text,
        at -> BigInt,
        person_id -> Nullable<Text>,
        reason -> Nullable<Text>,
    }
}

diesel::table! {
    erased_key (shop_id, digest) {
        shop_id -> Text,
        digest -> Text,
        erased_at -> BigInt,
    }
}

diesel::table! {
    erased_key_secret (shop_id) {
        shop_id -> Text,
        secret -> Text,
    }
}

diesel::table! {
    shop_money (shop_id) {
        shop_id -> Text,
        deposit_prefix -> Text,
        credit_prefix -> Text,
        refund_prefix -> Text,
        deposit_days -> Integer,
        deposit_asked -> Text,
        deposit_called_off -> Text,
        version -> BigInt,
        updated_at -> BigInt,
    }
}

diesel::table! {
    number_prefix (shop_id, prefix) {
        shop_id -> Text,
        prefix -> Text,
        kind -> Text,
    }
}

diesel::table! {
    number_first (shop_id, prefix, year) {
        shop_id -> Text,
        prefix -> Text,
        year -> Integer,
        first -> BigInt,
    }
}

diesel::table! {
    issued_document (id) {
        id -> Text,
        shop_id -> Text,
        kind -> Text,
        series -> Text,
        year -> Integer,
        counter -> BigInt,
        number -> Text,
        issued_on -> Text,
        tax_point -> Nullable<Text>,
        customer_id -> Text,
        invoice_id -> Nullable<Text>,
        net -> BigInt,
        tax -> BigInt,
        gross -> BigInt,
        payable -> BigInt,
        digest -> Text,
        created_at -> BigInt,
    }
}

diesel::table! {
    issued_tax (document_id, place) {
        document_id -> Text,
        shop_id -> Text,
        place -> Integer,
        category -> Text,
        rate -> Text,
        taxable -> BigInt,
        tax -> BigInt,
    }
}

diesel::table! {
    invoice_claim (shop_id, subject_kind, subject_id) {
        shop_id -> Text,
        subject_kind -> Text,
        subject_id -> Text,
        invoice_id -> Text,
    }
}

diesel::table! {
    credit_note (id) {
        id -> Text,
        shop_id -> Text,
        invoice_id -> Text,
        customer_id -> Text,
        number -> Text,
        buyer_name -> Text,
        issued_on -> Text,
        payable -> BigInt,
        takes_all -> Bool,
        reason -> Text,
        digest -> Text,
        mailed_at -> Nullable<BigInt>,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
        document -> Text,
    }
}

diesel::table! {
    credit_line (credit_note_id, line) {
        credit_note_id -> Text,
        shop_id -> Text,
        line -> Integer,
        amount -> BigInt,
    }
}

diesel::table! {
    payment_release (credit_note_id, payment_id) {
        credit_note_id -> Text,
        payment_id -> Text,
        invoice_id -> Text,
        shop_id -> Text,
        amount -> BigInt,
    }
}

diesel::table! {
    refund (id) {
        id -> Text,
        shop_id -> Text,
        customer_id -> Text,
        method -> Text,
        paid_on -> Text,
        amount -> BigInt,
        reference -> Text,
        reason -> Text,
        number -> Text,
        digest -> Text,
        undone_on -> Nullable<Text>,
        undo_note -> Nullable<Text>,
        version -> BigInt,
        created_at -> BigInt,
        updated_at -> BigInt,
        document -> Text,
    }
}

diesel::table! {
    write_off (id) {
        id -> Text,
        shop_id -> Text,
        invoice_id -> Text,
        cause -> Text,
        on_day -> Text,
        amount -> BigInt,
        reason -> Text,
        created_at -> BigInt,
    }
}

diesel::allow_tables_to_appear_in_same_query!(
    shop,
    shop_terms,
    shop_rates,
    shop_self_booking,
    tax_category,
    tax_rate,
    opening_hours,
    bay,
    bay_feature,
    closure,
    person,
    person_skill,
    shift,
    absence,
    session,
    refresh_token,
    invite,
    setup_code,
    sign_in_attempt,
    known_address,
    tablet,
    tablet_digits,
    tablet_session,
    signing_key,
    record,
    idempotency,
    customer,
    customer_consent,
    vehicle,
    photo,
    inspection,
    finding,
    inspection_photo,
    paint_reading,
    paint_decision,
    message,
    message_attachment,
    clock_run,
    invoice,
    payment,
    payment_part,
    reminder,
    enquiry,
    search_subject,
    search_word,
    quote,
    quote_revision,
    link,
    signoff,
    early_start,
    stay_question,
    plan,
    booking,
    placement,
    booking_stay,
    attendance,
    amendment,
    job,
    job_step,
    job_piece,
    job_use,
    job_move,
    job_note,
    handover,
    variation,
    menu_draft,
    menu_revision,
    menu_withdrawal,
    feed,
    lesson,
    proposal,
    payment_release,
);
