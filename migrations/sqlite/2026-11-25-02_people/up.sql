CREATE TABLE person (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    name TEXT NOT NULL,
    email TEXT NOT NULL,
    email_key TEXT NOT NULL UNIQUE,
    role TEXT NOT NULL CHECK (role IN ('OWNER', 'DESK', 'TECHNICIAN', 'ACCOUNTANT')),
    password_hash TEXT NOT NULL,
    active INTEGER NOT NULL CHECK (active IN (0, 1)),
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    UNIQUE (shop_id, id)
) STRICT;

CREATE TABLE session (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    person_id TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    ended_at INTEGER,
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id)
) STRICT;

CREATE INDEX session_by_person ON session (person_id);

CREATE TABLE signing_key (
    id TEXT NOT NULL PRIMARY KEY,
    secret BLOB NOT NULL,
    created_at INTEGER NOT NULL,
    retired_at INTEGER
) STRICT;
