-- The field and the binder: cameras and what is in them, frame notes, pages and strips, scans, places to keep film in,
-- what was bought; and the words that notes, rolls and stocks can be found by.

CREATE TABLE camera (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL UNIQUE CHECK (length(name) BETWEEN 1 AND 80),
  note TEXT NOT NULL,
  closed INTEGER NOT NULL CHECK (closed IN (0, 1))
) STRICT;

CREATE TABLE camera_load (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  roll INTEGER NOT NULL REFERENCES roll (id),
  camera INTEGER NOT NULL REFERENCES camera (id),
  loaded_on TEXT NOT NULL,
  ei REAL CHECK (ei > 0),
  first_frame INTEGER NOT NULL CHECK (first_frame >= 1),
  out_frame INTEGER CHECK (out_frame >= 0),
  out_on TEXT,
  note TEXT NOT NULL,
  CHECK (out_frame IS NULL OR out_on IS NOT NULL)
) STRICT;
CREATE INDEX camera_load_roll ON camera_load (roll, id);
CREATE INDEX camera_load_camera ON camera_load (camera, id);
-- A camera holds one roll, and a roll is in one camera.
CREATE UNIQUE INDEX camera_holds ON camera_load (camera) WHERE out_on IS NULL;
CREATE UNIQUE INDEX roll_is_in ON camera_load (roll) WHERE out_on IS NULL;

CREATE TABLE frame_note (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  roll INTEGER NOT NULL REFERENCES roll (id),
  frame TEXT NOT NULL CHECK (frame GLOB '[0-9]*'),
  exposures INTEGER NOT NULL CHECK (exposures >= 1),
  shape TEXT NOT NULL,
  taken_at TEXT,
  aperture REAL CHECK (aperture > 0),
  shutter_s REAL CHECK (shutter_s > 0),
  lens TEXT NOT NULL, filter TEXT NOT NULL,
  ei REAL CHECK (ei > 0),
  subject TEXT NOT NULL, place TEXT NOT NULL,
  meter_ev REAL,
  usable INTEGER CHECK (usable IN (0, 1)),
  note TEXT NOT NULL,
  key TEXT NOT NULL,
  beside INTEGER REFERENCES frame_note (id),
  made_at TEXT NOT NULL
) STRICT;
CREATE INDEX frame_note_roll ON frame_note (roll);
CREATE UNIQUE INDEX frame_note_key ON frame_note (key) WHERE key <> '';
CREATE INDEX frame_note_beside ON frame_note (beside) WHERE beside IS NOT NULL;

CREATE TABLE page_format (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL UNIQUE CHECK (length(name) BETWEEN 1 AND 80),
  rows INTEGER NOT NULL CHECK (rows > 0),
  frames_per_row INTEGER NOT NULL CHECK (frames_per_row > 0),
  price_each REAL CHECK (price_each >= 0),
  note TEXT NOT NULL,
  closed INTEGER NOT NULL CHECK (closed IN (0, 1))
) STRICT;

CREATE TABLE binder (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL UNIQUE CHECK (length(name) BETWEEN 1 AND 80),
  format INTEGER NOT NULL REFERENCES page_format (id),
  note TEXT NOT NULL,
  closed INTEGER NOT NULL CHECK (closed IN (0, 1))
) STRICT;

CREATE TABLE binder_page (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  binder INTEGER NOT NULL REFERENCES binder (id),
  number INTEGER NOT NULL CHECK (number > 0),
  UNIQUE (binder, number)
) STRICT;

-- Rows and positions count from zero.
CREATE TABLE strip (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  page INTEGER NOT NULL REFERENCES binder_page (id),
  row INTEGER NOT NULL CHECK (row >= 0),
  position INTEGER NOT NULL CHECK (position >= 0),
  roll INTEGER NOT NULL REFERENCES roll (id),
  first TEXT NOT NULL CHECK (first GLOB '[0-9]*'),
  last TEXT NOT NULL CHECK (last GLOB '[0-9]*'),
  frames INTEGER NOT NULL CHECK (frames > 0),
  UNIQUE (page, row, position)
) STRICT;
CREATE INDEX strip_roll ON strip (roll);

CREATE TABLE scan_file (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  roll INTEGER NOT NULL REFERENCES roll (id),
  frame TEXT NOT NULL CHECK (frame GLOB '[0-9]*'),
  path TEXT NOT NULL UNIQUE CHECK (length(path) > 0),
  size INTEGER NOT NULL CHECK (size >= 0),
  digest TEXT, sidecar_digest TEXT,
  matched_on TEXT NOT NULL
) STRICT;
CREATE INDEX scan_file_roll ON scan_file (roll);

CREATE TABLE storage_place (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL UNIQUE CHECK (length(name) BETWEEN 1 AND 80),
  kind TEXT NOT NULL,
  temperature_c REAL,
  rh_percent REAL CHECK (rh_percent BETWEEN 0 AND 100),
  note TEXT NOT NULL,
  closed INTEGER NOT NULL CHECK (closed IN (0, 1))
) STRICT;

CREATE TABLE kept (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  can INTEGER REFERENCES can (id),
  roll INTEGER REFERENCES roll (id),
  binder INTEGER REFERENCES binder (id),
  place INTEGER NOT NULL REFERENCES storage_place (id),
  since TEXT NOT NULL,
  CHECK ((can IS NOT NULL) + (roll IS NOT NULL) + (binder IS NOT NULL) = 1)
) STRICT;
CREATE INDEX kept_can ON kept (can, since, id) WHERE can IS NOT NULL;
CREATE INDEX kept_roll ON kept (roll, since, id) WHERE roll IS NOT NULL;
CREATE INDEX kept_binder ON kept (binder, since, id) WHERE binder IS NOT NULL;
CREATE INDEX kept_place ON kept (place);

CREATE TABLE purchase (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  day TEXT NOT NULL,
  what TEXT NOT NULL,
  price REAL NOT NULL CHECK (price >= 0),
  quantity REAL NOT NULL CHECK (quantity > 0),
  uses_each REAL CHECK (uses_each > 0),
  bath INTEGER REFERENCES bath (id),
  format INTEGER REFERENCES page_format (id),
  note TEXT NOT NULL
) STRICT;
CREATE INDEX purchase_day ON purchase (day);

-- What is found by its words: a note by its own, its roll's and its stock's; a roll by its own and its stock's.
-- Notes have even numbers, rolls odd ones. Only the index lies here, the words stay where they were said.
CREATE VIEW findable AS
  SELECT frame_note.id * 2 AS doc, frame_note.id AS of_note, NULL AS of_roll, roll.id AS roll, can.id AS can,
    can.stock AS stock, roll.label || ' ' || frame_note.frame AS label, subject, place, frame_note.note AS note,
    lens || ' ' || filter AS gear, roll.note AS roll_note, stock.name AS stock_name
  FROM frame_note
  JOIN roll ON roll.id = frame_note.roll JOIN can ON can.id = roll.can JOIN stock ON stock.id = can.stock
UNION ALL
  SELECT roll.id * 2 + 1, NULL, roll.id, roll.id, can.id, can.stock, label, '', '', '', '', roll.note, stock.name
  FROM roll JOIN can ON can.id = roll.can JOIN stock ON stock.id = can.stock;

CREATE VIRTUAL TABLE found USING fts5 (
  label, subject, place, note, gear, roll_note, stock_name,
  content = '', contentless_delete = 1, prefix = '3 4',
  tokenize = 'unicode61 remove_diacritics 2'
);
-- A word of the subject tells more than one of the stock.
INSERT INTO found (found, rank) VALUES ('rank', 'bm25(8.0, 8.0, 6.0, 4.0, 3.0, 2.0, 1.0)');

CREATE TRIGGER note_findable AFTER INSERT ON frame_note BEGIN
  INSERT INTO found (rowid, label, subject, place, note, gear, roll_note, stock_name)
    SELECT doc, label, subject, place, note, gear, roll_note, stock_name FROM findable WHERE of_note = new.id;
END;
CREATE TRIGGER note_gone AFTER DELETE ON frame_note BEGIN
  DELETE FROM found WHERE rowid = old.id * 2;
END;
CREATE TRIGGER note_said_anew AFTER UPDATE ON frame_note
WHEN (old.roll, old.frame, old.subject, old.place, old.note, old.lens, old.filter)
  IS NOT (new.roll, new.frame, new.subject, new.place, new.note, new.lens, new.filter)
BEGIN
  DELETE FROM found WHERE rowid = new.id * 2;
  INSERT INTO found (rowid, label, subject, place, note, gear, roll_note, stock_name)
    SELECT doc, label, subject, place, note, gear, roll_note, stock_name FROM findable WHERE of_note = new.id;
END;
CREATE TRIGGER roll_findable AFTER INSERT ON roll BEGIN
  INSERT INTO found (rowid, label, subject, place, note, gear, roll_note, stock_name)
    SELECT doc, label, subject, place, note, gear, roll_note, stock_name FROM findable WHERE of_roll = new.id;
END;
CREATE TRIGGER roll_gone AFTER DELETE ON roll BEGIN
  DELETE FROM found WHERE rowid = old.id * 2 + 1;
END;
-- A roll's words are its notes' too, and a stock's name is every note's on it.
CREATE TRIGGER roll_said_anew AFTER UPDATE ON roll
WHEN (old.label, old.note, old.can) IS NOT (new.label, new.note, new.can)
BEGIN
  DELETE FROM found WHERE rowid IN (SELECT doc FROM findable WHERE roll = new.id);
  INSERT INTO found (rowid, label, subject, place, note, gear, roll_note, stock_name)
    SELECT doc, label, subject, place, note, gear, roll_note, stock_name FROM findable WHERE roll = new.id;
END;
CREATE TRIGGER can_of_another_stock AFTER UPDATE ON can
WHEN old.stock IS NOT new.stock
BEGIN
  DELETE FROM found WHERE rowid IN (SELECT doc FROM findable WHERE can = new.id);
  INSERT INTO found (rowid, label, subject, place, note, gear, roll_note, stock_name)
    SELECT doc, label, subject, place, note, gear, roll_note, stock_name FROM findable WHERE can = new.id;
END;
CREATE TRIGGER stock_renamed AFTER UPDATE ON stock
WHEN old.name IS NOT new.name
BEGIN
  DELETE FROM found WHERE rowid IN (SELECT doc FROM findable WHERE stock = new.id);
  INSERT INTO found (rowid, label, subject, place, note, gear, roll_note, stock_name)
    SELECT doc, label, subject, place, note, gear, roll_note, stock_name FROM findable WHERE stock = new.id;
END;

-- What was there before.
INSERT INTO found (rowid, label, subject, place, note, gear, roll_note, stock_name)
  SELECT doc, label, subject, place, note, gear, roll_note, stock_name FROM findable;
