-- Notices, stops, statements, opening lists, the book's own place; as cheque/book/apply/notices.py, bank.py and
-- places.py have it.

CREATE FUNCTION @gate@.notice_made(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    this bigint := n(b, 'notice');
    one jsonb;
    forms bigint := 0;
    told bigint;
BEGIN
    PERFORM law(e, NOT EXISTS (SELECT 1 FROM notice WHERE id = this), format('notice %s is made once', this));
    INSERT INTO notice (id, what, written, name, file, items, state, by_whom, on_day, reason, at, seq, state_seq)
        VALUES (this, t(b, 'what'), t(b, 'written'), t(b, 'name'), t(b, 'file'), n(b, 'items'), 'made', '', '', '',
            e.at, e.seq, e.seq);
    PERFORM law(e, t(b, 'layout') = '' OR EXISTS (SELECT 1 FROM content WHERE digest = t(b, 'layout')),
        'the layout that it was written by is kept');
    FOR one IN SELECT value FROM jsonb_array_elements(l(b, 'numbers')) LOOP
        PERFORM shaped(one, 'ttnn');
        INSERT INTO notified (account, number, mark, notice, batch, item, live, seq)
            SELECT account, number, one ->> 1, this, batch, item, 1, e.seq FROM number WHERE account = one ->> 0
            AND number BETWEEN (one ->> 2)::bigint AND (one ->> 3)::bigint AND role = 'cheque' AND batch > 0;
        GET DIAGNOSTICS told = ROW_COUNT;
        PERFORM law(e, told = (one ->> 3)::bigint - (one ->> 2)::bigint + 1, 'a notice tells of cheques, each once');
        forms := forms + (one ->> 3)::bigint - (one ->> 2)::bigint + 1;
        PERFORM touch(e, one ->> 0, (one ->> 2)::bigint, (one ->> 3)::bigint);
    END LOOP;
    PERFORM law(e, (SELECT count(*) = forms AND forms = n(b, 'items') FROM notified WHERE notice = this),
        'a notice tells of cheques, each once');
END $f$;

-- sent, accepted, refused
CREATE FUNCTION @gate@.notice_is(e @book@.event, b jsonb, now_is text) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    this bigint := n(b, 'notice');
BEGIN
    PERFORM law(e, (SELECT state = 'made' OR state = 'sent' AND now_is <> 'sent' FROM notice WHERE id = this),
        format('a notice that is made or sent is %s', now_is));
    UPDATE notice SET state = now_is, by_whom = t(b, 'by'), on_day = t(b, 'on'),
        reason = CASE WHEN b ? 'reason' THEN t(b, 'reason') ELSE '' END, state_seq = e.seq WHERE id = this;
    IF now_is = 'refused' THEN
        UPDATE notified SET live = 0 WHERE notice = this;
    END IF;
END $f$;

-- The latest of a stop; what is NULL stays as it was.
CREATE FUNCTION @gate@.stop_kept(e @book@.event, b jsonb, now_is text, whom text, day text, until text, is_spoken bigint,
    by_notice bigint) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    old stop_order;
BEGIN
    SELECT * INTO old FROM stop_order WHERE account = t(b, 'account') AND number = n(b, 'number');
    IF e.kind = 'stop.requested' OR e.kind = 'stop.confirmed' AND old.state = 'refused' THEN
        old.told := '';  -- why the bank refused it is no word on the stop that it gave after all
    END IF;
    DELETE FROM stop_order WHERE account = t(b, 'account') AND number = n(b, 'number');
    INSERT INTO stop_order (account, number, state, seq, reason, told, by_whom, on_day, lapses, spoken, notice)
        VALUES (t(b, 'account'), n(b, 'number'), now_is, e.seq,
            coalesce(nullif(b ->> 'reason', ''), old.reason, ''), coalesce(nullif(b ->> 'told', ''), old.told, ''),
            coalesce(whom, old.by_whom, ''), coalesce(day, old.on_day, ''), coalesce(until, old.lapses, ''),
            coalesce(is_spoken, old.spoken, 0), coalesce(by_notice, old.notice, 0));
    PERFORM touch(e, t(b, 'account'), n(b, 'number'), n(b, 'number'));
END $f$;

-- requested, confirmed, renewed, refused
CREATE FUNCTION @gate@.stop_is(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    its number := number_of(e, b);
    text_of CONSTANT jsonb := '{"by": "", "lapses": ""}'::jsonb || b;
    now_stop text;
BEGIN
    IF jsonb_typeof(coalesce(b -> 'reason', '""')) <> 'string' OR jsonb_typeof(coalesce(b -> 'told', '""')) <> 'string'
    THEN
        PERFORM refuse('found no text where a reason stands');
    END IF;
    CASE e.kind
    WHEN 'stop.requested' THEN
        PERFORM stop_kept(e, b, 'requested', t(text_of, 'by'), t(b, 'on'), '', 0, n(b, 'notice'));
        now_stop := 'requested';
    WHEN 'stop.confirmed' THEN
        PERFORM stop_kept(e, b, 'confirmed', t(b, 'by'), t(b, 'on'), t(text_of, 'lapses'),
            CASE WHEN b ? 'spoken' THEN n(b, 'spoken') ELSE 0 END, NULL);
        now_stop := 'confirmed';
    WHEN 'stop.renewed' THEN
        PERFORM law(e, its.stop = 'confirmed', 'only a stop that the bank confirmed is renewed');
        PERFORM stop_kept(e, b, 'confirmed', t(b, 'by'), t(b, 'on'), t(b, 'lapses'), 0, NULL);
        RETURN;
    ELSE
        PERFORM law(e, its.stop <> 'confirmed', 'the bank refuses a stop that it has not confirmed');
        PERFORM stop_kept(e, b, 'refused', t(b, 'by'), t(b, 'on'), '', 0, NULL);
        now_stop := CASE WHEN its.state = 'voided' AND its.custody NOT IN ('held', 'returned') THEN 'needed'
            ELSE '' END;
    END CASE;
    UPDATE number SET stop = now_stop WHERE account = its.account AND number = its.number;
END $f$;

CREATE FUNCTION @gate@.statement_read(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    which text := t(b, 'account');
    one jsonb;
    items text;
BEGIN
    INSERT INTO statement (seq, account, name, digest, first_day, last_day, opening, closing, entries, fresh)
        VALUES (e.seq, which, t(b, 'statement'), t(b, 'digest'), t(b, 'first'), t(b, 'last'),
            CASE WHEN b ? 'opening' THEN n(b, 'opening') END, CASE WHEN b ? 'closing' THEN n(b, 'closing') END,
            n(b, 'entries'), n(b, 'fresh'));
    FOR one IN SELECT value FROM jsonb_array_elements(l(b, 'lists')) LOOP
        SELECT body INTO items FROM content WHERE digest = one #>> '{}';
        IF NOT FOUND THEN
            PERFORM refuse(format('event %s: the book lacks the items of the statement, text %s', e.seq,
                left(one #>> '{}', 16)));
        END IF;
        PERFORM law(e, right(items, 1) = E'\n', 'an item of a statement is a line');
        INSERT INTO bank_item (account, seq, booked, number, amount, nth, valued, reference, payee, about)
            SELECT which, e.seq, i ->> 0, (i ->> 1)::bigint, (i ->> 2)::bigint, (i ->> 3)::bigint, i ->> 4, i ->> 5,
                i ->> 6, i ->> 7
            FROM (SELECT shaped(line::jsonb, 'tnnntttt') AS i
                FROM string_to_table(left(items, -1), E'\n') line) lines;
    END LOOP;
    PERFORM law(e, NOT EXISTS (SELECT 1 FROM bank_item WHERE seq = e.seq AND amount = 0),
        'an item of a statement is of an amount');
    PERFORM law(e, (SELECT count(*) = n(b, 'fresh') FROM bank_item WHERE seq = e.seq),
        'the items are as many as the statement brings');
    DELETE FROM cleared WHERE account = which AND number IN (SELECT number FROM bank_item WHERE seq = e.seq);
    INSERT INTO cleared (account, number, booked, amount, payments, seq)
        SELECT account, number, min(CASE WHEN amount < 0 THEN booked ELSE '9999-12-31' END), -sum(amount),
            sum(CASE WHEN amount < 0 THEN 1 ELSE -1 END), max(seq) FROM bank_item
        WHERE account = which AND number > 0
        AND number IN (SELECT number FROM bank_item WHERE seq = e.seq AND number > 0)
        GROUP BY account, number HAVING sum(CASE WHEN amount < 0 THEN 1 ELSE -1 END) > 0;
END $f$;

CREATE FUNCTION @gate@.opening_entered(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    which text := t(b, 'account');
    first_one bigint := n(b, 'first');
    forms bigint := n(b, 'last') - n(b, 'first') + 1;
    of_batch bigint := n(b, 'batch');
    of_item bigint := n(b, 'item');
BEGIN
    PERFORM in_batch(e, of_batch);
    PERFORM law(e, forms BETWEEN 1 AND 10000000, 'numbers go up');
    INSERT INTO stock (id, account, form, first, last, digits, seq)
        VALUES (e.seq, which, t(b, 'form'), first_one, first_one + forms - 1, n(b, 'digits'), e.seq);
    PERFORM tallied(e.seq, 'received', forms);
    PERFORM tallied(e.seq, 'on hand', forms);
    PERFORM free_given(e.seq, first_one, first_one + forms - 1);
    PERFORM law(e, (SELECT count(*) = forms FROM claim WHERE batch = of_batch AND item BETWEEN of_item
        AND of_item + forms - 1 AND account = which AND pulled = '' AND role = 'cheque'),
        'each number bears one payment of the list');
    PERFORM leave_paying(e, which, first_one, forms, 'printed', of_batch, of_item, 0, 'handed over');
END $f$;

CREATE FUNCTION @gate@.book_restored(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    one jsonb;
    box stock;
BEGIN
    FOR one IN SELECT value FROM jsonb_array_elements(l(b, 'gaps')) LOOP
        PERFORM shaped(one, 'tnn');
        box := stock_of(one ->> 0, (one ->> 1)::bigint);
        PERFORM law(e, (one ->> 1)::bigint <= (one ->> 2)::bigint AND (one ->> 2)::bigint <= box.last,
            'a gap is within one range of stock');
        INSERT INTO gap (account, first, last, seq) VALUES (one ->> 0, (one ->> 1)::bigint, (one ->> 2)::bigint, e.seq);
        PERFORM touch(e, one ->> 0, (one ->> 1)::bigint, (one ->> 2)::bigint);
    END LOOP;
    UPDATE batch SET proof = '', proof_seq = 0;
END $f$;
