-- Run last, when every function is there.

-- Lets a login do what its role may; the login itself, and its password, are the database's.
CREATE OR REPLACE FUNCTION allow(p_login text, p_role text, p_site text) RETURNS void
LANGUAGE plpgsql SET search_path = room, pg_temp AS $$
BEGIN
    INSERT INTO login (name, role, site) VALUES (p_login, p_role, p_site)
        ON CONFLICT (name) DO UPDATE SET role = p_role, site = p_site;
    EXECUTE format('GRANT USAGE ON SCHEMA room TO %I', p_login);
    EXECUTE format('GRANT EXECUTE ON FUNCTION hello, leave, heads, head_of, seats, keep_box_state, ship, entries, exams, box_states, take, give,
        not_settled, settle, holdings, step, not_open, live_head, live_exams, live_steps, take_over, taken_by, erase_ask, erase_agree,
        erase_take_back, erasures, erased, knock TO %I', p_login);
END $$;

-- what a newer form added is allowed to those who were allowed before
SELECT allow(name, role, site) FROM login WHERE EXISTS (SELECT FROM pg_roles AS r WHERE r.rolname = login.name);
REVOKE ALL ON ALL TABLES IN SCHEMA room FROM PUBLIC;
REVOKE ALL ON ALL FUNCTIONS IN SCHEMA room FROM PUBLIC;
