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

CREATE INDEX link_by_subject ON link (shop_id, purpose, subject_id);

CREATE TABLE signoff (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    subject_kind TEXT NOT NULL CHECK (subject_kind IN ('QUOTE', 'VARIATION')),
    subject_id TEXT NOT NULL,
    document TEXT NOT NULL,
    document_digest TEXT NOT NULL CHECK (length(document_digest) = 64),
    evidence TEXT NOT NULL,
    evidence_digest TEXT NOT NULL CHECK (length(evidence_digest) = 64),
    choices TEXT NOT NULL,
    method TEXT NOT NULL CHECK (method IN ('LINK', 'IN_PERSON', 'PHONE')),
    typed_name TEXT NOT NULL,
    noted_by TEXT,
    link_id TEXT,
    early_start INTEGER CHECK (early_start IN (0, 1)),
    signed_at INTEGER NOT NULL,
    UNIQUE (shop_id, id),
    -- One revision is signed once, however many people press the button.
    UNIQUE (shop_id, subject_kind, subject_id),
    FOREIGN KEY (shop_id, noted_by) REFERENCES person (shop_id, id),
    FOREIGN KEY (shop_id, link_id) REFERENCES link (shop_id, id),
    CHECK (method = 'LINK' OR noted_by IS NOT NULL),
    CHECK (method = 'PHONE' OR link_id IS NOT NULL)
) STRICT;

CREATE TRIGGER signoff_is_sealed BEFORE UPDATE ON signoff BEGIN
    SELECT RAISE(ABORT, 'a sign-off never changes');
END;

CREATE TRIGGER signoff_stays BEFORE DELETE ON signoff BEGIN
    SELECT RAISE(ABORT, 'a sign-off is never removed');
END;
