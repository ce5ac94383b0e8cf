CREATE TABLE job (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    booking_id TEXT NOT NULL,
    plan_id TEXT NOT NULL,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, booking_id),
    FOREIGN KEY (shop_id, booking_id) REFERENCES booking (shop_id, id),
    FOREIGN KEY (shop_id, plan_id) REFERENCES plan (shop_id, id)
) STRICT;

CREATE TABLE job_step (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    job_id TEXT NOT NULL,
    code TEXT NOT NULL,
    place INTEGER NOT NULL CHECK (place >= 0),
    name TEXT NOT NULL,
    after_codes TEXT NOT NULL,
    budget_minutes INTEGER NOT NULL CHECK (budget_minutes >= 0),
    wait_minutes INTEGER NOT NULL CHECK (wait_minutes >= 0),
    wait_when TEXT NOT NULL CHECK (wait_when IN ('ANY', 'OPEN')),
    state TEXT NOT NULL CHECK (state IN ('OPEN', 'RUNNING', 'PAUSED', 'FINISHED', 'STRUCK')),
    clear_from INTEGER,
    finished_at INTEGER,
    struck_because TEXT,
    version INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, job_id, code),
    FOREIGN KEY (shop_id, job_id) REFERENCES job (shop_id, id),
    CHECK ((state = 'FINISHED') = (finished_at IS NOT NULL)),
    CHECK ((state = 'STRUCK') = (struck_because IS NOT NULL))
) STRICT;

CREATE TABLE job_piece (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    step_id TEXT NOT NULL,
    person_id TEXT NOT NULL,
    from_at INTEGER NOT NULL,
    until_at INTEGER CHECK (until_at >= from_at),
    FOREIGN KEY (shop_id, step_id) REFERENCES job_step (shop_id, id),
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id)
) STRICT;

CREATE INDEX job_piece_of_step ON job_piece (shop_id, step_id, from_at);
-- Nobody is at two steps at once, of one car or of two.
CREATE UNIQUE INDEX job_piece_running ON job_piece (shop_id, person_id) WHERE until_at IS NULL;

CREATE TABLE job_use (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    step_id TEXT NOT NULL,
    product TEXT NOT NULL,
    amount TEXT NOT NULL,
    person_id TEXT NOT NULL,
    at INTEGER NOT NULL,
    UNIQUE (shop_id, step_id, product),
    FOREIGN KEY (shop_id, step_id) REFERENCES job_step (shop_id, id),
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id)
) STRICT;

CREATE TABLE job_note (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    job_id TEXT NOT NULL,
    step_code TEXT,
    person_id TEXT NOT NULL,
    text TEXT NOT NULL,
    photos TEXT NOT NULL,
    at INTEGER NOT NULL,
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, job_id) REFERENCES job (shop_id, id),
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id)
) STRICT;

CREATE INDEX job_note_of_job ON job_note (shop_id, job_id, id);

CREATE TABLE handover (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    booking_id TEXT NOT NULL,
    job_id TEXT NOT NULL,
    person_id TEXT NOT NULL,
    received_by TEXT NOT NULL CHECK (received_by <> ''),
    odometer INTEGER CHECK (odometer BETWEEN 0 AND 9999999),
    odometer_unit TEXT CHECK (odometer_unit IN ('KM', 'MI')),
    checklist TEXT NOT NULL,
    aftercare TEXT NOT NULL,
    note TEXT NOT NULL,
    at INTEGER NOT NULL,
    UNIQUE (shop_id, booking_id),
    FOREIGN KEY (shop_id, booking_id) REFERENCES booking (shop_id, id),
    FOREIGN KEY (shop_id, job_id) REFERENCES job (shop_id, id),
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id),
    CHECK ((odometer IS NULL) = (odometer_unit IS NULL))
) STRICT;
