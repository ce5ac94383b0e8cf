ALTER TABLE job_note DROP COLUMN for_customer;
DROP TABLE stay_question;

DELETE FROM link WHERE purpose = 'STAY';

PRAGMA defer_foreign_keys = ON;

CREATE TEMP TABLE kept_link AS SELECT * FROM link;
DROP TABLE link;

CREATE TABLE link (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    token_hash TEXT NOT NULL UNIQUE CHECK (length(token_hash) = 64),
    purpose TEXT NOT NULL CHECK (purpose IN ('QUOTE', 'VARIATION')),
    subject_id TEXT NOT NULL,
    method TEXT NOT NULL CHECK (method IN ('LINK', 'IN_PERSON')),
    contact TEXT NOT NULL,
    person_id TEXT,
    sent_at INTEGER NOT NULL,
    first_opened_at INTEGER,
    ends_at INTEGER NOT NULL,
    used_at INTEGER,
    revoked_at INTEGER,
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id),
    CHECK (ends_at > sent_at),
    CHECK (method = 'LINK' OR person_id IS NOT NULL)
) STRICT;

INSERT INTO link (id, shop_id, token_hash, purpose, subject_id, method, contact, person_id, sent_at, first_opened_at,
    ends_at, used_at, revoked_at)
SELECT id, shop_id, token_hash, purpose, subject_id, method, contact, person_id, sent_at, first_opened_at,
    ends_at, used_at, revoked_at FROM kept_link;
DROP TABLE kept_link;

CREATE INDEX link_by_subject ON link (shop_id, purpose, subject_id);

DROP TABLE shop_self_booking;
