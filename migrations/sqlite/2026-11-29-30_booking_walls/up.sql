-- Two more walls: one car is never in two bays at once, and two cars never stand in one bay, however long one of them
-- overruns.
--
-- The car is null only where an older program put one car into two bays at once: those places stay as they were.
ALTER TABLE placement ADD COLUMN vehicle_id TEXT;
-- Whether the car came into the bay and was not driven out. After the hand-over, when the place is no longer live, it says
-- how the car stood before, so that a hand-over can be undone.
ALTER TABLE placement ADD COLUMN standing INTEGER NOT NULL DEFAULT 0 CHECK (standing IN (0, 1));

UPDATE placement SET vehicle_id = (SELECT b.vehicle_id FROM booking b WHERE b.id = placement.booking_id)
WHERE NOT live OR NOT EXISTS (
    SELECT 1 FROM placement other
    JOIN booking theirs ON theirs.id = other.booking_id
    JOIN booking mine ON mine.id = placement.booking_id
    WHERE other.live AND other.id <> placement.id AND theirs.vehicle_id = mine.vehicle_id
        AND other.starts < placement.finishes AND other.finishes > placement.starts);

-- Of several cars that an older program let into one bay, the one in work that came last.
UPDATE placement SET standing = 1 WHERE id IN (
    SELECT p.id FROM placement p JOIN booking b ON b.id = p.booking_id
    WHERE b.state IN ('IN_BAY', 'READY') AND NOT EXISTS (
        SELECT 1 FROM placement other JOIN booking theirs ON theirs.id = other.booking_id
        WHERE theirs.state IN ('IN_BAY', 'READY') AND other.bay_id = p.bay_id
            AND (theirs.state = 'IN_BAY', theirs.arrived_at, theirs.id) > (b.state = 'IN_BAY', b.arrived_at, b.id)));

CREATE UNIQUE INDEX placement_standing ON placement (shop_id, bay_id) WHERE standing AND live;
CREATE INDEX placement_of_vehicle ON placement (vehicle_id, finishes) WHERE live;

CREATE TRIGGER placement_insert_vehicle BEFORE INSERT ON placement
WHEN NEW.vehicle_id IS NOT (SELECT vehicle_id FROM booking WHERE shop_id = NEW.shop_id AND id = NEW.booking_id)
BEGIN
    SELECT RAISE(ABORT, 'a place is for the car of its booking');
END;

CREATE TRIGGER placement_update_vehicle BEFORE UPDATE ON placement
WHEN NEW.vehicle_id IS NOT OLD.vehicle_id
    AND NEW.vehicle_id IS NOT (SELECT vehicle_id FROM booking WHERE shop_id = NEW.shop_id AND id = NEW.booking_id)
BEGIN
    SELECT RAISE(ABORT, 'a place is for the car of its booking');
END;

CREATE TRIGGER booking_vehicle AFTER UPDATE ON booking WHEN NEW.vehicle_id <> OLD.vehicle_id
BEGIN
    UPDATE placement SET vehicle_id = NEW.vehicle_id WHERE shop_id = NEW.shop_id AND booking_id = NEW.id;
END;

CREATE TRIGGER placement_insert_vehicle_overlap BEFORE INSERT ON placement
WHEN NEW.live AND (SELECT starts FROM placement
    WHERE vehicle_id = NEW.vehicle_id AND live AND finishes > NEW.starts ORDER BY finishes LIMIT 1) < NEW.finishes
BEGIN
    SELECT RAISE(ABORT, 'overlap: a car is in another bay');
END;

CREATE TRIGGER placement_update_vehicle_overlap BEFORE UPDATE ON placement
WHEN NEW.live AND (SELECT starts FROM placement
    WHERE vehicle_id = NEW.vehicle_id AND live AND finishes > NEW.starts AND id <> NEW.id ORDER BY finishes LIMIT 1) < NEW.finishes
BEGIN
    SELECT RAISE(ABORT, 'overlap: a car is in another bay');
END;
