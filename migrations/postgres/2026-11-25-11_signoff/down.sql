DROP TABLE signoff;
DROP TABLE link;
DROP FUNCTION signoff_stays;
