package shop

// quicker has take and follow do the same for less: facts are put in by a plain
// INSERT, which counts them without keeping them for it, and jobs that begin and
// end in one batch are written once. What they may be called by stays.
const quicker = `
CREATE OR REPLACE FUNCTION shimwright.take(p_bench text, p_after bigint, p_on bytea, p_utc bigint[], p_since bigint[], p_run text[],
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
	INSERT INTO shimwright.fact (bench, seq, utc_us, since_ns, run, subject, kind, version, payload, hash)
		SELECT p_bench, p_after + i, utc, since, run, subject, kind, version, payload, hash
		FROM unnest(p_utc, p_since, p_run, p_subject, p_kind, p_version, p_payload, p_hash, array_prepend(p_on, p_hash))
			WITH ORDINALITY AS t (utc, since, run, subject, kind, version, payload, hash, before, i)
		WHERE i <= n -- what stands before each is one longer
			AND hash = sha256(before || '\x01'::bytea || int8send(p_after + i) || int8send(utc) || int8send(since) || int4send(version)
			|| int4send(octet_length(run)) || textsend(run) || int4send(octet_length(subject)) || textsend(subject) || int4send(octet_length(kind)) || textsend(kind)
			|| int4send(octet_length(payload)) || payload);
	GET DIAGNOSTICS stored = ROW_COUNT;
	IF stored <> n THEN
		RAISE EXCEPTION 'among the facts after % of bench % is one that does not give its hash', p_after, quote_literal(p_bench) USING ERRCODE = 'SW003';
	END IF;
	UPDATE shimwright.bench_head b SET last_seq = p_after + n, last_hash = p_hash[n], shipped = clock_timestamp(), origin = coalesce(b.origin, p_on)
		WHERE b.bench = p_bench;
	PERFORM pg_notify('shimwright', left(p_bench, 100) || E'\n' || (p_after + n));
END $$;

CREATE OR REPLACE FUNCTION shimwright.follow(p_bench text, p_rule int, p_after bigint, p_upto bigint, p_opened jsonb, p_judged jsonb, p_ended jsonb) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE h shimwright.bench_head;
BEGIN
	h := shimwright.locked(p_bench);
	IF h.rule <> p_rule OR h.rows_seq <> p_after OR p_upto < p_after OR p_upto > h.last_seq THEN
		RAISE EXCEPTION 'the rows of bench % follow by rule % up to fact %', quote_literal(p_bench), h.rule, h.rows_seq USING ERRCODE = 'SW002';
	END IF;
	-- a job that ends in the batch that it begins in is written once
	INSERT INTO shimwright.job (bench, id, drive, serial, sheet, issue, digest, opened_us, state, ended_us, training)
		SELECT p_bench, r.id, drive, serial, sheet, issue, digest, opened_us, coalesce(e.state, 'open'), e.ended_us, training
		FROM jsonb_to_recordset(p_opened) AS r (id text, drive text, serial text, sheet text, issue bigint, digest text, opened_us bigint, training boolean)
		LEFT JOIN (SELECT DISTINCT ON (job) job, state, ended_us FROM jsonb_to_recordset(p_ended) AS x (job text, state text, ended_us bigint) ORDER BY job, ended_us DESC) e ON e.job = r.id
		ON CONFLICT DO NOTHING;
	INSERT INTO shimwright.judgement (bench, seq, job, sheet, step, what, verdict, words, advice, value, low, high, uncertainty, mean, spread, points, build, training, program, utc_us, leaves, total)
		SELECT p_bench, r.seq, r.job, coalesce(j.sheet, ''), r.step, r.what, r.verdict, r.words, r.advice, r.value, r.low, r.high, r.uncertainty, r.mean, r.spread, r.points, r.build, r.training, r.program, r.utc_us,
			coalesce(r.leaves, '[]'), coalesce(r.total, '')
		FROM jsonb_to_recordset(p_judged) AS r (seq bigint, job text, step text, what text, verdict text, words text, advice text, value text, low text, high text,
			uncertainty text, mean text, spread text, points text, build bigint, training boolean, program text, utc_us bigint, leaves text, total text)
		LEFT JOIN shimwright.job j ON j.bench = p_bench AND j.id = r.job
		WHERE r.seq > p_after AND r.seq <= p_upto
		ON CONFLICT DO NOTHING;
	IF p_judged @> '[{"training": true}]' THEN
		UPDATE shimwright.job j SET training = true
			FROM jsonb_to_recordset(p_judged) AS r (job text, training boolean)
			WHERE j.bench = p_bench AND j.id = r.job AND r.training AND NOT j.training;
	END IF;
	UPDATE shimwright.job j SET state = r.state, ended_us = r.ended_us
		FROM (SELECT DISTINCT ON (job) job, state, ended_us FROM jsonb_to_recordset(p_ended) AS x (job text, state text, ended_us bigint) ORDER BY job, ended_us DESC) r
		WHERE j.bench = p_bench AND j.id = r.job AND (j.state, j.ended_us) IS DISTINCT FROM (r.state, r.ended_us);
	UPDATE shimwright.bench_head b SET rows_seq = p_upto WHERE b.bench = p_bench;
END $$;
`
