-- What a body holds, and the one text of it; as cheque/book/event.py and cheque/payment.py have it.

CREATE FUNCTION @gate@.refuse(told text) RETURNS void LANGUAGE plpgsql AS $f$
BEGIN
    RAISE EXCEPTION USING ERRCODE = 'CQ001', MESSAGE = told;
END $f$;

CREATE FUNCTION @gate@.law(e @book@.event, holds boolean, broken text) RETURNS void LANGUAGE plpgsql AS $f$
BEGIN
    IF holds IS NOT TRUE THEN  -- what is not known does not hold
        PERFORM refuse(format('event %s (%s) breaks the law of the book: %s', e.seq, e.kind, broken));
    END IF;
END $f$;

-- a whole number of a body, which has to be there
CREATE FUNCTION @gate@.n(b jsonb, name text) RETURNS bigint LANGUAGE plpgsql AS $f$
BEGIN
    IF jsonb_typeof(b -> name) IS DISTINCT FROM 'number' THEN
        PERFORM refuse(format('found no whole number %s in what happened', name));
    END IF;
    RETURN (b ->> name)::bigint;
END $f$;

-- a text of a body, which has to be there
CREATE FUNCTION @gate@.t(b jsonb, name text) RETURNS text LANGUAGE plpgsql AS $f$
BEGIN
    IF jsonb_typeof(b -> name) IS DISTINCT FROM 'string' THEN
        PERFORM refuse(format('found no text %s in what happened', name));
    END IF;
    RETURN b ->> name;
END $f$;

-- a list of a body, which has to be there
CREATE FUNCTION @gate@.l(b jsonb, name text) RETURNS jsonb LANGUAGE plpgsql AS $f$
BEGIN
    IF jsonb_typeof(b -> name) IS DISTINCT FROM 'array' THEN
        PERFORM refuse(format('found no list %s in what happened', name));
    END IF;
    RETURN b -> name;
END $f$;

-- one of a list: `kinds` has a letter for each place, n for a number, t for a text
CREATE FUNCTION @gate@.shaped(one jsonb, kinds text) RETURNS jsonb LANGUAGE plpgsql AS $f$
BEGIN
    IF jsonb_typeof(one) IS DISTINCT FROM 'array' OR jsonb_array_length(one) <> length(kinds) THEN
        PERFORM refuse(format('found a list that is not of %s values', length(kinds)));
    END IF;
    FOR place IN 0 .. length(kinds) - 1 LOOP
        IF jsonb_typeof(one -> place) <> (CASE substr(kinds, place + 1, 1) WHEN 'n' THEN 'number' ELSE 'string' END)
        THEN
            PERFORM refuse(format('found %s at place %s of a list', one -> place, place + 1));
        END IF;
    END LOOP;
    RETURN one;
END $f$;

-- canonical JSON: keys sorted by code point (which bytes of UTF-8 are sorted by as well), no blanks
CREATE FUNCTION @gate@.canonical(j jsonb, empty boolean) RETURNS text LANGUAGE plpgsql STRICT AS $f$
DECLARE
    made text := j::text;
BEGIN
    CASE jsonb_typeof(j)
    WHEN 'string' THEN RETURN made;
    WHEN 'number' THEN
        IF made !~ '^-?(0|[1-9][0-9]*)$' OR length(made) > 20 OR abs(made::numeric) > 9223372036854775807 THEN
            PERFORM refuse(format('found %s, which is no whole number of 64 bits', left(made, 40)));
        END IF;
        RETURN made;
    WHEN 'object' THEN
        RETURN '{' || coalesce((SELECT string_agg(to_json(key)::text || ':' || canonical(value, empty), ','
            ORDER BY key COLLATE "C") FROM jsonb_each(j)), '') || '}';
    WHEN 'array' THEN
        RETURN '[' || coalesce((SELECT string_agg(canonical(value, empty), ',' ORDER BY place)
            FROM jsonb_array_elements(j) WITH ORDINALITY AS a (value, place)), '') || ']';
    ELSE
        IF NOT empty OR made <> 'null' THEN
            PERFORM refuse(format('found %s where a text or a whole number stands', made));
        END IF;
        RETURN made;
    END CASE;
END $f$;

CREATE FUNCTION @gate@.piece(said text) RETURNS bytea LANGUAGE sql IMMUTABLE AS $f$
    SELECT convert_to(octet_length(convert_to(said, 'UTF8')) || ':', 'UTF8') || convert_to(said, 'UTF8')
$f$;

CREATE FUNCTION @gate@.digest_of(e @book@.event) RETURNS text LANGUAGE sql IMMUTABLE AS $f$
    SELECT encode(sha256(convert_to(E'cheque event 1\n', 'UTF8') || piece(e.seq::text) || piece(e.at) || piece(e.who)
        || piece(e.station) || piece(e.kind) || piece(e.body) || piece(e.prev)), 'hex')
$f$;

-- a line of a stub, from its kept form: code, text, amount, to_date, hours, rate, date, gross, discount
CREATE FUNCTION @gate@.stub_text(line jsonb) RETURNS text LANGUAGE plpgsql AS $f$
DECLARE
    last int := jsonb_array_length(line) - 1;
BEGIN
    IF last NOT BETWEEN 1 AND 8 OR jsonb_typeof(line -> 0) <> 'number' OR (line ->> 0)::int NOT BETWEEN 0 AND 5
        OR jsonb_typeof(line -> 1) <> 'string'
        OR last >= 2 AND line -> last = (CASE WHEN last IN (4, 5, 6) THEN '""' ELSE 'null' END)::jsonb
    THEN
        PERFORM refuse('found a line of a stub that is not kept as it is written');
    END IF;
    FOR place IN 2 .. last LOOP
        IF (CASE WHEN place IN (4, 5, 6) THEN jsonb_typeof(line -> place) = 'string'
            ELSE jsonb_typeof(line -> place) IN ('number', 'null') END) IS NOT TRUE THEN
            PERFORM refuse('found a line of a stub that is not kept as it is written');
        END IF;
    END LOOP;
    RETURN '{' || concat_ws(',',
        '"amount":' || nullif(line -> 2, 'null')::text,
        '"date":' || nullif(line -> 6, '""')::text,
        '"discount":' || nullif(line -> 8, 'null')::text,
        '"gross":' || nullif(line -> 7, 'null')::text,
        '"hours":' || nullif(line -> 4, '""')::text,
        '"kind":"' || (ARRAY['earning', 'deduction', 'employer', 'invoice', 'goods', 'note'])[(line ->> 0)::int + 1]
            || '"',
        '"rate":' || nullif(line -> 5, '""')::text,
        '"text":' || (line -> 1)::text,
        '"to_date":' || nullif(line -> 3, 'null')::text) || '}';
END $f$;

-- the text that the digest of a batch is of, from a payment as it is kept. The places: payee, amount, date, reference,
-- stub, address, employee, identity, department, period_from, period_to, expected, hash_value, role, memo, place,
-- by_transfer
CREATE FUNCTION @gate@.payment_text(item bigint, kept text) RETURNS text LANGUAGE plpgsql AS $f$
DECLARE
    p jsonb := kept::jsonb;
    last int;
    kinds CONSTANT text[] := '{string,number,string,string,array,array,string,string,string,string,string,string,number,string,string,number,number}';
    fill CONSTANT jsonb := '[0, 0, 0, 0, [], [], "", "", "", "", "", "", null, "cheque", "", 0, 0]';
BEGIN
    IF jsonb_typeof(p) <> 'array' OR canonical(p, true) <> kept THEN
        PERFORM refuse(format('payment %s is not kept as it is written', item));
    END IF;
    last := jsonb_array_length(p) - 1;
    IF last NOT BETWEEN 3 AND 16 OR last > 3 AND p -> last = fill -> last THEN
        PERFORM refuse(format('payment %s is not kept as it is written', item));
    END IF;
    FOR place IN 0 .. last LOOP
        IF jsonb_typeof(p -> place) <> kinds[place + 1] AND NOT (place = 12 AND p -> place = 'null') THEN
            PERFORM refuse(format('payment %s is not kept as it is written', item));
        END IF;
    END LOOP;
    IF last >= 13 AND p ->> 13 NOT IN ('cheque', 'advice', 'continuation') OR (p ->> 1)::bigint < 0
        OR EXISTS (SELECT 1 FROM jsonb_array_elements(p -> 5) a WHERE jsonb_typeof(a.value) <> 'string')
    THEN
        PERFORM refuse(format('payment %s is no payment', item));
    END IF;
    RETURN '{' || concat_ws(',',
        '"address":' || nullif(canonical(p -> 5, false), '[]'),
        '"amount":' || (p ->> 1),
        '"by_transfer":' || nullif(p ->> 16, '0'),
        '"date":' || (p -> 2)::text,
        '"department":' || nullif(p -> 8, '""')::text,
        '"employee":' || nullif(p -> 6, '""')::text,
        '"expected":' || nullif(p -> 11, '""')::text,
        '"hash_value":' || (p ->> 12),
        '"identity":' || nullif(p -> 7, '""')::text,
        '"item":' || item,
        '"memo":' || nullif(p -> 14, '""')::text,
        '"payee":' || (p -> 0)::text,
        '"period_from":' || nullif(p -> 9, '""')::text,
        '"period_to":' || nullif(p -> 10, '""')::text,
        '"place":' || nullif(p ->> 15, '0'),
        '"reference":' || (p -> 3)::text,
        '"role":' || nullif(p -> 13, '"cheque"')::text,
        '"stub":[' || (SELECT string_agg(stub_text(s.value), ',' ORDER BY s.place)
            FROM jsonb_array_elements(p -> 4) WITH ORDINALITY AS s (value, place)) || ']') || '}';
END $f$;

CREATE FUNCTION @gate@.numbered(item bigint, said text) RETURNS bytea LANGUAGE sql IMMUTABLE AS $f$
    SELECT convert_to(item || ':', 'UTF8') || piece(said)
$f$;

CREATE FUNCTION @gate@.payments_digest(which bigint) RETURNS text LANGUAGE sql AS $f$
    SELECT encode(sha256(convert_to(E'cheque payments 1\n', 'UTF8')
        || coalesce(string_agg(numbered(item, payment_text(item, body)), ''::bytea ORDER BY item), '')), 'hex')
    FROM payment WHERE batch = which
$f$;

CREATE FUNCTION @gate@.spaced(digests bytea) RETURNS text LANGUAGE sql IMMUTABLE AS $f$
    SELECT string_agg(encode(substr(digests, place, 32), 'hex'), ' ' ORDER BY place)
    FROM generate_series(1, length(digests), 32) place
$f$;

CREATE FUNCTION @gate@.pages_digest(which bigint) RETURNS text LANGUAGE sql AS $f$
    SELECT encode(sha256(convert_to(E'cheque pages 1\n', 'UTF8')
        || coalesce(string_agg(numbered(item, spaced(digest)), ''::bytea ORDER BY item), '')), 'hex')
    FROM proof_page WHERE seq = which
$f$;
