DROP TRIGGER booking_moves;

CREATE TRIGGER booking_moves BEFORE UPDATE ON booking
WHEN NEW.state <> OLD.state AND NOT (
    (OLD.state = 'HELD' AND NEW.state IN ('BOOKED', 'CANCELLED'))
    OR (OLD.state = 'BOOKED' AND NEW.state IN ('IN_BAY', 'CANCELLED', 'MISSED'))
    OR (OLD.state = 'IN_BAY' AND NEW.state = 'READY')
    OR (OLD.state = 'READY' AND NEW.state = 'HANDED_OVER'))
BEGIN
    SELECT RAISE(ABORT, 'a booking has no such move');
END;

DROP TABLE amendment;
ALTER TABLE placement DROP COLUMN agreed_starts;
