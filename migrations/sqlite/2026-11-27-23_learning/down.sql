ALTER TABLE placement DROP COLUMN promise_margin;
ALTER TABLE shop_terms DROP COLUMN promise_percent;
ALTER TABLE shop_terms DROP COLUMN usual_spread_percent;
ALTER TABLE shop_terms DROP COLUMN learning_jobs;
DROP TABLE lesson;
