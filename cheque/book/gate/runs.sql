-- Runs; as cheque/book/apply/runs.py has it.

CREATE FUNCTION @gate@.run_begun(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    this bigint := n(b, 'run');
    of_batch bigint := n(b, 'batch');
    which text := t(b, 'account');
    forms jsonb := l(b, 'forms');
    going_on jsonb := coalesce(b -> 'continuations', '[]');
    one jsonb;
    start_at bigint;
    item_at bigint;
    times bigint;
    lowest bigint;
    highest bigint;
    its record;
    gap_at record;
BEGIN
    PERFORM in_batch(e, of_batch);
    FOR gap_at IN SELECT account, first, last FROM gap LOOP
        PERFORM law(e, (SELECT count(*) = gap_at.last - gap_at.first + 1 FROM number WHERE account = gap_at.account
            AND number BETWEEN gap_at.first AND gap_at.last),
            format('%s:%s-%s is not accounted for since a restore', gap_at.account, gap_at.first, gap_at.last));
    END LOOP;
    PERFORM law(e, (SELECT proof = t(b, 'proof') AND proof <> '' FROM batch WHERE id = of_batch),
        'only what the latest proof shows is printed');
    FOR one IN SELECT value FROM jsonb_array_elements(forms || going_on) LOOP
        PERFORM shaped(one, 'nnn');
        PERFORM law(e, (one ->> 0)::bigint >= 1 AND (one ->> 1)::bigint >= 1
            AND (one ->> 2)::bigint BETWEEN 1 AND 10000000, 'forms and payments are counted from 1');
    END LOOP;
    PERFORM law(e, jsonb_array_length(forms) > 0, 'a run has a form');
    SELECT min((value ->> 0)::bigint), max((value ->> 0)::bigint + (value ->> 2)::bigint - 1) INTO lowest, highest
        FROM jsonb_array_elements(forms || going_on);
    SELECT min((value ->> 0)::bigint) INTO lowest FROM jsonb_array_elements(forms);
    INSERT INTO run (id, batch, account, printer, address, language, first, last, state, cause, at, seq)
        VALUES (this, of_batch, which, t(b, 'printer'), t(b, 'address'), t(b, 'language'), lowest, highest, 'open', '',
            e.at, e.seq);
    FOR one IN SELECT value FROM jsonb_array_elements(forms) LOOP
        start_at := (one ->> 0)::bigint; item_at := (one ->> 1)::bigint; times := (one ->> 2)::bigint;
        PERFORM law(e, (SELECT count(*) = times FROM claim WHERE batch = of_batch
            AND item BETWEEN item_at AND item_at + times - 1 AND account = which AND pulled = ''),
            format('payments %s-%s of batch %s are not all to be printed', item_at, item_at + times - 1, of_batch));
        PERFORM uncleared(e, which, start_at, start_at + times - 1);
        PERFORM unpaid(e, of_batch, item_at, item_at + times - 1);
        PERFORM all_wait(e, of_batch, item_at, item_at + times - 1);
        PERFORM law(e, (stock_of(which, start_at)).form = (SELECT form FROM batch WHERE id = of_batch),
            'a batch is printed on the form that it was accepted for');
        PERFORM leave_paying(e, which, start_at, times, 'reserved', of_batch, item_at, this, '');
    END LOOP;
    FOR one IN SELECT value FROM jsonb_array_elements(going_on) LOOP
        start_at := (one ->> 0)::bigint; item_at := (one ->> 1)::bigint; times := (one ->> 2)::bigint;
        SELECT origin_batch, origin_item INTO its FROM number WHERE account = which AND number = start_at - 1
            AND run = this AND item = item_at AND role <> 'continuation';
        PERFORM law(e, FOUND, format('number %s does not follow the form of payment %s', start_at, item_at));
        PERFORM uncleared(e, which, start_at, start_at + times - 1);
        INSERT INTO number (account, number, stock, state, role, batch, item, run, origin_batch, origin_item, taken,
            sent, reason, custody, stop, seq)
            SELECT which, one_number, box, 'reserved', 'continuation', of_batch, item_at, this, its.origin_batch,
                its.origin_item, e.seq, 0, '', '', '', e.seq
            FROM out_of_box(e, which, start_at, start_at + times - 1, 'reserved') box,
                generate_series(start_at, start_at + times - 1) one_number;
    END LOOP;
    PERFORM law(e, (SELECT account = which FROM batch WHERE id = of_batch), 'a batch is printed on its own account');
    PERFORM law(e, this = (SELECT coalesce(max(id), 0) + 1 FROM run WHERE id <> this), 'a run has the next number');
END $f$;

-- the run that an event speaks of, which nobody answered for yet
CREATE FUNCTION @gate@.run_of(e @book@.event, b jsonb) RETURNS @book@.run LANGUAGE plpgsql AS $f$
DECLARE
    its run;
BEGIN
    SELECT * INTO its FROM run WHERE id = n(b, 'run');
    IF NOT FOUND THEN
        PERFORM refuse(format('event %s speaks of run %s, which never began', e.seq, b ->> 'run'));
    END IF;
    IF its.state = 'closed' THEN
        PERFORM refuse(format('run %s was answered for already: nothing more of it is sent or said.', its.id));
    END IF;
    RETURN its;
END $f$;

CREATE FUNCTION @gate@.held(this bigint, which text, first_one bigint, last_one bigint, states text[]) RETURNS boolean
LANGUAGE sql AS $f$
    SELECT last_one >= first_one AND count(*) = last_one - first_one + 1 FROM number
        WHERE account = which AND number BETWEEN first_one AND last_one AND run = this AND state = ANY (states)
$f$;

CREATE FUNCTION @gate@.run_sent(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    its run := run_of(e, b);
    first_one bigint := n(b, 'first');
    last_one bigint := n(b, 'last');
BEGIN
    IF (its.state = 'open' AND held(its.id, its.account, first_one, last_one, '{reserved}')) IS NOT TRUE THEN
        PERFORM refuse(format('numbers %s-%s are not reserved for run %s: nothing of it is sent.', first_one, last_one,
            its.id));
    END IF;
    PERFORM move(e, its.account, first_one, last_one, 'sent', sent_by => e.seq);
END $f$;

-- stopped, finished
CREATE FUNCTION @gate@.run_ended(e @book@.event, b jsonb, now_is text) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    its run := run_of(e, b);
BEGIN
    PERFORM law(e, its.state = 'open', format('run %s is %s already', its.id, its.state));
    UPDATE run SET state = now_is, cause = CASE WHEN b ? 'cause' THEN t(b, 'cause') ELSE '' END WHERE id = its.id;
    PERFORM touch_batch(e, its.batch);
END $f$;

CREATE FUNCTION @gate@.paper_seen(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    its run := run_of(e, b);
    is_group text;
    one jsonb;
    first_one bigint;
    last_one bigint;
    odd bigint;
BEGIN
    FOREACH is_group IN ARRAY '{good,spoiled,missing,blank}'::text[] LOOP
        FOR one IN SELECT value FROM jsonb_array_elements(l(b, is_group)) LOOP
            PERFORM shaped(one, CASE WHEN is_group IN ('good', 'blank') THEN 'nn' ELSE 'nnt' END);
            first_one := (one ->> 0)::bigint; last_one := (one ->> 1)::bigint;
            IF held(its.id, its.account, first_one, last_one, CASE WHEN is_group = 'good' THEN '{sent}'::text[]
                ELSE '{reserved,sent}' END) IS NOT TRUE THEN
                PERFORM refuse(format('numbers %s-%s are not all in doubt in run %s: they cannot be %s', first_one,
                    last_one, its.id, is_group));
            END IF;
            CASE is_group
            WHEN 'good' THEN
                PERFORM move(e, its.account, first_one, last_one, 'printed', in_hands => 'to be signed');
            WHEN 'blank' THEN
                PERFORM move(e, its.account, first_one, last_one, 'on hand');
            ELSE
                PERFORM move(e, its.account, first_one, last_one, is_group, why => one ->> 2);
            END CASE;
        END LOOP;
    END LOOP;
    SELECT n.number INTO odd FROM run r JOIN number n ON n.account = r.account AND n.number BETWEEN r.first AND r.last
        AND n.run = r.id WHERE r.id = its.id AND n.role = 'continuation' AND n.state = 'printed' AND NOT EXISTS
        (SELECT 1 FROM number p WHERE p.origin_batch = n.origin_batch AND p.origin_item = n.origin_item
        AND p.run = n.run AND p.role <> 'continuation' AND p.state = 'printed') LIMIT 1;
    PERFORM law(e, NOT FOUND, format('number %s goes on with a form that is not good', odd));
    SELECT min(number) INTO odd FROM number WHERE run = its.id AND state IN ('reserved', 'sent');
    PERFORM law(e, odd IS NULL, format('number %s of the run is not answered for', odd));
    UPDATE run SET state = 'closed' WHERE id = its.id;
    PERFORM touch_batch(e, its.batch);
END $f$;
