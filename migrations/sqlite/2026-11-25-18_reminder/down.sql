DROP TABLE reminder;
