-- What carts get back, by functions: where a shop's rows lie on another node, a cart's own SELECT
-- does not reach them.

-- The logs of the login, the one that was heard last in front.
CREATE OR REPLACE FUNCTION my_logs_1()
RETURNS TABLE (origin text, seq bigint, digest text, heard_us bigint)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS $$
    SELECT h.origin::text, h.seq, encode(h.digest, 'hex'),
        (extract(epoch FROM h.heard) * 1e6)::bigint
    FROM heads h WHERE h.shop = my_shop() AND h.role = session_user AND h.seq >= 0
    ORDER BY h.heard DESC, h.origin $$;

-- Jobs that are open on the other carts of the shop, that whose window closes first in front.
CREATE OR REPLACE FUNCTION pull_jobs_1(p_most int)
RETURNS TABLE (cart name, number bigint, vehicle text, plan text, done bigint, sections bigint,
    stage text, section text, closes_us bigint, as_of_us bigint)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS $$
    SELECT h.role, j.number, j.vehicle, j.plan, j.done + j.left_out, j.sections, w.stage,
        w.section, w.closes_us, (extract(epoch FROM h.heard) * 1e6)::bigint
    FROM job_line j
    JOIN told t ON t.shop = j.shop AND t.subject = j.subject
    JOIN heads h ON h.shop = t.shop AND h.origin = t.origin AND h.role <> session_user
    LEFT JOIN LATERAL (SELECT * FROM window_line w WHERE w.shop = j.shop AND w.subject = j.subject
        ORDER BY w.closes_us LIMIT 1) w ON true
    WHERE j.shop = my_shop() AND j.closed_us IS NULL
    ORDER BY w.closes_us, h.role, j.number LIMIT p_most $$;
CREATE INDEX IF NOT EXISTS job_open ON job_line (shop) WHERE closed_us IS NULL;

GRANT EXECUTE ON FUNCTION my_logs_1, pull_jobs_1 TO cartclock_cart;
