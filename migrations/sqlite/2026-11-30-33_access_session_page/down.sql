DROP INDEX session_by_page_digest;
ALTER TABLE session DROP COLUMN page_used_at;
ALTER TABLE session DROP COLUMN page_digest;
