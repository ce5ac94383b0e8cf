-- The bays that a booking's car is in, one row for each: it may be moved from bay to bay while the work is done. The place
-- says the whole time and the bay where the car is now, or where it comes first. What `live`, `hold_until` and
-- `vehicle_id` say is the same as there: triggers copy it, and refuse anything else.
CREATE TABLE booking_stay (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    booking_id TEXT NOT NULL,
    ordinal INTEGER NOT NULL CHECK (ordinal >= 0),
    bay_id TEXT NOT NULL,
    starts INTEGER NOT NULL,
    finishes INTEGER NOT NULL,
    -- The step with which the car is moved into this bay; null for the first one.
    begins_with TEXT CHECK ((begins_with IS NULL) = (ordinal = 0)),
    live INTEGER NOT NULL CHECK (live IN (0, 1)),
    hold_until INTEGER,
    vehicle_id TEXT,
    UNIQUE (shop_id, booking_id, ordinal),
    FOREIGN KEY (shop_id, booking_id) REFERENCES placement (shop_id, booking_id),
    FOREIGN KEY (shop_id, bay_id) REFERENCES bay (shop_id, id),
    CHECK (finishes > starts AND finishes - starts <= 129600)
) STRICT;

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
DROP TRIGGER placement_insert_overlap;
DROP TRIGGER placement_update_overlap;
DROP TRIGGER placement_insert_vehicle_overlap;
DROP TRIGGER placement_update_vehicle_overlap;
DROP INDEX placement_of_bay;

CREATE TRIGGER booking_stay_insert_overlap BEFORE INSERT ON booking_stay
WHEN NEW.live AND (SELECT starts FROM booking_stay
    WHERE bay_id = NEW.bay_id AND live AND finishes > NEW.starts ORDER BY finishes LIMIT 1) < NEW.finishes
BEGIN
    SELECT RAISE(ABORT, 'overlap: a bay is taken');
END;

CREATE TRIGGER booking_stay_update_overlap BEFORE UPDATE ON booking_stay
WHEN NEW.live AND (SELECT starts FROM booking_stay
    WHERE bay_id = NEW.bay_id AND live AND finishes > NEW.starts AND id <> NEW.id ORDER BY finishes LIMIT 1) < NEW.finishes
BEGIN
    SELECT RAISE(ABORT, 'overlap: a bay is taken');
END;

CREATE TRIGGER booking_stay_insert_vehicle_overlap BEFORE INSERT ON booking_stay
WHEN NEW.live AND (SELECT starts FROM booking_stay
    WHERE vehicle_id = NEW.vehicle_id AND live AND finishes > NEW.starts ORDER BY finishes LIMIT 1) < NEW.finishes
BEGIN
    SELECT RAISE(ABORT, 'overlap: a car is in another bay');
END;

CREATE TRIGGER booking_stay_update_vehicle_overlap BEFORE UPDATE ON booking_stay
WHEN NEW.live AND (SELECT starts FROM booking_stay
    WHERE vehicle_id = NEW.vehicle_id AND live AND finishes > NEW.starts AND id <> NEW.id ORDER BY finishes LIMIT 1)
    < NEW.finishes
BEGIN
    SELECT RAISE(ABORT, 'overlap: a car is in another bay');
END;

CREATE TRIGGER booking_stay_insert_place BEFORE INSERT ON booking_stay
WHEN NOT EXISTS (SELECT 1 FROM placement p WHERE p.shop_id = NEW.shop_id AND p.booking_id = NEW.booking_id
    AND p.live = NEW.live AND p.hold_until IS NEW.hold_until AND p.vehicle_id IS NEW.vehicle_id)
BEGIN
    SELECT RAISE(ABORT, 'a stay is for the car of its place');
END;

CREATE TRIGGER booking_stay_update_place BEFORE UPDATE ON booking_stay
WHEN NOT EXISTS (SELECT 1 FROM placement p WHERE p.shop_id = NEW.shop_id AND p.booking_id = NEW.booking_id
    AND p.live = NEW.live AND p.hold_until IS NEW.hold_until AND p.vehicle_id IS NEW.vehicle_id)
BEGIN
    SELECT RAISE(ABORT, 'a stay is for the car of its place');
END;

CREATE TRIGGER placement_stays AFTER UPDATE ON placement
WHEN NEW.live <> OLD.live OR NEW.hold_until IS NOT OLD.hold_until OR NEW.vehicle_id IS NOT OLD.vehicle_id
BEGIN
    UPDATE booking_stay SET live = NEW.live, hold_until = NEW.hold_until, vehicle_id = NEW.vehicle_id
    WHERE shop_id = NEW.shop_id AND booking_id = NEW.booking_id;
END;
