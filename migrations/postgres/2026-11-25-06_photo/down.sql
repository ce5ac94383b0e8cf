DROP TABLE photo;
