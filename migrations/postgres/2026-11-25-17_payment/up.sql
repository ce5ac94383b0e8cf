CREATE TABLE payment (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    customer_id TEXT NOT NULL,
    method TEXT NOT NULL CHECK (method IN ('CASH', 'CARD', 'TRANSFER', 'CREDIT', 'OTHER')),
    received_on TEXT NOT NULL CHECK (length(received_on) = 10),
    amount BIGINT NOT NULL CHECK (amount > 0),
    surplus BIGINT NOT NULL CHECK (surplus BETWEEN 0 AND amount),
    reference TEXT NOT NULL,
    note TEXT NOT NULL,
    version BIGINT NOT NULL CHECK (version > 0),
    created_at BIGINT NOT NULL,
    updated_at BIGINT NOT NULL,
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, customer_id) REFERENCES customer (shop_id, id)
);

CREATE INDEX payment_by_customer ON payment (shop_id, customer_id, id);

CREATE TABLE payment_part (
    payment_id TEXT NOT NULL,
    invoice_id TEXT NOT NULL,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    place INTEGER NOT NULL CHECK (place >= 0),
    amount BIGINT NOT NULL CHECK (amount > 0),
    PRIMARY KEY (payment_id, invoice_id),
    FOREIGN KEY (shop_id, payment_id) REFERENCES payment (shop_id, id),
    FOREIGN KEY (shop_id, invoice_id) REFERENCES invoice (shop_id, id)
);

CREATE INDEX payment_part_by_invoice ON payment_part (shop_id, invoice_id);

CREATE FUNCTION payment_is_final() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'a payment never changes and is never removed';
END
$$;

CREATE TRIGGER payment_is_final BEFORE UPDATE OR DELETE ON payment
    FOR EACH ROW EXECUTE FUNCTION payment_is_final();

CREATE TRIGGER payment_part_is_final BEFORE UPDATE OR DELETE ON payment_part
    FOR EACH ROW EXECUTE FUNCTION payment_is_final();
