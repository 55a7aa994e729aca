-- Good cheques, second persons, debts; as cheque/book/apply/cheques.py, duties.py and owed.py have it.

CREATE FUNCTION @gate@.number_of(e @book@.event, b jsonb) RETURNS @book@.number LANGUAGE plpgsql AS $f$
DECLARE
    its number;
BEGIN
    SELECT * INTO its FROM number WHERE account = t(b, 'account') AND number = n(b, 'number');
    IF NOT FOUND THEN
        PERFORM refuse(format('event %s speaks of number %s, which never left the box', e.seq, b ->> 'number'));
    END IF;
    RETURN its;
END $f$;

-- An event that somebody asked for: the same step, by another person, once.
CREATE FUNCTION @gate@.seconded(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    its asked;
BEGIN
    IF NOT b ? 'asked' THEN
        RETURN;
    END IF;
    SELECT * INTO its FROM asked WHERE id = n(b, 'asked') AND done = 0;
    PERFORM law(e, FOUND, 'what was asked for is done once');
    PERFORM law(e, its.kind = e.kind AND its.body = canonical(b - 'asked', false),
        'what is done is what was asked for');
    PERFORM law(e, its.who <> e.who, 'a second person is another one than the first');
    UPDATE asked SET done = 1 WHERE id = its.id;
END $f$;

CREATE FUNCTION @gate@.cheque_voided(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    its number := number_of(e, b);
    paper text := t(b, 'paper');
    further bigint;
    in_hands text;
BEGIN
    PERFORM law(e, paper IN ('in hand', 'returned', 'not in hand'), 'the paper is in hand, returned or not in hand');
    PERFORM uncleared(e, its.account, its.number, its.number);
    PERFORM seconded(e, b);
    in_hands := CASE paper WHEN 'in hand' THEN 'held' ELSE paper END;
    PERFORM law(e, its.role <> 'continuation',
        format('number %s pays nobody: it is voided with what it goes on with', its.number));
    PERFORM move(e, its.account, its.number, its.number, 'voided', why => t(b, 'reason'), in_hands => in_hands,
        stop_is => CASE WHEN its.stop = '' AND its.role = 'cheque' AND paper = 'not in hand' THEN 'needed'
            ELSE its.stop END);
    FOR further IN SELECT c.number FROM number c WHERE c.origin_batch = its.origin_batch
        AND c.origin_item = its.origin_item AND c.run = its.run AND its.run > 0 AND c.account = its.account
        AND c.role = 'continuation' AND c.state = 'printed' ORDER BY c.number
    LOOP
        PERFORM move(e, its.account, further, further, 'voided', why => t(b, 'reason'), in_hands => in_hands);
    END LOOP;
END $f$;

CREATE FUNCTION @gate@.stop_overridden(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    its number := number_of(e, b);
BEGIN
    PERFORM t(b, 'reason');
    UPDATE number SET stop = 'overridden' WHERE account = its.account AND number = its.number;
    PERFORM touch(e, its.account, its.number, its.number);
END $f$;

CREATE FUNCTION @gate@.custody_changed(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    which text := t(b, 'account');
    first_one bigint := n(b, 'first');
    last_one bigint := n(b, 'last');
    place text := t(b, 'place');
BEGIN
    PERFORM law(e, place IN ('to be signed', 'held', 'handed over', 'mailed', 'returned'), 'a place is one of five');
    PERFORM uncleared(e, which, first_one, last_one);
    PERFORM law(e, last_one >= first_one AND (SELECT count(*) = last_one - first_one + 1 FROM number
        WHERE account = which AND number BETWEEN first_one AND last_one AND state IN ('printed', 'voided')),
        'only a cheque, good or void, is in somebody''s hands');
    PERFORM law(e, place IN ('held', 'returned') OR NOT EXISTS (SELECT 1 FROM number WHERE account = which
        AND number BETWEEN first_one AND last_one AND state = 'voided'), 'a void cheque is not given out');
    UPDATE number SET custody = place, stop = CASE stop WHEN 'needed' THEN '' ELSE stop END
        WHERE account = which AND number BETWEEN first_one AND last_one;
    PERFORM touch(e, which, first_one, last_one);
END $f$;

CREATE FUNCTION @gate@.cheque_manual(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    which text := t(b, 'account');
    its bigint := n(b, 'number');
    of_batch bigint := n(b, 'batch');
    of_item bigint := n(b, 'item');
BEGIN
    PERFORM t(b, 'reason');
    PERFORM in_batch(e, of_batch);
    PERFORM seconded(e, b);
    PERFORM uncleared(e, which, its, its);
    PERFORM unpaid(e, of_batch, of_item, of_item);
    IF NOT EXISTS (SELECT 1 FROM claim WHERE batch = of_batch AND item = of_item AND account = which AND pulled = ''
        AND role = 'cheque') THEN
        PERFORM refuse(format('event %s speaks of payment %s of batch %s, which is not to be paid', e.seq, of_item,
            of_batch));
    END IF;
    PERFORM all_wait(e, of_batch, of_item, of_item);
    PERFORM leave_paying(e, which, its, 1, 'printed', of_batch, of_item, 0, 'to be signed');
END $f$;

CREATE FUNCTION @gate@.batch_approved(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    this bigint := n(b, 'batch');
    its record;
BEGIN
    PERFORM in_batch(e, this);
    SELECT a.proof, v.who INTO its FROM batch a JOIN event v ON v.seq = a.seq WHERE a.id = this;
    PERFORM law(e, its.proof <> '' AND its.proof = t(b, 'proof'), 'only a batch''s latest proof is approved');
    PERFORM law(e, its.who <> e.who, 'nobody approves a batch that he accepted');
    PERFORM law(e, NOT EXISTS (SELECT 1 FROM approval WHERE batch = this AND proof = its.proof AND who = e.who),
        'nobody approves the same proof twice');
    INSERT INTO approval (batch, proof, who, seq) VALUES (this, its.proof, e.who, e.seq);
END $f$;

CREATE FUNCTION @gate@.second_asked(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    wanted jsonb := b -> 'body';
BEGIN
    PERFORM law(e, t(b, 'kind') IN ('cheque.voided', 'cheque.manual') AND jsonb_typeof(wanted) = 'object',
        'only what a second person may do is asked for');
    INSERT INTO asked (id, kind, account, number, body, who, at, done) VALUES (e.seq, t(b, 'kind'),
        t(wanted, 'account'), n(wanted, 'number'), canonical(wanted, false), e.who, e.at, 0);
    PERFORM touch(e, t(wanted, 'account'), n(wanted, 'number'), n(wanted, 'number'));
END $f$;

CREATE FUNCTION @gate@.second_dropped(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    its asked;
BEGIN
    SELECT * INTO its FROM asked WHERE id = n(b, 'asked') AND done = 0;
    PERFORM law(e, FOUND, 'only what still waits is dropped');
    UPDATE asked SET done = 1 WHERE id = its.id;
    PERFORM touch(e, its.account, its.number, its.number);
END $f$;

CREATE FUNCTION @gate@.cheque_disposed(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    what text := t(b, 'disposition');
    its number;
BEGIN
    SELECT * INTO its FROM number WHERE account = t(b, 'account') AND number = n(b, 'number') AND state = 'voided'
        AND role = 'cheque';
    PERFORM law(e, FOUND, format('number %s is no voided cheque', b ->> 'number'));
    PERFORM law(e, what IN ('reissue', 'still owed', 'not owed', 'paid otherwise'),
        'a disposition is reissue, still owed, not owed, paid otherwise');
    PERFORM law(e, NOT EXISTS (SELECT 1 FROM number WHERE origin_batch = its.origin_batch
        AND origin_item = its.origin_item AND role <> 'continuation' AND (state IN ('reserved', 'sent', 'printed')
        OR state IN ('voided', 'missing') AND taken > its.taken)), 'the payment was put on another form since');
    PERFORM law(e, what IN ('reissue', 'still owed') OR NOT EXISTS (SELECT 1 FROM claim c JOIN batch a
        ON a.id = c.batch WHERE c.origin_batch = its.origin_batch AND c.origin_item = its.origin_item
        AND c.origin_batch <> c.batch AND c.batch > its.batch AND a.state = 'accepted' AND c.pulled = ''),
        'a payment that waits to be printed again is not settled');
    PERFORM law(e, NOT EXISTS (SELECT 1 FROM number v JOIN cleared p ON p.account = v.account AND p.number = v.number
        WHERE v.origin_batch = its.origin_batch AND v.origin_item = its.origin_item), 'the bank paid the payment');
    INSERT INTO disposition (account, number, disposition, reason, seq)
        VALUES (its.account, its.number, what, t(b, 'reason'), e.seq)
        ON CONFLICT (account, number) DO UPDATE SET disposition = excluded.disposition, reason = excluded.reason,
        seq = excluded.seq;
    PERFORM touch(e, its.account, its.number, its.number);
END $f$;
