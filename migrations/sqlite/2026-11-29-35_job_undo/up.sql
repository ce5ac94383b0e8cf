-- When the car's arrival was undone: the job is hidden until the car comes, and its notes wait for it.
ALTER TABLE job ADD COLUMN set_aside_at INTEGER;

-- Moves of a step that can be undone, each with the step as it was before, as JSON. `version` is the step's version
-- before the move: the highest is the last one.
CREATE TABLE job_move (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    step_id TEXT NOT NULL,
    version INTEGER NOT NULL,
    what TEXT NOT NULL
        CHECK (what IN ('START', 'JOIN', 'STOP', 'LEAVE', 'FINISH', 'STRIKE', 'CORRECT', 'END_WAIT')),
    at INTEGER NOT NULL,
    was TEXT NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, step_id, version),
    FOREIGN KEY (shop_id, step_id) REFERENCES job_step (shop_id, id)
) STRICT;
