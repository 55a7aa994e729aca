-- How numbers move from state to state; as cheque/book/move.py and cheque/book/apply/law.py have it.

CREATE FUNCTION @gate@.touch(e @book@.event, which text, first_one bigint, last_one bigint) RETURNS void
LANGUAGE plpgsql AS $f$
BEGIN
    IF (first_one >= 1 AND last_one >= first_one AND last_one - first_one < 10000000) IS NOT TRUE THEN
        PERFORM refuse(format('found numbers %s to %s; wanted a range of at most ten million, from 1 up',
            first_one, last_one));
    END IF;
    INSERT INTO touch (account, bucket, first, last, seq)
        SELECT which, bucket, first_one, last_one, e.seq FROM generate_series(first_one / 1024, last_one / 1024) bucket
        ON CONFLICT DO NOTHING;
END $f$;

CREATE FUNCTION @gate@.touch_batch(e @book@.event, which bigint) RETURNS void LANGUAGE sql AS $f$
    INSERT INTO batch_event (batch, seq) VALUES (which, e.seq)
$f$;

CREATE FUNCTION @gate@.tallied(box bigint, in_state text, forms_more bigint) RETURNS void LANGUAGE sql AS $f$
    INSERT INTO tally (stock, state, forms) VALUES (box, in_state, forms_more)
        ON CONFLICT (stock, state) DO UPDATE SET forms = tally.forms + excluded.forms
$f$;

CREATE FUNCTION @gate@.taken_off(box bigint, in_state text, forms_less bigint) RETURNS void LANGUAGE sql AS $f$
    UPDATE tally SET forms = forms - forms_less WHERE stock = box AND state = in_state
$f$;

-- The numbers on hand, as ranges; as cheque/book/free.py has it.
CREATE FUNCTION @gate@.free_taken(box bigint, first_one bigint, last_one bigint) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    its free;
BEGIN
    SELECT * INTO its FROM free f WHERE f.stock = box AND f.first <= first_one ORDER BY f.first DESC LIMIT 1;
    IF (its.last >= last_one) IS NOT TRUE THEN
        PERFORM refuse(format('numbers %s-%s are not all on hand: see `cheque book verify`.', first_one, last_one));
    END IF;
    IF its.first < first_one THEN
        UPDATE free SET last = first_one - 1 WHERE stock = box AND first = its.first;
    ELSE
        DELETE FROM free WHERE stock = box AND first = its.first;
    END IF;
    IF last_one < its.last THEN
        INSERT INTO free (stock, first, last) VALUES (box, last_one + 1, its.last);
    END IF;
END $f$;

CREATE FUNCTION @gate@.free_given(box bigint, first_one bigint, last_one bigint) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    before free;
    high bigint;
BEGIN
    SELECT * INTO before FROM free f WHERE f.stock = box AND f.first < first_one ORDER BY f.first DESC LIMIT 1;
    DELETE FROM free WHERE stock = box AND first = last_one + 1 RETURNING last INTO high;
    high := coalesce(high, last_one);
    IF before.last = first_one - 1 THEN
        UPDATE free SET last = high WHERE stock = box AND first = before.first;
    ELSE
        INSERT INTO free (stock, first, last) VALUES (box, first_one, high);
    END IF;
END $f$;

-- Whether payment `c` waits in its batch, as cheque/book/waits.py says: whatever the forms from first to last of an
-- account are (those that may bear a cheque counted all the same when `sent_hold`), and of the later batches that have
-- it only those before `until`.
CREATE FUNCTION @gate@.lacks(c @book@.claim, which text DEFAULT '', first_one bigint DEFAULT 0,
    last_one bigint DEFAULT -1, sent_hold boolean DEFAULT false, until bigint DEFAULT 9223372036854775807)
RETURNS boolean LANGUAGE sql STABLE AS $f$
    SELECT c.pulled = '' AND b.state = 'accepted'
        AND NOT EXISTS (SELECT 1 FROM number n WHERE n.origin_batch = c.origin_batch AND n.origin_item = c.origin_item
            AND n.role <> 'continuation' AND (n.state IN ('reserved', 'sent', 'printed')
            OR (n.state = 'voided' OR n.state = 'missing' AND n.sent > 0 AND n.role = 'cheque') AND n.seq > b.seq)
            AND NOT (n.account = which AND n.number BETWEEN first_one AND last_one
                AND NOT (sent_hold AND n.sent > 0 AND n.role = 'cheque')))
        AND NOT EXISTS (SELECT 1 FROM claim l JOIN batch r ON r.id = l.batch WHERE l.origin_batch = c.origin_batch
            AND l.origin_item = c.origin_item AND l.origin_batch <> l.batch AND l.batch > c.batch AND l.pulled = ''
            AND r.state = 'accepted' AND l.batch < until)
    FROM batch b WHERE b.id = c.batch
$f$;

-- Every payment of any batch that is one of these, by origin, once.
CREATE FUNCTION @gate@.every_claim(batches bigint[], items bigint[]) RETURNS SETOF @book@.claim LANGUAGE sql STABLE
AS $f$
    SELECT c.* FROM (SELECT o.batch, o.item FROM unnest(batches, items) AS o(batch, item)
        UNION SELECT l.batch, l.item FROM unnest(batches, items) AS o(batch, item) JOIN claim l
            ON l.origin_batch = o.batch AND l.origin_item = o.item WHERE l.origin_batch <> l.batch) w
    JOIN claim c ON c.batch = w.batch AND c.item = w.item
$f$;

CREATE FUNCTION @gate@.waits_more(changes jsonb, times int) RETURNS void LANGUAGE sql AS $f$
    UPDATE batch b SET waits = b.waits + times * d.value::bigint FROM jsonb_each_text(changes) d
        WHERE b.id = d.key::bigint
$f$;

CREATE FUNCTION @gate@.stock_of(which text, number bigint) RETURNS @book@.stock LANGUAGE plpgsql AS $f$
DECLARE
    box stock;
BEGIN
    SELECT * INTO box FROM stock s WHERE s.account = which AND s.first <= number ORDER BY s.first DESC LIMIT 1;
    IF box.id IS NULL OR number > box.last THEN
        RETURN NULL;
    END IF;
    RETURN box;
END $f$;

CREATE FUNCTION @gate@.box_of(e @book@.event, which text, first_one bigint, last_one bigint) RETURNS bigint
LANGUAGE plpgsql AS $f$
DECLARE
    box stock := stock_of(which, first_one);
BEGIN
    IF box.id IS NULL OR (last_one <= box.last AND last_one >= first_one) IS NOT TRUE THEN
        PERFORM refuse(format('event %s: %s:%s-%s is not within one range of stock', e.seq, which, first_one, last_one));
    END IF;
    RETURN box.id;
END $f$;

-- Forms on hand come to a state: what is counted of it. The rows are the caller's; gives the range of stock.
CREATE FUNCTION @gate@.out_of_box(e @book@.event, which text, first_one bigint, last_one bigint, now_in text)
RETURNS bigint LANGUAGE plpgsql AS $f$
DECLARE
    box bigint := box_of(e, which, first_one, last_one);
    gone record;
BEGIN
    SELECT number, state INTO gone FROM number WHERE account = which AND number BETWEEN first_one AND last_one
        ORDER BY number LIMIT 1;
    IF FOUND OR 'on hand>' || now_in NOT IN (@lawful@) THEN
        PERFORM refuse(format('number %s of %s is %s: it cannot become %s', coalesce(gone.number, first_one), which,
            coalesce(gone.state, 'on hand'), now_in));
    END IF;
    PERFORM free_taken(box, first_one, last_one);
    PERFORM taken_off(box, 'on hand', last_one - first_one + 1);
    PERFORM tallied(box, now_in, last_one - first_one + 1);
    PERFORM touch(e, which, first_one, last_one);
    RETURN box;
END $f$;

-- Forms on hand that leave the box and bear no payment.
CREATE FUNCTION @gate@.leave_bare(e @book@.event, which text, first_one bigint, last_one bigint, now_in text, why text)
RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    box bigint := out_of_box(e, which, first_one, last_one, now_in);
BEGIN
    INSERT INTO number (account, number, stock, state, role, batch, item, run, origin_batch, origin_item, taken, sent,
        reason, custody, stop, seq)
        SELECT which, one, box, now_in, '', 0, 0, 0, 0, 0, 0, 0, why, '', '', e.seq
        FROM generate_series(first_one, last_one) one;
END $f$;

-- Forms on hand that leave the box with the payments of a batch from an item on, one each, in order.
CREATE FUNCTION @gate@.leave_paying(e @book@.event, which text, first_one bigint, forms_out bigint, now_in text,
    of_batch bigint, from_item bigint, of_run bigint, in_hands text) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    box bigint := out_of_box(e, which, first_one, first_one + forms_out - 1, now_in);
BEGIN
    UPDATE batch SET waits = waits - (SELECT count(*) FROM claim c WHERE c.batch = of_batch
        AND c.item BETWEEN from_item AND from_item + forms_out - 1 AND lacks(c)) WHERE id = of_batch;
    INSERT INTO number (account, number, stock, state, role, batch, item, run, origin_batch, origin_item, taken, sent,
        reason, custody, stop, seq)
        SELECT which, first_one + c.item - from_item, box, now_in, c.role, of_batch, c.item, of_run, c.origin_batch,
            c.origin_item, e.seq, 0, '', in_hands, '', e.seq
        FROM claim c WHERE c.batch = of_batch AND c.item BETWEEN from_item AND from_item + forms_out - 1
        AND c.account = which AND c.pulled = '';
END $f$;

-- Forms that left the box come to a state; what is NULL stays.
CREATE FUNCTION @gate@.move(e @book@.event, which text, first_one bigint, last_one bigint, now_in text,
    why text DEFAULT NULL, in_hands text DEFAULT NULL, stop_is text DEFAULT NULL, sent_by bigint DEFAULT NULL)
RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    box bigint := box_of(e, which, first_one, last_one);
    remaining bigint := last_one - first_one + 1;
    one record;
    batches bigint[];
    items bigint[];
    sent_hold boolean := now_in = 'missing';
    before jsonb;
    after jsonb;
BEGIN
    FOR one IN SELECT state, count(*) AS forms, min(number) AS number FROM number
        WHERE account = which AND number BETWEEN first_one AND last_one GROUP BY state
    LOOP
        IF one.state || '>' || now_in NOT IN (@lawful@) THEN
            PERFORM refuse(format('number %s of %s is %s: it cannot become %s', one.number, which, one.state, now_in));
        END IF;
        PERFORM taken_off(box, one.state, one.forms);
        remaining := remaining - one.forms;
    END LOOP;
    IF remaining <> 0 THEN
        PERFORM refuse(format('event %s: %s of the numbers %s-%s of %s are on hand', e.seq, remaining, first_one,
            last_one, which));
    END IF;
    IF now_in IN ('spoiled', 'missing', 'on hand') THEN  -- what they bore waits again
        SELECT array_agg(o.origin_batch), array_agg(o.origin_item) INTO batches, items
            FROM (SELECT DISTINCT n.origin_batch, n.origin_item FROM number n
            WHERE n.account = which AND n.number BETWEEN first_one AND last_one AND n.batch > 0
            AND n.role <> 'continuation' AND NOT (sent_hold AND n.sent > 0 AND n.role = 'cheque')) o;
        IF batches IS NOT NULL THEN
            SELECT coalesce(jsonb_object_agg(batch, forms), '{}') INTO before FROM (SELECT c.batch, count(*) AS forms
                FROM every_claim(batches, items) c WHERE lacks(c) GROUP BY c.batch) w;
            SELECT coalesce(jsonb_object_agg(batch, forms), '{}') INTO after FROM (SELECT c.batch, count(*) AS forms
                FROM every_claim(batches, items) c WHERE lacks(c, which, first_one, last_one, sent_hold) GROUP BY c.batch) w;
            PERFORM waits_more(after, 1);
            PERFORM waits_more(before, -1);
        END IF;
    END IF;
    PERFORM tallied(box, now_in, last_one - first_one + 1);
    IF now_in = 'on hand' THEN
        DELETE FROM number WHERE account = which AND number BETWEEN first_one AND last_one;
        PERFORM free_given(box, first_one, last_one);
    ELSE
        UPDATE number SET state = now_in, seq = e.seq, reason = coalesce(why, reason),
            custody = coalesce(in_hands, custody), stop = coalesce(stop_is, stop), sent = coalesce(sent_by, sent)
            WHERE account = which AND number BETWEEN first_one AND last_one;
    END IF;
    PERFORM touch(e, which, first_one, last_one);
END $f$;

CREATE FUNCTION @gate@.uncleared(e @book@.event, which text, first_one bigint, last_one bigint) RETURNS void
LANGUAGE plpgsql AS $f$
DECLARE
    paid bigint;
BEGIN
    SELECT number INTO paid FROM cleared WHERE account = which AND number BETWEEN first_one AND last_one LIMIT 1;
    PERFORM law(e, NOT FOUND, format('number %s was paid by the bank', paid));
END $f$;

CREATE FUNCTION @gate@.unpaid(e @book@.event, of_batch bigint, first_item bigint, last_item bigint) RETURNS void
LANGUAGE plpgsql AS $f$
DECLARE
    paid record;
BEGIN
    SELECT c.item, n.number INTO paid FROM claim c JOIN number n ON n.origin_batch = c.origin_batch
        AND n.origin_item = c.origin_item JOIN cleared p ON p.account = n.account AND p.number = n.number
        WHERE c.batch = of_batch AND c.item BETWEEN first_item AND last_item LIMIT 1;
    IF FOUND THEN
        PERFORM law(e, false, format('payment %s of batch %s was paid by the bank, on number %s', paid.item, of_batch,
            paid.number));
    END IF;
END $f$;

-- Every one of the payments waits for a form in this batch, as cheque/book/batches.py says which do: the commands ask
-- before they append, but a forged client does not.
CREATE FUNCTION @gate@.all_wait(e @book@.event, of_batch bigint, first_item bigint, last_item bigint) RETURNS void
LANGUAGE plpgsql AS $f$
DECLARE
    odd bigint;
BEGIN
    SELECT c.item INTO odd FROM claim c JOIN batch b ON b.id = c.batch
        WHERE c.batch = of_batch AND c.item BETWEEN first_item AND last_item AND (
        EXISTS (SELECT 1 FROM number n WHERE n.origin_batch = c.origin_batch AND n.origin_item = c.origin_item
            AND n.role <> 'continuation' AND (n.state IN ('reserved', 'sent', 'printed')
            OR (n.state = 'voided' OR n.state = 'missing' AND n.sent > 0 AND n.role = 'cheque') AND n.seq > b.seq))
        OR EXISTS (SELECT 1 FROM claim l JOIN batch r ON r.id = l.batch WHERE l.origin_batch = c.origin_batch
            AND l.origin_item = c.origin_item AND l.origin_batch <> l.batch AND l.batch > c.batch AND l.pulled = ''
            AND r.state = 'accepted')) ORDER BY c.item LIMIT 1;
    PERFORM law(e, NOT FOUND, format('payment %s of batch %s waits for no form', odd, of_batch));
END $f$;

CREATE FUNCTION @gate@.in_batch(e @book@.event, which bigint) RETURNS void LANGUAGE plpgsql AS $f$
BEGIN
    PERFORM law(e, (SELECT state = 'accepted' FROM batch WHERE id = which),
        format('batch %s is not one that was accepted', which));
    PERFORM touch_batch(e, which);
END $f$;
