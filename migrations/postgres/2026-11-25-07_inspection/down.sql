DROP TABLE paint_decision;
DROP TABLE paint_reading;
DROP TABLE inspection_photo;
DROP TABLE finding;
DROP TABLE inspection;
