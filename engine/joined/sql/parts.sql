-- Jobs that other carts of the login's shop have: these, and those that were said to be a part of one
-- of them. Whether they still are the cart reads in their rows.
CREATE INDEX IF NOT EXISTS rows_parts ON rows (shop, job) WHERE kind = 'PartSaid';
CREATE OR REPLACE FUNCTION parts_1(p_jobs uuid[])
RETURNS TABLE (job text, number bigint, vehicle text, cart text, origin text, heard_us bigint)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET plan_cache_mode = force_custom_plan
SET search_path = cartclock, pg_catalog, pg_temp AS $$
DECLARE mine text := my_shop();
BEGIN
    RETURN QUERY
    WITH named AS (
        SELECT unnest(p_jobs) AS job
        UNION SELECT r.job FROM rows r WHERE r.shop = mine AND r.kind = 'PartSaid'
            AND r.body::jsonb->>'whole' = ANY (p_jobs::text[]))
    SELECT n.job::text, (o.body::jsonb->>'number')::bigint, o.body::jsonb->>'vehicle',
        c.role::text, h.origin::text, (extract(epoch FROM c.heard) * 1e6)::bigint
    FROM named n
    JOIN rows o ON o.shop = mine AND o.job = n.job AND o.kind = 'JobOpened'
    CROSS JOIN LATERAL holder_of(mine, n.job) h
    JOIN heads c ON c.shop = mine AND c.origin = h.origin
    WHERE c.role <> session_user ORDER BY 1;
END $$;

GRANT EXECUTE ON FUNCTION parts_1 TO cartclock_cart;
