-- What a cart's own fold says of a job, of a shift and of itself, replaced whole for each of them.
-- The columns of most tables are those of the cart's own history.db; lengths and instants are
-- microseconds, money is in hundredths, heat is a screening estimate.

-- Films of open jobs that run.
CREATE TABLE IF NOT EXISTS window_line (
    shop text NOT NULL, subject uuid NOT NULL, n int NOT NULL, stage text, section text, kind text,
    opens_us bigint, due_us bigint, closes_us bigint, PRIMARY KEY (shop, subject, n));
