package shop

// tables. Texts that order or choose rows are compared by their bytes, as in a
// bench's journal. Figures are texts as they were judged: exact, and with the
// places they were written with.
const tables = `
CREATE TABLE shimwright.bench_head (
	bench     text COLLATE "C" PRIMARY KEY CHECK (octet_length(bench) BETWEEN 1 AND 100),
	role      text COLLATE "C" NOT NULL,
	origin    bytea CHECK (octet_length(origin) = 32), -- what its chain begins with; NULL until its first batch
	last_seq  bigint NOT NULL DEFAULT 0,
	last_hash bytea CHECK (octet_length(last_hash) = 32),
	shipped   timestamptz,                             -- when its last batch came
	rule      int    NOT NULL DEFAULT 0,               -- that its rows follow by
	rows_seq  bigint NOT NULL DEFAULT 0                -- up to where they follow
);

CREATE TABLE shimwright.fact (
	bench    text COLLATE "C" NOT NULL,
	seq      bigint NOT NULL,
	utc_us   bigint NOT NULL,
	since_ns bigint NOT NULL,
	run      text   COLLATE "C" NOT NULL,
	subject  text   COLLATE "C" NOT NULL,
	kind     text   COLLATE "C" NOT NULL,
	version  int    NOT NULL,
	payload  bytea  NOT NULL CHECK (octet_length(payload) <= 1048576),
	hash     bytea  NOT NULL CHECK (octet_length(hash) = 32),
	PRIMARY KEY (bench, seq)
);

CREATE TABLE shimwright.job (
	bench     text COLLATE "C" NOT NULL,
	id        text COLLATE "C" NOT NULL,
	drive     text NOT NULL,
	serial    text NOT NULL,
	sheet     text COLLATE "C" NOT NULL,
	issue     bigint NOT NULL,
	digest    text NOT NULL,
	opened_us bigint NOT NULL,
	state     text COLLATE "C" NOT NULL,
	ended_us  bigint,
	training  boolean NOT NULL,
	PRIMARY KEY (bench, id)
);
CREATE INDEX job_by_opening ON shimwright.job (opened_us, id, bench);
CREATE INDEX job_by_state ON shimwright.job (state, opened_us, id, bench);
CREATE INDEX job_by_sheet ON shimwright.job (sheet, opened_us, id, bench);

CREATE TABLE shimwright.judgement (
	bench       text COLLATE "C" NOT NULL,
	seq         bigint NOT NULL,
	job         text COLLATE "C" NOT NULL,
	sheet       text COLLATE "C" NOT NULL,
	step        text NOT NULL,
	what        text COLLATE "C" NOT NULL,
	verdict     text NOT NULL,
	words       text NOT NULL,
	advice      text NOT NULL,
	value       text NOT NULL,
	low         text NOT NULL,
	high        text NOT NULL,
	uncertainty text NOT NULL,
	mean        text NOT NULL,
	spread      text NOT NULL,
	points      text NOT NULL, -- a JSON list of texts
	build       bigint NOT NULL,
	training    boolean NOT NULL,
	program     text NOT NULL,
	utc_us      bigint NOT NULL,
	PRIMARY KEY (bench, seq)
);
CREATE INDEX judgement_by_job ON shimwright.judgement (job, bench, seq);
CREATE INDEX judgement_by_time ON shimwright.judgement (utc_us, bench, seq);
CREATE INDEX judgement_by_sheet ON shimwright.judgement (sheet, utc_us, bench, seq);
CREATE INDEX judgement_by_check ON shimwright.judgement (sheet, what, utc_us, bench, seq);
`

// functions. The bytes that are hashed are told beside the journal's chain.
//
// take locks the head of its bench, so that batches of one bench come one after
// another; the batch goes on from there or nothing of it is stored. The first
// batch settles what the chain begins with. A commit that the bench never heard
// of shows at its next look at the head.
const functions = `
-- the head of a bench that the caller may act for, locked
CREATE FUNCTION shimwright.locked(p_bench text) RETURNS shimwright.bench_head
LANGUAGE plpgsql AS $$
DECLARE h shimwright.bench_head;
BEGIN
	SELECT * INTO h FROM shimwright.bench_head WHERE bench = p_bench FOR UPDATE;
	IF NOT FOUND OR NOT pg_has_role(session_user, h.role, 'MEMBER') THEN
		RAISE EXCEPTION 'bench % is not one that % may act for', quote_literal(p_bench), session_user USING ERRCODE = 'SW001';
	END IF;
	RETURN h;
END $$;

CREATE FUNCTION shimwright.head(p_bench text, OUT last_seq bigint, OUT last_hash bytea, OUT origin bytea, OUT rule int, OUT rows_seq bigint, OUT shop text)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE h shimwright.bench_head;
BEGIN
	SELECT * INTO h FROM shimwright.bench_head b WHERE b.bench = p_bench;
	IF NOT FOUND OR NOT pg_has_role(session_user, h.role, 'MEMBER') THEN
		RAISE EXCEPTION 'bench % is not one that % may act for', quote_literal(p_bench), session_user USING ERRCODE = 'SW001';
	END IF;
	last_seq := h.last_seq; last_hash := h.last_hash; origin := h.origin; rule := h.rule; rows_seq := h.rows_seq;
	shop := (SELECT min(f.shop) FROM shimwright.form f);
END $$;

-- the hash of one stored fact of the bench; NULL where it is not there
CREATE FUNCTION shimwright.kept(p_bench text, p_seq bigint) RETURNS bytea
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
BEGIN
	PERFORM shimwright.head(p_bench);
	RETURN (SELECT f.hash FROM shimwright.fact f WHERE f.bench = p_bench AND f.seq = p_seq);
END $$;

CREATE FUNCTION shimwright.take(p_bench text, p_after bigint, p_on bytea, p_utc bigint[], p_since bigint[], p_run text[],
	p_subject text[], p_kind text[], p_version int[], p_payload bytea[], p_hash bytea[]) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE
	h shimwright.bench_head;
	n int := coalesce(cardinality(p_hash), 0);
	stored int;
BEGIN
	h := shimwright.locked(p_bench);
	IF h.last_seq <> p_after OR (h.last_hash IS NOT NULL AND h.last_hash IS DISTINCT FROM p_on) OR coalesce(octet_length(p_on), 0) <> 32 THEN
		RAISE EXCEPTION 'the last fact of bench % is %, and the batch goes on from %', quote_literal(p_bench), h.last_seq, p_after USING ERRCODE = 'SW002';
	END IF;
	IF n < 1 OR n > 5000 THEN
		RAISE EXCEPTION 'a batch has 1 to 5000 facts, not %', n USING ERRCODE = 'SW004';
	END IF;
	WITH r AS (
		SELECT * FROM unnest(p_utc, p_since, p_run, p_subject, p_kind, p_version, p_payload, p_hash, array_prepend(p_on, p_hash))
			WITH ORDINALITY AS t (utc, since, run, subject, kind, version, payload, hash, before, i)
		WHERE i <= n -- what stands before each is one longer
	), put AS (
		INSERT INTO shimwright.fact (bench, seq, utc_us, since_ns, run, subject, kind, version, payload, hash)
		SELECT p_bench, p_after + i, utc, since, run, subject, kind, version, payload, hash FROM r
		WHERE hash = sha256(before || '\x01'::bytea || int8send(p_after + i) || int8send(utc) || int8send(since) || int4send(version)
			|| int4send(octet_length(run)) || textsend(run) || int4send(octet_length(subject)) || textsend(subject) || int4send(octet_length(kind)) || textsend(kind)
			|| int4send(octet_length(payload)) || payload)
		RETURNING 1
	) SELECT count(*) INTO stored FROM put;
	IF stored <> n THEN
		RAISE EXCEPTION 'among the facts after % of bench % is one that does not give its hash', p_after, quote_literal(p_bench) USING ERRCODE = 'SW003';
	END IF;
	UPDATE shimwright.bench_head b SET last_seq = p_after + n, last_hash = p_hash[n], shipped = clock_timestamp(), origin = coalesce(b.origin, p_on)
		WHERE b.bench = p_bench;
	PERFORM pg_notify('shimwright', left(p_bench, 100) || E'\n' || (p_after + n));
END $$;

-- begins a bench's rows anew by another rule
CREATE FUNCTION shimwright.anew(p_bench text, p_rule int) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE h shimwright.bench_head;
BEGIN
	h := shimwright.locked(p_bench);
	IF h.rule = p_rule THEN RETURN; END IF;
	DELETE FROM shimwright.judgement j WHERE j.bench = p_bench;
	DELETE FROM shimwright.job j WHERE j.bench = p_bench;
	UPDATE shimwright.bench_head b SET rule = p_rule, rows_seq = 0 WHERE b.bench = p_bench;
END $$;

-- the rows that follow from the facts after p_after up to p_upto
CREATE FUNCTION shimwright.follow(p_bench text, p_rule int, p_after bigint, p_upto bigint, p_opened jsonb, p_judged jsonb, p_ended jsonb) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE h shimwright.bench_head;
BEGIN
	h := shimwright.locked(p_bench);
	IF h.rule <> p_rule OR h.rows_seq <> p_after OR p_upto < p_after OR p_upto > h.last_seq THEN
		RAISE EXCEPTION 'the rows of bench % follow by rule % up to fact %', quote_literal(p_bench), h.rule, h.rows_seq USING ERRCODE = 'SW002';
	END IF;
	INSERT INTO shimwright.job (bench, id, drive, serial, sheet, issue, digest, opened_us, state, training)
		SELECT p_bench, id, drive, serial, sheet, issue, digest, opened_us, 'open', training
		FROM jsonb_to_recordset(p_opened) AS r (id text, drive text, serial text, sheet text, issue bigint, digest text, opened_us bigint, training boolean)
		ON CONFLICT DO NOTHING;
	INSERT INTO shimwright.judgement (bench, seq, job, sheet, step, what, verdict, words, advice, value, low, high, uncertainty, mean, spread, points, build, training, program, utc_us)
		SELECT p_bench, r.seq, r.job, coalesce(j.sheet, ''), r.step, r.what, r.verdict, r.words, r.advice, r.value, r.low, r.high, r.uncertainty, r.mean, r.spread, r.points, r.build, r.training, r.program, r.utc_us
		FROM jsonb_to_recordset(p_judged) AS r (seq bigint, job text, step text, what text, verdict text, words text, advice text, value text, low text, high text,
			uncertainty text, mean text, spread text, points text, build bigint, training boolean, program text, utc_us bigint)
		LEFT JOIN shimwright.job j ON j.bench = p_bench AND j.id = r.job
		WHERE r.seq > p_after AND r.seq <= p_upto
		ON CONFLICT DO NOTHING;
	UPDATE shimwright.job j SET training = true
		FROM jsonb_to_recordset(p_judged) AS r (job text, training boolean)
		WHERE j.bench = p_bench AND j.id = r.job AND r.training AND NOT j.training;
	UPDATE shimwright.job j SET state = r.state, ended_us = r.ended_us
		FROM jsonb_to_recordset(p_ended) AS r (job text, state text, ended_us bigint)
		WHERE j.bench = p_bench AND j.id = r.job;
	UPDATE shimwright.bench_head b SET rows_seq = p_upto WHERE b.bench = p_bench;
END $$;

REVOKE ALL ON ALL FUNCTIONS IN SCHEMA shimwright FROM PUBLIC;
`
