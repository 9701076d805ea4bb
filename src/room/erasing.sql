-- Exams that are erased: asked for by a keeper, agreed to by another login. What was agreed to stays, as what is known of the exam.

CREATE TABLE IF NOT EXISTS erasure (
    exam uuid PRIMARY KEY,
    seat text NOT NULL REFERENCES seat,
    number bigint NOT NULL,
    "by" text,
    closed text NOT NULL,
    why text NOT NULL CHECK (btrim(why) <> ''),
    asked_by text NOT NULL,
    asked timestamptz NOT NULL DEFAULT now(),
    agreed_by text CHECK (agreed_by <> asked_by),
    agreed timestamptz,
    place bigint UNIQUE,
    CHECK ((agreed_by IS NULL) = (agreed IS NULL) AND (agreed_by IS NULL) = (place IS NULL))
);
CREATE INDEX IF NOT EXISTS entry_of_exam ON entry (about) WHERE kind IN ('exam', 'amendment');

-- The closed exam that is spoken of so, where the login sees it.
CREATE OR REPLACE FUNCTION exam_named(p_seat text, p_number bigint, me login)
RETURNS TABLE (id uuid, number bigint, "by" text, closed text)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE many bigint;
BEGIN
    SELECT count(*) INTO many FROM entry AS e
        WHERE lower(e.seat) = lower(p_seat) AND e.spoken = p_number AND e.spoken IS NOT NULL AND is_seen(e.site, me);
    IF many > 1 THEN
        RAISE EXCEPTION USING ERRCODE = 'DR011', MESSAGE = 'several exams have this name', DETAIL = p_seat || '-' || p_number;
    END IF;
    IF many = 0 THEN
        RAISE EXCEPTION USING ERRCODE = 'DR012', MESSAGE = 'no such exam', DETAIL = p_seat || '-' || p_number;
    END IF;
    RETURN QUERY SELECT encode(e.about, 'hex')::uuid, e.spoken, e."by", e.at FROM entry AS e
        WHERE lower(e.seat) = lower(p_seat) AND e.spoken = p_number AND e.spoken IS NOT NULL AND is_seen(e.site, me);
END $$;

-- A keeper asks; nothing is erased by that.
CREATE OR REPLACE FUNCTION erase_ask(p_home uuid, p_seat text, p_number bigint, p_why text) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE
    me login := caller('keeper');
    mine seat := own_seat(p_home);
    named record;
    before erasure;
BEGIN
    SELECT * INTO named FROM exam_named(p_seat, p_number, me);
    IF octet_length(p_why) > 1000 OR btrim(p_why) = '' THEN
        RAISE EXCEPTION USING ERRCODE = 'DR013', MESSAGE = 'no reason, or too long a one';
    END IF;
    INSERT INTO erasure (exam, seat, number, "by", closed, why, asked_by)
        VALUES (named.id, p_seat, named.number, named."by", named.closed, btrim(p_why), session_user) ON CONFLICT DO NOTHING;
    IF NOT FOUND THEN
        SELECT * INTO before FROM erasure WHERE exam = named.id;
        IF before.agreed IS NULL THEN
            RAISE EXCEPTION USING ERRCODE = 'DR014', MESSAGE = 'asked for already', DETAIL = before.asked_by;
        END IF;
        RAISE EXCEPTION USING ERRCODE = 'DR015', MESSAGE = 'erased already', DETAIL = p_seat || '-' || p_number;
    END IF;
END $$;

-- Another login agrees: in this one transaction every body of the exam goes, and of all that was added to it. Rows, numbers and
-- hashes stay, so that the entries of each writer follow each other as before.
CREATE OR REPLACE FUNCTION erase_agree(p_home uuid, p_exam uuid) RETURNS bigint
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE
    me login := caller('examiner', 'keeper', 'teacher');
    mine seat := own_seat(p_home);
    asked erasure;
    bodies bigint;
BEGIN
    -- what is shipped waits for this and this for that, so that no body comes in between; places become known in their order
    LOCK TABLE erasure IN EXCLUSIVE MODE;
    SELECT e.* INTO asked FROM erasure AS e JOIN seat AS s ON s.name = e.seat
        WHERE e.exam = p_exam AND e.agreed IS NULL AND is_seen(s.site, me);
    IF asked.exam IS NULL THEN
        RAISE EXCEPTION USING ERRCODE = 'DR016', MESSAGE = 'not asked for';
    END IF;
    IF asked.asked_by = session_user THEN
        RAISE EXCEPTION USING ERRCODE = 'DR017', MESSAGE = 'asked for by the same login', DETAIL = asked.asked_by;
    END IF;
    UPDATE erasure SET agreed_by = session_user, agreed = now(), place = (SELECT coalesce(max(place), 0) + 1 FROM erasure)
        WHERE exam = p_exam;
    UPDATE entry SET body = NULL, label = NULL WHERE about = uuid_send(p_exam) AND kind IN ('exam', 'amendment');
    GET DIAGNOSTICS bodies = ROW_COUNT;
    DELETE FROM live_exam WHERE id = p_exam;
    RETURN bodies;
END $$;

-- Whoever asked takes it back, while nobody agreed.
CREATE OR REPLACE FUNCTION erase_take_back(p_home uuid, p_exam uuid) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE
    me login := caller('keeper');
    mine seat := own_seat(p_home);
    before erasure;
BEGIN
    SELECT * INTO before FROM erasure WHERE exam = p_exam AND agreed IS NULL;
    IF before.exam IS NULL THEN
        RAISE EXCEPTION USING ERRCODE = 'DR016', MESSAGE = 'not asked for';
    END IF;
    IF before.asked_by <> session_user THEN
        RAISE EXCEPTION USING ERRCODE = 'DR018', MESSAGE = 'asked for by another login', DETAIL = before.asked_by;
    END IF;
    DELETE FROM erasure WHERE exam = p_exam AND agreed IS NULL AND asked_by = session_user;
END $$;

-- What is asked for, and what was erased, of the exams that the login sees.
CREATE OR REPLACE FUNCTION erasures()
RETURNS TABLE (exam uuid, seat text, number bigint, "by" text, closed text, why text, asked_by text, asked float8, agreed_by text,
    agreed float8, place bigint)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE me login := caller('examiner', 'keeper', 'teacher', 'reader');
BEGIN
    RETURN QUERY SELECT e.exam, e.seat, e.number, e."by", e.closed, e.why, e.asked_by, extract(epoch FROM e.asked)::float8,
            e.agreed_by, extract(epoch FROM e.agreed)::float8, e.place
        FROM erasure AS e JOIN seat AS s ON s.name = e.seat WHERE is_seen(s.site, me)
        ORDER BY e.place NULLS LAST, e.asked;
END $$;

-- The same of what was erased alone, and nothing where the caller knows as many, and the last of them: most rounds ask in vain.
CREATE OR REPLACE FUNCTION erased(p_count bigint, p_last uuid)
RETURNS TABLE (exam uuid, seat text, number bigint, "by" text, closed text, why text, asked_by text, asked float8, agreed_by text,
    agreed float8, place bigint)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE
    me login := caller('examiner', 'keeper', 'teacher', 'reader');
    many bigint;
    newest uuid;
BEGIN
    SELECT count(*), (array_agg(e.exam ORDER BY e.place DESC))[1] INTO many, newest
        FROM erasure AS e JOIN seat AS s ON s.name = e.seat WHERE e.agreed IS NOT NULL AND is_seen(s.site, me);
    IF many = p_count AND newest IS NOT DISTINCT FROM p_last THEN
        RETURN;
    END IF;
    RETURN QUERY SELECT e.* FROM erasures() AS e WHERE e.agreed IS NOT NULL ORDER BY e.place;
END $$;
