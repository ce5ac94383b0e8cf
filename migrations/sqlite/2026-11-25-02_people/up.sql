CREATE TABLE person (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    name TEXT NOT NULL CHECK (name <> ''),
    email TEXT NOT NULL,
    email_key TEXT NOT NULL UNIQUE,
    role TEXT NOT NULL CHECK (role IN ('OWNER', 'DESK', 'TECHNICIAN', 'ACCOUNTANT')),
    password_hash TEXT NOT NULL,
    active INTEGER NOT NULL CHECK (active IN (0, 1)),
    version INTEGER NOT NULL CHECK (version > 0),
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    UNIQUE (shop_id, id)
) STRICT;

CREATE TABLE person_skill (
    person_id TEXT NOT NULL,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    skill TEXT NOT NULL,
    PRIMARY KEY (person_id, skill),
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id)
) STRICT;

CREATE TABLE shift (
    person_id TEXT NOT NULL,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    weekday INTEGER NOT NULL CHECK (weekday BETWEEN 1 AND 7),
    begins INTEGER NOT NULL CHECK (begins BETWEEN 0 AND 1439),
    ends INTEGER NOT NULL CHECK (ends BETWEEN 0 AND 1440 AND ends <> begins),
    PRIMARY KEY (person_id, weekday, begins),
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id)
) STRICT;

CREATE TABLE absence (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    person_id TEXT NOT NULL,
    from_day TEXT CHECK (length(from_day) = 10),
    until_day TEXT CHECK (length(until_day) = 10 AND until_day > from_day),
    from_minute INTEGER,
    until_minute INTEGER CHECK (until_minute > from_minute),
    note TEXT NOT NULL,
    version INTEGER NOT NULL CHECK (version > 0),
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id),
    CHECK ((from_day IS NULL) = (until_day IS NULL)),
    CHECK ((from_minute IS NULL) = (until_minute IS NULL)),
    CHECK ((from_day IS NULL) <> (from_minute IS NULL))
) STRICT;

CREATE INDEX absence_by_person ON absence (shop_id, person_id);

CREATE TABLE session (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    person_id TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    ends_at INTEGER NOT NULL,
    ended_at INTEGER,
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id)
) STRICT;

CREATE INDEX session_by_person ON session (person_id);

CREATE TABLE refresh_token (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    session_id TEXT NOT NULL,
    digest TEXT NOT NULL UNIQUE CHECK (length(digest) = 64),
    created_at INTEGER NOT NULL,
    ends_at INTEGER NOT NULL,
    used_at INTEGER,
    FOREIGN KEY (shop_id, session_id) REFERENCES session (shop_id, id)
) STRICT;

CREATE INDEX refresh_token_by_session ON refresh_token (session_id);

CREATE TABLE invite (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    person_id TEXT NOT NULL,
    digest TEXT NOT NULL UNIQUE CHECK (length(digest) = 64),
    created_at INTEGER NOT NULL,
    ends_at INTEGER NOT NULL,
    used_at INTEGER,
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id)
) STRICT;

CREATE INDEX invite_by_person ON invite (person_id);

CREATE TABLE setup_code (
    digest TEXT NOT NULL PRIMARY KEY CHECK (length(digest) = 64),
    created_at INTEGER NOT NULL
) STRICT;

CREATE TABLE sign_in_attempt (
    key TEXT NOT NULL PRIMARY KEY CHECK (length(key) = 64),
    failures INTEGER NOT NULL CHECK (failures > 0),
    since INTEGER NOT NULL,
    blocked_until INTEGER NOT NULL
) STRICT;

CREATE TABLE signing_key (
    id TEXT NOT NULL PRIMARY KEY,
    secret BLOB NOT NULL,
    created_at INTEGER NOT NULL,
    retired_at INTEGER
) STRICT;
