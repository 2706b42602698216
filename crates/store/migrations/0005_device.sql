-- Devices that were paired with the program: a phone beside the bench. Of what a device proves itself with, only the
-- SHA-256 is kept.

CREATE TABLE device (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 80),
  token_hash TEXT NOT NULL UNIQUE CHECK (length(token_hash) = 64),
  paired_on TEXT NOT NULL,
  revoked INTEGER NOT NULL CHECK (revoked IN (0, 1))
) STRICT;
CREATE UNIQUE INDEX device_name ON device (name) WHERE revoked = 0;
