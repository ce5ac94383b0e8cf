-- The booking whose ready car was driven out of the bay for this car, so that it is in the bay again if the move is undone:
-- one column for the arrival, and one for the first step of a car that was waiting. Null if the bay was empty.
ALTER TABLE placement ADD COLUMN driven_out_on_arrival TEXT;
ALTER TABLE placement ADD COLUMN driven_out_on_entry TEXT;
