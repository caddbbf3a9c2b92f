-- The job: a table for every kind of feature, named as the kind is; what concerns it as a whole; what fits no table.
--
-- Properties stand as the user wrote them, with their units, in columns of their own names. `position` is the
-- place of a feature among all of the job; a feature added by another program has none and comes last. `more`
-- holds, as JSON, properties that have no column or whose value the column cannot hold.

CREATE TABLE spadework_file (
  only_row INTEGER PRIMARY KEY CHECK (only_row = 1),
  migration INTEGER NOT NULL
);
INSERT INTO spadework_file VALUES (1, 0);

-- Members of the job file's top level (`top`) and of its object `spadework` (`job`), as JSON.
CREATE TABLE setting (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  part TEXT NOT NULL,
  name TEXT NOT NULL,
  value TEXT NOT NULL
);

-- Local rules and prices that differ from the defaults: the path of the value (RFC 6901) in the practice or the
-- price file, and the value as JSON.
CREATE TABLE override (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  part TEXT NOT NULL,
  path TEXT NOT NULL,
  value TEXT NOT NULL
);

-- Features that fit none of the tables below, as JSON: of an unknown kind, with a shape that the kind has not.
CREATE TABLE unfiled (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  position INTEGER,
  feature TEXT NOT NULL
);

INSERT INTO gpkg_contents (table_name, data_type, identifier, description) VALUES
  ('setting', 'attributes', 'setting', 'What concerns the job as a whole'),
  ('override', 'attributes', 'override', 'Local rules and prices that differ from the defaults'),
  ('unfiled', 'attributes', 'unfiled', 'Features that fit no other table');

CREATE TABLE boundary (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POLYGON,
  id TEXT,
  position INTEGER,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('boundary', 'features', 'boundary', 'Property line', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('boundary', 'geom', 'POLYGON', 100001, 0, 0);

CREATE TABLE surface (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POLYGON,
  id TEXT,
  position INTEGER,
  surface TEXT,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('surface', 'features', 'surface', 'What covers the ground', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('surface', 'geom', 'POLYGON', 100001, 0, 0);

CREATE TABLE obstacle (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom GEOMETRY,
  id TEXT,
  position INTEGER,
  obstacle TEXT,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('obstacle', 'features', 'obstacle', 'What stands in the way', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('obstacle', 'geom', 'GEOMETRY', 100001, 0, 0);

CREATE TABLE tree (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POINT,
  id TEXT,
  position INTEGER,
  trunk TEXT,
  root_radius TEXT,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('tree', 'features', 'tree', 'Trees', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('tree', 'geom', 'POINT', 100001, 0, 0);

CREATE TABLE utility (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom LINESTRING,
  id TEXT,
  position INTEGER,
  service TEXT,
  width TEXT,
  depth TEXT,
  located BOOLEAN,
  marked BOOLEAN,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('utility', 'features', 'utility', 'Buried services of others', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('utility', 'geom', 'LINESTRING', 100001, 0, 0);

CREATE TABLE soil (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POLYGON,
  id TEXT,
  position INTEGER,
  texture TEXT,
  coarse TEXT,
  stone TEXT,
  moisture TEXT,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('soil', 'features', 'soil', 'What the ground is made of', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('soil', 'geom', 'POLYGON', 100001, 0, 0);

CREATE TABLE steep (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POLYGON,
  id TEXT,
  position INTEGER,
  slope TEXT,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('steep', 'features', 'steep', 'Areas of a known slope', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('steep', 'geom', 'POLYGON', 100001, 0, 0);

CREATE TABLE spot (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POINT,
  id TEXT,
  position INTEGER,
  elevation TEXT,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('spot', 'features', 'spot', 'Spot elevations', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('spot', 'geom', 'POINT', 100001, 0, 0);

CREATE TABLE gate (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom LINESTRING,
  id TEXT,
  position INTEGER,
  clear_width TEXT,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('gate', 'features', 'gate', 'Gates, from post to post', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('gate', 'geom', 'LINESTRING', 100001, 0, 0);

CREATE TABLE access (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POINT,
  id TEXT,
  position INTEGER,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('access', 'features', 'access', 'Where machines get in', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('access', 'geom', 'POINT', 100001, 0, 0);

CREATE TABLE mark (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POINT,
  id TEXT,
  position INTEGER,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('mark', 'features', 'mark', 'Points to measure from', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('mark', 'geom', 'POINT', 100001, 0, 0);

CREATE TABLE baseline (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom LINESTRING,
  id TEXT,
  position INTEGER,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('baseline', 'features', 'baseline', 'The line along which stations are counted', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('baseline', 'geom', 'LINESTRING', 100001, 0, 0);

CREATE TABLE source (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POINT,
  id TEXT,
  position INTEGER,
  static_pressure TEXT,
  test_flow TEXT,
  residual_pressure TEXT,
  service_size TEXT,
  main_pipe TEXT,
  pump TEXT,
  meter_loss TEXT,
  filter_loss TEXT,
  regulated TEXT,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('source', 'features', 'source', 'Where the water comes from', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('source', 'geom', 'POINT', 100001, 0, 0);

CREATE TABLE backflow (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POINT,
  id TEXT,
  position INTEGER,
  loss TEXT,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('backflow', 'features', 'backflow', 'Backflow assembly', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('backflow', 'geom', 'POINT', 100001, 0, 0);

CREATE TABLE controller (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POINT,
  id TEXT,
  position INTEGER,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('controller', 'features', 'controller', 'Controller', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('controller', 'geom', 'POINT', 100001, 0, 0);

CREATE TABLE circuit (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  id TEXT,
  position INTEGER,
  name TEXT,
  pipe TEXT,
  runs_with TEXT,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description)
  VALUES ('circuit', 'attributes', 'circuit', 'Heads that run together');

CREATE TABLE valve (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POINT,
  id TEXT,
  position INTEGER,
  circuit TEXT,
  manifold TEXT,
  loss TEXT,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('valve', 'features', 'valve', 'Valves', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('valve', 'geom', 'POINT', 100001, 0, 0);

CREATE TABLE manifold (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POINT,
  id TEXT,
  position INTEGER,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('manifold', 'features', 'manifold', 'Where valves may stand', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('manifold', 'geom', 'POINT', 100001, 0, 0);

CREATE TABLE head (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POINT,
  id TEXT,
  position INTEGER,
  circuit TEXT,
  flow TEXT,
  pressure TEXT,
  exponent TEXT,
  compensating BOOLEAN,
  precipitation TEXT,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('head', 'features', 'head', 'Sprinkler heads', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('head', 'geom', 'POINT', 100001, 0, 0);

CREATE TABLE drip (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POINT,
  id TEXT,
  position INTEGER,
  circuit TEXT,
  flow TEXT,
  pressure TEXT,
  exponent TEXT,
  compensating BOOLEAN,
  precipitation TEXT,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('drip', 'features', 'drip', 'Where drip areas are fed', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('drip', 'geom', 'POINT', 100001, 0, 0);

CREATE TABLE cable (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom MULTIPOINT,
  id TEXT,
  position INTEGER,
  service TEXT,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('cable', 'features', 'cable', 'Cables of other services', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('cable', 'geom', 'MULTIPOINT', 100001, 0, 0);

CREATE TABLE sleeve (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom LINESTRING,
  id TEXT,
  position INTEGER,
  inside TEXT,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('sleeve', 'features', 'sleeve', 'Sleeves that lie under paving already', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('sleeve', 'geom', 'LINESTRING', 100001, 0, 0);

CREATE TABLE keep_out (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POLYGON,
  id TEXT,
  position INTEGER,
  reason TEXT,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('keep_out', 'features', 'keep_out', 'Places where nothing is dug', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('keep_out', 'geom', 'POLYGON', 100001, 0, 0);

CREATE TABLE corridor (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POLYGON,
  id TEXT,
  position INTEGER,
  favour TEXT,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('corridor', 'features', 'corridor', 'Strips in which trenches are preferred', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('corridor', 'geom', 'POLYGON', 100001, 0, 0);

CREATE TABLE fixed_trench (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom LINESTRING,
  id TEXT,
  position INTEGER,
  carries TEXT,
  note TEXT,
  more TEXT
);
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
  VALUES ('fixed_trench', 'features', 'fixed_trench', 'Trenches that run where they are drawn', 100001);
INSERT INTO gpkg_geometry_columns VALUES ('fixed_trench', 'geom', 'LINESTRING', 100001, 0, 0);
