ALTER TABLE placement DROP COLUMN driven_out_on_entry;
ALTER TABLE placement DROP COLUMN driven_out_on_arrival;
