-- Batches; as cheque/book/apply/batches.py has it.

CREATE FUNCTION @gate@.batch_accepted(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    this bigint := n(b, 'batch');
    which text := t(b, 'account');
    replaced jsonb := coalesce(b -> 'replaces', '{}');
    again boolean := replaced <> '{}';
    told jsonb := coalesce(b -> 'apart', '{}');
    is_apart boolean := told <> '{}';
    one jsonb;
    done bigint := 0;
    rows bigint;
    batches bigint[];
    items bigint[];
    before jsonb;
BEGIN
    PERFORM law(e, this = (SELECT coalesce(max(id), 0) + 1 FROM batch), 'a batch has the next number');
    PERFORM law(e, EXISTS (SELECT 1 FROM loose WHERE what = 'payment' AND key = this::text)
        AND payments_digest(this) = t(b, 'payments'), 'the payments are those whose digest it gives');
    PERFORM law(e, EXISTS (SELECT 1 FROM content WHERE digest = t(b, 'form_digest')), 'its form definition is kept');
    PERFORM law(e, NOT (again AND is_apart), 'a reprint is not set apart');
    INSERT INTO batch (id, account, form, form_digest, currency, items, total, hash, source, kind, pairs, state,
        replaces, proof, at, seq, proof_seq, waits)
        VALUES (this, which, t(b, 'form'), t(b, 'form_digest'), t(b, 'currency'), n(b, 'items'), n(b, 'total'),
            n(b, 'hash'), t(b, 'source'), t(b, 'kind'), t(b, 'pairs'), 'accepted',
            CASE WHEN again THEN n(replaced, 'number') ELSE 0 END, '', e.at, e.seq, 0,
            CASE WHEN again OR is_apart THEN 0 ELSE n(b, 'items') END);
    INSERT INTO claim (batch, item, origin_batch, origin_item, account, payee, amount, date, reference, role, expected,
        pulled, fresh)
        SELECT this, item, CASE WHEN again THEN n(replaced, 'batch') ELSE this END,
            CASE WHEN again THEN n(replaced, 'item') ELSE item END, which, p ->> 0, (p ->> 1)::bigint, p ->> 2,
            p ->> 3, coalesce(p ->> 13, 'cheque'), coalesce(p ->> 11, ''), '',
            CASE WHEN EXISTS (SELECT 1 FROM claim o WHERE o.fresh IN (1, 2) AND o.payee = p ->> 0)
                OR row_number() OVER (PARTITION BY p ->> 0 ORDER BY item) > 1 THEN 0
                WHEN translate(p ->> 0, '@odd@', '') <> p ->> 0 THEN 2 ELSE 1 END
        FROM (SELECT item, body::jsonb AS p FROM payment WHERE batch = this) kept;
    IF is_apart THEN
        PERFORM in_batch(e, n(told, 'batch'));
        FOR one IN SELECT value FROM jsonb_array_elements(l(told, 'items')) LOOP
            PERFORM shaped(one, 'nn');
            WITH origin AS (SELECT origin_batch, origin_item, row_number() OVER (ORDER BY item) AS place FROM claim
                WHERE batch = n(told, 'batch') AND item BETWEEN (one ->> 0)::bigint AND (one ->> 1)::bigint
                AND role = 'advice' AND pulled = '' AND account = which),
            put AS (UPDATE claim c SET origin_batch = o.origin_batch, origin_item = o.origin_item FROM origin o
                WHERE c.batch = this AND c.item = done + o.place RETURNING 1)
            SELECT count(*) INTO rows FROM put;
            PERFORM law(e, rows = (one ->> 1)::bigint - (one ->> 0)::bigint + 1, 'only advices are set apart');
            done := done + rows;
        END LOOP;
        PERFORM law(e, done = n(b, 'items') AND n(b, 'total') = 0 AND NOT EXISTS (SELECT 1 FROM claim
            WHERE batch = this AND role <> 'advice'), 'what is set apart is no money out');
    END IF;
    IF again OR is_apart THEN  -- what was paid before is no invoice more
        DELETE FROM invoice WHERE batch = this;
    END IF;
    PERFORM law(e, (SELECT count(*) = n(b, 'items') AND min(item) = 1 AND max(item) = n(b, 'items')
        AND sum(CASE role WHEN 'cheque' THEN amount ELSE 0 END) = n(b, 'total') FROM claim WHERE batch = this),
        'the payments add up to the batch''s own totals');
    PERFORM law(e, n(b, 'items') = 1 OR NOT again, 'a reprint is a batch of one');
    PERFORM touch_batch(e, this);
    IF again OR is_apart THEN  -- they wait in this batch, and in older ones no more
        SELECT array_agg(origin_batch), array_agg(origin_item) INTO batches, items FROM claim WHERE batch = this;
        SELECT coalesce(jsonb_object_agg(batch, forms), '{}') INTO before FROM (SELECT c.batch, count(*) AS forms
            FROM every_claim(batches, items) c WHERE c.batch < this AND lacks(c, until => this) GROUP BY c.batch) w;
        PERFORM waits_more(before, -1);
        UPDATE batch SET waits = (SELECT count(*) FROM claim c WHERE c.batch = this AND lacks(c)) WHERE id = this;
    END IF;
    IF again THEN
        PERFORM owed(e, which, n(replaced, 'number'));
        PERFORM law(e, EXISTS (SELECT 1 FROM number WHERE account = which AND number = n(replaced, 'number')
            AND origin_batch = n(replaced, 'batch') AND origin_item = n(replaced, 'item') AND role <> 'continuation'
            AND state IN ('voided', 'missing', 'spoiled')), 'only a payment whose form is no good cheque is printed again');
        PERFORM same_payment(e, this, n(replaced, 'batch'), n(replaced, 'item'));
        PERFORM touch(e, which, n(replaced, 'number'), n(replaced, 'number'));
    END IF;
    DELETE FROM loose WHERE what = 'payment' AND key = this::text;
END $f$;

-- A reprint pays the one whom the first cheque paid, and as much.
CREATE FUNCTION @gate@.same_payment(e @book@.event, this bigint, first_batch bigint, first_item bigint) RETURNS void
LANGUAGE sql AS $f$
    SELECT law(e, (SELECT count(*) = 1 FROM claim a JOIN claim c ON c.payee = a.payee AND c.amount = a.amount
        AND c.role = a.role AND c.account = a.account
        WHERE a.batch = this AND a.item = 1 AND c.batch = first_batch AND c.item = first_item),
        'a reprint pays the same payee the same amount')
$f$;

CREATE FUNCTION @gate@.owed(e @book@.event, which text, of_number bigint) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    settled text;
BEGIN
    SELECT disposition INTO settled FROM disposition WHERE account = which AND number = of_number
        AND disposition IN ('not owed', 'paid otherwise');
    PERFORM law(e, NOT FOUND, format('the payment of number %s is %s', of_number, settled));
END $f$;

CREATE FUNCTION @gate@.payment_pulled(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    this bigint := n(b, 'batch');
    which bigint := n(b, 'item');
    its claim;
    before jsonb;
BEGIN
    PERFORM in_batch(e, this);
    SELECT * INTO its FROM claim WHERE batch = this AND item = which;
    PERFORM law(e, FOUND, format('payment %s is in no batch %s', which, this));
    PERFORM law(e, its.pulled = '' AND t(b, 'reason') <> '', 'a payment is pulled once, for a reason');
    PERFORM law(e, NOT EXISTS (SELECT 1 FROM number WHERE origin_batch = its.origin_batch
        AND origin_item = its.origin_item AND role <> 'continuation' AND state IN ('reserved', 'sent', 'printed')),
        'a payment that has its form is not pulled');
    SELECT coalesce(jsonb_object_agg(batch, forms), '{}') INTO before FROM (SELECT c.batch, count(*) AS forms
        FROM every_claim(ARRAY[its.origin_batch], ARRAY[its.origin_item]) c WHERE lacks(c) GROUP BY c.batch) w;
    UPDATE claim SET pulled = t(b, 'reason') WHERE batch = this AND item = which;
    PERFORM waits_more((SELECT coalesce(jsonb_object_agg(batch, forms), '{}') FROM (SELECT c.batch, count(*) AS forms
        FROM every_claim(ARRAY[its.origin_batch], ARRAY[its.origin_item]) c WHERE lacks(c) GROUP BY c.batch) w), 1);
    PERFORM waits_more(before, -1);
    UPDATE batch SET proof = '', proof_seq = 0 WHERE id = this;
END $f$;

CREATE FUNCTION @gate@.batch_withdrawn(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    this bigint := n(b, 'batch');
    batches bigint[];
    items bigint[];
BEGIN
    PERFORM t(b, 'reason');
    PERFORM in_batch(e, this);
    PERFORM law(e, NOT EXISTS (SELECT 1 FROM number WHERE batch = this), 'a batch with a number is not withdrawn');
    UPDATE batch SET state = 'withdrawn', waits = 0 WHERE id = this;
    SELECT array_agg(origin_batch), array_agg(origin_item) INTO batches, items FROM claim
        WHERE batch = this AND origin_batch <> batch AND pulled = '';
    IF batches IS NOT NULL THEN  -- what it had of older batches waits in them again
        PERFORM waits_more((SELECT coalesce(jsonb_object_agg(batch, forms), '{}') FROM (SELECT c.batch,
            count(*) AS forms FROM every_claim(batches, items) c WHERE c.batch < this AND lacks(c) GROUP BY c.batch) w),
            1);
    END IF;
END $f$;

CREATE FUNCTION @gate@.proof_made(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    this bigint := n(b, 'batch');
BEGIN
    PERFORM in_batch(e, this);
    PERFORM law(e, length(t(b, 'proof')) BETWEEN 1 AND 200, 'a proof has a digest');
    PERFORM law(e, NOT EXISTS ((SELECT item FROM claim WHERE batch = this AND pulled = ''
        EXCEPT SELECT item FROM proof_page WHERE seq = e.seq) UNION ALL
        (SELECT item FROM proof_page WHERE seq = e.seq
        EXCEPT SELECT item FROM claim WHERE batch = this AND pulled = '')),
        'a proof shows every payment of the batch and no other');
    PERFORM law(e, pages_digest(e.seq) = t(b, 'pages'), 'its pages are those whose digest it gives');
    UPDATE batch SET proof = t(b, 'proof'), proof_seq = e.seq WHERE id = this;
    DELETE FROM loose WHERE what = 'page' AND key = e.seq::text;
END $f$;
