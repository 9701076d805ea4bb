-- What a room is in PostgreSQL, 13 or later, form 1. Made and brought up to date by `dioptray room prepare`, as the owner of the
-- database. Programs have no right to any table: they call the functions of their role, which add and never change.

CREATE SCHEMA IF NOT EXISTS room;
REVOKE ALL ON SCHEMA room FROM PUBLIC;
SET LOCAL search_path = room, pg_temp;

CREATE TABLE IF NOT EXISTS about (one int PRIMARY KEY CHECK (one = 1), form int NOT NULL);
INSERT INTO about (one, form) VALUES (1, 1) ON CONFLICT (one) DO NOTHING;

-- Which login may what, and of which site; a login of no site sees every site.
CREATE TABLE IF NOT EXISTS login (
    name text PRIMARY KEY,
    role text NOT NULL CHECK (role IN ('examiner', 'keeper', 'teacher', 'reader')),
    site text
);

-- A seat is a logbook by the name that people say; `home` is the writer that this logbook is now.
CREATE TABLE IF NOT EXISTS seat (
    name text PRIMARY KEY,
    home uuid NOT NULL UNIQUE,
    login text NOT NULL,
    site text,
    machine text NOT NULL,
    joined timestamptz NOT NULL DEFAULT now(),
    heard timestamptz NOT NULL DEFAULT now(),
    gone timestamptz
);

-- Up to the number `let_go` the bodies of exams are kept no longer.
CREATE TABLE IF NOT EXISTS writer (
    id uuid PRIMARY KEY,
    seat text NOT NULL REFERENCES seat,
    head bigint NOT NULL DEFAULT 0,
    head_hash bytea NOT NULL,
    let_go bigint NOT NULL DEFAULT 0
);

-- By the month in which they arrived, in UTC; whoever asks for them says in which, so that what was kept for years costs nothing.
-- The last five are for lists, and only where an exam is listed: once, under the number by which it is spoken of at its seat.
CREATE TABLE IF NOT EXISTS entry (
    writer uuid NOT NULL,
    number bigint NOT NULL,
    received timestamptz NOT NULL DEFAULT now(),
    kind text NOT NULL,
    about bytea NOT NULL,
    "by" text,
    at text NOT NULL,
    after text,
    format bigint NOT NULL,
    body_hash bytea NOT NULL,
    hash bytea NOT NULL,
    body bytea,
    seat text,
    site text,
    spoken bigint,
    closed timestamptz,
    label text
) PARTITION BY RANGE (received);
-- bodies come deflated
ALTER TABLE entry ALTER COLUMN body SET STORAGE EXTERNAL;
CREATE INDEX IF NOT EXISTS entry_number ON entry (writer, number);
CREATE INDEX IF NOT EXISTS entry_spoken ON entry (lower(seat), spoken) WHERE spoken IS NOT NULL;
CREATE INDEX IF NOT EXISTS entry_of_site ON entry (lower(site), closed) WHERE spoken IS NOT NULL;
CREATE INDEX IF NOT EXISTS entry_closed ON entry (closed) WHERE spoken IS NOT NULL;
CREATE INDEX IF NOT EXISTS entry_by ON entry (lower("by"), closed) WHERE spoken IS NOT NULL;
CREATE TABLE IF NOT EXISTS entry_else PARTITION OF entry DEFAULT;

-- Every closed exam, which may come from two copies of one logbook: the first is listed. An identity begins with the time, so that
-- new ones stand side by side however many there are.
CREATE TABLE IF NOT EXISTS exam (id uuid PRIMARY KEY);

-- The months in which something arrived; on which days the exams among it were closed; when the bodies were let go of, if they were.
CREATE TABLE IF NOT EXISTS month (
    month date PRIMARY KEY,
    earliest date,
    latest date,
    let_go timestamptz
);

-- What of a writer arrived in a month: the numbers of the entries, how many exams are listed, and their spoken numbers.
CREATE TABLE IF NOT EXISTS written (
    writer uuid NOT NULL REFERENCES writer,
    month date NOT NULL REFERENCES month,
    first bigint NOT NULL,
    last bigint NOT NULL,
    exams bigint NOT NULL,
    first_spoken bigint,
    last_spoken bigint,
    PRIMARY KEY (writer, month)
);

-- In which months exams of an examiner came, by the name in small letters.
CREATE TABLE IF NOT EXISTS examined (
    by_name text NOT NULL,
    month date NOT NULL REFERENCES month,
    PRIMARY KEY (by_name, month)
);

-- What boxes were when exams began, by the hash of the content.
CREATE TABLE IF NOT EXISTS box_state (hash bytea PRIMARY KEY, content bytea NOT NULL);

-- Which piece stands before an eye at which seat; `also` where it is counted at a second one, because a hand has it there.
CREATE TABLE IF NOT EXISTS held (
    box text NOT NULL,
    lens text NOT NULL,
    number int NOT NULL,
    home uuid NOT NULL,
    since timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (box, lens, number)
);
CREATE TABLE IF NOT EXISTS also_held (
    box text NOT NULL,
    lens text NOT NULL,
    number int NOT NULL,
    home uuid NOT NULL,
    since timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (box, lens, number, home)
);

-- What was counted at two seats at one moment, until somebody has looked.
CREATE TABLE IF NOT EXISTS counted_twice (
    number bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    at timestamptz NOT NULL DEFAULT now(),
    box text NOT NULL,
    lens text NOT NULL,
    one text NOT NULL REFERENCES seat,
    other text NOT NULL REFERENCES seat,
    settled timestamptz,
    settled_by text
);
CREATE INDEX IF NOT EXISTS counted_twice_open ON counted_twice (number) WHERE settled IS NULL;

-- Exams that are still open, step by step; gone once the closed exam is there.
CREATE TABLE IF NOT EXISTS live_exam (
    id uuid PRIMARY KEY,
    home uuid NOT NULL,
    number bigint NOT NULL,
    opened text NOT NULL,
    "by" text,
    format bigint NOT NULL,
    opening text NOT NULL,
    heard timestamptz NOT NULL DEFAULT now()
);
ALTER TABLE live_exam ADD COLUMN IF NOT EXISTS taken_by text;
CREATE TABLE IF NOT EXISTS live_step (
    exam uuid NOT NULL REFERENCES live_exam ON DELETE CASCADE,
    number bigint NOT NULL,
    at text NOT NULL,
    format bigint NOT NULL,
    events text NOT NULL,
    PRIMARY KEY (exam, number)
);

-- What an earlier form answered may have other columns: all functions are made anew, and allowed again below.
DO $$
DECLARE known regprocedure;
BEGIN
    FOR known IN SELECT p.oid::regprocedure FROM pg_proc AS p WHERE p.pronamespace = 'room'::regnamespace LOOP
        EXECUTE format('DROP FUNCTION %s', known);
    END LOOP;
END $$;

-- The month of a time, and when a month begins: in UTC, whatever the clock of the server shows.
CREATE OR REPLACE FUNCTION month_of(p_time timestamptz) RETURNS date
LANGUAGE sql IMMUTABLE SET search_path = room, pg_temp AS $$
    SELECT date_trunc('month', p_time AT TIME ZONE 'UTC')::date
$$;
CREATE OR REPLACE FUNCTION begins(p_month date) RETURNS timestamptz
LANGUAGE sql IMMUTABLE SET search_path = room, pg_temp AS $$
    SELECT p_month::timestamp AT TIME ZONE 'UTC'
$$;

-- Makes the partitions of the months in which entries arrive, two years on, and of those that came where there was none.
CREATE OR REPLACE FUNCTION make_months() RETURNS void
LANGUAGE plpgsql SET search_path = room, pg_temp AS $$
DECLARE
    wanted date;
    part text;
    until date;
BEGIN
    FOR wanted IN SELECT g::date FROM generate_series(
        least((SELECT month_of(min(received)) FROM entry_else), month_of(now()))::timestamp,
        month_of(now())::timestamp + interval '24 months', interval '1 month') AS g
    LOOP
        part := 'entry_' || to_char(wanted, 'YYYYMM');
        until := wanted + interval '1 month';
        CONTINUE WHEN to_regclass('room.' || part) IS NOT NULL;
        EXECUTE format('CREATE TABLE %I (LIKE entry INCLUDING DEFAULTS INCLUDING STORAGE)', part);
        EXECUTE format('WITH came AS (DELETE FROM entry_else WHERE received >= %L AND received < %L RETURNING *)
                        INSERT INTO %I SELECT * FROM came', begins(wanted), begins(until), part);
        EXECUTE format('ALTER TABLE entry ATTACH PARTITION %I FOR VALUES FROM (%L) TO (%L)', part, begins(wanted), begins(until));
    END LOOP;
END $$;
SELECT make_months();

-- Who calls, if the login may do one of these.
CREATE OR REPLACE FUNCTION caller(VARIADIC roles text[]) RETURNS login
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE found login;
BEGIN
    SELECT * INTO found FROM login WHERE name = session_user;
    IF found.name IS NULL THEN
        RAISE EXCEPTION USING ERRCODE = 'DR001', MESSAGE = 'not allowed', DETAIL = session_user;
    END IF;
    IF NOT found.role = ANY (roles) THEN
        RAISE EXCEPTION USING ERRCODE = 'DR002', MESSAGE = 'not of this role', DETAIL = found.role;
    END IF;
    RETURN found;
END $$;

CREATE OR REPLACE FUNCTION own_seat(p_home uuid) RETURNS seat
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE found seat;
BEGIN
    SELECT * INTO found FROM seat WHERE home = p_home AND login = session_user AND gone IS NULL;
    IF found.name IS NULL THEN
        RAISE EXCEPTION USING ERRCODE = 'DR003', MESSAGE = 'no seat';
    END IF;
    RETURN found;
END $$;

-- Takes or keeps a seat. No name is given twice: not to another logbook, and not again once its logbook has left.
CREATE OR REPLACE FUNCTION hello(p_home uuid, p_seat text, p_site text, p_machine text)
RETURNS TABLE (form int, site text, role text, clock float8)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE
    me login := caller('examiner', 'keeper', 'teacher', 'reader');
    kept seat;
BEGIN
    IF me.site IS NOT NULL AND p_site IS NOT NULL AND me.site <> p_site THEN
        RAISE EXCEPTION USING ERRCODE = 'DR004', MESSAGE = 'another site', DETAIL = me.site;
    END IF;
    SELECT * INTO kept FROM seat AS s WHERE s.home = p_home AND s.name <> p_seat;
    IF kept.name IS NOT NULL THEN
        RAISE EXCEPTION USING ERRCODE = 'DR008', MESSAGE = 'the seat has a name', DETAIL = kept.name;
    END IF;
    INSERT INTO seat AS s (name, home, login, site, machine)
        VALUES (p_seat, p_home, session_user, coalesce(me.site, p_site), p_machine)
        ON CONFLICT DO NOTHING;
    SELECT * INTO kept FROM seat AS s WHERE s.name = p_seat;
    IF kept.home IS DISTINCT FROM p_home THEN
        RAISE EXCEPTION USING ERRCODE = 'DR005', MESSAGE = 'the name is taken', DETAIL = p_seat;
    END IF;
    IF kept.login <> session_user THEN
        RAISE EXCEPTION USING ERRCODE = 'DR006', MESSAGE = 'the seat is of another login', DETAIL = kept.login;
    END IF;
    UPDATE seat AS s SET heard = now(), gone = NULL, machine = p_machine WHERE s.home = p_home;
    RETURN QUERY SELECT a.form, kept.site, me.role, extract(epoch FROM clock_timestamp())::float8 FROM about AS a;
END $$;

CREATE OR REPLACE FUNCTION leave(p_home uuid) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE mine seat := own_seat(p_home);
BEGIN
    DELETE FROM held WHERE home = p_home;
    DELETE FROM also_held WHERE home = p_home;
    DELETE FROM live_exam WHERE home = p_home;
    UPDATE seat SET gone = now() WHERE home = mine.home;
END $$;

-- Whether what a seat wrote may be seen by whoever calls: a login of no site sees every site, any other its own.
-- It sets no path of its own, which its callers have: so it becomes a part of their questions and is not called a seat at a time.
CREATE OR REPLACE FUNCTION is_seen(p_site text, me login) RETURNS boolean
LANGUAGE sql IMMUTABLE AS $$
    SELECT me.site IS NULL OR coalesce(me.site = p_site, false)
$$;

-- How far each writer is known here, and up to which number the bodies of its exams are kept no longer; the caller's seat has been
-- heard.
CREATE OR REPLACE FUNCTION heads(p_home uuid)
RETURNS TABLE (writer uuid, seat text, site text, head bigint, head_hash bytea, let_go bigint)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE
    me login := caller('examiner', 'keeper', 'teacher', 'reader');
    mine seat := own_seat(p_home);
BEGIN
    UPDATE seat AS s SET heard = now() WHERE s.home = mine.home;
    RETURN QUERY SELECT w.id, w.seat, s.site, w.head, w.head_hash, w.let_go FROM writer AS w JOIN seat AS s ON s.name = w.seat
        WHERE is_seen(s.site, me);
END $$;

-- How far one writer is known here, whoever asks.
CREATE OR REPLACE FUNCTION head_of(p_writer uuid) RETURNS bigint
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE me login := caller('examiner', 'keeper', 'teacher', 'reader');
BEGIN
    RETURN (SELECT w.head FROM writer AS w JOIN seat AS s ON s.name = w.seat WHERE w.id = p_writer AND is_seen(s.site, me));
END $$;

CREATE OR REPLACE FUNCTION seats(p_home uuid)
RETURNS TABLE (seat text, site text, heard float8, ago float8, head bigint, is_gone boolean)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE me login := caller('examiner', 'keeper', 'teacher', 'reader');
BEGIN
    RETURN QUERY SELECT s.name, s.site, extract(epoch FROM s.heard)::float8, extract(epoch FROM now() - s.heard)::float8,
            coalesce((SELECT max(w.head) FROM writer AS w WHERE w.id = s.home), 0), s.gone IS NOT NULL
        FROM seat AS s WHERE is_seen(s.site, me) ORDER BY s.name;
END $$;

CREATE OR REPLACE FUNCTION keep_box_state(p_hash bytea, p_content bytea) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE me login := caller('examiner', 'keeper', 'teacher');
BEGIN
    IF octet_length(p_content) > 1048576 THEN
        RAISE EXCEPTION USING ERRCODE = 'DR007', MESSAGE = 'too large';
    END IF;
    INSERT INTO box_state (hash, content) VALUES (p_hash, p_content) ON CONFLICT DO NOTHING;
END $$;

-- A time as a seat wrote it; now where it wrote none.
CREATE OR REPLACE FUNCTION instant(p_at text) RETURNS timestamptz
LANGUAGE plpgsql STABLE SET search_path = room, pg_temp SET timezone = 'UTC' AS $$
BEGIN
    RETURN p_at::timestamptz;
EXCEPTION WHEN data_exception THEN
    RETURN now();
END $$;

-- Adds entries of a writer after the last one that is here, or nothing where another one is the last: null then, else the number
-- of the last. This, in one transaction, is what makes each entry arrive once.
CREATE OR REPLACE FUNCTION ship(p_home uuid, p_writer uuid, p_before bigint, p_before_hash bytea, p_kinds text[],
    p_abouts bytea[], p_bys text[], p_ats text[], p_afters text[], p_formats bigint[], p_body_hashes bytea[], p_hashes bytea[],
    p_bodies bytea[], p_exams bytea[], p_exam_numbers bigint[], p_labels text[]) RETURNS bigint
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE
    me login := caller('examiner', 'keeper', 'teacher');
    mine seat := own_seat(p_home);
    many int := cardinality(p_kinds);
    this_month date := month_of(now());
    came record;
BEGIN
    IF p_before = 0 THEN
        INSERT INTO writer (id, seat, head, head_hash) VALUES (p_writer, mine.name, 0, p_before_hash) ON CONFLICT DO NOTHING;
    END IF;
    UPDATE writer SET head = p_before + many, head_hash = p_hashes[many]
        WHERE id = p_writer AND head = p_before AND head_hash = p_before_hash;
    IF NOT FOUND THEN
        RETURN NULL;
    END IF;
    -- not while somebody agrees to an erasure; of what was erased nothing comes in again
    LOCK TABLE erasure IN ROW SHARE MODE;
    WITH listed AS (
        INSERT INTO exam (id)
            SELECT encode(x.id, 'hex')::uuid FROM unnest(p_exams) AS x (id)
            JOIN unnest(p_kinds, p_abouts) AS n (kind, about) ON n.about = x.id AND n.kind = 'exam'
            ON CONFLICT (id) DO NOTHING
            RETURNING id),
    of_list AS (
        SELECT x.about, x.spoken, x.label FROM unnest(p_exams, p_exam_numbers, p_labels) AS x (about, spoken, label)
        JOIN listed ON listed.id = encode(x.about, 'hex')::uuid),
    put AS (
        INSERT INTO entry (writer, number, kind, about, "by", at, after, format, body_hash, hash, body, seat, site, spoken, closed, label)
            SELECT p_writer, p_before + n.o, n.kind, n.about, n."by", n.at, n.after, n.format, n.body_hash, n.hash,
                CASE WHEN n.kind IN ('exam', 'amendment')
                    AND n.about IN (SELECT uuid_send(x.exam) FROM erasure AS x WHERE x.agreed IS NOT NULL) THEN NULL ELSE n.body END,
                CASE WHEN l.spoken IS NOT NULL THEN mine.name END, CASE WHEN l.spoken IS NOT NULL THEN mine.site END,
                l.spoken, CASE WHEN l.spoken IS NOT NULL THEN instant(n.at) END, l.label
            FROM unnest(p_kinds, p_abouts, p_bys, p_ats, p_afters, p_formats, p_body_hashes, p_hashes, p_bodies)
                WITH ORDINALITY AS n (kind, about, "by", at, after, format, body_hash, hash, body, o)
            LEFT JOIN of_list AS l ON l.about = n.about AND n.kind = 'exam'
            RETURNING spoken, closed)
    SELECT count(p.spoken) AS exams, min(p.spoken) AS first_spoken, max(p.spoken) AS last_spoken,
            (min(p.closed) AT TIME ZONE 'UTC')::date AS earliest, (max(p.closed) AT TIME ZONE 'UTC')::date AS latest
        INTO came FROM put AS p;
    -- nearly always it is so already, and nobody waits for another's line of the month
    IF NOT EXISTS (SELECT FROM month AS m WHERE m.month = this_month
            AND (came.exams = 0 OR (m.earliest <= came.earliest AND m.latest >= came.latest))) THEN
        INSERT INTO month AS m (month, earliest, latest) VALUES (this_month, came.earliest, came.latest)
            ON CONFLICT (month) DO UPDATE SET earliest = least(m.earliest, excluded.earliest),
                latest = greatest(m.latest, excluded.latest);
    END IF;
    INSERT INTO examined (by_name, month)
        SELECT DISTINCT lower(n."by"), this_month FROM unnest(p_kinds, p_bys) AS n (kind, "by")
        WHERE n.kind = 'exam' AND n."by" IS NOT NULL
            AND NOT EXISTS (SELECT FROM examined AS x WHERE x.by_name = lower(n."by") AND x.month = this_month)
        ON CONFLICT DO NOTHING;
    INSERT INTO written AS w (writer, month, first, last, exams, first_spoken, last_spoken)
        VALUES (p_writer, this_month, p_before + 1, p_before + many, came.exams, came.first_spoken, came.last_spoken)
        ON CONFLICT (writer, month) DO UPDATE SET first = least(w.first, excluded.first), last = greatest(w.last, excluded.last),
            exams = w.exams + excluded.exams, first_spoken = least(w.first_spoken, excluded.first_spoken),
            last_spoken = greatest(w.last_spoken, excluded.last_spoken);
    DELETE FROM live_exam AS l USING unnest(p_kinds, p_abouts) AS n (kind, about)
        WHERE n.kind = 'exam' AND octet_length(n.about) = 16 AND l.id = encode(n.about, 'hex')::uuid;
    UPDATE seat SET heard = now() WHERE home = p_home;
    RETURN p_before + many;
END $$;

-- Entries of a writer after a number, at most so many; they have no gaps, so that it is known in which months they arrived. A keeper
-- gets no exam and nothing that was added to one.
CREATE OR REPLACE FUNCTION entries(p_writer uuid, p_after bigint, p_most int)
RETURNS TABLE (number bigint, kind text, about bytea, "by" text, at text, after text, format bigint, body_hash bytea, hash bytea,
    body bytea, spoken bigint)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE
    me login := caller('examiner', 'keeper', 'teacher', 'reader');
    came_from date;
    came_to date;
BEGIN
    IF NOT EXISTS (SELECT FROM writer AS w JOIN seat AS s ON s.name = w.seat WHERE w.id = p_writer AND is_seen(s.site, me)) THEN
        RETURN;
    END IF;
    SELECT min(m.month), max(m.month) INTO came_from, came_to FROM written AS m
        WHERE m.writer = p_writer AND m.last > p_after AND m.first <= p_after + p_most;
    -- planned each time, with the months as they are: the others are not looked at
    RETURN QUERY EXECUTE
        'SELECT e.number, e.kind, e.about, e."by", e.at, e.after, e.format, e.body_hash, e.hash,
            CASE WHEN $5 AND e.kind IN (''exam'', ''amendment'') THEN NULL ELSE e.body END, e.spoken
        FROM entry AS e
        WHERE e.writer = $1 AND e.number > $2 AND e.number <= $2 + $3 AND e.received >= $4 AND e.received < $6
        ORDER BY e.number'
        USING p_writer, p_after, p_most, begins(came_from), me.role = 'keeper', begins((came_to + interval '1 month')::date);
END $$;

CREATE OR REPLACE FUNCTION box_states(p_hashes bytea[]) RETURNS TABLE (hash bytea, content bytea)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE me login := caller('examiner', 'teacher', 'reader');
BEGIN
    RETURN QUERY SELECT b.hash, b.content FROM box_state AS b WHERE b.hash = ANY (p_hashes);
END $$;

-- Takes one of some alike pieces: the first that nobody has, else one of a seat that has not been heard for a quarter of an hour,
-- which is named. Where every one is at another seat that is heard, the first of them is counted here too, because a hand has it:
-- no number then. No piece is ever freed by the time alone.
CREATE OR REPLACE FUNCTION take(p_home uuid, p_box text, p_lens text, p_numbers int[]) RETURNS TABLE (got int, from_seat text)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE
    me login := caller('examiner', 'keeper', 'teacher');
    mine seat := own_seat(p_home);
    wanted int;
BEGIN
    FOREACH wanted IN ARRAY p_numbers LOOP
        INSERT INTO held (box, lens, number, home) VALUES (p_box, p_lens, wanted, p_home) ON CONFLICT DO NOTHING;
        IF FOUND THEN
            RETURN QUERY SELECT wanted, NULL::text;
            RETURN;
        END IF;
    END LOOP;
    RETURN QUERY UPDATE held AS h SET home = p_home, since = now()
        FROM (SELECT x.number, x.home, s.name FROM held AS x JOIN seat AS s ON s.home = x.home
              WHERE x.box = p_box AND x.lens = p_lens AND x.number = ANY (p_numbers) AND x.home <> p_home
                  AND s.heard < now() - interval '15 minutes'
              ORDER BY s.heard LIMIT 1 FOR UPDATE OF x) AS quiet
        WHERE h.box = p_box AND h.lens = p_lens AND h.number = quiet.number AND h.home = quiet.home
        RETURNING h.number, quiet.name;
    IF FOUND THEN
        RETURN;
    END IF;
    INSERT INTO also_held (box, lens, number, home) VALUES (p_box, p_lens, p_numbers[1], p_home) ON CONFLICT DO NOTHING;
    IF FOUND THEN
        INSERT INTO counted_twice (box, lens, one, other)
            SELECT p_box, p_lens, s.name, mine.name FROM held AS h JOIN seat AS s ON s.home = h.home
            WHERE h.box = p_box AND h.lens = p_lens AND h.number = p_numbers[1] AND h.home <> p_home;
    END IF;
    RETURN QUERY SELECT NULL::int, NULL::text;
END $$;

-- What was counted at two seats, and nobody has looked at yet.
CREATE OR REPLACE FUNCTION not_settled(p_home uuid)
RETURNS TABLE (number bigint, at float8, box text, lens text, one text, other text)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE
    me login := caller('examiner', 'keeper', 'teacher', 'reader');
    mine seat := own_seat(p_home);
BEGIN
    RETURN QUERY SELECT c.number, extract(epoch FROM c.at)::float8, c.box, c.lens, c.one, c.other
        FROM counted_twice AS c JOIN seat AS s ON s.name = c.one
        WHERE c.settled IS NULL AND is_seen(s.site, me) ORDER BY c.number;
END $$;

-- Somebody has looked; whether there was such a line.
CREATE OR REPLACE FUNCTION settle(p_home uuid, p_number bigint) RETURNS boolean
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE
    me login := caller('examiner', 'keeper', 'teacher');
    mine seat := own_seat(p_home);
BEGIN
    UPDATE counted_twice AS c SET settled = now(), settled_by = mine.name FROM seat AS s
        WHERE c.number = p_number AND c.settled IS NULL AND s.name = c.one AND is_seen(s.site, me);
    RETURN FOUND;
END $$;

CREATE OR REPLACE FUNCTION give(p_home uuid, p_box text, p_lens text, p_number int) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE mine seat := own_seat(p_home);
BEGIN
    DELETE FROM held WHERE box = p_box AND lens = p_lens AND number = p_number AND home = p_home;
    DELETE FROM also_held WHERE box = p_box AND lens = p_lens AND number = p_number AND home = p_home;
END $$;

-- Who has what of a box, by the server's clock.
CREATE OR REPLACE FUNCTION holdings(p_box text)
RETURNS TABLE (lens text, number int, home uuid, seat text, not_heard_s float8, is_also boolean)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE me login := caller('examiner', 'keeper', 'teacher', 'reader');
BEGIN
    RETURN QUERY SELECT h.lens, h.number, h.home, s.name, extract(epoch FROM now() - s.heard)::float8, h.is_also
        FROM (SELECT a.box, a.lens, a.number, a.home, false AS is_also FROM held AS a
              UNION ALL SELECT b.box, b.lens, b.number, b.home, true FROM also_held AS b) AS h
        JOIN seat AS s ON s.home = h.home
        WHERE h.box = p_box AND is_seen(s.site, me);
END $$;

-- An exam is open here no more: it was put aside.
CREATE OR REPLACE FUNCTION not_open(p_home uuid, p_exam uuid) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE mine seat := own_seat(p_home);
BEGIN
    DELETE FROM live_exam WHERE id = p_exam AND home = mine.home;
END $$;

-- The steps of an exam that is still open; with how it began, or with nothing of that once it is here. Tells whether it is here then,
-- and which other seat goes on with it.
CREATE OR REPLACE FUNCTION step(p_home uuid, p_exam uuid, p_number bigint, p_opened text, p_by text, p_format bigint,
    p_opening text, p_numbers bigint[], p_ats text[], p_formats bigint[], p_events text[])
RETURNS TABLE (is_here boolean, taken_by text)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE
    me login := caller('examiner', 'teacher');
    mine seat := own_seat(p_home);
    taken text;
BEGIN
    IF EXISTS (SELECT 1 FROM exam WHERE id = p_exam) THEN
        RETURN QUERY SELECT true, NULL::text;
        RETURN;
    END IF;
    UPDATE live_exam AS l SET heard = now() WHERE l.id = p_exam AND l.home = p_home RETURNING l.taken_by INTO taken;
    IF NOT FOUND THEN
        -- a copy of this logbook has it open too: one of them is seen
        IF EXISTS (SELECT FROM live_exam AS l WHERE l.id = p_exam) THEN
            RETURN QUERY SELECT true, NULL::text;
            RETURN;
        END IF;
        IF p_opening IS NULL THEN
            RETURN QUERY SELECT false, NULL::text;
            RETURN;
        END IF;
        -- what was put aside here is open no more; an exam of a second program on this logbook is
        DELETE FROM live_exam WHERE home = p_home AND id <> p_exam AND heard < now() - interval '15 minutes';
        INSERT INTO live_exam (id, home, number, opened, "by", format, opening)
            VALUES (p_exam, p_home, p_number, p_opened, p_by, p_format, p_opening) ON CONFLICT (id) DO NOTHING;
    END IF;
    INSERT INTO live_step (exam, number, at, format, events)
        SELECT p_exam, n.number, n.at, n.format, n.events FROM unnest(p_numbers, p_ats, p_formats, p_events)
            AS n (number, at, format, events)
        ON CONFLICT DO NOTHING;
    UPDATE seat SET heard = now() WHERE home = p_home;
    RETURN QUERY SELECT true, taken;
END $$;

-- How many steps of an open exam are here.
CREATE OR REPLACE FUNCTION live_head(p_home uuid, p_exam uuid) RETURNS bigint
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = room, pg_temp AS $$
    SELECT coalesce((SELECT max(s.number) FROM live_step AS s JOIN live_exam AS l ON l.id = s.exam
                     WHERE s.exam = p_exam AND l.home = p_home), 0)
$$;

CREATE OR REPLACE FUNCTION live_exams()
RETURNS TABLE (exam uuid, seat text, number bigint, opened text, "by" text, format bigint, opening text, steps bigint, ago float8)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE me login := caller('teacher');
BEGIN
    RETURN QUERY SELECT l.id, s.name, l.number, l.opened, l."by", l.format, l.opening,
            (SELECT coalesce(max(t.number), 0) FROM live_step AS t WHERE t.exam = l.id), extract(epoch FROM now() - l.heard)::float8
        FROM live_exam AS l JOIN seat AS s ON s.home = l.home WHERE is_seen(s.site, me)
        ORDER BY s.name, l.heard DESC;
END $$;

CREATE OR REPLACE FUNCTION live_steps(p_exam uuid, p_after bigint)
RETURNS TABLE (number bigint, at text, format bigint, events text)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE me login := caller('examiner', 'teacher');
BEGIN
    RETURN QUERY SELECT t.number, t.at, t.format, t.events FROM live_step AS t JOIN live_exam AS l ON l.id = t.exam
        JOIN seat AS s ON s.home = l.home
        WHERE t.exam = p_exam AND t.number > p_after AND is_seen(s.site, me)
            AND (me.role = 'teacher' OR l.taken_by IN (SELECT o.name FROM seat AS o WHERE o.login = session_user))
        ORDER BY t.number;
END $$;

-- Another seat goes on with the exam that is open at a seat: that one is told. Both may go on; then there are two exams.
CREATE OR REPLACE FUNCTION take_over(p_home uuid, p_seat text)
RETURNS TABLE (exam uuid, seat text, number bigint, opened text, "by" text, format bigint, opening text, steps bigint, ago float8)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE
    me login := caller('examiner', 'teacher');
    mine seat := own_seat(p_home);
BEGIN
    RETURN QUERY UPDATE live_exam AS l SET taken_by = mine.name
        WHERE l.id = (SELECT x.id FROM live_exam AS x JOIN seat AS s ON s.home = x.home
                      WHERE s.name = p_seat AND x.home <> p_home AND is_seen(s.site, me) ORDER BY x.heard DESC LIMIT 1)
        RETURNING l.id, p_seat, l.number, l.opened, l."by", l.format, l.opening,
            (SELECT coalesce(max(t.number), 0) FROM live_step AS t WHERE t.exam = l.id), extract(epoch FROM now() - l.heard)::float8;
END $$;

-- Which seat goes on with an exam that is open here.
CREATE OR REPLACE FUNCTION taken_by(p_home uuid, p_exam uuid) RETURNS text
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = room, pg_temp AS $$
    SELECT l.taken_by FROM live_exam AS l WHERE l.id = p_exam AND l.home = p_home
$$;

-- Says what is new: a hint, sent in a statement of its own after what it speaks of. Steps of open exams have a channel of their own:
-- there are many, and most seats want none of them.
CREATE OR REPLACE FUNCTION knock(p_hint text) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE me login := caller('examiner', 'keeper', 'teacher', 'reader');
BEGIN
    PERFORM pg_notify(CASE WHEN p_hint LIKE 'step %' THEN 'dioptray_room_steps' ELSE 'dioptray_room' END, left(p_hint, 100));
END $$;
