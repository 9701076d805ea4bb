-- Which exams there are, line by line, and for how long what was found in them is kept.

-- Lines of exams, the newest first: by the month in which they came, then by when they were closed. Of one seat, site or examiner,
-- closed within some time, after one that was listed; a login of a site gets those of that site, a keeper none.
CREATE OR REPLACE FUNCTION exams(p_seat text, p_spoken bigint, p_site text, p_by text, p_from text, p_to text,
    p_after_seat text, p_after_spoken bigint, p_most int)
RETURNS TABLE (seat text, site text, spoken bigint, "by" text, at text, label text, is_let_go boolean,
    is_erased boolean)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = room, pg_temp AS $$
DECLARE
    me login := caller('examiner', 'teacher', 'reader');
    since timestamptz := p_from;
    before timestamptz := p_to;
    of_site text := coalesce(p_site, me.site);
    whose uuid[];
    last_month date;
    last_closed timestamptz;
    last_writer uuid;
    last_number bigint;
    asked text := 'SELECT e.seat, e.site, e.spoken, e."by", e.at, e.label, $1,
            EXISTS (SELECT FROM erasure AS x WHERE x.exam = encode(e.about, ''hex'')::uuid AND x.agreed IS NOT NULL)
        FROM entry AS e
        WHERE e.spoken IS NOT NULL AND e.received >= $2 AND e.received < $3';
    on_last text := '';
    one record;
    many int := least(p_most, 1000);
    got int;
BEGIN
    IF me.site IS NOT NULL AND lower(p_site) <> lower(me.site) THEN
        RAISE EXCEPTION USING ERRCODE = 'DR004', MESSAGE = 'another site', DETAIL = me.site;
    END IF;
    IF p_seat IS NOT NULL AND of_site IS NULL THEN
        SELECT min(s.site) INTO of_site FROM seat AS s WHERE lower(s.name) = lower(p_seat) HAVING count(DISTINCT s.site) = 1
            AND count(*) = count(s.site);
    END IF;
    IF p_seat IS NOT NULL OR of_site IS NOT NULL THEN
        SELECT coalesce(array_agg(w.id), '{}') INTO whose FROM writer AS w JOIN seat AS s ON s.name = w.seat
            WHERE is_seen(s.site, me) AND (p_seat IS NULL OR lower(s.name) = lower(p_seat))
                AND (of_site IS NULL OR lower(s.site) = lower(of_site));
    END IF;
    IF p_seat IS NOT NULL THEN
        asked := asked || ' AND lower(e.seat) = lower($4)';
    END IF;
    IF p_spoken IS NOT NULL THEN
        asked := asked || ' AND e.spoken = $5';
    END IF;
    IF of_site IS NOT NULL THEN
        asked := asked || ' AND lower(e.site) = lower($6)';
    END IF;
    IF me.site IS NOT NULL THEN
        asked := asked || ' AND e.site = $7';
    END IF;
    IF p_by IS NOT NULL THEN
        asked := asked || ' AND lower(e."by") = lower($8)';
    END IF;
    IF since IS NOT NULL THEN
        asked := asked || ' AND e.closed >= $9 AND e.closed < $10';
    END IF;
    IF p_after_seat IS NOT NULL THEN
        FOR one IN SELECT DISTINCT m.month FROM written AS m JOIN writer AS w ON w.id = m.writer JOIN seat AS s ON s.name = w.seat
            WHERE lower(s.name) = lower(p_after_seat) AND is_seen(s.site, me)
                AND p_after_spoken BETWEEN m.first_spoken AND m.last_spoken
        LOOP
            EXECUTE 'SELECT e.closed, e.writer, e.number FROM entry AS e WHERE e.spoken = $2 AND lower(e.seat) = lower($1)
                AND e.received >= $3 AND e.received < $4'
                INTO last_closed, last_writer, last_number
                USING p_after_seat, p_after_spoken, begins(one.month), begins((one.month + interval '1 month')::date);
            last_month := one.month;
            EXIT WHEN last_number IS NOT NULL;
        END LOOP;
        IF last_number IS NULL THEN
            RAISE EXCEPTION USING ERRCODE = 'DR009', MESSAGE = 'no such exam', DETAIL = p_after_seat || '-' || p_after_spoken;
        END IF;
        on_last := ' AND e.closed <= $12 AND (e.closed < $12 OR e.writer > $13 OR (e.writer = $13 AND e.number < $14))';
    END IF;
    FOR one IN SELECT m.month, m.let_go FROM month AS m
        WHERE (last_month IS NULL OR m.month <= last_month)
            AND (since IS NULL OR (begins(m.earliest) < before AND begins(m.latest + 1) > since))
            AND (whose IS NULL OR EXISTS (SELECT FROM written AS w WHERE w.writer = ANY (whose) AND w.month = m.month
                AND w.exams > 0 AND (p_spoken IS NULL OR p_spoken BETWEEN w.first_spoken AND w.last_spoken)))
            AND (p_by IS NULL OR EXISTS (SELECT FROM examined AS x WHERE x.by_name = lower(p_by) AND x.month = m.month))
        ORDER BY m.month DESC
    LOOP
        RETURN QUERY EXECUTE asked || CASE WHEN one.month = last_month THEN on_last ELSE '' END
                || ' ORDER BY e.closed DESC, e.writer, e.number DESC LIMIT $11'
            USING one.let_go IS NOT NULL, begins(one.month), begins((one.month + interval '1 month')::date), p_seat, p_spoken,
                of_site, me.site, p_by, since, before, many, last_closed, last_writer, last_number;
        GET DIAGNOSTICS got = ROW_COUNT;
        many := many - got;
        EXIT WHEN many <= 0;
    END LOOP;
END $$;

-- The whole months that are older than so many years and whose exams are still kept, with how many exams came in them.
CREATE OR REPLACE FUNCTION months_older_than(p_years int) RETURNS TABLE (month date, exams bigint)
LANGUAGE plpgsql STABLE SET search_path = room, pg_temp AS $$
BEGIN
    IF p_years < 1 THEN
        RAISE EXCEPTION USING ERRCODE = 'DR010', MESSAGE = 'not below a year';
    END IF;
    RETURN QUERY SELECT m.month, (SELECT coalesce(sum(w.exams), 0)::bigint FROM written AS w WHERE w.month = m.month) FROM month AS m
        WHERE m.let_go IS NULL AND begins((m.month + interval '1 month')::date) <= now() - make_interval(years => p_years)
        ORDER BY m.month;
END $$;

-- Lets go of what a month holds of exams: their bodies, what was added to them, and labels. Rows, hashes and all else stay, so that
-- the entries of each writer still follow each other. A partition without them takes the place of the other one, which is dropped:
-- one transaction, of which a server that is killed in it leaves nothing.
CREATE OR REPLACE FUNCTION let_go(p_month date, p_years int) RETURNS void
LANGUAGE plpgsql SET search_path = room, pg_temp AS $$
DECLARE
    part text := 'entry_' || to_char(p_month, 'YYYYMM');
    slim text := part || '_slim';
    since timestamptz := begins(p_month);
    until timestamptz := begins((p_month + interval '1 month')::date);
BEGIN
    IF NOT EXISTS (SELECT FROM months_older_than(p_years) AS m WHERE m.month = p_month) THEN
        RETURN;
    END IF;
    EXECUTE format('CREATE TABLE %I (LIKE entry INCLUDING DEFAULTS INCLUDING STORAGE INCLUDING INDEXES)', slim);
    -- seen to be of the month as they come in, so that nobody waits while they are looked through
    EXECUTE format('ALTER TABLE %I ADD CONSTRAINT of_the_month CHECK (received >= %L AND received < %L)', slim, since, until);
    EXECUTE format('INSERT INTO %I (writer, number, received, kind, about, "by", at, after, format, body_hash, hash, body,
            seat, site, spoken, closed)
        SELECT writer, number, received, kind, about, "by", at, after, format, body_hash, hash,
            CASE WHEN kind IN (''exam'', ''amendment'') THEN NULL ELSE body END, seat, site, spoken, closed
        FROM %I', slim, part);
    EXECUTE format('ALTER TABLE entry DETACH PARTITION %I', part);
    EXECUTE format('DROP TABLE %I', part);
    EXECUTE format('ALTER TABLE %I RENAME TO %I', slim, part);
    EXECUTE format('ALTER TABLE entry ATTACH PARTITION %I FOR VALUES FROM (%L) TO (%L)', part, since, until);
    EXECUTE format('ALTER TABLE %I DROP CONSTRAINT of_the_month', part);
    UPDATE month SET let_go = now() WHERE month = p_month;
    UPDATE writer AS w SET let_go = greatest(w.let_go, m.last) FROM written AS m WHERE m.writer = w.id AND m.month = p_month;
END $$;
