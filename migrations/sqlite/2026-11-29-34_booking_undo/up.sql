-- When the place began before the car came early, so that an arrival can be undone; null where it didn't.
ALTER TABLE placement ADD COLUMN agreed_starts INTEGER;

-- What was put right afterwards, with the reason: moves that were undone, times that were corrected, waits that were ended
-- early. A step's code stands where it is about a step, the move and its moment where one was undone.
CREATE TABLE amendment (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    booking_id TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('UNDONE', 'TIMES_CORRECTED', 'WAIT_ENDED')),
    step TEXT,
    undone TEXT,
    made_at INTEGER,
    person_id TEXT,
    reason TEXT CHECK (reason <> ''),
    at INTEGER NOT NULL,
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, booking_id) REFERENCES booking (shop_id, id),
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id),
    CHECK ((kind = 'UNDONE') = (undone IS NOT NULL)),
    CHECK ((kind = 'UNDONE') = (made_at IS NOT NULL))
) STRICT;

CREATE INDEX amendment_of_booking ON amendment (shop_id, booking_id, id);

DROP TRIGGER booking_moves;

CREATE TRIGGER booking_moves BEFORE UPDATE ON booking
WHEN NEW.state <> OLD.state AND NOT (
    (OLD.state = 'HELD' AND NEW.state IN ('BOOKED', 'CANCELLED'))
    OR (OLD.state = 'BOOKED' AND NEW.state IN ('IN_BAY', 'CANCELLED', 'MISSED'))
    OR (OLD.state = 'IN_BAY' AND NEW.state IN ('READY', 'BOOKED'))
    OR (OLD.state = 'READY' AND NEW.state IN ('HANDED_OVER', 'IN_BAY'))
    OR (OLD.state = 'HANDED_OVER' AND NEW.state = 'READY')
    OR (OLD.state IN ('CANCELLED', 'MISSED') AND NEW.state = 'BOOKED'))
BEGIN
    SELECT RAISE(ABORT, 'a booking has no such move');
END;
