-- The wet bench: tanks and reels, recipes, runs with their clocks, baths, and the user's own developing times.

ALTER TABLE stock ADD COLUMN backing TEXT NOT NULL DEFAULT 'unknown' CHECK (backing IN ('unknown', 'usual', 'remjet'));

CREATE TABLE reel (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL UNIQUE CHECK (length(name) BETWEEN 1 AND 80),
  count INTEGER NOT NULL CHECK (count > 0),
  longest_mm REAL NOT NULL CHECK (longest_mm > 0),
  takes_two INTEGER NOT NULL CHECK (takes_two IN (0, 1)),
  closed INTEGER NOT NULL CHECK (closed IN (0, 1))
) STRICT;

CREATE TABLE tank (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL UNIQUE CHECK (length(name) BETWEEN 1 AND 80),
  reel INTEGER NOT NULL REFERENCES reel (id),
  volume_ml TEXT NOT NULL,
  closed INTEGER NOT NULL CHECK (closed IN (0, 1))
) STRICT;

CREATE TABLE recipe (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL UNIQUE CHECK (length(name) BETWEEN 1 AND 80),
  process TEXT NOT NULL,
  developer TEXT NOT NULL,
  dilution TEXT NOT NULL,
  least_stock_ml REAL CHECK (least_stock_ml > 0),
  tolerance REAL NOT NULL CHECK (tolerance >= 0),
  note TEXT NOT NULL,
  closed INTEGER NOT NULL CHECK (closed IN (0, 1))
) STRICT;

CREATE TABLE run (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  recipe INTEGER REFERENCES recipe (id),
  tank INTEGER REFERENCES tank (id),
  made_on TEXT NOT NULL,
  volume_ml REAL NOT NULL CHECK (volume_ml > 0),
  time_source TEXT NOT NULL,
  time_because TEXT NOT NULL,
  rehearsal REAL CHECK (rehearsal >= 1),
  state TEXT NOT NULL CHECK (state IN ('planned', 'running', 'done', 'abandoned')),
  note TEXT NOT NULL
) STRICT;
CREATE INDEX run_state ON run (state);

CREATE TABLE bath (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 80),
  kind TEXT NOT NULL,
  usage TEXT NOT NULL,
  mixed_from TEXT NOT NULL, dilution TEXT NOT NULL, mixed_on TEXT NOT NULL,
  volume_ml REAL NOT NULL CHECK (volume_ml > 0),
  capacity_m2_per_l REAL CHECK (capacity_m2_per_l > 0),
  correction TEXT CHECK (correction IN ('none', 'per-run', 'per-roll-per-litre')),
  correction_percent REAL CHECK (correction_percent >= 0),
  shelf_life_days REAL CHECK (shelf_life_days > 0),
  rate_ml_per_m2 REAL CHECK (rate_ml_per_m2 > 0),
  fixer TEXT NOT NULL, place TEXT NOT NULL,
  high_iodide INTEGER NOT NULL CHECK (high_iodide IN (0, 1)),
  note TEXT NOT NULL,
  closed INTEGER NOT NULL CHECK (closed IN (0, 1)),
  CHECK (coalesce(correction IN ('per-run', 'per-roll-per-litre'), 0) = (correction_percent IS NOT NULL))
) STRICT;

CREATE TABLE step (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  recipe INTEGER REFERENCES recipe (id),
  run INTEGER REFERENCES run (id),
  position INTEGER NOT NULL CHECK (position >= 0),
  kind TEXT NOT NULL,
  time_s REAL NOT NULL CHECK (time_s > 0),
  time_from TEXT NOT NULL,
  temperature_c REAL,
  q10 REAL CHECK (q10 > 0),
  first_s REAL NOT NULL, every_s REAL NOT NULL, for_s REAL NOT NULL,
  fill_s REAL NOT NULL, drain_s REAL NOT NULL,
  bath INTEGER REFERENCES bath (id),
  plain_s REAL CHECK (plain_s > 0),
  because TEXT NOT NULL,
  note TEXT NOT NULL,
  CHECK ((recipe IS NULL) <> (run IS NULL))
) STRICT;
CREATE INDEX step_recipe ON step (recipe, position) WHERE recipe IS NOT NULL;
CREATE INDEX step_run ON step (run, position) WHERE run IS NOT NULL;

CREATE TABLE run_roll (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  run INTEGER NOT NULL REFERENCES run (id),
  roll INTEGER NOT NULL REFERENCES roll (id),
  reel INTEGER NOT NULL CHECK (reel > 0),
  usable INTEGER CHECK (usable >= 0),
  fogged_start INTEGER CHECK (fogged_start >= 0),
  fogged_end INTEGER CHECK (fogged_end >= 0),
  exposure TEXT NOT NULL,
  note TEXT NOT NULL,
  UNIQUE (run, roll)
) STRICT;
CREATE INDEX run_roll_roll ON run_roll (roll);

-- Seconds after the run's first mark, and the moment by the clock that counts from the machine's start
-- and by the one on the wall.
CREATE TABLE run_mark (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  run INTEGER NOT NULL REFERENCES run (id),
  at_s REAL NOT NULL CHECK (at_s >= 0),
  kind TEXT NOT NULL,
  step INTEGER,
  value REAL,
  note TEXT NOT NULL,
  boot TEXT NOT NULL,
  since_boot_s REAL NOT NULL,
  utc TEXT NOT NULL
) STRICT;
CREATE INDEX run_mark_run ON run_mark (run, id);

CREATE TABLE bath_event (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  bath INTEGER NOT NULL REFERENCES bath (id),
  day TEXT NOT NULL,
  run INTEGER REFERENCES run (id),
  what TEXT NOT NULL CHECK (what IN ('run', 'clearing', 'looked', 'replenished', 'topped-up')),
  value REAL,
  at_c REAL,
  look TEXT,
  note TEXT NOT NULL
) STRICT;
CREATE INDEX bath_event_bath ON bath_event (bath, id);
CREATE INDEX bath_event_run ON bath_event (run) WHERE run IS NOT NULL;

CREATE TABLE sheet_time (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  stock INTEGER NOT NULL REFERENCES stock (id),
  developer TEXT NOT NULL, dilution TEXT NOT NULL,
  ei REAL CHECK (ei > 0),
  time_min REAL NOT NULL CHECK (time_min > 0),
  temperature_c REAL NOT NULL,
  source TEXT NOT NULL,
  note TEXT NOT NULL,
  closed INTEGER NOT NULL CHECK (closed IN (0, 1))
) STRICT;
CREATE INDEX sheet_time_stock ON sheet_time (stock);
