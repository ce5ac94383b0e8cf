-- What a step's wait holds back. Every wait of steps from before held the whole car in the diary.
ALTER TABLE job_step ADD COLUMN wait_holds TEXT NOT NULL DEFAULT 'CAR' CHECK (wait_holds IN ('CAR', 'AFTER'));
