DROP TABLE variation;
