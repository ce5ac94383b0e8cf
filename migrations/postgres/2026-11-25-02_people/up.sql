CREATE TABLE person (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    name TEXT NOT NULL,
    email TEXT NOT NULL,
    email_key TEXT NOT NULL UNIQUE,
    role TEXT NOT NULL CHECK (role IN ('OWNER', 'DESK', 'TECHNICIAN', 'ACCOUNTANT')),
    password_hash TEXT NOT NULL,
    active BOOLEAN NOT NULL,
    version BIGINT NOT NULL,
    created_at BIGINT NOT NULL,
    updated_at BIGINT NOT NULL,
    UNIQUE (shop_id, id)
);

CREATE TABLE session (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    person_id TEXT NOT NULL,
    created_at BIGINT NOT NULL,
    ended_at BIGINT,
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id)
);

CREATE INDEX session_by_person ON session (person_id);

CREATE TABLE signing_key (
    id TEXT NOT NULL PRIMARY KEY,
    secret BYTEA NOT NULL,
    created_at BIGINT NOT NULL,
    retired_at BIGINT
);
