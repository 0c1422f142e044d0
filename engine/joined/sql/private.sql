-- Private text, of carts whose owner says so: customer, plate, phone, notes. One line a text. What
-- was forgotten keeps its line and loses everything else, so that a late telling of the same text
-- meets its key and changes nothing, however the two fall in time.
CREATE TABLE IF NOT EXISTS private_text (
    shop text NOT NULL, ref uuid NOT NULL, origin uuid, seq bigint, job uuid, what text,
    letters text, salt bytea, text text, forgotten timestamptz, forgotten_by name,
    PRIMARY KEY (shop, ref));
-- The planner's statistics keep samples, which no forgetting reaches.
ALTER TABLE private_text ALTER COLUMN letters SET STATISTICS 0, ALTER COLUMN text SET STATISTICS 0,
    ALTER COLUMN salt SET STATISTICS 0;
CREATE INDEX IF NOT EXISTS private_letters ON private_text (shop, letters text_pattern_ops);
CREATE INDEX IF NOT EXISTS private_job ON private_text (shop, job);
CREATE INDEX IF NOT EXISTS private_forgotten ON private_text (shop, ref)
    WHERE forgotten IS NOT NULL;
-- As of which row a log told its private texts.
CREATE TABLE IF NOT EXISTS private_told (
    shop text NOT NULL, origin uuid NOT NULL, seq bigint NOT NULL, PRIMARY KEY (shop, origin));
DO $$ BEGIN
    IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = 'cartclock_private') THEN
        CREATE ROLE cartclock_private NOLOGIN; END IF;
END $$;
GRANT USAGE ON SCHEMA cartclock TO cartclock_private;

-- Takes texts of the login's own log, [{"ref", "seq", "job", "what", "letters", "salt", "text"}];
-- answers with those of them that were forgotten and are not taken.
CREATE OR REPLACE FUNCTION tell_private_1(p_origin uuid, p_seq bigint, p_texts jsonb)
RETURNS SETOF uuid
LANGUAGE plpgsql SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS $$
DECLARE head heads := own_head(p_origin);
BEGIN
    INSERT INTO private_text
        SELECT head.shop, (t->>'ref')::uuid, p_origin, (t->>'seq')::bigint, (t->>'job')::uuid,
            t->>'what', t->>'letters', decode(t->>'salt', 'hex'), t->>'text'
        FROM jsonb_array_elements(p_texts) t ON CONFLICT DO NOTHING;
    INSERT INTO private_told AS p VALUES (head.shop, p_origin, p_seq)
        ON CONFLICT (shop, origin) DO UPDATE SET seq = greatest(p.seq, p_seq);
    RETURN QUERY SELECT p.ref FROM private_text p
        WHERE p.shop = head.shop AND p.forgotten IS NOT NULL
        AND p.ref = ANY (SELECT (t->>'ref')::uuid FROM jsonb_array_elements(p_texts) t);
END $$;

-- As of which row the login's own log told its private texts; -1: of none.
CREATE OR REPLACE FUNCTION private_told_1(p_origin uuid) RETURNS bigint
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS $$
    SELECT coalesce(max(p.seq), -1) FROM private_told p
    JOIN heads h ON h.shop = p.shop AND h.origin = p.origin AND h.role = session_user
    WHERE p.shop = my_shop() AND p.origin = p_origin $$;

-- Forgets texts of the shop for ever, also those that nobody has told yet; how many were held.
CREATE OR REPLACE FUNCTION forget_1(p_refs uuid[]) RETURNS bigint
LANGUAGE plpgsql SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS $$
DECLARE mine text := my_shop(); held bigint;
BEGIN
    IF mine IS NULL THEN
        RAISE EXCEPTION 'no cart is called %', session_user USING ERRCODE = 'CC001'; END IF;
    SELECT count(*) INTO held FROM private_text p
        WHERE p.shop = mine AND p.ref = ANY (p_refs) AND p.forgotten IS NULL;
    INSERT INTO private_text AS p (shop, ref, forgotten, forgotten_by)
        SELECT DISTINCT mine, r, now(), session_user FROM unnest(p_refs) r
        ON CONFLICT (shop, ref) DO UPDATE
        SET origin = NULL, seq = NULL, job = NULL, what = NULL, letters = NULL, salt = NULL,
            text = NULL, forgotten = now(), forgotten_by = session_user
        WHERE p.forgotten IS NULL;
    RETURN held;
END $$;

-- What was forgotten in the shop, so that every cart can forget it.
CREATE OR REPLACE FUNCTION forgotten_1() RETURNS SETOF uuid
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS
    'SELECT ref FROM private_text WHERE shop = my_shop() AND forgotten IS NOT NULL';

-- The private texts of the login's own log, for a cart whose disk was lost.
CREATE OR REPLACE FUNCTION own_private_1(p_origin uuid)
RETURNS TABLE (ref text, salt text, said text)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS $$
    SELECT p.ref::text, encode(p.salt, 'hex'), p.text FROM private_text p
    JOIN heads h ON h.shop = p.shop AND h.origin = p.origin AND h.role = session_user
    WHERE p.shop = my_shop() AND p.origin = p_origin ORDER BY p.seq, p.ref $$;

-- The private texts of a job of the shop, for a cart that takes it over.
CREATE OR REPLACE FUNCTION job_private_1(p_job uuid)
RETURNS TABLE (ref text, salt text, said text)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS $$
    SELECT p.ref::text, encode(p.salt, 'hex'), p.text FROM private_text p
    WHERE p.shop = my_shop() AND p.job = p_job ORDER BY p.seq, p.ref $$;

-- Jobs of the shop of which a name, plate or phone begins so, the newest first, each with its
-- private texts as JSON, in the order in which they were said.
CREATE OR REPLACE FUNCTION cards_1(p_letters text, p_most int)
RETURNS TABLE (cart name, number bigint, vehicle text, plan text, day text, state text,
    hands_us bigint, private json)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS $$
    SELECT h.role, j.number, j.vehicle, j.plan, j.day, j.state, j.hands_us, s.private
    FROM (SELECT DISTINCT p.job FROM private_text p
        WHERE p.shop = my_shop() AND length(p_letters) >= 3
        -- By the index: up to behind the last sign there is.
        AND p.letters ~>=~ p_letters AND p.letters ~<~ (p_letters || chr(1114111))) f
    JOIN job_line j ON j.shop = my_shop() AND j.subject = f.job
    JOIN told t ON t.shop = j.shop AND t.subject = j.subject
    JOIN heads h ON h.shop = t.shop AND h.origin = t.origin
    CROSS JOIN LATERAL (SELECT json_agg(json_build_array(p.what, p.text) ORDER BY p.seq, p.ref)
            AS private FROM private_text p WHERE p.shop = my_shop() AND p.job = f.job) s
    ORDER BY j.opened_us DESC LIMIT p_most $$;

GRANT EXECUTE ON FUNCTION tell_private_1, private_told_1, forget_1, forgotten_1, own_private_1,
    job_private_1, cards_1 TO cartclock_cart;
ALTER TABLE private_text ENABLE ROW LEVEL SECURITY;
ALTER TABLE private_told ENABLE ROW LEVEL SECURITY;
-- Who reads figures does not read names: the owner grants that beside it.
DROP POLICY IF EXISTS private ON private_text;
CREATE POLICY private ON private_text FOR SELECT TO cartclock_private
    USING ('*' = ANY ((SELECT my_shops())::text[]) OR shop = ANY ((SELECT my_shops())::text[]));
GRANT SELECT ON private_text TO cartclock_private;
