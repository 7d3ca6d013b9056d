-- The second form: race day, and columns that the first form lacked.

CREATE TABLE entrant (
    id INTEGER NOT NULL,
    origin INTEGER NOT NULL,
    at_utc TEXT NOT NULL,
    zone_min INTEGER NOT NULL,
    noted_by TEXT NOT NULL,
    note TEXT NOT NULL,
    doubt TEXT NOT NULL,
    supersedes INTEGER,
    superseded_by INTEGER,
    reason TEXT NOT NULL,
    struck INTEGER NOT NULL,
    car_id INTEGER NOT NULL,
    state TEXT NOT NULL,
    division TEXT NOT NULL,
    seed INTEGER,
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES entrant (id),
    FOREIGN KEY(supersedes) REFERENCES entrant (id),
    FOREIGN KEY(superseded_by) REFERENCES entrant (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(car_id) REFERENCES car (id)
);

CREATE TABLE draw (
    id INTEGER NOT NULL,
    origin INTEGER NOT NULL,
    at_utc TEXT NOT NULL,
    zone_min INTEGER NOT NULL,
    noted_by TEXT NOT NULL,
    note TEXT NOT NULL,
    doubt TEXT NOT NULL,
    supersedes INTEGER,
    superseded_by INTEGER,
    reason TEXT NOT NULL,
    struck INTEGER NOT NULL,
    name TEXT NOT NULL,
    race TEXT NOT NULL,
    lanes INTEGER NOT NULL,
    seed INTEGER NOT NULL,
    settings TEXT NOT NULL,
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES draw (id),
    FOREIGN KEY(supersedes) REFERENCES draw (id),
    FOREIGN KEY(superseded_by) REFERENCES draw (id) DEFERRABLE INITIALLY DEFERRED
);

CREATE TABLE heat (
    id INTEGER NOT NULL,
    origin INTEGER NOT NULL,
    at_utc TEXT NOT NULL,
    zone_min INTEGER NOT NULL,
    noted_by TEXT NOT NULL,
    note TEXT NOT NULL,
    doubt TEXT NOT NULL,
    supersedes INTEGER,
    superseded_by INTEGER,
    reason TEXT NOT NULL,
    struck INTEGER NOT NULL,
    draw_id INTEGER NOT NULL,
    round INTEGER NOT NULL,
    number INTEGER NOT NULL,
    reruns_id INTEGER,
    name TEXT NOT NULL,
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES heat (id),
    FOREIGN KEY(supersedes) REFERENCES heat (id),
    FOREIGN KEY(superseded_by) REFERENCES heat (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(draw_id) REFERENCES draw (id),
    FOREIGN KEY(reruns_id) REFERENCES heat (id)
);

CREATE TABLE heat_lane (
    id INTEGER NOT NULL,
    origin INTEGER NOT NULL,
    at_utc TEXT NOT NULL,
    zone_min INTEGER NOT NULL,
    noted_by TEXT NOT NULL,
    note TEXT NOT NULL,
    doubt TEXT NOT NULL,
    supersedes INTEGER,
    superseded_by INTEGER,
    reason TEXT NOT NULL,
    struck INTEGER NOT NULL,
    heat_id INTEGER NOT NULL,
    lane INTEGER NOT NULL,
    car_id INTEGER NOT NULL,
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES heat_lane (id),
    FOREIGN KEY(supersedes) REFERENCES heat_lane (id),
    FOREIGN KEY(superseded_by) REFERENCES heat_lane (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(heat_id) REFERENCES heat (id),
    FOREIGN KEY(car_id) REFERENCES car (id)
);

CREATE TABLE heat_result (
    id INTEGER NOT NULL,
    origin INTEGER NOT NULL,
    at_utc TEXT NOT NULL,
    zone_min INTEGER NOT NULL,
    noted_by TEXT NOT NULL,
    note TEXT NOT NULL,
    doubt TEXT NOT NULL,
    supersedes INTEGER,
    superseded_by INTEGER,
    reason TEXT NOT NULL,
    struck INTEGER NOT NULL,
    heat_id INTEGER NOT NULL,
    lane INTEGER NOT NULL,
    car_id INTEGER NOT NULL,
    "end" TEXT NOT NULL,
    time_s FLOAT,
    place INTEGER,
    speed_m_s FLOAT,
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES heat_result (id),
    FOREIGN KEY(supersedes) REFERENCES heat_result (id),
    FOREIGN KEY(superseded_by) REFERENCES heat_result (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(heat_id) REFERENCES heat (id),
    FOREIGN KEY(car_id) REFERENCES car (id)
);

CREATE TABLE ruling (
    id INTEGER NOT NULL,
    origin INTEGER NOT NULL,
    at_utc TEXT NOT NULL,
    zone_min INTEGER NOT NULL,
    noted_by TEXT NOT NULL,
    note TEXT NOT NULL,
    doubt TEXT NOT NULL,
    supersedes INTEGER,
    superseded_by INTEGER,
    reason TEXT NOT NULL,
    struck INTEGER NOT NULL,
    what TEXT NOT NULL,
    because TEXT NOT NULL,
    heat_id INTEGER,
    car_id INTEGER,
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES ruling (id),
    FOREIGN KEY(supersedes) REFERENCES ruling (id),
    FOREIGN KEY(superseded_by) REFERENCES ruling (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(heat_id) REFERENCES heat (id),
    FOREIGN KEY(car_id) REFERENCES car (id)
);

ALTER TABLE event ADD COLUMN division TEXT NOT NULL DEFAULT '';
ALTER TABLE car ADD COLUMN entry_number TEXT NOT NULL DEFAULT '';
ALTER TABLE roll ADD COLUMN direction TEXT NOT NULL DEFAULT '';
ALTER TABLE drag ADD COLUMN humidity_percent FLOAT;
ALTER TABLE run ADD COLUMN humidity_percent FLOAT;
ALTER TABLE run ADD COLUMN cartridge_c FLOAT;
ALTER TABLE run ADD COLUMN result_id INTEGER REFERENCES heat_result (id);
