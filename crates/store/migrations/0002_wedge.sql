-- Wedge tests, their strips as read, and the stock cards a person chose to work by.
-- A row of numbers is text: decimals apart by one space, '-' where a patch could not be read.

CREATE TABLE wedge_test (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL UNIQUE CHECK (length(name) BETWEEN 1 AND 80),
  stock INTEGER NOT NULL REFERENCES stock (id),
  can INTEGER REFERENCES can (id),
  way TEXT NOT NULL CHECK (way IN ('in-camera', 'relative', 'absolute')),
  steps TEXT NOT NULL,
  log_h_at_zero_density REAL,
  meter_ei REAL CHECK (meter_ei > 0),
  developer TEXT NOT NULL, dilution TEXT NOT NULL, temperature_c REAL, agitation TEXT NOT NULL,
  planned_min TEXT NOT NULL,
  ticket INTEGER UNIQUE REFERENCES ticket (id),
  begun_on TEXT NOT NULL,
  note TEXT NOT NULL,
  closed INTEGER NOT NULL CHECK (closed IN (0, 1)),
  CHECK ((way = 'absolute') = (log_h_at_zero_density IS NOT NULL)),
  CHECK (way = 'in-camera' OR meter_ei IS NULL),
  CHECK (way = 'in-camera' OR ticket IS NULL)
) STRICT;
CREATE INDEX wedge_test_stock ON wedge_test (stock);

CREATE TABLE wedge_strip (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  test INTEGER NOT NULL REFERENCES wedge_test (id),
  time_min REAL NOT NULL CHECK (time_min > 0),
  channel TEXT NOT NULL,
  density TEXT NOT NULL,
  density_sd REAL CHECK (density_sd > 0),
  base_fog REAL,
  source TEXT NOT NULL,
  left_out INTEGER NOT NULL CHECK (left_out IN (0, 1))
) STRICT;
CREATE INDEX wedge_strip_test ON wedge_strip (test);

CREATE TABLE stock_card (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  stock INTEGER NOT NULL REFERENCES stock (id),
  test INTEGER REFERENCES wedge_test (id),
  can INTEGER REFERENCES can (id),
  made_on TEXT NOT NULL,
  ei REAL CHECK (ei > 0), ei_lower95 REAL, ei_upper95 REAL,
  speed_kind TEXT NOT NULL CHECK (speed_kind IN ('ei', 'iso', 'unknown')),
  time_min REAL CHECK (time_min > 0), time_lower95_min REAL, time_upper95_min REAL,
  measure TEXT, contrast REAL CHECK (contrast > 0),
  developer TEXT NOT NULL, dilution TEXT NOT NULL, temperature_c REAL, agitation TEXT NOT NULL,
  limits TEXT NOT NULL,
  note TEXT NOT NULL,
  CHECK ((measure IS NULL) = (contrast IS NULL))
) STRICT;
CREATE INDEX stock_card_stock ON stock_card (stock);
