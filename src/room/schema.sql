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

CREATE TABLE IF NOT EXISTS writer (
    id uuid PRIMARY KEY,
    seat text NOT NULL REFERENCES seat,
    head bigint NOT NULL DEFAULT 0,
    head_hash bytea NOT NULL
);

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
    body bytea
) PARTITION BY RANGE (received);
CREATE INDEX IF NOT EXISTS entry_number ON entry (writer, number);
CREATE TABLE IF NOT EXISTS entry_else PARTITION OF entry DEFAULT;

-- One line an exam: by which number it is spoken of at its seat.
CREATE TABLE IF NOT EXISTS exam (
    id uuid PRIMARY KEY,
    writer uuid NOT NULL REFERENCES writer,
    number bigint NOT NULL,
    "by" text,
    closed text NOT NULL
);
CREATE INDEX IF NOT EXISTS exam_writer ON exam (writer, number);

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

-- The months in which entries arrive, two years on.
DO $$
DECLARE month date;
BEGIN
    FOR ahead IN 0..24 LOOP
        month := date_trunc('month', now() + make_interval(months => ahead));
        IF to_regclass('room.entry_' || to_char(month, 'YYYYMM')) IS NULL
            AND NOT EXISTS (SELECT 1 FROM entry_else WHERE received >= month AND received < month + interval '1 month') THEN
            EXECUTE format('CREATE TABLE room.%I PARTITION OF room.entry FOR VALUES FROM (%L) TO (%L)',
                'entry_' || to_char(month, 'YYYYMM'), month, month + interval '1 month');
        END IF;
    END LOOP;
END $$;

-- What an earlier form answered may have other columns: all functions are made anew, and allowed again below.
DO $$
DECLARE known regprocedure;
BEGIN
    FOR known IN SELECT p.oid::regprocedure FROM pg_proc AS p WHERE p.pronamespace = 'room'::regnamespace LOOP
        EXECUTE format('DROP FUNCTION %s', known);
    END LOOP;
END $$;

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
CREATE OR REPLACE FUNCTION is_seen(p_site text, me login) RETURNS boolean
LANGUAGE sql IMMUTABLE SET search_path = room, pg_temp AS $$
    SELECT me.site IS NULL OR coalesce(me.site = p_site, false)
$$;

-- How far each writer is known here; the caller's seat has been heard.
CREATE OR REPLACE FUNCTION heads(p_home uuid)
RETURNS TABLE (writer uuid, seat text, site text, head bigint, head_hash bytea)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE
    me login := caller('examiner', 'keeper', 'teacher', 'reader');
    mine seat := own_seat(p_home);
BEGIN
    UPDATE seat AS s SET heard = now() WHERE s.home = mine.home;
    RETURN QUERY SELECT w.id, w.seat, s.site, w.head, w.head_hash FROM writer AS w JOIN seat AS s ON s.name = w.seat
        WHERE is_seen(s.site, me);
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

-- Adds entries of a writer after the last one that is here, or nothing where another one is the last: null then, else the number
-- of the last. This, in one transaction, is what makes each entry arrive once.
CREATE OR REPLACE FUNCTION ship(p_home uuid, p_writer uuid, p_before bigint, p_before_hash bytea, p_kinds text[],
    p_abouts bytea[], p_bys text[], p_ats text[], p_afters text[], p_formats bigint[], p_body_hashes bytea[], p_hashes bytea[],
    p_bodies bytea[], p_exams bytea[], p_exam_numbers bigint[]) RETURNS bigint
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE
    me login := caller('examiner', 'keeper', 'teacher');
    mine seat := own_seat(p_home);
    many int := cardinality(p_kinds);
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
    INSERT INTO entry (writer, number, kind, about, "by", at, after, format, body_hash, hash, body)
        SELECT p_writer, p_before + n.o, n.kind, n.about, n."by", n.at, n.after, n.format, n.body_hash, n.hash,
            CASE WHEN n.kind IN ('exam', 'amendment')
                AND n.about IN (SELECT uuid_send(x.exam) FROM erasure AS x WHERE x.agreed IS NOT NULL) THEN NULL ELSE n.body END
        FROM unnest(p_kinds, p_abouts, p_bys, p_ats, p_afters, p_formats, p_body_hashes, p_hashes, p_bodies)
            WITH ORDINALITY AS n (kind, about, "by", at, after, format, body_hash, hash, body, o);
    INSERT INTO exam (id, writer, number, "by", closed)
        SELECT encode(e.id, 'hex')::uuid, p_writer, e.number, n."by", n.at
        FROM unnest(p_exams, p_exam_numbers) AS e (id, number)
        JOIN unnest(p_kinds, p_abouts, p_bys, p_ats) AS n (kind, about, "by", at) ON n.about = e.id AND n.kind = 'exam'
        ON CONFLICT (id) DO NOTHING;
    DELETE FROM live_exam AS l USING unnest(p_kinds, p_abouts) AS n (kind, about)
        WHERE n.kind = 'exam' AND octet_length(n.about) = 16 AND l.id = encode(n.about, 'hex')::uuid;
    UPDATE seat SET heard = now() WHERE home = p_home;
    RETURN p_before + many;
END $$;

-- Entries of a writer after a number, at most so many. A keeper gets no exam and nothing that was added to one.
CREATE OR REPLACE FUNCTION entries(p_writer uuid, p_after bigint, p_most int)
RETURNS TABLE (number bigint, kind text, about bytea, "by" text, at text, after text, format bigint, body_hash bytea, hash bytea,
    body bytea, spoken bigint)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE me login := caller('examiner', 'keeper', 'teacher', 'reader');
BEGIN
    RETURN QUERY SELECT e.number, e.kind, e.about, e."by", e.at, e.after, e.format, e.body_hash, e.hash,
            CASE WHEN me.role = 'keeper' AND e.kind IN ('exam', 'amendment') THEN NULL ELSE e.body END,
            CASE WHEN e.kind = 'exam' AND octet_length(e.about) = 16 THEN
                (SELECT x.number FROM exam AS x WHERE x.id = encode(e.about, 'hex')::uuid AND x.writer = e.writer) END
        FROM entry AS e JOIN writer AS w ON w.id = e.writer JOIN seat AS s ON s.name = w.seat
        WHERE e.writer = p_writer AND e.number > p_after AND is_seen(s.site, me)
        ORDER BY e.number LIMIT p_most;
END $$;

CREATE OR REPLACE FUNCTION box_states(p_hashes bytea[]) RETURNS TABLE (hash bytea, content bytea)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE me login := caller('examiner', 'teacher', 'reader');
BEGIN
    RETURN QUERY SELECT b.hash, b.content FROM box_state AS b WHERE b.hash = ANY (p_hashes);
END $$;

-- Takes one of some alike pieces, the first that nobody has; null where every one is at another seat, and then the first of them
-- is counted here too, because a hand has it.
CREATE OR REPLACE FUNCTION take(p_home uuid, p_box text, p_lens text, p_numbers int[]) RETURNS int
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE
    me login := caller('examiner', 'keeper', 'teacher');
    mine seat := own_seat(p_home);
    wanted int;
BEGIN
    FOREACH wanted IN ARRAY p_numbers LOOP
        INSERT INTO held (box, lens, number, home) VALUES (p_box, p_lens, wanted, p_home) ON CONFLICT DO NOTHING;
        IF FOUND THEN
            RETURN wanted;
        END IF;
    END LOOP;
    INSERT INTO also_held (box, lens, number, home) VALUES (p_box, p_lens, p_numbers[1], p_home) ON CONFLICT DO NOTHING;
    RETURN NULL;
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

-- The steps of an exam that is still open.
CREATE OR REPLACE FUNCTION step(p_home uuid, p_exam uuid, p_number bigint, p_opened text, p_by text, p_format bigint,
    p_opening text, p_numbers bigint[], p_ats text[], p_formats bigint[], p_events text[]) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE
    me login := caller('examiner', 'teacher');
    mine seat := own_seat(p_home);
BEGIN
    IF EXISTS (SELECT 1 FROM exam WHERE id = p_exam) THEN
        RETURN;
    END IF;
    -- what was put aside here is open no more; an exam of a second program on this logbook is
    DELETE FROM live_exam WHERE home = p_home AND id <> p_exam AND heard < now() - interval '15 minutes';
    INSERT INTO live_exam AS l (id, home, number, opened, "by", format, opening)
        VALUES (p_exam, p_home, p_number, p_opened, p_by, p_format, p_opening)
        ON CONFLICT (id) DO UPDATE SET heard = now();
    INSERT INTO live_step (exam, number, at, format, events)
        SELECT p_exam, n.number, n.at, n.format, n.events FROM unnest(p_numbers, p_ats, p_formats, p_events)
            AS n (number, at, format, events)
        ON CONFLICT DO NOTHING;
    UPDATE seat SET heard = now() WHERE home = p_home;
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

-- Says that there is something new: a hint, sent in a statement of its own after what it speaks of.
CREATE OR REPLACE FUNCTION knock() RETURNS void
LANGUAGE sql SECURITY DEFINER SET search_path = room, pg_temp AS $$
    SELECT pg_notify('dioptray_room', session_user)
$$;
