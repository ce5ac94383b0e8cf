CREATE TABLE shop (
    id TEXT NOT NULL PRIMARY KEY,
    name TEXT NOT NULL CHECK (name <> ''),
    currency TEXT NOT NULL CHECK (length(currency) = 3),
    zone TEXT NOT NULL,
    legal_name TEXT NOT NULL,
    street TEXT NOT NULL,
    postcode TEXT NOT NULL,
    city TEXT NOT NULL,
    country TEXT NOT NULL CHECK (length(country) IN (0, 2)),
    email TEXT NOT NULL,
    phone TEXT NOT NULL,
    vat_id TEXT NOT NULL,
    company_number TEXT NOT NULL,
    iban TEXT NOT NULL,
    hours_version BIGINT NOT NULL CHECK (hours_version > 0),
    version BIGINT NOT NULL CHECK (version > 0),
    created_at BIGINT NOT NULL,
    updated_at BIGINT NOT NULL
);

CREATE TABLE shop_terms (
    shop_id TEXT NOT NULL PRIMARY KEY REFERENCES shop (id),
    quote_days INTEGER NOT NULL CHECK (quote_days BETWEEN 1 AND 365),
    hold_minutes INTEGER NOT NULL CHECK (hold_minutes BETWEEN 1 AND 43200),
    slot_minutes INTEGER NOT NULL CHECK (slot_minutes BETWEEN 5 AND 240),
    deposit_kind TEXT NOT NULL CHECK (deposit_kind IN ('NONE', 'AMOUNT', 'PERCENT')),
    deposit_amount BIGINT CHECK (deposit_amount > 0),
    deposit_percent TEXT,
    call_tolerance BIGINT CHECK (call_tolerance > 0),
    payment_days INTEGER NOT NULL CHECK (payment_days BETWEEN 0 AND 365),
    quote_prefix TEXT NOT NULL CHECK (length(quote_prefix) BETWEEN 1 AND 8),
    invoice_prefix TEXT NOT NULL CHECK (length(invoice_prefix) BETWEEN 1 AND 8 AND invoice_prefix <> quote_prefix),
    booking_reminder_days INTEGER NOT NULL CHECK (booking_reminder_days BETWEEN 0 AND 60),
    lapse_reminder_days INTEGER NOT NULL CHECK (lapse_reminder_days BETWEEN 0 AND 60),
    first_letter_days INTEGER NOT NULL CHECK (first_letter_days > 0),
    second_letter_days INTEGER NOT NULL CHECK (second_letter_days > first_letter_days),
    third_letter_days INTEGER NOT NULL CHECK (third_letter_days > second_letter_days),
    letter_gap_days INTEGER NOT NULL CHECK (letter_gap_days BETWEEN 0 AND 60),
    keep_years INTEGER NOT NULL CHECK (keep_years BETWEEN 1 AND 30),
    paint_floor_um INTEGER NOT NULL CHECK (paint_floor_um BETWEEN 0 AND 2000),
    removal_budget_um INTEGER NOT NULL CHECK (removal_budget_um BETWEEN 0 AND 100),
    asks_express_wish BOOLEAN NOT NULL,
    consent_text TEXT NOT NULL CHECK (consent_text <> ''),
    conditions_text TEXT NOT NULL,
    CHECK ((deposit_kind = 'AMOUNT') = (deposit_amount IS NOT NULL)),
    CHECK ((deposit_kind = 'PERCENT') = (deposit_percent IS NOT NULL))
);

CREATE TABLE shop_rates (
    shop_id TEXT NOT NULL PRIMARY KEY REFERENCES shop (id),
    private_prices TEXT NOT NULL CHECK (private_prices IN ('NET', 'GROSS')),
    trade_prices TEXT NOT NULL CHECK (trade_prices IN ('NET', 'GROSS')),
    tax_basis TEXT NOT NULL CHECK (tax_basis IN ('CATEGORY', 'LINE')),
    tax_rounding TEXT NOT NULL
        CHECK (tax_rounding IN ('HALF_AWAY_FROM_ZERO', 'HALF_TOWARD_ZERO', 'HALF_EVEN', 'TOWARD_ZERO')),
    labour_rate BIGINT NOT NULL CHECK (labour_rate >= 0),
    price_step BIGINT NOT NULL CHECK (price_step > 0),
    size_small TEXT NOT NULL,
    size_medium TEXT NOT NULL,
    size_large TEXT NOT NULL,
    size_extra_large TEXT NOT NULL,
    condition_light TEXT NOT NULL,
    condition_fair TEXT NOT NULL,
    condition_heavy TEXT NOT NULL,
    condition_severe TEXT NOT NULL,
    wet_dry_minutes INTEGER NOT NULL CHECK (wet_dry_minutes BETWEEN 0 AND 240),
    outside_inside_minutes INTEGER NOT NULL CHECK (outside_inside_minutes BETWEEN 0 AND 240),
    zone_minutes INTEGER NOT NULL CHECK (zone_minutes BETWEEN 0 AND 240),
    tool_out_minutes INTEGER NOT NULL CHECK (tool_out_minutes BETWEEN 0 AND 240),
    tool_away_minutes INTEGER NOT NULL CHECK (tool_away_minutes BETWEEN 0 AND 240),
    mask_on_minutes INTEGER NOT NULL CHECK (mask_on_minutes BETWEEN 0 AND 240),
    mask_off_minutes INTEGER NOT NULL CHECK (mask_off_minutes BETWEEN 0 AND 240),
    clean_up_minutes INTEGER NOT NULL CHECK (clean_up_minutes BETWEEN 0 AND 240),
    version BIGINT NOT NULL CHECK (version > 0),
    updated_at BIGINT NOT NULL
);

CREATE TABLE tax_category (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    code TEXT NOT NULL,
    name TEXT NOT NULL,
    category TEXT NOT NULL CHECK (category IN ('S', 'Z', 'E', 'AE', 'O', 'K', 'G', 'L', 'M')),
    reason TEXT NOT NULL,
    usual BOOLEAN NOT NULL,
    version BIGINT NOT NULL CHECK (version > 0),
    created_at BIGINT NOT NULL,
    updated_at BIGINT NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, code)
);

CREATE UNIQUE INDEX tax_category_usual ON tax_category (shop_id) WHERE usual;

CREATE TABLE tax_rate (
    tax_category_id TEXT NOT NULL,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    from_day TEXT NOT NULL CHECK (length(from_day) = 10),
    percent TEXT NOT NULL,
    PRIMARY KEY (tax_category_id, from_day),
    FOREIGN KEY (shop_id, tax_category_id) REFERENCES tax_category (shop_id, id)
);

CREATE TABLE opening_hours (
    shop_id TEXT NOT NULL REFERENCES shop (id),
    weekday INTEGER NOT NULL CHECK (weekday BETWEEN 1 AND 7),
    opens INTEGER NOT NULL CHECK (opens BETWEEN 0 AND 1439),
    closes INTEGER NOT NULL CHECK (closes BETWEEN 0 AND 1440 AND closes <> opens),
    PRIMARY KEY (shop_id, weekday, opens)
);

CREATE TABLE bay (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    name TEXT NOT NULL CHECK (name <> ''),
    in_use BOOLEAN NOT NULL,
    version BIGINT NOT NULL CHECK (version > 0),
    created_at BIGINT NOT NULL,
    updated_at BIGINT NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, name)
);

CREATE TABLE bay_feature (
    bay_id TEXT NOT NULL,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    feature TEXT NOT NULL,
    PRIMARY KEY (bay_id, feature),
    FOREIGN KEY (shop_id, bay_id) REFERENCES bay (shop_id, id)
);

CREATE TABLE closure (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    bay_id TEXT,
    from_day TEXT NOT NULL CHECK (length(from_day) = 10),
    until_day TEXT NOT NULL CHECK (length(until_day) = 10 AND until_day > from_day),
    reason TEXT NOT NULL,
    version BIGINT NOT NULL CHECK (version > 0),
    created_at BIGINT NOT NULL,
    updated_at BIGINT NOT NULL,
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, bay_id) REFERENCES bay (shop_id, id)
);

CREATE INDEX closure_by_end ON closure (shop_id, until_day);
