CREATE OR REPLACE FUNCTION booking_moves() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' THEN
        RAISE EXCEPTION 'a booking is never removed';
    END IF;
    IF NEW.state <> OLD.state AND NOT (
        (OLD.state = 'HELD' AND NEW.state IN ('BOOKED', 'CANCELLED'))
        OR (OLD.state = 'BOOKED' AND NEW.state IN ('IN_BAY', 'CANCELLED', 'MISSED'))
        OR (OLD.state = 'IN_BAY' AND NEW.state = 'READY')
        OR (OLD.state = 'READY' AND NEW.state = 'HANDED_OVER')) THEN
        RAISE EXCEPTION 'a booking has no such move';
    END IF;
    RETURN NEW;
END
$$;

DROP TABLE amendment;
ALTER TABLE placement DROP COLUMN agreed_starts;
