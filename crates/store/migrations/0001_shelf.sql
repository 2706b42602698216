-- Everything a person says about the shelf, and the journal of who said what when.
-- What can be derived (what is left, uses of a cassette, whether a want is met) has no column.

CREATE TABLE journal (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  at TEXT NOT NULL,
  verb TEXT NOT NULL,
  story TEXT NOT NULL,
  changes TEXT NOT NULL CHECK (json_valid(changes)),
  undoes INTEGER REFERENCES journal (id),
  undone INTEGER NOT NULL DEFAULT 0 CHECK (undone IN (0, 1)),
  request TEXT
) STRICT;
-- A request counts once, until what it did is undone.
CREATE UNIQUE INDEX journal_request ON journal (request) WHERE request IS NOT NULL AND undone = 0;

CREATE TABLE journal_subject (
  journal INTEGER NOT NULL REFERENCES journal (id),
  kind TEXT NOT NULL,
  subject INTEGER NOT NULL,
  PRIMARY KEY (kind, subject, journal)
) STRICT, WITHOUT ROWID;

CREATE TABLE setting (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL UNIQUE,
  value TEXT NOT NULL
) STRICT;

CREATE TABLE stock (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL UNIQUE CHECK (length(name) BETWEEN 1 AND 80),
  ei REAL CHECK (ei > 0),
  process TEXT NOT NULL,
  base TEXT NOT NULL,
  pitch TEXT NOT NULL,
  thickness_mm REAL, thickness_sd_mm REAL,
  linear_mass_g_per_m REAL, linear_mass_sd_g_per_m REAL,
  ready_wound_price REAL CHECK (ready_wound_price >= 0),
  note TEXT NOT NULL,
  closed INTEGER NOT NULL CHECK (closed IN (0, 1))
) STRICT;

CREATE TABLE loader (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL UNIQUE CHECK (length(name) BETWEEN 1 AND 80),
  kind TEXT NOT NULL CHECK (kind IN ('counter', 'crank')),
  dial_zero INTEGER, hub_mm REAL,
  leader_clicks INTEGER NOT NULL CHECK (leader_clicks >= 0),
  tail_clicks INTEGER NOT NULL CHECK (tail_clicks >= 0),
  click_scale REAL, click_scale_sd REAL,
  uncounted_mm REAL, uncounted_sd_mm REAL,
  note TEXT NOT NULL,
  closed INTEGER NOT NULL CHECK (closed IN (0, 1)),
  CHECK ((kind = 'counter') = (dial_zero IS NOT NULL)),
  CHECK ((kind = 'crank') = (hub_mm IS NOT NULL))
) STRICT;

CREATE TABLE can (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  stock INTEGER NOT NULL REFERENCES stock (id),
  letters TEXT NOT NULL UNIQUE CHECK (length(letters) BETWEEN 1 AND 6),
  length_m REAL NOT NULL CHECK (length_m > 0), length_sd_m REAL NOT NULL CHECK (length_sd_m >= 0),
  package TEXT NOT NULL,
  tare_g REAL, tare_sd_g REAL,
  core_mm REAL NOT NULL CHECK (core_mm > 0),
  loader INTEGER REFERENCES loader (id),
  parent INTEGER REFERENCES can (id),
  price REAL CHECK (price >= 0),
  bought_on TEXT, expires_on TEXT,
  kept_c REAL,
  note TEXT NOT NULL,
  state TEXT NOT NULL
) STRICT;

CREATE TABLE cassette (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  label TEXT NOT NULL UNIQUE CHECK (length(label) BETWEEN 1 AND 20),
  most_frames INTEGER NOT NULL CHECK (most_frames > 0),
  leaks INTEGER NOT NULL CHECK (leaks IN (0, 1)),
  retired INTEGER NOT NULL CHECK (retired IN (0, 1)),
  note TEXT NOT NULL,
  earlier_uses INTEGER NOT NULL CHECK (earlier_uses >= 0)
) STRICT;

CREATE TABLE want (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  what_for TEXT NOT NULL CHECK (length(what_for) BETWEEN 1 AND 120),
  by_when TEXT,
  frames INTEGER NOT NULL CHECK (frames > 0),
  priority INTEGER NOT NULL CHECK (priority BETWEEN 1 AND 9),
  ei REAL CHECK (ei > 0),
  camera TEXT NOT NULL,
  advance_perforations INTEGER NOT NULL CHECK (advance_perforations > 0),
  dropped INTEGER NOT NULL CHECK (dropped IN (0, 1))
) STRICT;

CREATE TABLE want_stock (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  want INTEGER NOT NULL REFERENCES want (id),
  stock INTEGER NOT NULL REFERENCES stock (id),
  UNIQUE (want, stock)
) STRICT;

CREATE TABLE ticket (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  can INTEGER NOT NULL REFERENCES can (id),
  want INTEGER REFERENCES want (id),
  loader INTEGER REFERENCES loader (id),
  frames INTEGER NOT NULL CHECK (frames > 0),
  advance_perforations INTEGER NOT NULL CHECK (advance_perforations > 0),
  leader_clicks INTEGER NOT NULL CHECK (leader_clicks >= 0),
  tail_clicks INTEGER NOT NULL CHECK (tail_clicks >= 0),
  light TEXT NOT NULL,
  ei REAL CHECK (ei > 0),
  reason TEXT NOT NULL,
  number INTEGER NOT NULL CHECK (number > 0),
  state TEXT NOT NULL
) STRICT;
CREATE INDEX ticket_can ON ticket (can);
CREATE INDEX ticket_state ON ticket (state);
CREATE INDEX ticket_want ON ticket (want);

CREATE TABLE roll (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  can INTEGER NOT NULL REFERENCES can (id),
  number INTEGER NOT NULL CHECK (number > 0),
  label TEXT NOT NULL UNIQUE,
  cassette INTEGER REFERENCES cassette (id),
  want INTEGER REFERENCES want (id),
  ticket INTEGER UNIQUE REFERENCES ticket (id),
  loader INTEGER REFERENCES loader (id),
  frames INTEGER NOT NULL CHECK (frames >= 0),
  advance_perforations INTEGER NOT NULL CHECK (advance_perforations > 0),
  clicks REAL NOT NULL CHECK (clicks > 0),
  leader_clicks INTEGER NOT NULL CHECK (leader_clicks >= 0),
  tail_clicks INTEGER NOT NULL CHECK (tail_clicks >= 0),
  light TEXT NOT NULL,
  ei REAL CHECK (ei > 0),
  state TEXT NOT NULL,
  wound_at TEXT NOT NULL,
  note TEXT NOT NULL,
  UNIQUE (can, number)
) STRICT;
CREATE INDEX roll_state ON roll (state);
CREATE INDEX roll_cassette ON roll (cassette);
CREATE INDEX roll_want ON roll (want);

-- Two rolls never sit in one cassette at once.
CREATE UNIQUE INDEX roll_sits_in ON roll (cassette)
  WHERE cassette IS NOT NULL AND state IN ('wound', 'in-camera', 'exposed');

CREATE TABLE evidence (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  can INTEGER NOT NULL REFERENCES can (id),
  roll INTEGER REFERENCES roll (id),
  at TEXT NOT NULL,
  kind TEXT NOT NULL CHECK (kind IN ('wound', 'taken', 'weighed', 'weighed-empty', 'gauged', 'measured', 'ran-out')),
  loader INTEGER REFERENCES loader (id),
  value REAL NOT NULL,
  sd REAL NOT NULL CHECK (sd >= 0),
  core_mm REAL,
  clicks REAL
) STRICT;
CREATE INDEX evidence_can ON evidence (can);
CREATE INDEX evidence_roll ON evidence (roll);
