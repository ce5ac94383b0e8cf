-- The exclusion constraints below compare ids beside ranges, which takes this extension. It comes with the server and is
-- trusted (PostgreSQL 13 and later): whoever may CREATE in the database may add it. It stays on the way down, since the
-- database may have had it before.
CREATE EXTENSION IF NOT EXISTS btree_gist;

CREATE TABLE booking (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    quote_id TEXT NOT NULL,
    plan_id TEXT NOT NULL,
    customer_id TEXT NOT NULL,
    vehicle_id TEXT NOT NULL,
    state TEXT NOT NULL
        CHECK (state IN ('HELD', 'BOOKED', 'IN_BAY', 'READY', 'HANDED_OVER', 'CANCELLED', 'MISSED')),
    hold_until BIGINT,
    booked_at BIGINT,
    arrived_at BIGINT,
    ready_at BIGINT,
    handed_over_at BIGINT,
    ended_at BIGINT,
    reason TEXT,
    note TEXT NOT NULL,
    deposit BIGINT CHECK (deposit > 0),
    deposit_received_at BIGINT,
    version BIGINT NOT NULL,
    created_at BIGINT NOT NULL,
    updated_at BIGINT NOT NULL,
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
);

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
    starts BIGINT NOT NULL,
    finishes BIGINT NOT NULL,
    live BOOLEAN NOT NULL,
    hold_until BIGINT,
    UNIQUE (shop_id, booking_id),
    FOREIGN KEY (shop_id, booking_id) REFERENCES booking (shop_id, id),
    FOREIGN KEY (shop_id, bay_id) REFERENCES bay (shop_id, id),
    -- No job stands in a bay for more than 90 days, so that a day is found without reading all days after it.
    CHECK (finishes > starts AND finishes - starts <= 129600),
    -- The wall: two cars never stand in one bay at once, whoever asks and however many at the same time.
    CONSTRAINT placement_overlap EXCLUDE USING gist (bay_id WITH =, int8range(starts, finishes) WITH &&) WHERE (live)
);

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
    starts BIGINT NOT NULL,
    finishes BIGINT NOT NULL,
    live BOOLEAN NOT NULL,
    hold_until BIGINT,
    FOREIGN KEY (shop_id, booking_id) REFERENCES booking (shop_id, id),
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id),
    -- As long as a placement may be.
    CHECK (finishes > starts AND finishes - starts <= 129600),
    CONSTRAINT attendance_overlap
        EXCLUDE USING gist (person_id WITH =, int8range(starts, finishes) WITH &&) WHERE (live)
);

CREATE INDEX attendance_of_person ON attendance (person_id, finishes) WHERE live;
CREATE INDEX attendance_by_end ON attendance (shop_id, finishes) WHERE live;
CREATE INDEX attendance_of_booking ON attendance (shop_id, booking_id, place, starts);

CREATE FUNCTION booking_moves() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' THEN
        RAISE EXCEPTION 'a booking is never removed';
    END IF;
    IF NEW.state <> OLD.state AND NOT (
        (OLD.state = 'HELD' AND NEW.state IN ('BOOKED', 'CANCELLED'))
        OR (OLD.state = 'BOOKED' AND NEW.state IN ('IN_BAY', 'CANCELLED', 'MISSED'))
        OR (OLD.state = 'IN_BAY' AND NEW.state = 'READY')
        OR (OLD.state = 'READY' AND NEW.state = 'HANDED_OVER')) THEN
        RAISE EXCEPTION 'a booking has no such move';
    END IF;
    RETURN NEW;
END
$$;

CREATE TRIGGER booking_moves BEFORE UPDATE OR DELETE ON booking FOR EACH ROW EXECUTE FUNCTION booking_moves();
