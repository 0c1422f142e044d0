-- Takes the figures of some subjects: [{"id", "digest", "lines": {table: [{column: value}]}}].
-- What was told as of a later row, or by a newer fold, stays. Columns that are not known here are
-- passed over and missing ones are empty, so that carts of several versions can send.
CREATE OR REPLACE FUNCTION tell_1(
    p_origin uuid, p_fold int, p_seq bigint, p_subjects jsonb, p_gone uuid[], p_figures bytea)
RETURNS int
LANGUAGE plpgsql SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS $$
DECLARE
    head heads := own_head(p_origin);
    one jsonb; id uuid; made text; lines jsonb; many int := 0; went uuid[];
BEGIN
    FOR one IN SELECT * FROM jsonb_array_elements(p_subjects) LOOP
        id := (one->>'id')::uuid;
        INSERT INTO told AS t VALUES (head.shop, id, p_origin, p_fold, p_seq,
                decode(one->>'digest', 'hex'))
            ON CONFLICT (shop, subject) DO UPDATE
            SET origin = p_origin, fold = p_fold, seq = p_seq, digest = excluded.digest
            WHERE (t.origin = p_origin AND (t.fold, t.seq) <= (p_fold, p_seq))
            -- Of a job that went from cart to cart the newest says how it stands.
            OR (t.origin <> p_origin AND has_taken(head.shop, id, p_origin));
        CONTINUE WHEN NOT FOUND;
        PERFORM wipe(head.shop, ARRAY[id]);
        FOR made, lines IN SELECT * FROM jsonb_each(one->'lines') LOOP
            CONTINUE WHEN NOT made = ANY (figure_tables());
            EXECUTE format('INSERT INTO %1$I SELECT (jsonb_populate_record(NULL::%1$I, '
                'l || jsonb_build_object(''shop'', $1, ''subject'', $2, ''n'', n))).* '
                'FROM jsonb_array_elements($3) WITH ORDINALITY AS t(l, n)', made)
                USING head.shop, id, lines;
        END LOOP;
        many := many + 1;
    END LOOP;
    -- Its own alone: what another log told meanwhile stays.
    WITH gone AS (DELETE FROM told t WHERE t.shop = head.shop AND t.origin = p_origin
        AND t.subject = ANY (p_gone) RETURNING t.subject)
        SELECT coalesce(array_agg(subject), '{}') INTO went FROM gone;
    PERFORM wipe(head.shop, went);
    -- Only the last part of a telling says as of which row all figures are.
    IF p_figures <> '' THEN
        UPDATE heads h SET figures = p_figures WHERE h.shop = head.shop AND h.origin = p_origin;
    END IF;
    RETURN many;
END $$;

-- Takes away the figures of these subjects.
CREATE OR REPLACE FUNCTION wipe(p_shop text, p_subjects uuid[]) RETURNS void
LANGUAGE plpgsql SET search_path = cartclock, pg_catalog, pg_temp AS $$
DECLARE made text;
BEGIN
    FOREACH made IN ARRAY figure_tables() LOOP
        EXECUTE format('DELETE FROM %I WHERE shop = $1 AND subject = ANY ($2)', made)
            USING p_shop, p_subjects;
    END LOOP;
END $$;

-- Nobody but the owner may call what is not named here.
REVOKE ALL ON ALL FUNCTIONS IN SCHEMA cartclock FROM PUBLIC;
GRANT EXECUTE ON FUNCTION push_1, pull_own_1, tell_1, my_shop, my_shops TO cartclock_cart;
GRANT EXECUTE ON FUNCTION my_shop, my_shops TO cartclock_reader;
GRANT SELECT ON version TO cartclock_cart, cartclock_reader;
DO $$ DECLARE made text; BEGIN
    FOREACH made IN ARRAY ARRAY['heads', 'rows', 'told', 'holders'] || cartclock.figure_tables() LOOP
        EXECUTE format('ALTER TABLE cartclock.%I ENABLE ROW LEVEL SECURITY', made);
        EXECUTE format('GRANT SELECT ON cartclock.%I TO cartclock_cart, cartclock_reader', made);
        EXECUTE format('DROP POLICY IF EXISTS cart ON cartclock.%I', made);
        EXECUTE format('DROP POLICY IF EXISTS reader ON cartclock.%I', made);
        EXECUTE format('CREATE POLICY cart ON cartclock.%I FOR SELECT TO cartclock_cart '
            'USING (shop = (SELECT cartclock.my_shop()))', made);
        EXECUTE format('CREATE POLICY reader ON cartclock.%I FOR SELECT TO cartclock_reader '
            'USING (''*'' = ANY ((SELECT cartclock.my_shops())::text[]) '
            'OR shop = ANY ((SELECT cartclock.my_shops())::text[]))', made);
    END LOOP;
END $$;

-- What any tool can read; security_invoker: the row security of who reads holds. They are made
-- anew, so that a newer program can give one other columns.
DO $$ DECLARE every text; BEGIN
    SELECT string_agg(format('cartclock.%I', viewname), ', ') INTO every
        FROM pg_views WHERE schemaname = 'cartclock';
    IF every IS NOT NULL THEN EXECUTE 'DROP VIEW ' || every; END IF;
END $$;
CREATE VIEW carts_heard WITH (security_invoker = true) AS
    SELECT shop, role AS cart, seq + 1 AS rows, heard, now() - heard AS silent_for, skew_us, program
    FROM heads;
CREATE VIEW hours_by_week WITH (security_invoker = true) AS
    SELECT shop, worker, week, count(*) AS shifts, {lengths},
        sum({clock}) AS clock_us
    FROM shift_line GROUP BY shop, worker, week;
CREATE VIEW heat_by_week WITH (security_invoker = true) AS
    SELECT shop, worker, week, count(*) AS shifts, sum(caution_us) AS caution_us,
        sum(over_us) AS over_us, sum(heat_rest_us) AS heat_rest_us, sum(drinks_ml) AS drinks_ml,
        max(peak_c) AS peak_c
    FROM shift_line GROUP BY shop, worker, week;
CREATE VIEW open_jobs WITH (security_invoker = true) AS
    SELECT j.shop, h.role AS cart, j.number, j.vehicle, j.plan, j.done + j.left_out AS done,
        j.sections, w.closes_us, w.stage, w.section, h.heard AS as_of, j.day
    FROM job_line j
    JOIN told t ON t.shop = j.shop AND t.subject = j.subject
    JOIN heads h ON h.shop = t.shop AND h.origin = t.origin
    LEFT JOIN LATERAL (SELECT * FROM window_line w WHERE w.shop = j.shop AND w.subject = j.subject
        ORDER BY w.closes_us LIMIT 1) w ON true
    WHERE j.closed_us IS NULL;
CREATE VIEW open_windows WITH (security_invoker = true) AS
    SELECT w.shop, h.role AS cart, j.number, j.vehicle, j.day, w.stage, w.section, w.kind,
        w.opens_us, w.due_us, w.closes_us, h.heard AS as_of
    FROM window_line w
    JOIN job_line j ON j.shop = w.shop AND j.subject = w.subject
    JOIN told t ON t.shop = w.shop AND t.subject = w.subject
    JOIN heads h ON h.shop = t.shop AND h.origin = t.origin;
-- Planned against taken: hands on each stage of each job.
CREATE VIEW stage_work WITH (security_invoker = true) AS
    SELECT s.shop, j.number, j.vehicle, j.plan, j.shape, j.day, j.closed_us, s.nth, s.stage,
        s.planned_us, s.hands_us, s.sections, s.done
    FROM stage_line s JOIN job_line j ON j.shop = s.shop AND j.subject = s.subject;
CREATE VIEW product_months WITH (security_invoker = true) AS
    SELECT shop, month, product, max(name) AS name, unit, sum(amount) AS amount, applied_unit,
        sum(applied) AS applied, count(DISTINCT subject) AS jobs
    FROM use_line GROUP BY shop, month, product, unit, applied_unit;
-- All work on a job: hands on it, stood by for it, other work of it, by whichever worker.
CREATE VIEW job_work WITH (security_invoker = true) AS
    SELECT j.shop, j.subject, j.number, j.vehicle, j.plan, j.shape, j.day, j.closed_us,
        j.planned_us, j.hands_us, j.price + j.extras AS money,
        j.hands_us + coalesce((SELECT sum(s.length_us) FROM served_line s
            WHERE s.shop = j.shop AND s.job = j.subject::text), 0) AS work_us
    FROM job_line j;
CREATE VIEW stock WITH (security_invoker = true) AS
    SELECT s.shop, h.role AS cart, s.product, s.name, s.unit, s."left",
        sum(s."left") OVER (PARTITION BY s.shop, s.product, s.unit) AS in_shop, s.weighed_us,
        s.book, s.unclear, s.content, s.opened_us, s.lot, s.expires, s.price, h.heard AS as_of
    FROM stock_line s
    JOIN told t ON t.shop = s.shop AND t.subject = s.subject
    JOIN heads h ON h.shop = t.shop AND h.origin = t.origin;
GRANT SELECT ON carts_heard, hours_by_week, heat_by_week, open_jobs, product_months, job_work, stock,
    open_windows, stage_work
    TO cartclock_reader, cartclock_cart;
