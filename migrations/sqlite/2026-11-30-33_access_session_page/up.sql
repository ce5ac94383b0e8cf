-- A sign-in of the pages is known by the digest of the token in its cookie, and ends when it was idle for too long. Both are
-- empty for sign-ins of the API, which have refresh tokens.
ALTER TABLE session ADD COLUMN page_digest TEXT CHECK (length(page_digest) = 64);
ALTER TABLE session ADD COLUMN page_used_at INTEGER;

CREATE UNIQUE INDEX session_by_page_digest ON session (page_digest);
