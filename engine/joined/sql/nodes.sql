-- Places the shops of an empty database on several nodes, for an engine of PostgreSQL that does so
-- by these functions of its own: create_reference_table, create_distributed_table,
-- create_distributed_function. All that a shop has is on one node.

-- Which login is which cart is on every node.
SELECT create_reference_table('cartclock.version');
SELECT create_reference_table('cartclock.carts');
SELECT create_reference_table('cartclock.readers');

-- The lock of a push is where its rows are. No trigger is on a table that is placed: that a row is
-- never changed holds for carts by their rights, and no more for the owner.
DROP TRIGGER rows_never ON rows;
SELECT create_distributed_table('cartclock.heads', 'shop');
{placed}

-- What a push and a telling do is done on the node of their shop, which is their first word. It is
-- looked up anew there, so that no cart names another one.
ALTER FUNCTION push_1(uuid, text, bigint, text) RENAME TO push_here_1;
ALTER FUNCTION tell_1(uuid, int, bigint, jsonb, uuid[], bytea) RENAME TO tell_here_1;
REVOKE EXECUTE ON FUNCTION push_here_1, tell_here_1 FROM cartclock_cart;
CREATE FUNCTION mind_shop(p_shop text) RETURNS void
LANGUAGE plpgsql STABLE SET search_path = cartclock, pg_catalog, pg_temp AS $$ BEGIN
    IF p_shop IS DISTINCT FROM my_shop() THEN
        RAISE EXCEPTION '% is not of shop %', session_user, p_shop USING ERRCODE = 'CC001'; END IF;
END $$;
CREATE FUNCTION push_there_1(
    p_shop text, p_origin uuid, p_lines text, p_skew_us bigint, p_program text)
RETURNS TABLE (head_seq bigint, head_digest text, added int)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS $$ BEGIN
    PERFORM mind_shop(p_shop);
    RETURN QUERY SELECT * FROM push_here_1(p_origin, p_lines, p_skew_us, p_program);
END $$;
CREATE FUNCTION tell_there_1(p_shop text, p_origin uuid, p_fold int, p_seq bigint,
    p_subjects jsonb, p_gone uuid[], p_figures bytea)
RETURNS int
LANGUAGE plpgsql SECURITY DEFINER SET search_path = cartclock, pg_catalog, pg_temp AS $$ BEGIN
    PERFORM mind_shop(p_shop);
    RETURN tell_here_1(p_origin, p_fold, p_seq, p_subjects, p_gone, p_figures);
END $$;
-- Called as the cart, so that the node sees its login.
CREATE FUNCTION push_1(p_origin uuid, p_lines text, p_skew_us bigint, p_program text)
RETURNS TABLE (head_seq bigint, head_digest text, added int)
LANGUAGE plpgsql SET search_path = cartclock, pg_catalog, pg_temp AS $$ BEGIN
    RETURN QUERY EXECUTE format('SELECT * FROM cartclock.push_there_1(%L, $1, $2, $3, $4)',
        my_shop()) USING p_origin, p_lines, p_skew_us, p_program;
END $$;
CREATE FUNCTION tell_1(p_origin uuid, p_fold int, p_seq bigint, p_subjects jsonb, p_gone uuid[],
    p_figures bytea)
RETURNS int
LANGUAGE plpgsql SET search_path = cartclock, pg_catalog, pg_temp AS $$
DECLARE told int; BEGIN
    EXECUTE format('SELECT cartclock.tell_there_1(%L, $1, $2, $3, $4, $5, $6)', my_shop())
        INTO told USING p_origin, p_fold, p_seq, p_subjects, p_gone, p_figures;
    RETURN told;
END $$;
REVOKE ALL ON FUNCTION mind_shop, push_there_1, tell_there_1, push_1, tell_1 FROM PUBLIC;
GRANT EXECUTE ON FUNCTION push_there_1, tell_there_1, push_1, tell_1 TO cartclock_cart;
SELECT create_distributed_function('cartclock.push_there_1(text, uuid, text, bigint, text)',
    'p_shop', colocate_with := 'cartclock.heads', force_delegation := true);
SELECT create_distributed_function(
    'cartclock.tell_there_1(text, uuid, int, bigint, jsonb, uuid[], bytea)',
    'p_shop', colocate_with := 'cartclock.heads', force_delegation := true);
