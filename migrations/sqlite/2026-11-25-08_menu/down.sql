DROP TABLE menu_revision;
DROP TABLE menu_draft;
