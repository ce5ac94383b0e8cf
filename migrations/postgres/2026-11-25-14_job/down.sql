DROP TABLE handover;
DROP TABLE job_note;
DROP TABLE job_use;
DROP TABLE job_piece;
DROP TABLE job_step;
DROP TABLE job;
