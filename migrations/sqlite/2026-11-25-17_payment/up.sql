CREATE TABLE payment (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    customer_id TEXT NOT NULL,
    method TEXT NOT NULL CHECK (method IN ('CASH', 'CARD', 'TRANSFER', 'CREDIT', 'OTHER')),
    received_on TEXT NOT NULL CHECK (length(received_on) = 10),
    amount INTEGER NOT NULL CHECK (amount > 0),
    surplus INTEGER NOT NULL CHECK (surplus BETWEEN 0 AND amount),
    reference TEXT NOT NULL,
    note TEXT NOT NULL,
    version INTEGER NOT NULL CHECK (version > 0),
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, customer_id) REFERENCES customer (shop_id, id)
) STRICT;

CREATE INDEX payment_by_customer ON payment (shop_id, customer_id, id);

CREATE TABLE payment_part (
    payment_id TEXT NOT NULL,
    invoice_id TEXT NOT NULL,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    place INTEGER NOT NULL CHECK (place >= 0),
    amount INTEGER NOT NULL CHECK (amount > 0),
    PRIMARY KEY (payment_id, invoice_id),
    FOREIGN KEY (shop_id, payment_id) REFERENCES payment (shop_id, id),
    FOREIGN KEY (shop_id, invoice_id) REFERENCES invoice (shop_id, id)
) STRICT;

CREATE INDEX payment_part_by_invoice ON payment_part (shop_id, invoice_id);

CREATE TRIGGER payment_is_final BEFORE UPDATE ON payment BEGIN
    SELECT RAISE(ABORT, 'a payment never changes');
END;

CREATE TRIGGER payment_stays BEFORE DELETE ON payment BEGIN
    SELECT RAISE(ABORT, 'a payment is never removed');
END;

CREATE TRIGGER payment_part_is_final BEFORE UPDATE ON payment_part BEGIN
    SELECT RAISE(ABORT, 'a payment never changes');
END;

CREATE TRIGGER payment_part_stays BEFORE DELETE ON payment_part BEGIN
    SELECT RAISE(ABORT, 'a payment is never removed');
END;
