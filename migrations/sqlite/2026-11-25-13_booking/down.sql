DROP TABLE attendance;
DROP TABLE placement;
DROP TABLE booking;
