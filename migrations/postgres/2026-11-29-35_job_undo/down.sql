DROP TABLE job_move;
ALTER TABLE job DROP COLUMN set_aside_at;
