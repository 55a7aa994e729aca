-- What a station may call: the doors of the book. Each runs as the book's owner, with a search path of its own, so that
-- nothing a station has made is ever found by them; nothing else of this schema may be called by anybody.

CREATE TABLE @gate@.hand (name text PRIMARY KEY, rolname text NOT NULL UNIQUE);
CREATE TABLE @gate@.allowed (kind text NOT NULL, hand text NOT NULL REFERENCES @gate@.hand, PRIMARY KEY (kind, hand));
-- a duty that is asked: approve, reconcile, second_person; second_approval_over with an account and minor units
CREATE TABLE @gate@.asks (duty text NOT NULL, account text NOT NULL, amount bigint NOT NULL,
    PRIMARY KEY (duty, account));
-- what was written beside the chain in the open transaction, and no event speaks of yet
CREATE TABLE @gate@.loose (what text NOT NULL, key text NOT NULL, PRIMARY KEY (what, key));

CREATE FUNCTION @gate@.none_is_loose() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER
SET search_path = @book@, @gate@, pg_temp AS $f$
BEGIN
    IF EXISTS (SELECT 1 FROM loose WHERE what = NEW.what AND key = NEW.key) THEN
        PERFORM refuse(format('what is written beside the chain belongs to an event: the %s %s does not', NEW.what,
            left(NEW.key, 16)));
    END IF;
    RETURN NULL;
END $f$;
CREATE CONSTRAINT TRIGGER loose_ends AFTER INSERT ON @gate@.loose DEFERRABLE INITIALLY DEFERRED
    FOR EACH ROW EXECUTE FUNCTION @gate@.none_is_loose();

-- Only the head's holder writes; under another isolation a station would see the book as it was before it waited.
CREATE FUNCTION @gate@.hold() RETURNS void LANGUAGE plpgsql AS $f$
BEGIN
    IF current_setting('transaction_isolation') <> 'read committed' THEN
        PERFORM refuse('a book is written in a transaction of the isolation read committed');
    END IF;
    PERFORM 1 FROM mark WHERE name = 'head' FOR UPDATE;
END $f$;

-- Whether the one who is at the other end of the line has a hand that may do this. `session_user` is who logged in:
-- no SET ROLE changes it.
CREATE FUNCTION @gate@.may(what text) RETURNS boolean LANGUAGE sql STABLE AS $f$
    SELECT EXISTS (SELECT 1 FROM allowed a JOIN hand h ON h.name = a.hand JOIN pg_roles r ON r.rolname = h.rolname
        WHERE a.kind = what AND pg_has_role(session_user, r.oid, 'USAGE'))
$f$;

CREATE FUNCTION @gate@.must(what text) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    who_may text;
BEGIN
    IF may(what) IS NOT TRUE THEN
        SELECT string_agg(hand, ' or ' ORDER BY hand) INTO who_may FROM allowed WHERE kind = what;
        PERFORM refuse(format('%s may not do this (%s): %s. Nothing changed.', session_user, left(what, 60),
            coalesce('it wants the role ' || who_may, 'nobody here may')));
    END IF;
END $f$;

CREATE FUNCTION @gate@.lock_head() RETURNS void LANGUAGE plpgsql SECURITY DEFINER
SET search_path = @book@, @gate@, pg_temp AS $f$
BEGIN
    PERFORM hold();
END $f$;

CREATE FUNCTION @gate@.keep_text(its_digest text, said text) RETURNS void LANGUAGE plpgsql SECURITY DEFINER
SET search_path = @book@, @gate@, pg_temp AS $f$
BEGIN
    PERFORM hold();
    IF (may('batch.accepted') OR may('statement.read') OR may('notice.made')) IS NOT TRUE THEN
        PERFORM must('batch.accepted');
    END IF;
    IF (octet_length(said) <= 67108864 AND its_digest = encode(sha256(convert_to(said, 'UTF8')), 'hex')) IS NOT TRUE
    THEN
        PERFORM refuse('a text is kept under its own digest, and has at most 64 MiB');
    END IF;
    INSERT INTO content (digest, body) VALUES (its_digest, said) ON CONFLICT (digest) DO NOTHING;
    IF FOUND THEN
        INSERT INTO loose (what, key) VALUES ('text', its_digest);
    END IF;
END $f$;

-- `keys`: the invoices that it pays, as cheque/likeness.py numbers them. They only serve to find the same invoice in a
-- later register, and the server cannot compute them; `cheque book verify` does.
CREATE FUNCTION @gate@.keep_payment(of_batch bigint, its_item bigint, kept text, keys bigint[]) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = @book@, @gate@, pg_temp AS $f$
BEGIN
    PERFORM hold();
    PERFORM must('batch.accepted');
    IF of_batch IS DISTINCT FROM (SELECT coalesce(max(id), 0) + 1 FROM batch) THEN
        PERFORM refuse('payments belong to the batch that is being accepted');
    END IF;
    IF (octet_length(kept) <= 1048576 AND its_item BETWEEN 1 AND 1000000000 AND cardinality(keys) <= 10000) IS NOT TRUE
    THEN
        PERFORM refuse('a payment has at most 1 MiB');
    END IF;
    INSERT INTO payment (batch, item, body) VALUES (of_batch, its_item, kept);
    IF cardinality(keys) > (SELECT count(*) FROM jsonb_array_elements(kept::jsonb -> 4) s WHERE s.value -> 0 = '3') THEN
        PERFORM refuse('a payment has a key for each of its invoices');
    END IF;
    INSERT INTO invoice (key, batch, item) SELECT DISTINCT key, of_batch, its_item FROM unnest(keys) key;
    INSERT INTO loose (what, key) VALUES ('payment', of_batch::text) ON CONFLICT DO NOTHING;
END $f$;

CREATE FUNCTION @gate@.keep_page(of_seq bigint, its_item bigint, digests bytea) RETURNS void LANGUAGE plpgsql
SECURITY DEFINER SET search_path = @book@, @gate@, pg_temp AS $f$
BEGIN
    PERFORM hold();
    PERFORM must('proof.made');
    IF (of_seq = (SELECT max(seq) + 1 FROM event) AND its_item >= 1 AND octet_length(digests) BETWEEN 32 AND 32000
        AND octet_length(digests) % 32 = 0) IS NOT TRUE THEN
        PERFORM refuse('pages belong to the proof that is being made, 32 bytes a form');
    END IF;
    INSERT INTO proof_page (seq, item, digest) VALUES (of_seq, its_item, digests);
    INSERT INTO loose (what, key) VALUES ('page', of_seq::text) ON CONFLICT DO NOTHING;
END $f$;

-- The duties that are asked, whatever the station's own settings say.
CREATE FUNCTION @gate@.kept_apart(e @book@.event, b jsonb) RETURNS void LANGUAGE plpgsql AS $f$
DECLARE
    wanted int;
    given int;
BEGIN
    CASE e.kind
    WHEN 'run.begun' THEN
        SELECT CASE WHEN EXISTS (SELECT 1 FROM asks a WHERE a.duty = 'second_approval_over' AND a.account =
                t(b, 'account') AND a.amount < (SELECT max(amount) FROM claim WHERE batch = n(b, 'batch')
                AND pulled = '' AND role = 'cheque')) THEN 2
            WHEN EXISTS (SELECT 1 FROM asks WHERE duty = 'approve') THEN 1 ELSE 0 END INTO wanted;
        SELECT count(DISTINCT who) INTO given FROM approval WHERE batch = n(b, 'batch') AND proof = t(b, 'proof');
        IF given < wanted THEN
            PERFORM refuse(format('batch %s is printed once %s other than who accepted it approved its proof; %s did. '
                'Nothing changed.', n(b, 'batch'), CASE wanted WHEN 1 THEN 'somebody' ELSE 'two people' END, given));
        END IF;
    WHEN 'cheque.voided', 'cheque.manual' THEN
        IF NOT b ? 'asked' AND EXISTS (SELECT 1 FROM asks WHERE duty = 'second_person') THEN
            PERFORM refuse('this takes two people: one asks for it, another does it. Nothing changed.');
        END IF;
    WHEN 'cheque.disposed' THEN  -- the second person may say it in the step of the void itself
        IF t(b, 'disposition') IN ('not owed', 'paid otherwise') AND EXISTS (SELECT 1 FROM asks
            WHERE duty = 'second_person') AND EXISTS (SELECT 1 FROM number v JOIN event w ON w.seq = v.seq
            WHERE v.account = t(b, 'account') AND v.number = n(b, 'number') AND v.state = 'voided' AND w.who = e.who
            AND w.seq <> e.seq - 1) THEN
            PERFORM refuse(format('%s voided number %s of %s, so somebody else has to say that its payment is %s. '
                'Nothing changed.', e.who, n(b, 'number'), t(b, 'account'), t(b, 'disposition')));
        END IF;
    WHEN 'statement.read' THEN
        IF EXISTS (SELECT 1 FROM asks WHERE duty = 'reconcile') AND EXISTS (SELECT 1 FROM run r JOIN event v
            ON v.seq = r.seq WHERE r.account = t(b, 'account') AND v.who = e.who
            AND r.at >= to_char((clock_timestamp() AT TIME ZONE 'UTC') - interval '366 days', 'YYYY-MM-DD')) THEN
            PERFORM refuse(format('%s printed from %s within a year, so somebody else has to reconcile it. '
                'Nothing changed.', e.who, t(b, 'account')));
        END IF;
    ELSE
    END CASE;
END $f$;

-- Append an event: gives it as it stands in the chain. Who, when and the digests are the server's own.
CREATE FUNCTION @gate@.append(at_station text, of_kind text, given text) RETURNS @book@.event LANGUAGE plpgsql
SECURITY DEFINER SET search_path = @book@, @gate@, pg_temp AS $f$
DECLARE
    e event;
    b jsonb;
    head record;
BEGIN
    PERFORM hold();
    IF of_kind = 'book.begun' THEN
        PERFORM refuse('a book begins once');
    END IF;
    PERFORM must(of_kind);
    IF (octet_length(at_station) <= 255 AND octet_length(given) <= 16777216) IS NOT TRUE THEN
        PERFORM refuse('what happened is told in at most 16 MiB, by a station of at most 255 bytes');
    END IF;
    b := given::jsonb;
    IF jsonb_typeof(b) <> 'object' THEN
        PERFORM refuse('what happened is told in a table of names and values');
    END IF;
    SELECT seq, digest, kind INTO head FROM event ORDER BY seq DESC LIMIT 1;
    IF head.kind = 'book.moved' AND of_kind <> 'book.arrived' THEN
        PERFORM refuse('this book has moved, and nothing more is written here');
    END IF;
    e.seq := head.seq + 1;
    e.at := to_char(date_trunc('milliseconds', clock_timestamp()) AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"');
    e.who := session_user;
    e.station := at_station;
    e.kind := of_kind;
    e.body := canonical(b, false);
    e.prev := head.digest;
    e.digest := digest_of(e);
    PERFORM kept_apart(e, b);
    INSERT INTO event SELECT e.*;
    CASE of_kind
    WHEN 'stock.received' THEN PERFORM stock_received(e, b);
    WHEN 'stock.counted' THEN PERFORM stock_counted(e, b);
    WHEN 'stock.destroyed' THEN PERFORM form_left(e, b, 'destroyed');
    WHEN 'form.spoiled' THEN PERFORM form_left(e, b, 'spoiled');
    WHEN 'form.missing' THEN PERFORM form_left(e, b, 'missing');
    WHEN 'form.found' THEN PERFORM form_found(e, b);
    WHEN 'shift.set' THEN PERFORM shift_set(e, b);
    WHEN 'numbers.moved' THEN PERFORM numbers_moved(e, b);
    WHEN 'batch.refused' THEN NULL;
    WHEN 'batch.accepted' THEN PERFORM batch_accepted(e, b);
    WHEN 'payment.pulled' THEN PERFORM payment_pulled(e, b);
    WHEN 'batch.withdrawn' THEN PERFORM batch_withdrawn(e, b);
    WHEN 'proof.made' THEN PERFORM proof_made(e, b);
    WHEN 'batch.approved' THEN PERFORM batch_approved(e, b);
    WHEN 'run.begun' THEN PERFORM run_begun(e, b);
    WHEN 'run.sent' THEN PERFORM run_sent(e, b);
    WHEN 'run.stopped' THEN PERFORM run_ended(e, b, 'stopped');
    WHEN 'run.finished' THEN PERFORM run_ended(e, b, 'finished');
    WHEN 'paper.seen' THEN PERFORM paper_seen(e, b);
    WHEN 'cheque.voided' THEN PERFORM cheque_voided(e, b);
    WHEN 'cheque.manual' THEN PERFORM cheque_manual(e, b);
    WHEN 'cheque.disposed' THEN PERFORM cheque_disposed(e, b);
    WHEN 'custody.changed' THEN PERFORM custody_changed(e, b);
    WHEN 'second.asked' THEN PERFORM second_asked(e, b);
    WHEN 'second.dropped' THEN PERFORM second_dropped(e, b);
    WHEN 'stop.overridden' THEN PERFORM stop_overridden(e, b);
    WHEN 'stop.requested', 'stop.confirmed', 'stop.renewed', 'stop.refused' THEN PERFORM stop_is(e, b);
    WHEN 'notice.made' THEN PERFORM notice_made(e, b);
    WHEN 'notice.sent' THEN PERFORM notice_is(e, b, 'sent');
    WHEN 'notice.accepted' THEN PERFORM notice_is(e, b, 'accepted');
    WHEN 'notice.refused' THEN PERFORM notice_is(e, b, 'refused');
    WHEN 'statement.read' THEN PERFORM statement_read(e, b);
    WHEN 'opening.entered' THEN PERFORM opening_entered(e, b);
    WHEN 'book.restored' THEN PERFORM book_restored(e, b);
    WHEN 'book.placed', 'book.moved' THEN NULL;
    WHEN 'book.arrived' THEN PERFORM law(e, head.kind = 'book.moved', 'a book arrives after it was moved');
    ELSE PERFORM refuse(format('a book under roles does not take what is new in a later release (%s): have its owner '
        'run `cheque book roles make` of that release', left(of_kind, 60)));
    END CASE;
    DELETE FROM loose WHERE what = 'text' AND position('"' || key || '"' IN e.body) > 0;
    RETURN e;
END $f$;
