-- The bays that a booking's car is in, one row for each: it may be moved from bay to bay while the work is done. The place
-- says the whole time and the bay where the car is now, or where it comes first. What `live`, `hold_until` and
-- `vehicle_id` say is the same as there: triggers copy it, and refuse anything else.
CREATE TABLE booking_stay (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    booking_id TEXT NOT NULL,
    ordinal INTEGER NOT NULL CHECK (ordinal >= 0),
    bay_id TEXT NOT NULL,
    starts BIGINT NOT NULL,
    finishes BIGINT NOT NULL,
    -- The step with which the car is moved into this bay; null for the first one.
    begins_with TEXT CHECK ((begins_with IS NULL) = (ordinal = 0)),
    live BOOLEAN NOT NULL,
    hold_until BIGINT,
    vehicle_id TEXT,
    UNIQUE (shop_id, booking_id, ordinal),
    FOREIGN KEY (shop_id, booking_id) REFERENCES placement (shop_id, booking_id),
    FOREIGN KEY (shop_id, bay_id) REFERENCES bay (shop_id, id),
    CHECK (finishes > starts AND finishes - starts <= 129600),
    -- The walls: two cars are never in one bay at once, and a car is never in two bays.
    CONSTRAINT booking_stay_overlap EXCLUDE USING gist (bay_id WITH =, int8range(starts, finishes) WITH &&) WHERE (live),
    CONSTRAINT booking_stay_vehicle_overlap
        EXCLUDE USING gist (vehicle_id WITH =, int8range(starts, finishes) WITH &&) WHERE (live)
);

-- Every car kept its bay so far, and its steps were done in the plan's own order.
INSERT INTO booking_stay (id, shop_id, booking_id, ordinal, bay_id, starts, finishes, live, hold_until, vehicle_id)
SELECT id, shop_id, booking_id, 0, bay_id, starts, finishes, live, hold_until, vehicle_id FROM placement;

CREATE INDEX booking_stay_of_bay ON booking_stay (bay_id, finishes) WHERE live;
CREATE INDEX booking_stay_of_vehicle ON booking_stay (vehicle_id, finishes) WHERE live;
CREATE INDEX booking_stay_by_end ON booking_stay (shop_id, finishes);

-- Which of the orders of the plan's front the steps follow, counted from the plan's own one, 0; and the minutes that the
-- first step in each further bay takes longer, since the car is moved.
ALTER TABLE placement ADD COLUMN plan_order INTEGER NOT NULL DEFAULT 0 CHECK (plan_order >= 0);
ALTER TABLE placement ADD COLUMN move_minutes INTEGER NOT NULL DEFAULT 0 CHECK (move_minutes BETWEEN 0 AND 1440);

-- The walls are on the stays now: a car leaves its first bay before the end of its place.
ALTER TABLE placement DROP CONSTRAINT placement_overlap;
ALTER TABLE placement DROP CONSTRAINT placement_vehicle_overlap;
DROP INDEX placement_of_bay;

CREATE FUNCTION booking_stay_place() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NOT EXISTS (SELECT 1 FROM placement p WHERE p.shop_id = NEW.shop_id AND p.booking_id = NEW.booking_id
        AND p.live = NEW.live AND p.hold_until IS NOT DISTINCT FROM NEW.hold_until
        AND p.vehicle_id IS NOT DISTINCT FROM NEW.vehicle_id) THEN
        RAISE EXCEPTION 'a stay is for the car of its place';
    END IF;
    RETURN NEW;
END
$$;

CREATE TRIGGER booking_stay_place BEFORE INSERT OR UPDATE ON booking_stay
    FOR EACH ROW EXECUTE FUNCTION booking_stay_place();

CREATE FUNCTION placement_stays() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    UPDATE booking_stay SET live = NEW.live, hold_until = NEW.hold_until, vehicle_id = NEW.vehicle_id
    WHERE shop_id = NEW.shop_id AND booking_id = NEW.booking_id;
    RETURN NULL;
END
$$;

CREATE TRIGGER placement_stays AFTER UPDATE ON placement FOR EACH ROW
    WHEN (NEW.live <> OLD.live OR NEW.hold_until IS DISTINCT FROM OLD.hold_until
        OR NEW.vehicle_id IS DISTINCT FROM OLD.vehicle_id)
    EXECUTE FUNCTION placement_stays();
