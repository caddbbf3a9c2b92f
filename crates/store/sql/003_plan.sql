-- The latest plan: its own text and the state of the job that it is of, both deflated (RFC 1950). Its layers are
-- tables named `plan_...`, made anew with each plan, since their columns carry the reader's units.
CREATE TABLE spadework_plan (
  only_row INTEGER PRIMARY KEY CHECK (only_row = 1),
  job BLOB NOT NULL,
  plan BLOB NOT NULL
);
