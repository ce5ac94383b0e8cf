-- A database in which a car leaves its bay before the end of its place, and another one has the bay then, has no way down:
-- the old wall refuses it.
DROP TRIGGER placement_stays ON placement;
DROP FUNCTION placement_stays;
DROP TABLE booking_stay;
DROP FUNCTION booking_stay_place;
ALTER TABLE placement DROP COLUMN move_minutes;
ALTER TABLE placement DROP COLUMN plan_order;
CREATE INDEX placement_of_bay ON placement (bay_id, finishes) WHERE live;
ALTER TABLE placement ADD CONSTRAINT placement_overlap
    EXCLUDE USING gist (bay_id WITH =, int8range(starts, finishes) WITH &&) WHERE (live);
ALTER TABLE placement ADD CONSTRAINT placement_vehicle_overlap
    EXCLUDE USING gist (vehicle_id WITH =, int8range(starts, finishes) WITH &&) WHERE (live);
