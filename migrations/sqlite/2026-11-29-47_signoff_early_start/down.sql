DROP TABLE early_start;
