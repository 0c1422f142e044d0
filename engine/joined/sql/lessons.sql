-- What other logs of the shop teach the login's own cart, of the jobs in which a step was done
-- last: how long it took each worker, as count and mean of logarithms.
CREATE OR REPLACE FUNCTION lessons_1(p_origin uuid)
RETURNS TABLE (worker text, stage text, verb text, nth bigint, n bigint,
    ln_seconds double precision, carts text[])
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS $$
    SELECT worker, stage, verb, nth, sum(pieces)::bigint,
        sum(pieces * ln_seconds) / sum(pieces),
        array_agg(DISTINCT role::text)
    FROM (SELECT l.worker, l.stage, l.verb, l.nth, l.pieces, l.ln_seconds, h.role, row_number() OVER
            (PARTITION BY l.worker, l.stage, l.verb, l.nth
            ORDER BY l.last_us DESC, l.subject DESC) AS place
        FROM lesson l
        JOIN told t ON t.shop = l.shop AND t.subject = l.subject AND t.origin <> p_origin
        JOIN heads h ON h.shop = t.shop AND h.origin = t.origin
        WHERE l.shop = my_shop()) newest
    WHERE place <= 20 GROUP BY worker, stage, verb, nth ORDER BY 1, 2, 3, 4 $$;

-- Films of other logs of the shop that were watched until ready, the newest of each worker and
-- product, the oldest first.
CREATE OR REPLACE FUNCTION films_1(p_origin uuid)
RETURNS TABLE (worker text, cart text, product text, kind text, label text, seen_us bigint,
    seconds double precision, panel_c double precision, air_c double precision,
    rh double precision, moving bigint)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS $$
    SELECT worker, role::text, product, kind, label, seen_us, seconds, panel_c, air_c, rh, moving
    FROM (SELECT f.*, h.role, row_number() OVER
            (PARTITION BY f.worker, f.product ORDER BY f.seen_us DESC, f.subject DESC, f.n) AS place
        FROM film_line f
        JOIN told t ON t.shop = f.shop AND t.subject = f.subject AND t.origin <> p_origin
        JOIN heads h ON h.shop = t.shop AND h.origin = t.origin
        WHERE f.shop = my_shop()) newest
    WHERE place <= 60 ORDER BY seen_us, worker, product, kind, seconds $$;

GRANT EXECUTE ON FUNCTION lessons_1, films_1 TO cartclock_cart;
