ALTER TABLE job_step DROP COLUMN wait_holds;
