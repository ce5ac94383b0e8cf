DROP TRIGGER booking_vehicle ON booking;
DROP FUNCTION booking_vehicle;
DROP TRIGGER placement_vehicle ON placement;
DROP FUNCTION placement_vehicle;
ALTER TABLE placement DROP CONSTRAINT placement_vehicle_overlap;
DROP INDEX placement_of_vehicle;
DROP INDEX placement_standing;
ALTER TABLE placement DROP COLUMN standing;
ALTER TABLE placement DROP COLUMN vehicle_id;
