-- The fourth form: the event's timing, whether an inspected car may race, and who was allowed to race and why.

ALTER TABLE event ADD COLUMN timing_s FLOAT;
ALTER TABLE inspection ADD COLUMN legal INTEGER;
ALTER TABLE entrant ADD COLUMN allowed TEXT NOT NULL DEFAULT '';
ALTER TABLE entrant ADD COLUMN allowed_over_id INTEGER REFERENCES inspection (id);
