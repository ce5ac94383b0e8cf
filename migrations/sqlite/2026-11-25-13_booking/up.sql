CREATE TABLE booking (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    quote_id TEXT NOT NULL,
    plan_id TEXT NOT NULL,
    customer_id TEXT NOT NULL,
    vehicle_id TEXT NOT NULL,
    state TEXT NOT NULL
        CHECK (state IN ('HELD', 'BOOKED', 'IN_BAY', 'READY', 'HANDED_OVER', 'CANCELLED', 'MISSED')),
    hold_until INTEGER,
    booked_at INTEGER,
    arrived_at INTEGER,
    ready_at INTEGER,
    handed_over_at INTEGER,
    ended_at INTEGER,
    reason TEXT,
    note TEXT NOT NULL,
    deposit INTEGER CHECK (deposit > 0),
    deposit_received_at INTEGER,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, quote_id) REFERENCES quote (shop_id, id),
    FOREIGN KEY (shop_id, plan_id) REFERENCES plan (shop_id, id),
    FOREIGN KEY (shop_id, customer_id) REFERENCES customer (shop_id, id),
    FOREIGN KEY (shop_id, vehicle_id) REFERENCES vehicle (shop_id, id),
    CHECK ((state = 'HELD') = (hold_until IS NOT NULL)),
    CHECK ((state IN ('CANCELLED', 'MISSED')) = (ended_at IS NOT NULL)),
    CHECK ((state IN ('IN_BAY', 'READY', 'HANDED_OVER')) = (arrived_at IS NOT NULL)),
    CHECK ((state IN ('READY', 'HANDED_OVER')) = (ready_at IS NOT NULL)),
    CHECK ((state = 'HANDED_OVER') = (handed_over_at IS NOT NULL)),
    CHECK (deposit_received_at IS NULL OR deposit IS NOT NULL)
) STRICT;

-- A signed quote has one place at a time.
CREATE UNIQUE INDEX booking_one_of_quote ON booking (shop_id, quote_id) WHERE state NOT IN ('CANCELLED', 'MISSED');
CREATE INDEX booking_by_quote ON booking (shop_id, quote_id, id);
CREATE INDEX booking_by_plan ON booking (shop_id, plan_id);
CREATE INDEX booking_by_customer ON booking (shop_id, customer_id, id);
CREATE INDEX booking_lapsing ON booking (shop_id, hold_until) WHERE state = 'HELD';

CREATE TABLE placement (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    booking_id TEXT NOT NULL,
    bay_id TEXT NOT NULL,
    starts INTEGER NOT NULL,
    finishes INTEGER NOT NULL,
    live INTEGER NOT NULL CHECK (live IN (0, 1)),
    hold_until INTEGER,
    UNIQUE (shop_id, booking_id),
    FOREIGN KEY (shop_id, booking_id) REFERENCES booking (shop_id, id),
    FOREIGN KEY (shop_id, bay_id) REFERENCES bay (shop_id, id),
    -- No job stands in a bay for more than 90 days, so that a day is found without reading all days after it.
    CHECK (finishes > starts AND finishes - starts <= 129600)
) STRICT;

CREATE INDEX placement_of_bay ON placement (bay_id, finishes) WHERE live;
CREATE INDEX placement_by_end ON placement (shop_id, finishes);
CREATE INDEX placement_by_start ON placement (shop_id, starts, booking_id);

CREATE TABLE attendance (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    booking_id TEXT NOT NULL,
    person_id TEXT NOT NULL,
    step TEXT NOT NULL,
    place INTEGER NOT NULL CHECK (place >= 0),
    starts INTEGER NOT NULL,
    finishes INTEGER NOT NULL,
    live INTEGER NOT NULL CHECK (live IN (0, 1)),
    hold_until INTEGER,
    FOREIGN KEY (shop_id, booking_id) REFERENCES booking (shop_id, id),
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id),
    -- As long as a placement may be.
    CHECK (finishes > starts AND finishes - starts <= 129600)
) STRICT;

CREATE INDEX attendance_of_person ON attendance (person_id, finishes) WHERE live;
CREATE INDEX attendance_by_end ON attendance (shop_id, finishes) WHERE live;
CREATE INDEX attendance_of_booking ON attendance (shop_id, booking_id, place, starts);

-- The walls: two cars never stand in one bay at once, and nobody works at two places at once. What is live is apart, so
-- of what ends after the new start the first to end is the first to start, and it decides alone.

CREATE TRIGGER placement_insert_overlap BEFORE INSERT ON placement
WHEN NEW.live AND (SELECT starts FROM placement
    WHERE bay_id = NEW.bay_id AND live AND finishes > NEW.starts ORDER BY finishes LIMIT 1) < NEW.finishes
BEGIN
    SELECT RAISE(ABORT, 'overlap: a bay is taken');
END;

CREATE TRIGGER placement_update_overlap BEFORE UPDATE ON placement
WHEN NEW.live AND (SELECT starts FROM placement
    WHERE bay_id = NEW.bay_id AND live AND finishes > NEW.starts AND id <> NEW.id ORDER BY finishes LIMIT 1) < NEW.finishes
BEGIN
    SELECT RAISE(ABORT, 'overlap: a bay is taken');
END;

CREATE TRIGGER attendance_insert_overlap BEFORE INSERT ON attendance
WHEN NEW.live AND (SELECT starts FROM attendance
    WHERE person_id = NEW.person_id AND live AND finishes > NEW.starts ORDER BY finishes LIMIT 1) < NEW.finishes
BEGIN
    SELECT RAISE(ABORT, 'overlap: a person is taken');
END;

CREATE TRIGGER attendance_update_overlap BEFORE UPDATE ON attendance
WHEN NEW.live AND (SELECT starts FROM attendance
    WHERE person_id = NEW.person_id AND live AND finishes > NEW.starts AND id <> NEW.id ORDER BY finishes LIMIT 1) < NEW.finishes
BEGIN
    SELECT RAISE(ABORT, 'overlap: a person is taken');
END;

CREATE TRIGGER booking_moves BEFORE UPDATE ON booking
WHEN NEW.state <> OLD.state AND NOT (
    (OLD.state = 'HELD' AND NEW.state IN ('BOOKED', 'CANCELLED'))
    OR (OLD.state = 'BOOKED' AND NEW.state IN ('IN_BAY', 'CANCELLED', 'MISSED'))
    OR (OLD.state = 'IN_BAY' AND NEW.state = 'READY')
    OR (OLD.state = 'READY' AND NEW.state = 'HANDED_OVER'))
BEGIN
    SELECT RAISE(ABORT, 'a booking has no such move');
END;

CREATE TRIGGER booking_stays BEFORE DELETE ON booking BEGIN
    SELECT RAISE(ABORT, 'a booking is never removed');
END;
