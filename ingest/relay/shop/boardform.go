package shop

// forBoards adds what a board over many benches asks for: a job's facts by its
// subject, what was decided, and what benches say of themselves where they may
// ship nothing. The condition of fact_decided is that of the journal's index of
// the same name.
//
// A role that could read or ship before may go on.
const forBoards = `
CREATE INDEX fact_by_subject ON shimwright.fact (bench, subject, seq);
CREATE INDEX fact_decided ON shimwright.fact (utc_us, bench, seq) WHERE
	kind IN ('on hold', 'lifted', 'conceded') OR
	kind = 'pressed' AND position('"source":"keyed"'::bytea IN payload) > 0;

-- one row a bench and kind of trouble
CREATE TABLE shimwright.said (
	bench text COLLATE "C" NOT NULL REFERENCES shimwright.bench_head ON DELETE CASCADE,
	kind  text COLLATE "C" NOT NULL CHECK (kind IN ('other', 'copied', 'behind', 'damaged', 'lost', 'moved')),
	words text NOT NULL CHECK (octet_length(words) BETWEEN 1 AND 2000),
	since timestamptz NOT NULL,
	last  timestamptz NOT NULL,
	PRIMARY KEY (bench, kind)
);
CREATE INDEX said_by_time ON shimwright.said (last);

-- what a bench says of itself; said again within a quarter of an hour it is the same trouble
CREATE FUNCTION shimwright.say(p_bench text, p_kind text, p_words text) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE h record;
BEGIN
	h := shimwright.head(p_bench);
	INSERT INTO shimwright.said AS s (bench, kind, words, since, last) VALUES (p_bench, p_kind, p_words, clock_timestamp(), clock_timestamp())
		ON CONFLICT (bench, kind) DO UPDATE SET words = excluded.words, last = excluded.last,
			since = CASE WHEN s.last < excluded.last - interval '15 minutes' THEN excluded.since ELSE s.since END;
	PERFORM pg_notify('shimwright', left(p_bench, 100) || E'\n' || h.last_seq);
END $$;
REVOKE ALL ON FUNCTION shimwright.say FROM PUBLIC;

DO $$
DECLARE r record;
BEGIN
	FOR r IN SELECT DISTINCT a.grantee::regrole::text AS role FROM pg_class c, aclexplode(c.relacl) a
		WHERE c.oid = 'shimwright.fact'::regclass AND a.privilege_type = 'SELECT' AND a.grantee NOT IN (0, c.relowner)
	LOOP EXECUTE 'GRANT SELECT ON shimwright.said TO ' || r.role; END LOOP;
	FOR r IN SELECT DISTINCT a.grantee::regrole::text AS role FROM pg_proc p, aclexplode(p.proacl) a
		WHERE p.oid = 'shimwright.take'::regproc AND a.privilege_type = 'EXECUTE' AND a.grantee NOT IN (0, p.proowner)
	LOOP EXECUTE 'GRANT EXECUTE ON FUNCTION shimwright.say TO ' || r.role; END LOOP;
END $$;
`
