-- The shop's side of cartclock, for PostgreSQL 15 or newer. The owner of the database runs it in an
-- empty database, as a role that may make roles, and again with a newer program: what is there
-- stays, and what is missing is added.
--     cartclock shop tables | psql --single-transaction -v ON_ERROR_STOP=1 shop
-- Every key of a table that grows begins with shop, so that an engine that places rows on several
-- nodes can place them by it. Carts have no right to write to any table: they call functions.
SET client_min_messages = warning;
CREATE SCHEMA IF NOT EXISTS cartclock;
REVOKE ALL ON SCHEMA public FROM PUBLIC;
DO $$ BEGIN
    -- Roles are of the whole server: a second database of it finds them there.
    IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = 'cartclock_cart') THEN
        CREATE ROLE cartclock_cart NOLOGIN; END IF;
    IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = 'cartclock_reader') THEN
        CREATE ROLE cartclock_reader NOLOGIN; END IF;
END $$;
GRANT USAGE ON SCHEMA cartclock TO cartclock_cart, cartclock_reader;
SET search_path = cartclock;

-- Which tables these are; a cart looks before it sends.
CREATE TABLE IF NOT EXISTS version (one int PRIMARY KEY CHECK (one = 1), tables int NOT NULL);
DO $$ BEGIN
    IF EXISTS (SELECT 1 FROM cartclock.version WHERE tables > {version}) THEN
        RAISE EXCEPTION 'these tables were made by a newer program: nothing was changed'; END IF;
END $$;

-- Which login is which cart of which shop, and which shops a reader may see; '*' is all of them.
CREATE TABLE IF NOT EXISTS carts (role name PRIMARY KEY, shop text NOT NULL);
CREATE TABLE IF NOT EXISTS readers (role name, shop text, PRIMARY KEY (role, shop));

-- How far the log of a cart is here. Its line is the lock of a push and the point of resume.
CREATE TABLE IF NOT EXISTS heads (
    shop text NOT NULL, origin uuid NOT NULL, role name NOT NULL,
    seq bigint NOT NULL DEFAULT -1, digest bytea NOT NULL DEFAULT '',
    heard timestamptz NOT NULL DEFAULT now(), skew_us bigint, program text,
    figures bytea NOT NULL DEFAULT '',
    PRIMARY KEY (shop, origin));

-- The rows of every log. The body is kept as the text its digest was reckoned over: jsonb would
-- refuse some letters and write numbers anew. The digest of the row before is that of seq - 1.
CREATE TABLE IF NOT EXISTS rows (
    shop text NOT NULL, origin uuid NOT NULL, seq bigint NOT NULL, press bigint NOT NULL,
    at_us bigint NOT NULL, entered_us bigint NOT NULL, wall_us bigint NOT NULL,
    tick_us bigint NOT NULL, shift uuid, job uuid, v smallint NOT NULL, sure boolean NOT NULL,
    worker text NOT NULL, kind text NOT NULL, boot text NOT NULL, by text NOT NULL,
    body text NOT NULL, digest bytea NOT NULL,
    PRIMARY KEY (shop, origin, seq)){partitioned};
DO $$ BEGIN
    -- An owner who placed the shops on several nodes has other ones, or none.
    IF EXISTS (SELECT 1 FROM pg_partitioned_table WHERE partrelid = 'cartclock.rows'::regclass)
        AND NOT EXISTS (SELECT 1 FROM pg_inherits WHERE inhparent = 'cartclock.rows'::regclass) THEN
        FOR part IN 0..63 LOOP
            EXECUTE format('CREATE TABLE cartclock.rows_%s PARTITION OF cartclock.rows '
                'FOR VALUES WITH (MODULUS 64, REMAINDER %s)', part, part);
        END LOOP;
    END IF;
END $$;
CREATE INDEX IF NOT EXISTS rows_job ON rows (shop, job) WHERE job IS NOT NULL;
CREATE INDEX IF NOT EXISTS rows_shift ON rows (shop, shift) WHERE shift IS NOT NULL;
CREATE INDEX IF NOT EXISTS rows_fixes ON rows (shop, origin)
    WHERE kind IN ('PressStruck', 'PressRestored', 'PressMoved', 'TimeCorrected');
-- A block range index: rows come in the order of time, and one range is a few pages.
CREATE INDEX IF NOT EXISTS rows_entered ON rows USING brin (entered_us) WITH (pages_per_range = 32);

-- As of which row a cart told the figures of a job, a shift or of itself.
CREATE TABLE IF NOT EXISTS told (
    shop text NOT NULL, subject uuid NOT NULL, origin uuid NOT NULL,
    fold int NOT NULL, seq bigint NOT NULL, digest bytea NOT NULL,
    PRIMARY KEY (shop, subject));
CREATE INDEX IF NOT EXISTS told_origin ON told (shop, origin);
-- What tables of an earlier version passed over is told once more.
DO $$ BEGIN
    IF EXISTS (SELECT 1 FROM cartclock.version WHERE tables < {version}) THEN
        UPDATE cartclock.heads SET figures = '';
        UPDATE cartclock.told SET digest = '';
    END IF;
END $$;
INSERT INTO version VALUES (1, {version}) ON CONFLICT (one) DO UPDATE SET tables = {version};

-- The shop of the login, and the shops a reader may see.
-- What reads rows has the shop in hand before it is planned, and is planned with it each time
-- (force_custom_plan): only the shop's own part of the rows is looked at then.
CREATE OR REPLACE FUNCTION my_shop() RETURNS text
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS
    'SELECT shop FROM carts WHERE role = session_user';
CREATE OR REPLACE FUNCTION my_shops() RETURNS text[]
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS
    'SELECT coalesce(array_agg(shop), ''{}'') FROM readers WHERE role = session_user';

-- The line of a log of the login's own cart, held until the end of the statement.
CREATE OR REPLACE FUNCTION own_head(p_origin uuid) RETURNS heads
LANGUAGE plpgsql SET search_path = cartclock, pg_catalog, pg_temp AS $$
DECLARE mine text := my_shop(); found heads;
BEGIN
    IF mine IS NULL THEN
        RAISE EXCEPTION 'no cart is called %', session_user USING ERRCODE = 'CC001'; END IF;
    INSERT INTO heads (shop, origin, role) VALUES (mine, p_origin, session_user)
        ON CONFLICT DO NOTHING;
    SELECT * INTO found FROM heads h WHERE h.shop = mine AND h.origin = p_origin FOR UPDATE;
    IF found.role <> session_user THEN
        RAISE EXCEPTION 'log % is of cart %', p_origin, found.role USING ERRCODE = 'CC001'; END IF;
    RETURN found;
END $$;

-- Refuses the row that stands at p_due behind a digest, in a statement that begins with p_first,
-- because it does not follow on that; it answers nothing.
CREATE OR REPLACE FUNCTION refuse_row(p_origin uuid, p_due bigint, p_first bigint, p_row jsonb,
    p_before bytea)
RETURNS bytea
LANGUAGE plpgsql SET search_path = cartclock, pg_catalog, pg_temp AS $$
BEGIN
    IF p_row->>0 IS DISTINCT FROM p_origin::text THEN
        RAISE EXCEPTION 'row % is of log %', p_row->>1, p_row->>0 USING ERRCODE = 'CC001';
    ELSIF p_row->>1 IS DISTINCT FROM p_due::text THEN
        RAISE EXCEPTION 'row % stands where row % is due', p_row->>1, p_due
            USING ERRCODE = 'CC002';
    ELSIF p_due = p_first AND p_first > 0 THEN
        RAISE EXCEPTION 'row % is % at the shop and % on the cart', p_due - 1,
            encode(p_before, 'hex'), p_row->>16 USING ERRCODE = 'CC004';
    END IF;
    RAISE EXCEPTION 'row % does not follow on the row before it', p_due USING ERRCODE = 'CC003';
END $$;
-- What an earlier push_1 refused rows by.
DROP FUNCTION IF EXISTS refuse_rows(uuid, text, bigint, bytea);

-- Takes rows of a log as the texts their digests were reckoned over, one a line: canonical JSON
-- holds no raw line feed. All of them or none; those that are here already change nothing.
CREATE OR REPLACE FUNCTION push_1(p_origin uuid, p_lines text, p_skew_us bigint, p_program text)
RETURNS TABLE (head_seq bigint, head_digest text, added int)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS $$
DECLARE
    head heads := own_head(p_origin);
    other record; first bigint; many int := 0;
BEGIN
    IF p_lines <> '' THEN
        first := (split_part(p_lines, E'\n', 1)::jsonb->>1)::bigint;
        IF first > head.seq + 1 THEN
            RAISE EXCEPTION 'rows % to % are missing', head.seq + 1, first - 1
                USING ERRCODE = 'CC002'; END IF;
        IF first IS NULL OR first < 0 THEN
            RAISE EXCEPTION 'row % stands where row % is due', first, head.seq + 1
                USING ERRCODE = 'CC002'; END IF;
        -- Each line is read once, and looked at while it is put in; a row that is refused takes the
        -- others with it. OFFSET keeps the planner from reading the JSON for every column.
        INSERT INTO rows SELECT head.shop, p_origin, due, (j->>2)::bigint, (j->>8)::bigint,
            (j->>9)::bigint, (j->>10)::bigint, (j->>12)::bigint, (j->>3)::uuid, (j->>4)::uuid,
            (j->>7)::smallint, (j->>13)::int = 1, j->>5, j->>6, j->>11, j->>14, j->>15,
            CASE WHEN (j->>0, (j->>1)::bigint, j->>16)
                IS NOT DISTINCT FROM (p_origin::text, due, encode(before, 'hex'))
                THEN d ELSE refuse_row(p_origin, due, first, j, before) END
        FROM (SELECT first + n - 1 AS due, j, d, lag(d, 1, head.digest) OVER (ORDER BY n) AS before
            FROM (SELECT n, l::jsonb AS j, sha256(convert_to(l, 'UTF8')) AS d
                FROM string_to_table(p_lines, E'\n') WITH ORDINALITY AS t(l, n) OFFSET 0) s) r
        WHERE due > head.seq;
        GET DIAGNOSTICS many = ROW_COUNT;
        -- Of rows that are here already; by their numbers, or the whole log would be walked through.
        IF first <= head.seq THEN
            SELECT r.seq, encode(r.digest, 'hex') AS here,
                    encode(sha256(convert_to(l, 'UTF8')), 'hex') AS there INTO other
                FROM string_to_table(p_lines, E'\n') WITH ORDINALITY AS t(l, n)
                JOIN rows r ON r.shop = head.shop AND r.origin = p_origin AND r.seq = first + n - 1
                    AND r.seq BETWEEN first AND head.seq
                WHERE r.digest <> sha256(convert_to(l, 'UTF8')) ORDER BY r.seq LIMIT 1;
            IF other.seq IS NOT NULL THEN
                RAISE EXCEPTION 'row % is % at the shop and % on the cart', other.seq, other.here,
                    other.there USING ERRCODE = 'CC004'; END IF;
        END IF;
        IF many > 0 THEN
            head.seq := head.seq + many;
            head.digest := sha256(convert_to(split_part(p_lines, E'\n', -1), 'UTF8'));
        END IF;
    END IF;
    UPDATE heads h SET seq = head.seq, digest = head.digest, heard = now(), skew_us = p_skew_us,
        program = p_program WHERE h.shop = head.shop AND h.origin = p_origin;
    RETURN QUERY SELECT head.seq, encode(head.digest, 'hex'), many;
END $$;
-- What an earlier push_1 put together its rows in.
DROP TYPE IF EXISTS cartclock.line;

-- A row as it was pushed; p_prev: digest of the row before it.
CREATE OR REPLACE FUNCTION line_of(r rows, p_prev bytea) RETURNS text
LANGUAGE sql STABLE AS $$
    SELECT format('["%s",%s,%s,%s,%s,%s,%s,%s,%s,%s,%s,%s,%s,%s,%s,%s,"%s"]',
        r.origin, r.seq, r.press, coalesce('"' || r.shift || '"', 'null'),
        coalesce('"' || r.job || '"', 'null'), to_json(r.worker), to_json(r.kind), r.v,
        r.at_us, r.entered_us, r.wall_us, to_json(r.boot), r.tick_us, r.sure::int,
        to_json(r.by), to_json(r.body), coalesce(encode(p_prev, 'hex'), '')) $$;

-- Rows of the login's own log behind one, as they were pushed: for a cart whose disk was lost, or
-- on which an older copy was put back.
CREATE OR REPLACE FUNCTION pull_own_1(p_origin uuid, p_after bigint, p_most int)
RETURNS TABLE (line text, digest text)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET plan_cache_mode = force_custom_plan
SET search_path = cartclock, pg_catalog, pg_temp AS $$
DECLARE mine text := my_shop();
BEGIN
    RETURN QUERY
    -- By their numbers, which have no hole, and the row before in the same reading: joined to itself
    -- the whole log would be walked through.
    SELECT line_of(s.r, s.before), encode((s.r).digest, 'hex')
    FROM (SELECT r, lag(r.digest) OVER (ORDER BY r.seq) AS before FROM rows r
        WHERE r.shop = mine AND r.origin = p_origin AND r.seq BETWEEN p_after AND p_after + p_most
        AND EXISTS (SELECT FROM heads h
            WHERE h.shop = mine AND h.origin = p_origin AND h.role = session_user)) s
    WHERE (s.r).seq > p_after ORDER BY (s.r).seq;
END $$;

-- A row of a log is never changed or deleted, not by the owner of the tables either.
CREATE OR REPLACE FUNCTION never() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN
    RAISE EXCEPTION 'a row of a log is never changed or deleted' USING ERRCODE = 'CC005';
END $$;
CREATE OR REPLACE TRIGGER rows_never BEFORE UPDATE OR DELETE ON rows
    FOR EACH ROW EXECUTE FUNCTION never();
