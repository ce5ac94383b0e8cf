-- What finished steps took, for the budgets of the next ones.
CREATE TABLE lesson (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    job_id TEXT NOT NULL,
    step TEXT NOT NULL,
    services TEXT NOT NULL,
    size_class TEXT NOT NULL CHECK (size_class IN ('SMALL', 'MEDIUM', 'LARGE', 'EXTRA_LARGE')),
    condition TEXT NOT NULL CHECK (condition IN ('LIGHT', 'FAIR', 'HEAVY', 'SEVERE')),
    two_hands INTEGER NOT NULL CHECK (two_hands IN (0, 1)),
    actual_minutes INTEGER NOT NULL CHECK (actual_minutes >= 0),
    learned_at INTEGER NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, job_id, step),
    FOREIGN KEY (shop_id, job_id) REFERENCES job (shop_id, id)
) STRICT;

CREATE INDEX lesson_of_step ON lesson (shop_id, step, id);

-- How a shop learns and promises; the defaults are those of a new shop (common practice).
ALTER TABLE shop_terms ADD COLUMN learning_jobs INTEGER NOT NULL DEFAULT 5 CHECK (learning_jobs BETWEEN 1 AND 100);
ALTER TABLE shop_terms ADD COLUMN usual_spread_percent INTEGER NOT NULL DEFAULT 25
    CHECK (usual_spread_percent BETWEEN 1 AND 100);
ALTER TABLE shop_terms ADD COLUMN promise_percent INTEGER NOT NULL DEFAULT 80 CHECK (promise_percent BETWEEN 50 AND 99);

-- Minutes from a placement's finish to what was promised. Places that were made before were promised with their finish.
ALTER TABLE placement ADD COLUMN promise_margin INTEGER NOT NULL DEFAULT 0 CHECK (promise_margin >= 0);
