DROP TABLE proposal;
