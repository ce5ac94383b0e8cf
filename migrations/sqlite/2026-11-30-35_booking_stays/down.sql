-- A database in which a car leaves its bay before the end of its place keeps those places: they are no longer checked.
DROP TRIGGER placement_stays;
DROP TABLE booking_stay;
ALTER TABLE placement DROP COLUMN move_minutes;
ALTER TABLE placement DROP COLUMN plan_order;
CREATE INDEX placement_of_bay ON placement (bay_id, finishes) WHERE live;

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
