-- A sign-in of a tablet would reach every page once nothing says where it was opened, so it ends.
UPDATE session SET page_digest = NULL, ended_at = ends_at WHERE id IN (SELECT session_id FROM tablet_session);

DROP TABLE tablet_session;
DROP TABLE tablet_digits;
DROP TABLE tablet;
