-- The latest plan: its own text and what it was made from, both deflated (RFC 1950). Its layers are
-- tables named `plan_...`, made anew with each plan, since their columns carry the reader's units.
CREATE TABLE spadework_plan (
  only_row INTEGER PRIMARY KEY CHECK (only_row = 1),
  basis BLOB NOT NULL,
  plan BLOB NOT NULL
);
