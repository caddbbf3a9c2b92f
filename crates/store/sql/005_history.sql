-- What was changed in the planner, newest last, with the steps of each change and those that take it back (JSON); and
-- variants of the job that were kept under a name.
CREATE TABLE history (
  version INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  at DATETIME NOT NULL,
  sort TEXT NOT NULL,
  label TEXT NOT NULL,
  -- The version whose steps were carried out or taken back, where it is no change of its own.
  of INTEGER,
  steps TEXT NOT NULL,
  back TEXT NOT NULL
);

CREATE TABLE variant (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  name TEXT NOT NULL UNIQUE,
  version INTEGER NOT NULL,
  at DATETIME NOT NULL,
  -- What its plan came to, in whatever words its user compares by.
  totals TEXT NOT NULL
);

INSERT INTO gpkg_contents (table_name, data_type, identifier, description) VALUES
  ('history', 'attributes', 'history', 'What was changed, and when'),
  ('variant', 'attributes', 'variant', 'Variants kept under a name');
