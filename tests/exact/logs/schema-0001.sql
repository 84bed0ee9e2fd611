BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0001');
CREATE TABLE coupon (
	id VARCHAR(36) NOT NULL, 
	name VARCHAR(60) NOT NULL, 
	what VARCHAR(60) NOT NULL, 
	plastic VARCHAR(60) NOT NULL, 
	printed_on VARCHAR(10) NOT NULL, 
	file VARCHAR(80), 
	file_si FLOAT, 
	file_spread FLOAT, 
	PRIMARY KEY (id), 
	FOREIGN KEY(id) REFERENCES entry (id)
);
INSERT INTO "coupon" VALUES('00000000-0000-4000-8000-000000000006','ring 99','ring','ASA','2026-11-19','99 mm',0.099,0.0);
CREATE TABLE entry (
	number INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT, 
	id VARCHAR(36) NOT NULL, 
	kind VARCHAR(20) NOT NULL, 
	at VARCHAR(32) NOT NULL, 
	"by" VARCHAR(60) NOT NULL, 
	mould VARCHAR(36), 
	part VARCHAR(36), 
	coupon VARCHAR(36), 
	replaces VARCHAR(36), 
	because TEXT NOT NULL, 
	UNIQUE (id), 
	FOREIGN KEY(mould) REFERENCES entry (id), 
	FOREIGN KEY(part) REFERENCES entry (id), 
	FOREIGN KEY(coupon) REFERENCES entry (id), 
	UNIQUE (replaces), 
	FOREIGN KEY(replaces) REFERENCES entry (id)
);
INSERT INTO "entry" VALUES(1,'00000000-0000-4000-8000-000000000001','mould','2026-11-25T14:01:00Z','Tern',NULL,NULL,NULL,NULL,'');
INSERT INTO "entry" VALUES(2,'00000000-0000-4000-8000-000000000002','resin','2026-11-25T14:02:00Z','Tern',NULL,NULL,NULL,NULL,'');
INSERT INTO "entry" VALUES(3,'00000000-0000-4000-8000-000000000003','sleeve','2026-11-25T14:03:00Z','Tern',NULL,NULL,NULL,NULL,'');
INSERT INTO "entry" VALUES(4,'00000000-0000-4000-8000-000000000004','tool','2026-11-25T14:04:00Z','Tern',NULL,NULL,NULL,NULL,'');
INSERT INTO "entry" VALUES(5,'00000000-0000-4000-8000-000000000005','tool','2026-11-25T14:05:00Z','Tern',NULL,NULL,NULL,NULL,'');
INSERT INTO "entry" VALUES(6,'00000000-0000-4000-8000-000000000006','coupon','2026-11-25T14:06:00Z','Tern',NULL,NULL,NULL,NULL,'');
INSERT INTO "entry" VALUES(7,'00000000-0000-4000-8000-000000000007','reading','2026-11-25T14:07:00Z','Tern',NULL,NULL,'00000000-0000-4000-8000-000000000006',NULL,'');
INSERT INTO "entry" VALUES(8,'00000000-0000-4000-8000-000000000008','reading','2026-11-25T14:08:00Z','Tern','00000000-0000-4000-8000-000000000001',NULL,NULL,NULL,'');
INSERT INTO "entry" VALUES(9,'00000000-0000-4000-8000-000000000009','reading','2026-11-25T14:09:00Z','Tern','00000000-0000-4000-8000-000000000001',NULL,NULL,NULL,'');
INSERT INTO "entry" VALUES(10,'00000000-0000-4000-8000-000000000010','part','2026-11-25T14:10:00Z','Tern','00000000-0000-4000-8000-000000000001',NULL,NULL,NULL,'');
INSERT INTO "entry" VALUES(11,'00000000-0000-4000-8000-000000000011','weight','2026-11-25T14:11:00Z','Tern','00000000-0000-4000-8000-000000000001','00000000-0000-4000-8000-000000000010',NULL,NULL,'');
INSERT INTO "entry" VALUES(12,'00000000-0000-4000-8000-000000000012','time','2026-11-25T14:12:00Z','Tern','00000000-0000-4000-8000-000000000001','00000000-0000-4000-8000-000000000010',NULL,NULL,'');
INSERT INTO "entry" VALUES(13,'00000000-0000-4000-8000-000000000013','event','2026-11-25T14:13:00Z','Tern','00000000-0000-4000-8000-000000000001',NULL,NULL,NULL,'');
INSERT INTO "entry" VALUES(14,'00000000-0000-4000-8000-000000000014','event','2026-11-25T14:14:00Z','Tern','00000000-0000-4000-8000-000000000001','00000000-0000-4000-8000-000000000010',NULL,NULL,'');
INSERT INTO "entry" VALUES(15,'00000000-0000-4000-8000-000000000015','note','2026-11-25T14:15:00Z','Tern','00000000-0000-4000-8000-000000000001',NULL,NULL,NULL,'');
INSERT INTO "entry" VALUES(16,'00000000-0000-4000-8000-000000000016','photo','2026-11-25T14:16:00Z','Tern',NULL,NULL,NULL,NULL,'');
INSERT INTO "entry" VALUES(17,'00000000-0000-4000-8000-000000000017','waiver','2026-11-25T14:17:00Z','Tern','00000000-0000-4000-8000-000000000001',NULL,NULL,NULL,'');
INSERT INTO "entry" VALUES(18,'00000000-0000-4000-8000-000000000018','reading','2026-11-25T14:18:00Z','Tern','00000000-0000-4000-8000-000000000001',NULL,NULL,'00000000-0000-4000-8000-000000000008','digits exchanged');
INSERT INTO "entry" VALUES(19,'00000000-0000-4000-8000-000000000019','withdrawal','2026-11-25T14:19:00Z','Tern',NULL,NULL,NULL,'00000000-0000-4000-8000-000000000017','wrong mould');
CREATE TABLE event (
	id VARCHAR(36) NOT NULL, 
	what VARCHAR(60) NOT NULL, 
	text TEXT NOT NULL, 
	lot VARCHAR(36), 
	amount VARCHAR(80), 
	amount_si FLOAT, 
	amount_spread FLOAT, 
	cost FLOAT NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(id) REFERENCES entry (id), 
	FOREIGN KEY(lot) REFERENCES entry (id)
);
INSERT INTO "event" VALUES('00000000-0000-4000-8000-000000000013','mended','wet-sanded',NULL,'0.05 mm',5.0e-05,0.0,0.0);
INSERT INTO "event" VALUES('00000000-0000-4000-8000-000000000014','fits','','00000000-0000-4000-8000-000000000003',NULL,NULL,NULL,12.5);
CREATE TABLE mould (
	id VARCHAR(36) NOT NULL, 
	job VARCHAR(60) NOT NULL, 
	name VARCHAR(60) NOT NULL, 
	plastic VARCHAR(60) NOT NULL, 
	printed_on VARCHAR(10) NOT NULL, 
	job_text TEXT NOT NULL, 
	job_digest VARCHAR(64) NOT NULL, 
	facts JSON NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(id) REFERENCES entry (id)
);
INSERT INTO "mould" VALUES('00000000-0000-4000-8000-000000000001','Plover nose','1','ASA','2026-11-20','schema = 1
[part]
name = "Plover nose"
','d0a1','{"marks": {"A": {"x": 0.44, "file": 0.1000081539, "slope": 0.0, "from_base": 0.0475}}, "treatments": {"sanding": -0.0001}}');
CREATE TABLE note (
	id VARCHAR(36) NOT NULL, 
	text TEXT NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(id) REFERENCES entry (id)
);
INSERT INTO "note" VALUES('00000000-0000-4000-8000-000000000015','Überzug
  matt; "so"');
CREATE TABLE part (
	id VARCHAR(36) NOT NULL, 
	name VARCHAR(60) NOT NULL, 
	laid_on VARCHAR(10) NOT NULL, 
	resin VARCHAR(36), 
	mate VARCHAR(80), 
	mate_si FLOAT, 
	mate_spread FLOAT, 
	PRIMARY KEY (id), 
	FOREIGN KEY(id) REFERENCES entry (id), 
	FOREIGN KEY(resin) REFERENCES entry (id)
);
INSERT INTO "part" VALUES('00000000-0000-4000-8000-000000000010','1','2026-11-24','00000000-0000-4000-8000-000000000002','99.03 mm +- 0.02 mm',0.09903,2.0e-05);
CREATE TABLE photo (
	id VARCHAR(36) NOT NULL, 
	path VARCHAR(1000) NOT NULL, 
	sha256 VARCHAR(64) NOT NULL, 
	caption TEXT NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(id) REFERENCES entry (id)
);
INSERT INTO "photo" VALUES('00000000-0000-4000-8000-000000000016','photos/1.jpg','abababababababababababababababababababababababababababababababab','seam');
CREATE TABLE reading (
	id VARCHAR(36) NOT NULL, 
	stage VARCHAR(20) NOT NULL, 
	mark VARCHAR(20) NOT NULL, 
	"of" VARCHAR(20) NOT NULL, 
	reads VARCHAR(80) NOT NULL, 
	reads_si FLOAT NOT NULL, 
	reads_spread FLOAT NOT NULL, 
	angle VARCHAR(80), 
	angle_si FLOAT, 
	angle_spread FLOAT, 
	temperature VARCHAR(80), 
	temperature_si FLOAT, 
	temperature_spread FLOAT, 
	repeat INTEGER NOT NULL, 
	place VARCHAR(80), 
	place_si FLOAT, 
	place_spread FLOAT, 
	tool VARCHAR(36), 
	questioned TEXT NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(id) REFERENCES entry (id), 
	FOREIGN KEY(tool) REFERENCES entry (id)
);
INSERT INTO "reading" VALUES('00000000-0000-4000-8000-000000000007','ring','A','diameter','98.33 mm +- 0.02 mm',0.09833,2.0e-05,NULL,NULL,NULL,NULL,NULL,NULL,1,NULL,NULL,NULL,'00000000-0000-4000-8000-000000000004','');
INSERT INTO "reading" VALUES('00000000-0000-4000-8000-000000000008','ready','A','diameter','98.13',0.09813,0.0,'90',1.57079632679489655799e+00,0.0,'22 degC',295.15,0.0,1,NULL,NULL,NULL,'00000000-0000-4000-8000-000000000004','');
INSERT INTO "reading" VALUES('00000000-0000-4000-8000-000000000009','ready','A','diameter','3 7/8 in',0.098425,0.0,NULL,NULL,NULL,NULL,NULL,NULL,2,NULL,NULL,NULL,NULL,'lies far off');
INSERT INTO "reading" VALUES('00000000-0000-4000-8000-000000000018','ready','A','diameter','98.31',0.09831,0.0,'90',1.57079632679489655799e+00,0.0,'22 degC',295.15,0.0,1,NULL,NULL,NULL,'00000000-0000-4000-8000-000000000004','');
CREATE TABLE resin (
	id VARCHAR(36) NOT NULL, 
	name VARCHAR(60) NOT NULL, 
	lot VARCHAR(60) NOT NULL, 
	bought_on VARCHAR(10) NOT NULL, 
	opened_on VARCHAR(10) NOT NULL, 
	use_by VARCHAR(10) NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(id) REFERENCES entry (id)
);
INSERT INTO "resin" VALUES('00000000-0000-4000-8000-000000000002','slow','B12','','2026-10-01','2027-10-01');
CREATE TABLE sleeve (
	id VARCHAR(36) NOT NULL, 
	name VARCHAR(60) NOT NULL, 
	lot VARCHAR(60) NOT NULL, 
	bought_on VARCHAR(10) NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(id) REFERENCES entry (id)
);
INSERT INTO "sleeve" VALUES('00000000-0000-4000-8000-000000000003','big glass','7','2026-03-01');
CREATE TABLE time (
	id VARCHAR(36) NOT NULL, 
	what VARCHAR(60) NOT NULL, 
	took VARCHAR(80) NOT NULL, 
	took_si FLOAT NOT NULL, 
	took_spread FLOAT NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(id) REFERENCES entry (id)
);
INSERT INTO "time" VALUES('00000000-0000-4000-8000-000000000012','lay-up','95 min',5700.0,0.0);
CREATE TABLE tool (
	id VARCHAR(36) NOT NULL, 
	name VARCHAR(60) NOT NULL, 
	what VARCHAR(60) NOT NULL, 
	doubt VARCHAR(80), 
	doubt_si FLOAT, 
	doubt_spread FLOAT, 
	doubt_mass VARCHAR(80), 
	doubt_mass_si FLOAT, 
	doubt_mass_spread FLOAT, 
	checked_on VARCHAR(10) NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(id) REFERENCES entry (id)
);
INSERT INTO "tool" VALUES('00000000-0000-4000-8000-000000000004','caliper','caliper','0.02 mm',2.0e-05,0.0,NULL,NULL,NULL,'2026-11-01');
INSERT INTO "tool" VALUES('00000000-0000-4000-8000-000000000005','scale','',NULL,NULL,NULL,'0.1 g',0.0001,0.0,'');
CREATE TABLE waiver (
	id VARCHAR(36) NOT NULL, 
	gate VARCHAR(60) NOT NULL, 
	reason TEXT NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(id) REFERENCES entry (id)
);
INSERT INTO "waiver" VALUES('00000000-0000-4000-8000-000000000017','ready','the coupler was honed');
CREATE TABLE weight (
	id VARCHAR(36) NOT NULL, 
	what VARCHAR(60) NOT NULL, 
	reads VARCHAR(80) NOT NULL, 
	reads_si FLOAT NOT NULL, 
	reads_spread FLOAT NOT NULL, 
	tool VARCHAR(36), 
	questioned TEXT NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(id) REFERENCES entry (id), 
	FOREIGN KEY(tool) REFERENCES entry (id)
);
INSERT INTO "weight" VALUES('00000000-0000-4000-8000-000000000011','part','151.2 g',0.1512,0.0,'00000000-0000-4000-8000-000000000005','');
CREATE TABLE withdrawal (
	id VARCHAR(36) NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(id) REFERENCES entry (id)
);
INSERT INTO "withdrawal" VALUES('00000000-0000-4000-8000-000000000019');
CREATE INDEX ix_entry_mould ON entry (mould);
CREATE INDEX ix_entry_coupon ON entry (coupon);
CREATE INDEX ix_entry_part ON entry (part);
CREATE INDEX ix_part_resin ON part (resin);
CREATE INDEX ix_reading_tool ON reading (tool);
CREATE INDEX ix_weight_tool ON weight (tool);
CREATE INDEX ix_event_lot ON event (lot);
CREATE TRIGGER "entry_no_update" BEFORE UPDATE ON "entry" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "entry_no_delete" BEFORE DELETE ON "entry" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "mould_no_update" BEFORE UPDATE ON "mould" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "mould_no_delete" BEFORE DELETE ON "mould" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "part_no_update" BEFORE UPDATE ON "part" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "part_no_delete" BEFORE DELETE ON "part" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "coupon_no_update" BEFORE UPDATE ON "coupon" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "coupon_no_delete" BEFORE DELETE ON "coupon" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "sleeve_no_update" BEFORE UPDATE ON "sleeve" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "sleeve_no_delete" BEFORE DELETE ON "sleeve" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "resin_no_update" BEFORE UPDATE ON "resin" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "resin_no_delete" BEFORE DELETE ON "resin" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "tool_no_update" BEFORE UPDATE ON "tool" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "tool_no_delete" BEFORE DELETE ON "tool" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "reading_no_update" BEFORE UPDATE ON "reading" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "reading_no_delete" BEFORE DELETE ON "reading" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "weight_no_update" BEFORE UPDATE ON "weight" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "weight_no_delete" BEFORE DELETE ON "weight" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "time_no_update" BEFORE UPDATE ON "time" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "time_no_delete" BEFORE DELETE ON "time" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "event_no_update" BEFORE UPDATE ON "event" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "event_no_delete" BEFORE DELETE ON "event" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "note_no_update" BEFORE UPDATE ON "note" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "note_no_delete" BEFORE DELETE ON "note" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "photo_no_update" BEFORE UPDATE ON "photo" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "photo_no_delete" BEFORE DELETE ON "photo" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "waiver_no_update" BEFORE UPDATE ON "waiver" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "waiver_no_delete" BEFORE DELETE ON "waiver" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "withdrawal_no_update" BEFORE UPDATE ON "withdrawal" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
CREATE TRIGGER "withdrawal_no_delete" BEFORE DELETE ON "withdrawal" BEGIN SELECT RAISE(ABORT, 'the log is append-only: enter a correction'); END;
DELETE FROM "sqlite_sequence";
INSERT INTO "sqlite_sequence" VALUES('entry',19);
COMMIT;
