-- The method that puts a fixed trench in, where the user has decided it.
ALTER TABLE fixed_trench ADD COLUMN method TEXT;
