-- Whether customers may choose a free time on their own page, and how many hours before (common practice: a day). Off at
-- first, so shops agree times as before until they switch it on.
CREATE TABLE shop_self_booking (
    shop_id TEXT NOT NULL PRIMARY KEY REFERENCES shop (id),
    allowed INTEGER NOT NULL CHECK (allowed IN (0, 1)),
    notice_hours INTEGER NOT NULL CHECK (notice_hours BETWEEN 0 AND 720),
    version INTEGER NOT NULL,
    updated_at INTEGER NOT NULL
) STRICT;

INSERT INTO shop_self_booking (shop_id, allowed, notice_hours, version, updated_at)
SELECT id, 0, 24, 1, updated_at FROM shop;

-- Links may open the page of a whole stay as well. SQLite can't change a CHECK, so the table is made anew; sign-offs refer to
-- it, and their references are checked at the end.
PRAGMA defer_foreign_keys = ON;

CREATE TEMP TABLE kept_link AS SELECT * FROM link;
DROP TABLE link;

CREATE TABLE link (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    token_hash TEXT NOT NULL UNIQUE CHECK (length(token_hash) = 64),
    purpose TEXT NOT NULL CHECK (purpose IN ('QUOTE', 'VARIATION', 'STAY')),
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

-- Questions that customers ask on the page of their stay.
CREATE TABLE stay_question (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    quote_id TEXT NOT NULL,
    link_id TEXT NOT NULL,
    text TEXT NOT NULL,
    asked_at INTEGER NOT NULL,
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, quote_id) REFERENCES quote (shop_id, id),
    FOREIGN KEY (shop_id, link_id) REFERENCES link (shop_id, id)
) STRICT;

CREATE INDEX stay_question_of_quote ON stay_question (shop_id, quote_id, id);

-- Whether the customer sees a note and its photographs on the page of their stay. Notes so far were for the studio alone.
ALTER TABLE job_note ADD COLUMN for_customer INTEGER NOT NULL DEFAULT 0 CHECK (for_customer IN (0, 1));
