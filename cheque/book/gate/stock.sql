-- Stock, forms and shifts; as cheque/book/apply/numbers.py has it.

CREATE FUNCTION @gate@.stock_received(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    first_one bigint := n(b, 'first');
    last_one bigint := n(b, 'last');
BEGIN
    PERFORM touch(e, t(b, 'account'), first_one, last_one);
    INSERT INTO stock (id, account, form, first, last, digits, seq)
        VALUES (e.seq, t(b, 'account'), t(b, 'form'), first_one, last_one, n(b, 'digits'), e.seq);
    PERFORM tallied(e.seq, 'received', last_one - first_one + 1);
    PERFORM tallied(e.seq, 'on hand', last_one - first_one + 1);
    PERFORM free_given(e.seq, first_one, last_one);
END $f$;

CREATE FUNCTION @gate@.stock_counted(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
BEGIN
    PERFORM n(b, 'counted'), n(b, 'expected');
    PERFORM touch(e, t(b, 'account'), n(b, 'first'), n(b, 'last'));
END $f$;

-- destroyed, spoiled, missing
CREATE FUNCTION @gate@.form_left(e @book@.event, b jsonb, now_in text) RETURNS void LANGUAGE plpgsql AS $f$
BEGIN
    PERFORM leave_bare(e, t(b, 'account'), n(b, 'first'), n(b, 'last'), now_in, t(b, 'reason'));
END $f$;

CREATE FUNCTION @gate@.form_found(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    which text := t(b, 'account');
    first_one bigint := n(b, 'first');
    last_one bigint := n(b, 'last');
    now_in text := t(b, 'as');
BEGIN
    PERFORM law(e, now_in IN ('on hand', 'spoiled'), 'what is found is on hand or spoiled');
    PERFORM law(e, NOT EXISTS (SELECT 1 FROM number WHERE account = which AND number BETWEEN first_one AND last_one
        AND state <> 'missing'), 'only what is missing is found');
    PERFORM law(e, now_in = 'spoiled' OR NOT EXISTS (SELECT 1 FROM number WHERE account = which
        AND number BETWEEN first_one AND last_one AND sent > 0),
        'a form that may bear a cheque is never on hand again');
    PERFORM move(e, which, first_one, last_one, now_in,
        why => CASE WHEN now_in = 'spoiled' THEN t(b, 'reason') END);
END $f$;

CREATE FUNCTION @gate@.shift_set(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
BEGIN
    INSERT INTO shift (printer, form, right_by, down_by, seq)
        VALUES (t(b, 'printer'), t(b, 'form'), n(b, 'right'), n(b, 'down'), e.seq)
        ON CONFLICT (printer, form) DO UPDATE SET right_by = excluded.right_by, down_by = excluded.down_by,
        seq = excluded.seq;
END $f$;

CREATE FUNCTION @gate@.numbers_moved(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    which text := t(b, 'account');
    first_one bigint := n(b, 'first');
    last_one bigint := n(b, 'last');
    off bigint := n(b, 'by');
    remains text := t(b, 'left');
    beyond bigint[];
    vacant bigint[];
    box stock;
    one record;
    struck_on bigint;
    known jsonb;
    whole boolean;
BEGIN
    PERFORM law(e, off <> 0 AND remains IN ('spoiled', 'missing'),
        'what is left bears no payment and is not used again');
    PERFORM law(e, first_one >= 1 AND last_one >= first_one, 'numbers go up');
    SELECT count(*) = last_one - first_one + 1 AND bool_and(state IN ('printed', 'spoiled') AND run <> 0 AND stop = '')
        INTO whole FROM number WHERE account = which AND number BETWEEN first_one AND last_one;
    PERFORM law(e, whole, 'only cheques that a run printed are moved');
    IF abs(off) > last_one - first_one + 1 THEN  -- nothing overlaps
        beyond := ARRAY[first_one + off, last_one + off];
        vacant := ARRAY[first_one, last_one];
    ELSIF off > 0 THEN
        beyond := ARRAY[last_one + 1, last_one + off];
        vacant := ARRAY[first_one, first_one + off - 1];
    ELSE
        beyond := ARRAY[first_one + off, first_one - 1];
        vacant := ARRAY[last_one + off + 1, last_one];
    END IF;
    PERFORM uncleared(e, which, least(first_one, first_one + off), greatest(last_one, last_one + off));
    box := stock_of(which, first_one);
    PERFORM law(e, box.first <= first_one + off AND last_one + off <= box.last, 'the numbers stay in their box');
    PERFORM law(e, NOT EXISTS (SELECT 1 FROM number WHERE account = which AND number BETWEEN beyond[1] AND beyond[2]),
        'the paper''s own numbers were on hand');
    SELECT coalesce(jsonb_object_agg(number, struck), '{}') INTO known FROM struck WHERE account = which;
    FOR one IN SELECT number, run FROM number WHERE account = which AND number BETWEEN first_one AND last_one
        ORDER BY CASE WHEN off > 0 THEN -number ELSE number END
    LOOP
        struck_on := coalesce((known ->> one.number::text)::bigint, one.number);
        DELETE FROM struck WHERE account = which AND number IN (one.number, one.number + off);
        INSERT INTO struck (account, number, struck, seq) VALUES (which, one.number + off, struck_on, e.seq);
        UPDATE number SET number = one.number + off, seq = e.seq WHERE account = which AND number = one.number;
        UPDATE batch SET replaces = one.number + off WHERE account = which AND replaces = one.number;
        UPDATE run SET first = one.number + off WHERE id = one.run AND first > one.number + off;
        UPDATE run SET last = one.number + off WHERE id = one.run AND last < one.number + off;
    END LOOP;
    PERFORM free_taken(box.id, beyond[1], beyond[2]);
    PERFORM free_given(box.id, vacant[1], vacant[2]);
    PERFORM leave_bare(e, which, vacant[1], vacant[2], remains, t(b, 'reason'));
    PERFORM touch(e, which, least(first_one, first_one + off), greatest(last_one, last_one + off));
END $f$;
