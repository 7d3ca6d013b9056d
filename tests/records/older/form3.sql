-- A book of the third form, as the program wrote it: every figure is invented.
PRAGMA application_id = 1651725410;
PRAGMA user_version = 3;
PRAGMA foreign_keys = OFF;
BEGIN TRANSACTION;
CREATE TABLE airflow (
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
    "where" TEXT NOT NULL,
    seen TEXT NOT NULL,
    x_mm FLOAT,
    speed_m_s FLOAT,
    photo TEXT NOT NULL,
    photo_sha256 TEXT NOT NULL, book_order INTEGER NOT NULL DEFAULT 0, hash_before TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES airflow (id),
    FOREIGN KEY(supersedes) REFERENCES airflow (id),
    FOREIGN KEY(superseded_by) REFERENCES airflow (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(car_id) REFERENCES car (id)
);
INSERT INTO "airflow" VALUES(1,1,'2031-05-14T08:30:00.000Z',60,'Bench 4','threads; all three, "quoted"','',NULL,NULL,'',0,1,'behind the front wheel','disturbed',70.0,20.0,'','',6,'cb3b6b486104192a9a39b2e808d26cc1dafbf9af5ee5a43428d38b5c957694fd','863d0e1850e50e5178933c47ba7e693fce1d7ac6babefffb1e403071d9e2294e');
CREATE TABLE car (
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
    bench TEXT NOT NULL,
    design_file TEXT NOT NULL,
    fingerprint TEXT NOT NULL,
    rulebook TEXT NOT NULL,
    design_text TEXT NOT NULL, entry_number TEXT NOT NULL DEFAULT '', book_order INTEGER NOT NULL DEFAULT 0, hash_before TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES car (id),
    FOREIGN KEY(supersedes) REFERENCES car (id),
    FOREIGN KEY(superseded_by) REFERENCES car (id) DEFERRABLE INITIALLY DEFERRED
);
INSERT INTO "car" VALUES(1,1,'2031-05-14T08:30:00.000Z',60,'Bench 4','','',NULL,NULL,'',0,'Kestrel','Bench 4','kestrel.toml','AK1W-6D4T','quarry-lane','format = 1
name = "Kestrel"
','',2,'d37b60bd9b0f7116d1863d39bdc9ce391650c84de494cc3efb7e09399acef517','c3cb220bff53c1c853fd505b4c2b9c7850d41f052edc6b29a8f8eeb461aa701f');
INSERT INTO "car" VALUES(2,2,'2031-05-14T08:30:00.000Z',60,'Bench 4','','',NULL,NULL,'',0,'Häher','Bench 2','','','','','',3,'c3cb220bff53c1c853fd505b4c2b9c7850d41f052edc6b29a8f8eeb461aa701f','db995686bf7dbdc07559e8a9ccd54e37f0115b69d953e483bdea35a45c6e8777');
CREATE TABLE chain_end (
    one INTEGER NOT NULL CHECK (one = 1),
    records INTEGER NOT NULL,
    kind TEXT NOT NULL,
    id INTEGER NOT NULL,
    hash TEXT NOT NULL,
    PRIMARY KEY (one)
);
INSERT INTO "chain_end" VALUES(1,22,'heat_result',2,'2d9a1ed290ca4e5f59b22f3bedff4244a9c3800cb2f5cb7de02b183417eded22');
CREATE TABLE class_fit (
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
    kind TEXT NOT NULL,
    fit TEXT NOT NULL, book_order INTEGER NOT NULL DEFAULT 0, hash_before TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES class_fit (id),
    FOREIGN KEY(supersedes) REFERENCES class_fit (id),
    FOREIGN KEY(superseded_by) REFERENCES class_fit (id) DEFERRABLE INITIALLY DEFERRED
);
INSERT INTO "class_fit" VALUES(1,1,'2031-05-14T08:30:00.000Z',60,'Bench 4','','',NULL,NULL,'',0,'impulse','{"impulse_n_s": 1.7}',13,'da8f9c74fc6c6a2303d6c9a4a9c61d969b507d94d65da2a2112cf5018d400dff','2ad9a67dc1da937d30325273af4d9aa40c6fd3767b2d39b47689cd4634be708c');
CREATE TABLE drag (
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
    speed_m_s FLOAT NOT NULL,
    drag_n FLOAT NOT NULL,
    unit TEXT NOT NULL,
    drag_zero_n FLOAT NOT NULL,
    drag_lowest_n FLOAT,
    drag_highest_n FLOAT,
    front_lift_n FLOAT,
    front_zero_n FLOAT NOT NULL,
    front_lowest_n FLOAT,
    front_highest_n FLOAT,
    rear_lift_n FLOAT,
    rear_zero_n FLOAT NOT NULL,
    rear_lowest_n FLOAT,
    rear_highest_n FLOAT,
    resolution_n FLOAT NOT NULL,
    temperature_c FLOAT,
    pressure_hpa FLOAT, humidity_percent FLOAT, book_order INTEGER NOT NULL DEFAULT 0, hash_before TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES drag (id),
    FOREIGN KEY(supersedes) REFERENCES drag (id),
    FOREIGN KEY(superseded_by) REFERENCES drag (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(car_id) REFERENCES car (id)
);
INSERT INTO "drag" VALUES(1,1,'2031-05-14T08:30:00.000Z',60,'Bench 4','','',NULL,NULL,'',0,1,20.0,0.181,'gf',0.003,0.175,0.19,-0.02,0.0,NULL,NULL,0.03,0.0,NULL,NULL,0.001,21.0,1013.0,NULL,7,'863d0e1850e50e5178933c47ba7e693fce1d7ac6babefffb1e403071d9e2294e','1a9fb16e05f4f86f10e640c531bfe349b0034de709b912638e5430b8cf4181b8');
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
    settings TEXT NOT NULL, book_order INTEGER NOT NULL DEFAULT 0, hash_before TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES draw (id),
    FOREIGN KEY(supersedes) REFERENCES draw (id),
    FOREIGN KEY(superseded_by) REFERENCES draw (id) DEFERRABLE INITIALLY DEFERRED
);
INSERT INTO "draw" VALUES(1,1,'2031-05-21T12:05:00.000Z',60,'','','',NULL,NULL,'',0,'round one','time trials',2,7,'{}',17,'79327c2b4fd008db8deef3d3413eb5aa1eba4881a52c241d1034f96df3bd6ee6','dc52e8cf7771a22d83ba1af79ab0f1942c3077fd15f280298e6e16998f09f178');
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
    seed INTEGER, book_order INTEGER NOT NULL DEFAULT 0, hash_before TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES entrant (id),
    FOREIGN KEY(supersedes) REFERENCES entrant (id),
    FOREIGN KEY(superseded_by) REFERENCES entrant (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(car_id) REFERENCES car (id)
);
INSERT INTO "entrant" VALUES(1,1,'2031-05-21T12:05:00.000Z',60,'','','',NULL,NULL,'',0,1,'entered','',1,16,'fa337969c4c7e50c7bdb04bdfebd59def39b254f775a0d2695b121756af25a60','79327c2b4fd008db8deef3d3413eb5aa1eba4881a52c241d1034f96df3bd6ee6');
CREATE TABLE event (
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
    rulebook TEXT NOT NULL,
    track_mm FLOAT,
    lanes INTEGER NOT NULL,
    gates_mm TEXT NOT NULL,
    owner TEXT NOT NULL, division TEXT NOT NULL DEFAULT '', book_order INTEGER NOT NULL DEFAULT 0, hash_before TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES event (id),
    FOREIGN KEY(supersedes) REFERENCES event (id),
    FOREIGN KEY(superseded_by) REFERENCES event (id) DEFERRABLE INITIALLY DEFERRED
);
INSERT INTO "event" VALUES(1,1,'2031-05-14T08:30:00.000Z',60,'Bench 4','','',NULL,NULL,'',0,'Quarry Lane Sprint','quarry-lane',20000.0,2,'5000; 10000','Larkfield School workshop','',1,'0000000000000000000000000000000000000000000000000000000000000000','d37b60bd9b0f7116d1863d39bdc9ce391650c84de494cc3efb7e09399acef517');
CREATE TABLE eyes_answer (
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
    inspection_id INTEGER NOT NULL,
    clause TEXT NOT NULL,
    answer TEXT NOT NULL,
    item TEXT NOT NULL, book_order INTEGER NOT NULL DEFAULT 0, hash_before TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES eyes_answer (id),
    FOREIGN KEY(supersedes) REFERENCES eyes_answer (id),
    FOREIGN KEY(superseded_by) REFERENCES eyes_answer (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(inspection_id) REFERENCES inspection (id)
);
INSERT INTO "eyes_answer" VALUES(1,1,'2031-05-14T08:30:00.000Z',60,'Bench 4','','',NULL,NULL,'',0,1,'I1','yes','The body is one piece.',11,'c47d5eadf02710f9b30225e21699f07cd7573d2401774ec678ea4a32bd8e6277','d37b537327178a52a0acfe54b3ff0b6aa38260662caa75ca7dffb05a341d6c7c');
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
    name TEXT NOT NULL, book_order INTEGER NOT NULL DEFAULT 0, hash_before TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES heat (id),
    FOREIGN KEY(supersedes) REFERENCES heat (id),
    FOREIGN KEY(superseded_by) REFERENCES heat (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(draw_id) REFERENCES draw (id),
    FOREIGN KEY(reruns_id) REFERENCES heat (id)
);
INSERT INTO "heat" VALUES(1,1,'2031-05-21T12:05:00.000Z',60,'','','',NULL,NULL,'',0,1,1,1,NULL,'heat 1',18,'dc52e8cf7771a22d83ba1af79ab0f1942c3077fd15f280298e6e16998f09f178','49ba0a48b3936d59297e108f4c32b28106703d5b074e7602fc22ad175a993f04');
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
    car_id INTEGER NOT NULL, book_order INTEGER NOT NULL DEFAULT 0, hash_before TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES heat_lane (id),
    FOREIGN KEY(supersedes) REFERENCES heat_lane (id),
    FOREIGN KEY(superseded_by) REFERENCES heat_lane (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(heat_id) REFERENCES heat (id),
    FOREIGN KEY(car_id) REFERENCES car (id)
);
INSERT INTO "heat_lane" VALUES(1,1,'2031-05-21T12:05:00.000Z',60,'','','',NULL,NULL,'',0,1,1,1,19,'49ba0a48b3936d59297e108f4c32b28106703d5b074e7602fc22ad175a993f04','2a17714e9005570f848c3a27d9aad5c26b2c5949644f6b4de55e256d7ea4a2da');
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
    speed_m_s FLOAT, book_order INTEGER NOT NULL DEFAULT 0, hash_before TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES heat_result (id),
    FOREIGN KEY(supersedes) REFERENCES heat_result (id),
    FOREIGN KEY(superseded_by) REFERENCES heat_result (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(heat_id) REFERENCES heat (id),
    FOREIGN KEY(car_id) REFERENCES car (id)
);
INSERT INTO "heat_result" VALUES(1,1,'2031-05-21T12:10:00.000Z',60,'','','',NULL,2,'',0,1,1,1,'finished',1.21,1,NULL,21,'4707a43ce89b8704054680e9119be668bb1d5d2dbad6c50176f722dd11b6f651','5765520968552ce722cdc2dcb38d3408d622b6090d0f80426cb8c951e7a9e46d');
INSERT INTO "heat_result" VALUES(2,1,'2031-05-21T12:10:00.000Z',60,'','','',1,NULL,'misread',0,1,1,1,'finished',1.12,1,NULL,22,'5765520968552ce722cdc2dcb38d3408d622b6090d0f80426cb8c951e7a9e46d','2d9a1ed290ca4e5f59b22f3bedff4244a9c3800cb2f5cb7de02b183417eded22');
CREATE TABLE inspected_value (
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
    inspection_id INTEGER NOT NULL,
    measure TEXT NOT NULL,
    value FLOAT NOT NULL,
    unit TEXT NOT NULL,
    resolution FLOAT NOT NULL,
    instrument TEXT NOT NULL,
    designed FLOAT, book_order INTEGER NOT NULL DEFAULT 0, hash_before TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES inspected_value (id),
    FOREIGN KEY(supersedes) REFERENCES inspected_value (id),
    FOREIGN KEY(superseded_by) REFERENCES inspected_value (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(inspection_id) REFERENCES inspection (id)
);
INSERT INTO "inspected_value" VALUES(1,1,'2031-05-14T08:30:00.000Z',60,'Bench 4','','',NULL,NULL,'',0,1,'body.length',285.2,'mm',0.5,'rule',285.0,10,'60eb29eabc86d5977389ec8de9d33c8d42ee66e95597440ab3b9481abf075650','c47d5eadf02710f9b30225e21699f07cd7573d2401774ec678ea4a32bd8e6277');
CREATE TABLE inspection (
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
    rulebook TEXT NOT NULL,
    result TEXT NOT NULL,
    rulebook_fingerprint TEXT NOT NULL,
    division TEXT NOT NULL,
    design_fingerprint TEXT NOT NULL,
    passes INTEGER NOT NULL,
    open_points INTEGER NOT NULL,
    points_off FLOAT NOT NULL,
    verdicts TEXT NOT NULL, book_order INTEGER NOT NULL DEFAULT 0, hash_before TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES inspection (id),
    FOREIGN KEY(supersedes) REFERENCES inspection (id),
    FOREIGN KEY(superseded_by) REFERENCES inspection (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(car_id) REFERENCES car (id)
);
INSERT INTO "inspection" VALUES(1,1,'2031-05-14T08:30:00.000Z',60,'Bench 4','','',NULL,NULL,'',0,1,'quarry-lane','legal','b60064227b54','','AK1W-6D4T',1,0,0.0,'[]',9,'7d6ee2eedbd3da1491bf8f7a7400c08fec4d0eafc2939435347ce1f0a5d88909','60eb29eabc86d5977389ec8de9d33c8d42ee66e95597440ab3b9481abf075650');
CREATE TABLE mass (
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
    stage TEXT NOT NULL,
    mass_g FLOAT NOT NULL,
    resolution_g FLOAT NOT NULL,
    instrument TEXT NOT NULL, book_order INTEGER NOT NULL DEFAULT 0, hash_before TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES mass (id),
    FOREIGN KEY(supersedes) REFERENCES mass (id),
    FOREIGN KEY(superseded_by) REFERENCES mass (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(car_id) REFERENCES car (id)
);
INSERT INTO "mass" VALUES(1,1,'2031-05-14T08:30:00.000Z',60,'Bench 4','','',NULL,2,'',0,1,'blank',314.2,0.1,'balance 2',4,'db995686bf7dbdc07559e8a9ccd54e37f0115b69d953e483bdea35a45c6e8777','fb5b4df1ac7c2b117f7780286ff51c8f36a820aea8610a6433f1c491c7153897');
INSERT INTO "mass" VALUES(2,1,'2031-05-14T08:30:00.000Z',60,'Bench 4','','',1,NULL,'digits swapped',0,1,'blank',341.2,0.1,'balance 2',5,'fb5b4df1ac7c2b117f7780286ff51c8f36a820aea8610a6433f1c491c7153897','cb3b6b486104192a9a39b2e808d26cc1dafbf9af5ee5a43428d38b5c957694fd');
INSERT INTO "mass" VALUES(3,3,'2031-05-14T09:10:00.000Z',60,'Bench 4','','',NULL,NULL,'',0,2,'complete',81.5,0.1,'balance 2',15,'d15c9712bd486bb754019a462d4ff536c1951caadffe89e6df675c808e7a0983','fa337969c4c7e50c7bdb04bdfebd59def39b254f775a0d2695b121756af25a60');
CREATE TABLE prediction (
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
    time_s FLOAT NOT NULL,
    time_low_s FLOAT NOT NULL,
    time_high_s FLOAT NOT NULL,
    confidence FLOAT NOT NULL,
    top_speed_m_s FLOAT,
    top_speed_low_m_s FLOAT,
    top_speed_high_m_s FLOAT,
    line_speed_m_s FLOAT,
    line_speed_low_m_s FLOAT,
    line_speed_high_m_s FLOAT,
    fingerprint TEXT NOT NULL,
    inputs TEXT NOT NULL, book_order INTEGER NOT NULL DEFAULT 0, hash_before TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES prediction (id),
    FOREIGN KEY(supersedes) REFERENCES prediction (id),
    FOREIGN KEY(superseded_by) REFERENCES prediction (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(car_id) REFERENCES car (id)
);
INSERT INTO "prediction" VALUES(1,1,'2031-05-14T08:30:00.000Z',60,'Bench 4','','',NULL,NULL,'',0,1,1.05,0.98,1.14,0.95,NULL,NULL,NULL,NULL,NULL,NULL,'AK1W-6D4T','{}',12,'d37b537327178a52a0acfe54b3ff0b6aa38260662caa75ca7dffb05a341d6c7c','da8f9c74fc6c6a2303d6c9a4a9c61d969b507d94d65da2a2112cf5018d400dff');
CREATE TABLE roll (
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
    ramp_height_mm FLOAT NOT NULL,
    ramp_length_mm FLOAT NOT NULL,
    run_out_mm FLOAT NOT NULL,
    measured_from TEXT NOT NULL,
    resolution_mm FLOAT NOT NULL,
    surface TEXT NOT NULL,
    mass_g FLOAT,
    temperature_c FLOAT,
    pressure_hpa FLOAT, direction TEXT NOT NULL DEFAULT '', book_order INTEGER NOT NULL DEFAULT 0, hash_before TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES roll (id),
    FOREIGN KEY(supersedes) REFERENCES roll (id),
    FOREIGN KEY(superseded_by) REFERENCES roll (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(car_id) REFERENCES car (id)
);
INSERT INTO "roll" VALUES(1,1,'2031-05-14T08:30:00.000Z',60,'Bench 4','','',NULL,NULL,'',0,1,150.0,580.0,6600.0,'foot of the ramp',10.0,'lino',NULL,NULL,NULL,'',8,'1a9fb16e05f4f86f10e640c531bfe349b0034de709b912638e5430b8cf4181b8','7d6ee2eedbd3da1491bf8f7a7400c08fec4d0eafc2939435347ce1f0a5d88909');
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
    car_id INTEGER, book_order INTEGER NOT NULL DEFAULT 0, hash_before TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES ruling (id),
    FOREIGN KEY(supersedes) REFERENCES ruling (id),
    FOREIGN KEY(superseded_by) REFERENCES ruling (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(heat_id) REFERENCES heat (id),
    FOREIGN KEY(car_id) REFERENCES car (id)
);
INSERT INTO "ruling" VALUES(1,1,'2031-05-21T12:05:00.000Z',60,'','','',NULL,NULL,'',0,'lane 2 closed','the line sagged',1,NULL,20,'2a17714e9005570f848c3a27d9aad5c26b2c5949644f6b4de55e256d7ea4a2da','4707a43ce89b8704054680e9119be668bb1d5d2dbad6c50176f722dd11b6f651');
CREATE TABLE run (
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
    length_mm FLOAT NOT NULL,
    time_s FLOAT,
    resolution_s FLOAT NOT NULL,
    lane INTEGER,
    gates_mm_s TEXT NOT NULL,
    speed_m_s FLOAT,
    speed_at_mm FLOAT,
    "end" TEXT NOT NULL,
    mass_g FLOAT,
    cartridge_before_g FLOAT,
    cartridge_after_g FLOAT,
    temperature_c FLOAT,
    pressure_hpa FLOAT, humidity_percent FLOAT, cartridge_c FLOAT, result_id INTEGER REFERENCES heat_result (id), book_order INTEGER NOT NULL DEFAULT 0, hash_before TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (id),
    FOREIGN KEY(origin) REFERENCES run (id),
    FOREIGN KEY(supersedes) REFERENCES run (id),
    FOREIGN KEY(superseded_by) REFERENCES run (id) DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY(car_id) REFERENCES car (id)
);
INSERT INTO "run" VALUES(1,1,'2031-05-14T08:30:00.000Z',60,'Bench 4','','The track is 20 m long, not 18 m.',NULL,NULL,'',0,1,18000.0,0.98,0.001,2,'5000=0.4',NULL,NULL,'finished',84.0,29.1,21.3,21.0,1013.0,NULL,NULL,NULL,14,'2ad9a67dc1da937d30325273af4d9aa40c6fd3767b2d39b47689cd4634be708c','d15c9712bd486bb754019a462d4ff536c1951caadffe89e6df675c808e7a0983');
CREATE TRIGGER "chain_end_kept" BEFORE UPDATE ON "chain_end" WHEN NEW.records <= OLD.records BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "chain_end_stays" BEFORE DELETE ON "chain_end" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE INDEX event_by_origin ON event (origin);
CREATE UNIQUE INDEX event_by_superseded_by ON event (superseded_by) WHERE superseded_by IS NOT NULL;
CREATE UNIQUE INDEX event_by_supersedes ON event (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX event_by_time ON event (at_utc, id);
CREATE UNIQUE INDEX event_is_one ON event (struck) WHERE superseded_by IS NULL AND struck = 0;
CREATE TRIGGER "event_kept" BEFORE UPDATE OF "id", "origin", "at_utc", "zone_min", "noted_by", "note", "doubt", "supersedes", "reason", "struck", "book_order", "hash_before", "hash", "name", "rulebook", "division", "track_mm", "lanes", "gates_mm", "owner" ON "event" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "event_stays" BEFORE DELETE ON "event" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "event_once" BEFORE UPDATE OF superseded_by ON "event" WHEN OLD.superseded_by IS NOT NULL BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE UNIQUE INDEX car_by_name ON car (name COLLATE "NOCASE") WHERE superseded_by IS NULL;
CREATE INDEX car_by_origin ON car (origin);
CREATE UNIQUE INDEX car_by_superseded_by ON car (superseded_by) WHERE superseded_by IS NOT NULL;
CREATE UNIQUE INDEX car_by_supersedes ON car (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX car_by_time ON car (at_utc, id);
CREATE TRIGGER "car_kept" BEFORE UPDATE OF "id", "origin", "at_utc", "zone_min", "noted_by", "note", "doubt", "supersedes", "reason", "struck", "book_order", "hash_before", "hash", "name", "bench", "entry_number", "design_file", "fingerprint", "rulebook", "design_text" ON "car" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "car_stays" BEFORE DELETE ON "car" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "car_once" BEFORE UPDATE OF superseded_by ON "car" WHEN OLD.superseded_by IS NOT NULL BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE INDEX mass_by_car_id ON mass (car_id, at_utc, id);
CREATE INDEX mass_by_origin ON mass (origin);
CREATE UNIQUE INDEX mass_by_superseded_by ON mass (superseded_by) WHERE superseded_by IS NOT NULL;
CREATE UNIQUE INDEX mass_by_supersedes ON mass (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX mass_by_time ON mass (at_utc, id);
CREATE TRIGGER "mass_kept" BEFORE UPDATE OF "id", "origin", "at_utc", "zone_min", "noted_by", "note", "doubt", "supersedes", "reason", "struck", "book_order", "hash_before", "hash", "car_id", "stage", "mass_g", "resolution_g", "instrument" ON "mass" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "mass_stays" BEFORE DELETE ON "mass" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "mass_once" BEFORE UPDATE OF superseded_by ON "mass" WHEN OLD.superseded_by IS NOT NULL BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE INDEX airflow_by_car_id ON airflow (car_id, at_utc, id);
CREATE INDEX airflow_by_origin ON airflow (origin);
CREATE UNIQUE INDEX airflow_by_superseded_by ON airflow (superseded_by) WHERE superseded_by IS NOT NULL;
CREATE UNIQUE INDEX airflow_by_supersedes ON airflow (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX airflow_by_time ON airflow (at_utc, id);
CREATE TRIGGER "airflow_kept" BEFORE UPDATE OF "id", "origin", "at_utc", "zone_min", "noted_by", "note", "doubt", "supersedes", "reason", "struck", "book_order", "hash_before", "hash", "car_id", "where", "seen", "x_mm", "speed_m_s", "photo", "photo_sha256" ON "airflow" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "airflow_stays" BEFORE DELETE ON "airflow" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "airflow_once" BEFORE UPDATE OF superseded_by ON "airflow" WHEN OLD.superseded_by IS NOT NULL BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE INDEX drag_by_car_id ON drag (car_id, at_utc, id);
CREATE INDEX drag_by_origin ON drag (origin);
CREATE UNIQUE INDEX drag_by_superseded_by ON drag (superseded_by) WHERE superseded_by IS NOT NULL;
CREATE UNIQUE INDEX drag_by_supersedes ON drag (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX drag_by_time ON drag (at_utc, id);
CREATE TRIGGER "drag_kept" BEFORE UPDATE OF "id", "origin", "at_utc", "zone_min", "noted_by", "note", "doubt", "supersedes", "reason", "struck", "book_order", "hash_before", "hash", "car_id", "speed_m_s", "drag_n", "unit", "drag_zero_n", "drag_lowest_n", "drag_highest_n", "front_lift_n", "front_zero_n", "front_lowest_n", "front_highest_n", "rear_lift_n", "rear_zero_n", "rear_lowest_n", "rear_highest_n", "resolution_n", "temperature_c", "pressure_hpa", "humidity_percent" ON "drag" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "drag_stays" BEFORE DELETE ON "drag" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "drag_once" BEFORE UPDATE OF superseded_by ON "drag" WHEN OLD.superseded_by IS NOT NULL BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE INDEX roll_by_car_id ON roll (car_id, at_utc, id);
CREATE INDEX roll_by_origin ON roll (origin);
CREATE UNIQUE INDEX roll_by_superseded_by ON roll (superseded_by) WHERE superseded_by IS NOT NULL;
CREATE UNIQUE INDEX roll_by_supersedes ON roll (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX roll_by_time ON roll (at_utc, id);
CREATE TRIGGER "roll_kept" BEFORE UPDATE OF "id", "origin", "at_utc", "zone_min", "noted_by", "note", "doubt", "supersedes", "reason", "struck", "book_order", "hash_before", "hash", "car_id", "ramp_height_mm", "ramp_length_mm", "run_out_mm", "measured_from", "resolution_mm", "surface", "direction", "mass_g", "temperature_c", "pressure_hpa" ON "roll" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "roll_stays" BEFORE DELETE ON "roll" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "roll_once" BEFORE UPDATE OF superseded_by ON "roll" WHEN OLD.superseded_by IS NOT NULL BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE INDEX inspection_by_car_id ON inspection (car_id, at_utc, id);
CREATE INDEX inspection_by_origin ON inspection (origin);
CREATE UNIQUE INDEX inspection_by_superseded_by ON inspection (superseded_by) WHERE superseded_by IS NOT NULL;
CREATE UNIQUE INDEX inspection_by_supersedes ON inspection (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX inspection_by_time ON inspection (at_utc, id);
CREATE TRIGGER "inspection_kept" BEFORE UPDATE OF "id", "origin", "at_utc", "zone_min", "noted_by", "note", "doubt", "supersedes", "reason", "struck", "book_order", "hash_before", "hash", "car_id", "rulebook", "result", "rulebook_fingerprint", "division", "design_fingerprint", "passes", "open_points", "points_off", "verdicts" ON "inspection" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "inspection_stays" BEFORE DELETE ON "inspection" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "inspection_once" BEFORE UPDATE OF superseded_by ON "inspection" WHEN OLD.superseded_by IS NOT NULL BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE INDEX inspected_value_by_inspection_id ON inspected_value (inspection_id, at_utc, id);
CREATE INDEX inspected_value_by_origin ON inspected_value (origin);
CREATE UNIQUE INDEX inspected_value_by_superseded_by ON inspected_value (superseded_by) WHERE superseded_by IS NOT NULL;
CREATE UNIQUE INDEX inspected_value_by_supersedes ON inspected_value (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX inspected_value_by_time ON inspected_value (at_utc, id);
CREATE TRIGGER "inspected_value_kept" BEFORE UPDATE OF "id", "origin", "at_utc", "zone_min", "noted_by", "note", "doubt", "supersedes", "reason", "struck", "book_order", "hash_before", "hash", "inspection_id", "measure", "value", "unit", "resolution", "instrument", "designed" ON "inspected_value" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "inspected_value_stays" BEFORE DELETE ON "inspected_value" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "inspected_value_once" BEFORE UPDATE OF superseded_by ON "inspected_value" WHEN OLD.superseded_by IS NOT NULL BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE INDEX eyes_answer_by_inspection_id ON eyes_answer (inspection_id, at_utc, id);
CREATE INDEX eyes_answer_by_origin ON eyes_answer (origin);
CREATE UNIQUE INDEX eyes_answer_by_superseded_by ON eyes_answer (superseded_by) WHERE superseded_by IS NOT NULL;
CREATE UNIQUE INDEX eyes_answer_by_supersedes ON eyes_answer (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX eyes_answer_by_time ON eyes_answer (at_utc, id);
CREATE TRIGGER "eyes_answer_kept" BEFORE UPDATE OF "id", "origin", "at_utc", "zone_min", "noted_by", "note", "doubt", "supersedes", "reason", "struck", "book_order", "hash_before", "hash", "inspection_id", "clause", "answer", "item" ON "eyes_answer" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "eyes_answer_stays" BEFORE DELETE ON "eyes_answer" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "eyes_answer_once" BEFORE UPDATE OF superseded_by ON "eyes_answer" WHEN OLD.superseded_by IS NOT NULL BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE INDEX prediction_by_car_id ON prediction (car_id, at_utc, id);
CREATE INDEX prediction_by_origin ON prediction (origin);
CREATE UNIQUE INDEX prediction_by_superseded_by ON prediction (superseded_by) WHERE superseded_by IS NOT NULL;
CREATE UNIQUE INDEX prediction_by_supersedes ON prediction (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX prediction_by_time ON prediction (at_utc, id);
CREATE TRIGGER "prediction_kept" BEFORE UPDATE OF "id", "origin", "at_utc", "zone_min", "noted_by", "note", "doubt", "supersedes", "reason", "struck", "book_order", "hash_before", "hash", "car_id", "time_s", "time_low_s", "time_high_s", "confidence", "top_speed_m_s", "top_speed_low_m_s", "top_speed_high_m_s", "line_speed_m_s", "line_speed_low_m_s", "line_speed_high_m_s", "fingerprint", "inputs" ON "prediction" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "prediction_stays" BEFORE DELETE ON "prediction" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "prediction_once" BEFORE UPDATE OF superseded_by ON "prediction" WHEN OLD.superseded_by IS NOT NULL BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE INDEX class_fit_by_origin ON class_fit (origin);
CREATE UNIQUE INDEX class_fit_by_superseded_by ON class_fit (superseded_by) WHERE superseded_by IS NOT NULL;
CREATE UNIQUE INDEX class_fit_by_supersedes ON class_fit (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX class_fit_by_time ON class_fit (at_utc, id);
CREATE TRIGGER "class_fit_kept" BEFORE UPDATE OF "id", "origin", "at_utc", "zone_min", "noted_by", "note", "doubt", "supersedes", "reason", "struck", "book_order", "hash_before", "hash", "kind", "fit" ON "class_fit" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "class_fit_stays" BEFORE DELETE ON "class_fit" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "class_fit_once" BEFORE UPDATE OF superseded_by ON "class_fit" WHEN OLD.superseded_by IS NOT NULL BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE INDEX entrant_by_car_id ON entrant (car_id, at_utc, id);
CREATE INDEX entrant_by_origin ON entrant (origin);
CREATE UNIQUE INDEX entrant_by_superseded_by ON entrant (superseded_by) WHERE superseded_by IS NOT NULL;
CREATE UNIQUE INDEX entrant_by_supersedes ON entrant (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX entrant_by_time ON entrant (at_utc, id);
CREATE TRIGGER "entrant_kept" BEFORE UPDATE OF "id", "origin", "at_utc", "zone_min", "noted_by", "note", "doubt", "supersedes", "reason", "struck", "book_order", "hash_before", "hash", "car_id", "state", "division", "seed" ON "entrant" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "entrant_stays" BEFORE DELETE ON "entrant" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "entrant_once" BEFORE UPDATE OF superseded_by ON "entrant" WHEN OLD.superseded_by IS NOT NULL BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE INDEX draw_by_origin ON draw (origin);
CREATE UNIQUE INDEX draw_by_superseded_by ON draw (superseded_by) WHERE superseded_by IS NOT NULL;
CREATE UNIQUE INDEX draw_by_supersedes ON draw (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX draw_by_time ON draw (at_utc, id);
CREATE TRIGGER "draw_kept" BEFORE UPDATE OF "id", "origin", "at_utc", "zone_min", "noted_by", "note", "doubt", "supersedes", "reason", "struck", "book_order", "hash_before", "hash", "name", "race", "lanes", "seed", "settings" ON "draw" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "draw_stays" BEFORE DELETE ON "draw" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "draw_once" BEFORE UPDATE OF superseded_by ON "draw" WHEN OLD.superseded_by IS NOT NULL BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE INDEX heat_by_draw_id ON heat (draw_id, at_utc, id);
CREATE INDEX heat_by_origin ON heat (origin);
CREATE INDEX heat_by_reruns_id ON heat (reruns_id, at_utc, id);
CREATE UNIQUE INDEX heat_by_superseded_by ON heat (superseded_by) WHERE superseded_by IS NOT NULL;
CREATE UNIQUE INDEX heat_by_supersedes ON heat (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX heat_by_time ON heat (at_utc, id);
CREATE TRIGGER "heat_kept" BEFORE UPDATE OF "id", "origin", "at_utc", "zone_min", "noted_by", "note", "doubt", "supersedes", "reason", "struck", "book_order", "hash_before", "hash", "draw_id", "round", "number", "reruns_id", "name" ON "heat" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "heat_stays" BEFORE DELETE ON "heat" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "heat_once" BEFORE UPDATE OF superseded_by ON "heat" WHEN OLD.superseded_by IS NOT NULL BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE INDEX heat_lane_by_car_id ON heat_lane (car_id, at_utc, id);
CREATE INDEX heat_lane_by_heat_id ON heat_lane (heat_id, at_utc, id);
CREATE INDEX heat_lane_by_origin ON heat_lane (origin);
CREATE UNIQUE INDEX heat_lane_by_superseded_by ON heat_lane (superseded_by) WHERE superseded_by IS NOT NULL;
CREATE UNIQUE INDEX heat_lane_by_supersedes ON heat_lane (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX heat_lane_by_time ON heat_lane (at_utc, id);
CREATE TRIGGER "heat_lane_kept" BEFORE UPDATE OF "id", "origin", "at_utc", "zone_min", "noted_by", "note", "doubt", "supersedes", "reason", "struck", "book_order", "hash_before", "hash", "heat_id", "lane", "car_id" ON "heat_lane" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "heat_lane_stays" BEFORE DELETE ON "heat_lane" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "heat_lane_once" BEFORE UPDATE OF superseded_by ON "heat_lane" WHEN OLD.superseded_by IS NOT NULL BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE INDEX heat_result_by_car_id ON heat_result (car_id, at_utc, id);
CREATE INDEX heat_result_by_heat_id ON heat_result (heat_id, at_utc, id);
CREATE INDEX heat_result_by_origin ON heat_result (origin);
CREATE UNIQUE INDEX heat_result_by_superseded_by ON heat_result (superseded_by) WHERE superseded_by IS NOT NULL;
CREATE UNIQUE INDEX heat_result_by_supersedes ON heat_result (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX heat_result_by_time ON heat_result (at_utc, id);
CREATE TRIGGER "heat_result_kept" BEFORE UPDATE OF "id", "origin", "at_utc", "zone_min", "noted_by", "note", "doubt", "supersedes", "reason", "struck", "book_order", "hash_before", "hash", "heat_id", "lane", "car_id", "end", "time_s", "place", "speed_m_s" ON "heat_result" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "heat_result_stays" BEFORE DELETE ON "heat_result" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "heat_result_once" BEFORE UPDATE OF superseded_by ON "heat_result" WHEN OLD.superseded_by IS NOT NULL BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE INDEX run_by_car_id ON run (car_id, at_utc, id);
CREATE INDEX run_by_origin ON run (origin);
CREATE INDEX run_by_result_id ON run (result_id, at_utc, id);
CREATE UNIQUE INDEX run_by_superseded_by ON run (superseded_by) WHERE superseded_by IS NOT NULL;
CREATE UNIQUE INDEX run_by_supersedes ON run (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX run_by_time ON run (at_utc, id);
CREATE TRIGGER "run_kept" BEFORE UPDATE OF "id", "origin", "at_utc", "zone_min", "noted_by", "note", "doubt", "supersedes", "reason", "struck", "book_order", "hash_before", "hash", "car_id", "length_mm", "time_s", "resolution_s", "lane", "gates_mm_s", "speed_m_s", "speed_at_mm", "end", "mass_g", "cartridge_before_g", "cartridge_after_g", "cartridge_c", "temperature_c", "pressure_hpa", "humidity_percent", "result_id" ON "run" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "run_stays" BEFORE DELETE ON "run" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "run_once" BEFORE UPDATE OF superseded_by ON "run" WHEN OLD.superseded_by IS NOT NULL BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE INDEX ruling_by_car_id ON ruling (car_id, at_utc, id);
CREATE INDEX ruling_by_heat_id ON ruling (heat_id, at_utc, id);
CREATE INDEX ruling_by_origin ON ruling (origin);
CREATE UNIQUE INDEX ruling_by_superseded_by ON ruling (superseded_by) WHERE superseded_by IS NOT NULL;
CREATE UNIQUE INDEX ruling_by_supersedes ON ruling (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX ruling_by_time ON ruling (at_utc, id);
CREATE TRIGGER "ruling_kept" BEFORE UPDATE OF "id", "origin", "at_utc", "zone_min", "noted_by", "note", "doubt", "supersedes", "reason", "struck", "book_order", "hash_before", "hash", "what", "because", "heat_id", "car_id" ON "ruling" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "ruling_stays" BEFORE DELETE ON "ruling" BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
CREATE TRIGGER "ruling_once" BEFORE UPDATE OF superseded_by ON "ruling" WHEN OLD.superseded_by IS NOT NULL BEGIN SELECT RAISE(ABORT, 'records are never altered: correct them'); END;
COMMIT;
