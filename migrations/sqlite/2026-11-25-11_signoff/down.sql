DROP TABLE signoff;
DROP TABLE link;
