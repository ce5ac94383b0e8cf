-- Names of series and terms of money beside `shop_terms`, which has no room for them.
CREATE TABLE shop_money (
    shop_id TEXT NOT NULL PRIMARY KEY REFERENCES shop (id),
    deposit_prefix TEXT NOT NULL CHECK (deposit_prefix <> ''),
    credit_prefix TEXT NOT NULL CHECK (credit_prefix <> ''),
    refund_prefix TEXT NOT NULL CHECK (refund_prefix <> ''),
    deposit_days INTEGER NOT NULL CHECK (deposit_days BETWEEN 0 AND 365),
    deposit_asked TEXT NOT NULL CHECK (deposit_asked IN ('BY_HAND', 'AT_SIGNING', 'AT_BOOKING')),
    deposit_called_off TEXT NOT NULL CHECK (deposit_called_off IN ('GIVE_BACK', 'KEEP_AS_PRICE', 'KEEP_AS_COMPENSATION')),
    version INTEGER NOT NULL CHECK (version > 0),
    updated_at INTEGER NOT NULL
) STRICT;

-- A shop whose quotes or invoices have one of these names gets another one.
INSERT INTO shop_money (shop_id, deposit_prefix, credit_prefix, refund_prefix, deposit_days, deposit_asked,
    deposit_called_off, version, updated_at)
SELECT s.id,
    CASE WHEN EXISTS (SELECT 1 FROM number_prefix p WHERE p.shop_id = s.id AND p.prefix = 'DEP')
        THEN 'DEP2' ELSE 'DEP' END,
    CASE WHEN EXISTS (SELECT 1 FROM number_prefix p WHERE p.shop_id = s.id AND p.prefix = 'CRN')
        THEN 'CRN2' ELSE 'CRN' END,
    CASE WHEN EXISTS (SELECT 1 FROM number_prefix p WHERE p.shop_id = s.id AND p.prefix = 'RFD')
        THEN 'RFD2' ELSE 'RFD' END,
    7, 'BY_HAND', 'GIVE_BACK', 1, s.updated_at
FROM shop s;

INSERT INTO number_prefix (shop_id, prefix, kind) SELECT shop_id, deposit_prefix, 'DEPOSIT_INVOICE' FROM shop_money;
INSERT INTO number_prefix (shop_id, prefix, kind) SELECT shop_id, credit_prefix, 'CREDIT_NOTE' FROM shop_money;
INSERT INTO number_prefix (shop_id, prefix, kind) SELECT shop_id, refund_prefix, 'REFUND_RECEIPT' FROM shop_money;

CREATE TABLE credit_note (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    invoice_id TEXT NOT NULL,
    customer_id TEXT NOT NULL,
    number TEXT NOT NULL CHECK (number <> ''),
    buyer_name TEXT NOT NULL,
    issued_on TEXT NOT NULL CHECK (length(issued_on) = 10),
    payable INTEGER NOT NULL CHECK (payable >= 0),
    -- Whether nothing is left of the invoice after it.
    takes_all INTEGER NOT NULL CHECK (takes_all IN (0, 1)),
    reason TEXT NOT NULL,
    digest TEXT NOT NULL CHECK (length(digest) = 64),
    mailed_at INTEGER,
    version INTEGER NOT NULL CHECK (version > 0),
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    document TEXT NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, number),
    FOREIGN KEY (shop_id, invoice_id) REFERENCES invoice (shop_id, id),
    FOREIGN KEY (shop_id, customer_id) REFERENCES customer (shop_id, id)
) STRICT;

CREATE INDEX credit_note_by_invoice ON credit_note (shop_id, invoice_id, id);
CREATE INDEX credit_note_by_customer ON credit_note (shop_id, customer_id, id);

-- How much of each line of the invoice a credit note credits, in the invoice's prices.
CREATE TABLE credit_line (
    credit_note_id TEXT NOT NULL,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    line INTEGER NOT NULL CHECK (line >= 0),
    amount INTEGER NOT NULL CHECK (amount <> 0),
    PRIMARY KEY (credit_note_id, line),
    FOREIGN KEY (shop_id, credit_note_id) REFERENCES credit_note (shop_id, id)
) STRICT;

-- A payment that was undone stays, with day and reason.
ALTER TABLE payment ADD COLUMN undone_on TEXT CHECK (length(undone_on) = 10);
ALTER TABLE payment ADD COLUMN undo_reason TEXT CHECK (undo_reason IN ('MISTAKE', 'BOUNCED', 'CHARGED_BACK'));
ALTER TABLE payment ADD COLUMN undo_note TEXT;

-- Part of an amount that had been written off before it was paid.
ALTER TABLE payment_part ADD COLUMN recovered INTEGER NOT NULL DEFAULT 0 CHECK (recovered >= 0);

-- Part of a payment that a credit note released: it is the customer's credit again.
CREATE TABLE payment_release (
    credit_note_id TEXT NOT NULL,
    payment_id TEXT NOT NULL,
    invoice_id TEXT NOT NULL,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    amount INTEGER NOT NULL CHECK (amount > 0),
    PRIMARY KEY (credit_note_id, payment_id),
    FOREIGN KEY (shop_id, credit_note_id) REFERENCES credit_note (shop_id, id),
    FOREIGN KEY (shop_id, payment_id) REFERENCES payment (shop_id, id),
    FOREIGN KEY (shop_id, invoice_id) REFERENCES invoice (shop_id, id)
) STRICT;

CREATE INDEX payment_release_by_payment ON payment_release (shop_id, payment_id);

CREATE TABLE refund (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    customer_id TEXT NOT NULL,
    method TEXT NOT NULL CHECK (method IN ('CASH', 'CARD', 'TRANSFER', 'OTHER')),
    paid_on TEXT NOT NULL CHECK (length(paid_on) = 10),
    amount INTEGER NOT NULL CHECK (amount > 0),
    reference TEXT NOT NULL,
    reason TEXT NOT NULL,
    number TEXT NOT NULL CHECK (number <> ''),
    digest TEXT NOT NULL CHECK (length(digest) = 64),
    undone_on TEXT CHECK (length(undone_on) = 10),
    undo_note TEXT,
    version INTEGER NOT NULL CHECK (version > 0),
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    document TEXT NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, number),
    FOREIGN KEY (shop_id, customer_id) REFERENCES customer (shop_id, id),
    CHECK ((undone_on IS NULL) = (undo_note IS NULL))
) STRICT;

CREATE INDEX refund_by_customer ON refund (shop_id, customer_id, id);

-- Amounts that were written off, each with its day; an amount below zero takes some of it back.
CREATE TABLE write_off (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    invoice_id TEXT NOT NULL,
    cause TEXT NOT NULL CHECK (cause IN ('GIVEN_UP', 'REINSTATED', 'PAID', 'PAYMENT_UNDONE', 'CREDITED')),
    on_day TEXT NOT NULL CHECK (length(on_day) = 10),
    amount INTEGER NOT NULL CHECK (amount <> 0),
    reason TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    FOREIGN KEY (shop_id, invoice_id) REFERENCES invoice (shop_id, id)
) STRICT;

CREATE INDEX write_off_by_invoice ON write_off (shop_id, invoice_id, id);
CREATE INDEX write_off_by_day ON write_off (shop_id, on_day, id);

-- Amounts that were written off before: the day is in the log.
INSERT INTO write_off (id, shop_id, invoice_id, cause, on_day, amount, reason, created_at)
SELECT i.id, i.shop_id, i.id, 'GIVEN_UP',
    date(COALESCE((SELECT MAX(r.at) FROM record r
        WHERE r.shop_id = i.shop_id AND r.subject_id = i.id AND r.action = 'invoice.written-off'), i.updated_at) / 1000, 'unixepoch'),
    i.written_off, '', i.updated_at
FROM invoice i WHERE i.written_off > 0;

-- A payment is undone once; whose it is changes only along a merge, and back.
DROP TRIGGER payment_is_final;
CREATE TRIGGER payment_is_final BEFORE UPDATE ON payment
WHEN NEW.id IS NOT OLD.id
    OR NEW.shop_id IS NOT OLD.shop_id
    OR NEW.method IS NOT OLD.method
    OR NEW.received_on IS NOT OLD.received_on
    OR NEW.amount IS NOT OLD.amount
    OR NEW.surplus IS NOT OLD.surplus
    OR NEW.reference IS NOT OLD.reference
    OR NEW.note IS NOT OLD.note
    OR NEW.created_at IS NOT OLD.created_at
    OR OLD.undone_on IS NOT NULL AND (NEW.undone_on IS NOT OLD.undone_on OR NEW.undo_reason IS NOT OLD.undo_reason
        OR NEW.undo_note IS NOT OLD.undo_note)
    OR NEW.customer_id IS NOT OLD.customer_id AND NOT EXISTS (SELECT 1 FROM customer c WHERE c.shop_id = OLD.shop_id
        AND (c.id = OLD.customer_id AND c.merged_into = NEW.customer_id
            OR c.id = NEW.customer_id AND c.merged_into = OLD.customer_id)) BEGIN
    SELECT RAISE(ABORT, 'a payment never changes');
END;

CREATE TRIGGER credit_note_is_final BEFORE UPDATE ON credit_note
WHEN NEW.id IS NOT OLD.id
    OR NEW.shop_id IS NOT OLD.shop_id
    OR NEW.invoice_id IS NOT OLD.invoice_id
    OR NEW.number IS NOT OLD.number
    OR NEW.buyer_name IS NOT OLD.buyer_name
    OR NEW.issued_on IS NOT OLD.issued_on
    OR NEW.payable IS NOT OLD.payable
    OR NEW.takes_all IS NOT OLD.takes_all
    OR NEW.reason IS NOT OLD.reason
    OR NEW.document IS NOT OLD.document
    OR NEW.digest IS NOT OLD.digest
    OR NEW.created_at IS NOT OLD.created_at
    OR NEW.customer_id IS NOT OLD.customer_id AND NOT EXISTS (SELECT 1 FROM customer c WHERE c.shop_id = OLD.shop_id
        AND (c.id = OLD.customer_id AND c.merged_into = NEW.customer_id
            OR c.id = NEW.customer_id AND c.merged_into = OLD.customer_id)) BEGIN
    SELECT RAISE(ABORT, 'a credit note never changes');
END;

CREATE TRIGGER credit_note_stays BEFORE DELETE ON credit_note BEGIN
    SELECT RAISE(ABORT, 'a credit note is never removed');
END;

CREATE TRIGGER credit_line_is_final BEFORE UPDATE ON credit_line BEGIN
    SELECT RAISE(ABORT, 'a credit note never changes');
END;

CREATE TRIGGER credit_line_stays BEFORE DELETE ON credit_line BEGIN
    SELECT RAISE(ABORT, 'a credit note is never removed');
END;

CREATE TRIGGER payment_release_is_final BEFORE UPDATE ON payment_release BEGIN
    SELECT RAISE(ABORT, 'a payment never changes');
END;

CREATE TRIGGER payment_release_stays BEFORE DELETE ON payment_release BEGIN
    SELECT RAISE(ABORT, 'a payment is never removed');
END;

CREATE TRIGGER refund_is_final BEFORE UPDATE ON refund
WHEN NEW.id IS NOT OLD.id
    OR NEW.shop_id IS NOT OLD.shop_id
    OR NEW.method IS NOT OLD.method
    OR NEW.paid_on IS NOT OLD.paid_on
    OR NEW.amount IS NOT OLD.amount
    OR NEW.reference IS NOT OLD.reference
    OR NEW.reason IS NOT OLD.reason
    OR NEW.number IS NOT OLD.number
    OR NEW.document IS NOT OLD.document
    OR NEW.digest IS NOT OLD.digest
    OR NEW.created_at IS NOT OLD.created_at
    OR OLD.undone_on IS NOT NULL AND (NEW.undone_on IS NOT OLD.undone_on OR NEW.undo_note IS NOT OLD.undo_note)
    OR NEW.customer_id IS NOT OLD.customer_id AND NOT EXISTS (SELECT 1 FROM customer c WHERE c.shop_id = OLD.shop_id
        AND (c.id = OLD.customer_id AND c.merged_into = NEW.customer_id
            OR c.id = NEW.customer_id AND c.merged_into = OLD.customer_id)) BEGIN
    SELECT RAISE(ABORT, 'a refund never changes');
END;

CREATE TRIGGER refund_stays BEFORE DELETE ON refund BEGIN
    SELECT RAISE(ABORT, 'a refund is never removed');
END;

CREATE TRIGGER write_off_is_final BEFORE UPDATE ON write_off BEGIN
    SELECT RAISE(ABORT, 'a write-off never changes');
END;

CREATE TRIGGER write_off_stays BEFORE DELETE ON write_off BEGIN
    SELECT RAISE(ABORT, 'a write-off is never removed');
END;
