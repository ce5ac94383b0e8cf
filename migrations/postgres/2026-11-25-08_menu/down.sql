DROP TABLE menu_revision;
DROP TABLE menu_draft;
DROP FUNCTION menu_revision_stays();
