DROP TABLE attendance;
DROP TABLE placement;
DROP TABLE booking;
DROP FUNCTION booking_moves;
