-- Which cart has a job: the one that opened it, or the newest that took it. A turn is one line for
-- ever, so of two carts that take a job at once exactly one has it.
CREATE TABLE IF NOT EXISTS holders (
    shop text NOT NULL, job uuid NOT NULL, tenure int NOT NULL, origin uuid NOT NULL,
    of uuid NOT NULL, seq bigint NOT NULL, digest text NOT NULL,
    taken timestamptz NOT NULL DEFAULT now(), PRIMARY KEY (shop, job, tenure));
CREATE INDEX IF NOT EXISTS holders_of ON holders (shop, of);
CREATE INDEX IF NOT EXISTS rows_handed ON rows (shop, job, seq)
    WHERE kind IN ('JobOpened', 'JobGiven', 'JobTaken');

-- The cart that has a job, since which of its rows, and in which turn; no line for no such job.
CREATE OR REPLACE FUNCTION holder_of(p_shop text, p_job uuid)
RETURNS TABLE (tenure int, origin uuid, first bigint)
LANGUAGE sql STABLE SET search_path = cartclock, pg_catalog, pg_temp AS $$
    (SELECT h.tenure, h.origin, coalesce((SELECT max(r.seq) FROM rows r
            WHERE r.shop = p_shop AND r.job = p_job AND r.origin = h.origin
            AND r.kind = 'JobTaken' AND (r.body::jsonb->>'tenure')::int = h.tenure),
            9223372036854775807)
        FROM holders h WHERE h.shop = p_shop AND h.job = p_job ORDER BY h.tenure DESC LIMIT 1)
    UNION ALL
    (SELECT 1, r.origin, r.seq FROM rows r WHERE r.shop = p_shop AND r.job = p_job
        AND r.kind = 'JobOpened' AND NOT EXISTS (SELECT FROM holders h
            WHERE h.shop = p_shop AND h.job = p_job)
        ORDER BY r.entered_us, r.origin LIMIT 1) $$;

-- Whether the newest taking of a job was by this log.
CREATE OR REPLACE FUNCTION has_taken(p_shop text, p_job uuid, p_origin uuid) RETURNS boolean
LANGUAGE sql STABLE SET search_path = cartclock, pg_catalog, pg_temp AS $$
    SELECT coalesce((SELECT h.origin = p_origin FROM holders h
        WHERE h.shop = p_shop AND h.job = p_job ORDER BY h.tenure DESC LIMIT 1), false) $$;

-- Jobs of the login's shop that go by a number or by the beginning of an id: open, or given away.
CREATE OR REPLACE FUNCTION jobs_there_1(p_handle text)
RETURNS TABLE (job uuid, number bigint, vehicle text, cart name, given boolean, tenure int,
    origin uuid)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET plan_cache_mode = force_custom_plan
SET search_path = cartclock, pg_catalog, pg_temp AS $$
DECLARE mine text := my_shop();
BEGIN
    RETURN QUERY
    WITH named AS (
        SELECT j.subject AS job, j.number, j.vehicle FROM job_line j
            WHERE j.shop = mine AND j.closed_us IS NULL
        UNION
        SELECT g.job, (o.body::jsonb->>'number')::bigint, o.body::jsonb->>'vehicle'
            FROM (SELECT DISTINCT r.job FROM rows r
                WHERE r.shop = mine AND r.kind = 'JobGiven') g
            JOIN rows o ON o.shop = mine AND o.job = g.job AND o.kind = 'JobOpened')
    SELECT n.job, n.number, n.vehicle, c.role, EXISTS (SELECT FROM rows r
            WHERE r.shop = mine AND r.job = n.job AND r.origin = h.origin
            AND r.kind = 'JobGiven' AND r.seq > h.first), h.tenure, h.origin
    FROM named n, LATERAL holder_of(mine, n.job) h
    JOIN heads c ON c.shop = mine AND c.origin = h.origin
    WHERE n.job::text LIKE p_handle || '%' OR n.number::text = p_handle;
END $$;

-- Jobs of the login's shop that other carts gave away and this log may take, the newest in front.
CREATE INDEX IF NOT EXISTS rows_given ON rows (shop, entered_us) WHERE kind = 'JobGiven';
CREATE OR REPLACE FUNCTION given_1(p_origin uuid)
RETURNS TABLE (job text, number bigint, vehicle text, cart text, given_us bigint)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET plan_cache_mode = force_custom_plan
SET search_path = cartclock, pg_catalog, pg_temp AS $$
DECLARE mine text := my_shop();
BEGIN
    RETURN QUERY
    WITH waiting AS MATERIALIZED (
        SELECT g.origin, g.job, g.seq, g.entered_us FROM rows g
        WHERE g.shop = mine AND g.kind = 'JobGiven' AND g.origin <> p_origin
        AND starts_with(p_origin::text, g.body::jsonb->>'to')
        AND NOT EXISTS (SELECT FROM holders t WHERE t.shop = mine AND t.job = g.job
            AND t.of = g.origin AND t.seq >= g.seq))
    -- By its number where it was given: that of the opening, or of the taking, which begins a turn.
    SELECT w.job::text, (n.body::jsonb->>'number')::bigint, o.body::jsonb->>'vehicle',
        c.role::text, w.entered_us
    FROM waiting w CROSS JOIN LATERAL holder_of(mine, w.job) h
    JOIN rows n ON n.shop = mine AND n.origin = h.origin AND n.seq = h.first
    JOIN rows o ON o.shop = mine AND o.job = w.job AND o.kind = 'JobOpened'
    JOIN heads c ON c.shop = mine AND c.origin = h.origin
    -- A cart that let go of what another had taken gives nothing.
    WHERE h.origin = w.origin AND w.seq > h.first ORDER BY w.entered_us DESC, w.job;
END $$;

-- Takes a job in its next turn, if nobody else has taken it in that; the newest row of the cart
-- that had it is what counts of it. Asked again it answers the same. p_silent: it need not have
-- been given.
CREATE OR REPLACE FUNCTION take_1(p_job uuid, p_origin uuid, p_tenure int, p_silent boolean)
RETURNS TABLE (of text, seq bigint, digest text)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS $$
DECLARE mine heads := own_head(p_origin); theirs heads; holder record; wanted text; other holders;
BEGIN
    SELECT * INTO other FROM holders h
        WHERE h.shop = mine.shop AND h.job = p_job AND h.tenure = p_tenure;
    IF other.origin IS NULL THEN
        SELECT * INTO holder FROM holder_of(mine.shop, p_job);
        IF holder.origin IS NULL THEN
            RAISE EXCEPTION 'no job % is there', p_job USING ERRCODE = 'CC006'; END IF;
        IF holder.tenure + 1 <> p_tenure THEN
            RAISE EXCEPTION 'it was handed over % times, not %', holder.tenure - 1, p_tenure - 2
                USING ERRCODE = 'CC007'; END IF;
        -- What the other cart sends meanwhile waits, so that the row named is its newest here.
        SELECT * INTO theirs FROM heads h
            WHERE h.shop = mine.shop AND h.origin = holder.origin FOR UPDATE;
        SELECT r.body::jsonb->>'to' INTO wanted FROM rows r
            WHERE r.shop = mine.shop AND r.job = p_job AND r.origin = holder.origin
            AND r.kind = 'JobGiven' AND r.seq > holder.first ORDER BY r.seq DESC LIMIT 1;
        IF wanted IS NULL AND NOT p_silent THEN
            RAISE EXCEPTION 'cart % has it and did not give it', theirs.role
                USING ERRCODE = 'CC008'; END IF;
        IF wanted <> '' AND NOT starts_with(p_origin::text, wanted) THEN
            RAISE EXCEPTION 'it was given to cart %', wanted USING ERRCODE = 'CC008'; END IF;
        IF p_silent AND holder.first = 9223372036854775807 THEN
            -- It was lost before its taking came here, or never wrote it: the turn is taken anew.
            UPDATE holders h SET origin = p_origin
                WHERE h.shop = mine.shop AND h.job = p_job AND h.tenure = holder.tenure
                RETURNING * INTO other;
        ELSE
            INSERT INTO holders VALUES (mine.shop, p_job, p_tenure, p_origin, holder.origin,
                theirs.seq, encode(theirs.digest, 'hex')) ON CONFLICT DO NOTHING;
            SELECT * INTO other FROM holders h
                WHERE h.shop = mine.shop AND h.job = p_job AND h.tenure = p_tenure;
        END IF;
    END IF;
    IF other.origin <> p_origin THEN
        RAISE EXCEPTION 'cart % took it first', (SELECT h.role FROM heads h
            WHERE h.shop = mine.shop AND h.origin = other.origin) USING ERRCODE = 'CC007'; END IF;
    RETURN QUERY SELECT other.of::text, other.seq, other.digest;
END $$;

-- The rows of a job, of the shifts it was worked in, and the corrections of the logs these stand
-- in, as they were pushed.
CREATE OR REPLACE FUNCTION pull_job_1(p_job uuid) RETURNS TABLE (line text, digest text)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET plan_cache_mode = force_custom_plan
SET search_path = cartclock, pg_catalog, pg_temp AS $$
DECLARE mine text := my_shop();
BEGIN
    RETURN QUERY
    WITH of_job AS MATERIALIZED (SELECT DISTINCT r.origin, r.shift FROM rows r
        WHERE r.shop = mine AND r.job = p_job),
    -- Each part by an index of its own: joined by OR the whole logs would be walked through.
    parts AS (
        SELECT r FROM rows r WHERE r.shop = mine AND r.job = p_job
        UNION ALL SELECT s.r FROM of_job o CROSS JOIN LATERAL (SELECT r FROM rows r
            WHERE r.shop = mine AND r.shift = o.shift OFFSET 0) s
        UNION ALL SELECT s.r FROM (SELECT DISTINCT origin FROM of_job) o
        CROSS JOIN LATERAL (SELECT r FROM rows r
            WHERE r.shop = mine AND r.origin = o.origin
            AND r.kind IN ('PressStruck', 'PressRestored', 'PressMoved', 'TimeCorrected')
            OFFSET 0) s)
    SELECT line_of(w.r, (SELECT p.digest FROM rows p WHERE p.shop = mine
            AND p.origin = (w.r).origin AND p.seq = (w.r).seq - 1)), encode((w.r).digest, 'hex')
    FROM (SELECT DISTINCT ON ((r).origin, (r).seq) r FROM parts ORDER BY (r).origin, (r).seq) w
    ORDER BY (w.r).origin, (w.r).seq;
END $$;

-- The rows, as they were pushed, that open the packs of some products, of the logs that have rows of
-- a job: those that were in force while it went on there, and every one that was put right.
CREATE INDEX IF NOT EXISTS rows_packs ON rows (shop, origin, at_us) WHERE kind = 'PackOpened';
CREATE OR REPLACE FUNCTION pull_packs_1(p_job uuid, p_products text[])
RETURNS TABLE (line text, digest text)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET plan_cache_mode = force_custom_plan
SET search_path = cartclock, pg_catalog, pg_temp AS $$
DECLARE mine text := my_shop();
BEGIN
    RETURN QUERY
    WITH span AS MATERIALIZED (
        SELECT r.origin, min(r.at_us) AS first, max(r.at_us) AS last FROM rows r
            WHERE r.shop = mine AND r.job = p_job GROUP BY r.origin),
    fixed AS MATERIALIZED (
        SELECT f.origin, (f.body::jsonb->>'press')::bigint AS press
            FROM span s CROSS JOIN LATERAL (SELECT r.origin, r.body FROM rows r
                WHERE r.shop = mine AND r.origin = s.origin
                AND r.kind IN ('PressStruck', 'PressRestored', 'PressMoved') OFFSET 0) f),
    opened AS MATERIALIZED (
        SELECT o.r, o.product, s.first, s.last, (o.r).at_us = (o.r).entered_us AND NOT EXISTS
                (SELECT FROM fixed f WHERE f.origin = s.origin AND f.press = (o.r).press) AS plain
            FROM span s CROSS JOIN LATERAL (SELECT r, r.body::jsonb->>'product' AS product
                FROM rows r WHERE r.shop = mine AND r.origin = s.origin
                AND r.kind = 'PackOpened' OFFSET 0) o
            WHERE o.product = ANY (p_products)),
    before AS (
        SELECT (r).origin, product, max((r).at_us) AS at_us FROM opened
            WHERE plain AND (r).at_us <= first GROUP BY 1, 2)
    SELECT line_of(o.r, (SELECT p.digest FROM rows p WHERE p.shop = mine
            AND p.origin = (o.r).origin AND p.seq = (o.r).seq - 1)), encode((o.r).digest, 'hex')
    FROM opened o LEFT JOIN before b ON b.origin = (o.r).origin AND b.product = o.product
    WHERE NOT o.plain OR (o.r).at_us BETWEEN coalesce(b.at_us, 0) AND o.last
    ORDER BY (o.r).origin, (o.r).seq;
END $$;

-- How far the logs are here that have rows of a job, and how far their clocks were off.
CREATE OR REPLACE FUNCTION job_heads_1(p_job uuid)
RETURNS TABLE (origin text, seq bigint, digest text, cart name, skew_us bigint)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET plan_cache_mode = force_custom_plan
SET search_path = cartclock, pg_catalog, pg_temp AS $$
DECLARE mine text := my_shop();
BEGIN
    RETURN QUERY
    SELECT h.origin::text, h.seq, encode(h.digest, 'hex'), h.role, h.skew_us FROM heads h
    WHERE h.shop = mine AND h.origin IN (SELECT DISTINCT r.origin FROM rows r
        WHERE r.shop = mine AND r.job = p_job);
END $$;

-- Takes notice of what the login's own log took over without asking here; answers with the jobs
-- that it had and another cart has taken since, and with those that another took in the same turn.
CREATE OR REPLACE FUNCTION holdings_1(p_origin uuid)
RETURNS TABLE (job text, tenure int, origin text, cart name)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS $$
DECLARE mine heads := own_head(p_origin);
BEGIN
    INSERT INTO holders SELECT mine.shop, r.job, (r.body::jsonb->>'tenure')::int, p_origin,
            (r.body::jsonb->>'of')::uuid, (r.body::jsonb->>'seq')::bigint, r.body::jsonb->>'digest'
        FROM rows r WHERE r.shop = mine.shop AND r.origin = p_origin AND r.kind = 'JobTaken'
        ON CONFLICT DO NOTHING;
    RETURN QUERY SELECT h.job::text, h.tenure, h.origin::text, c.role FROM holders h
        JOIN heads c ON c.shop = h.shop AND c.origin = h.origin
        WHERE h.shop = mine.shop AND h.origin <> p_origin
        AND (h.of = p_origin OR EXISTS (SELECT FROM rows r WHERE r.shop = mine.shop
            AND r.job = h.job AND r.origin = p_origin AND r.kind = 'JobTaken'
            AND (r.body::jsonb->>'tenure')::int = h.tenure))
        AND NOT EXISTS (SELECT FROM holders n WHERE n.shop = h.shop AND n.job = h.job
            AND n.tenure > h.tenure AND n.origin = p_origin);
END $$;

GRANT EXECUTE ON FUNCTION jobs_there_1, given_1, take_1, pull_job_1, pull_packs_1, job_heads_1,
    holdings_1 TO cartclock_cart;
