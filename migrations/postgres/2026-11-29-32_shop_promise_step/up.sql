-- Minutes of the clock to which promised times are rounded up.
ALTER TABLE shop_terms ADD COLUMN promise_step_minutes INTEGER NOT NULL DEFAULT 15
    CHECK (promise_step_minutes IN (1, 2, 3, 4, 5, 6, 10, 12, 15, 20, 30, 60, 120, 180, 240));
