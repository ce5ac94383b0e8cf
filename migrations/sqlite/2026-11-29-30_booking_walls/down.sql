DROP TRIGGER placement_update_vehicle_overlap;
DROP TRIGGER placement_insert_vehicle_overlap;
DROP TRIGGER booking_vehicle;
DROP TRIGGER placement_update_vehicle;
DROP TRIGGER placement_insert_vehicle;
DROP INDEX placement_of_vehicle;
DROP INDEX placement_standing;
ALTER TABLE placement DROP COLUMN standing;
ALTER TABLE placement DROP COLUMN vehicle_id;
