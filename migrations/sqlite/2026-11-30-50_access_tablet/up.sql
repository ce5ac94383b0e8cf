-- Devices beside the bays, on which people sign in with four digits. A device is enrolled once, by a code that ends; from then
-- on the token in its cookie names it. Of both only digests are kept. A sign-in on it ends after idle_minutes without use.
CREATE TABLE tablet (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    version INTEGER NOT NULL,
    name TEXT NOT NULL,
    idle_minutes INTEGER NOT NULL CHECK (idle_minutes BETWEEN 10 AND 30),
    code_digest TEXT UNIQUE CHECK (length(code_digest) = 64),
    code_ends_at INTEGER,
    device_digest TEXT UNIQUE CHECK (length(device_digest) = 64),
    enrolled_at INTEGER,
    ended_at INTEGER,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    UNIQUE (shop_id, id)
) STRICT;

-- The digits of each person who has some, as a slow digest. They open pages of the bays on an enrolled device, nothing else.
CREATE TABLE tablet_digits (
    shop_id TEXT NOT NULL REFERENCES shop (id),
    person_id TEXT NOT NULL,
    digest TEXT NOT NULL,
    updated_at INTEGER NOT NULL,
    PRIMARY KEY (shop_id, person_id),
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id)
) STRICT;

-- Sign-ins that were opened on a tablet.
CREATE TABLE tablet_session (
    session_id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    tablet_id TEXT NOT NULL,
    FOREIGN KEY (shop_id, session_id) REFERENCES session (shop_id, id),
    FOREIGN KEY (shop_id, tablet_id) REFERENCES tablet (shop_id, id)
) STRICT;
