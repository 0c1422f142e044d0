-- What is on a cart, a line a product: packs and weighings less what was used since, as its own fold
-- reckons it. Nothing is known to be left before it was weighed.
CREATE TABLE IF NOT EXISTS stock_line (
    shop text NOT NULL, subject uuid NOT NULL, n int NOT NULL, product text, name text, unit text,
    "left" double precision, weighed_us bigint, book double precision, unclear bigint,
    content double precision, opened_us bigint, lot text, expires text, price double precision,
    PRIMARY KEY (shop, subject, n));
CREATE INDEX IF NOT EXISTS stock_product ON stock_line (shop, product, unit);
