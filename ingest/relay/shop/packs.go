package shop

// packs, the second form, adds what a judgement says of a pack to the rows. A
// bench whose relay follows by the rule before it sends neither: they stay empty
// until it makes its rows anew.
const packs = `
ALTER TABLE shimwright.judgement ADD COLUMN leaves text NOT NULL DEFAULT '[]'; -- a JSON list of texts
ALTER TABLE shimwright.judgement ADD COLUMN total text NOT NULL DEFAULT '';

CREATE OR REPLACE FUNCTION shimwright.follow(p_bench text, p_rule int, p_after bigint, p_upto bigint, p_opened jsonb, p_judged jsonb, p_ended jsonb) RETURNS void
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
	INSERT INTO shimwright.judgement (bench, seq, job, sheet, step, what, verdict, words, advice, value, low, high, uncertainty, mean, spread, points, build, training, program, utc_us, leaves, total)
		SELECT p_bench, r.seq, r.job, coalesce(j.sheet, ''), r.step, r.what, r.verdict, r.words, r.advice, r.value, r.low, r.high, r.uncertainty, r.mean, r.spread, r.points, r.build, r.training, r.program, r.utc_us,
			coalesce(r.leaves, '[]'), coalesce(r.total, '')
		FROM jsonb_to_recordset(p_judged) AS r (seq bigint, job text, step text, what text, verdict text, words text, advice text, value text, low text, high text,
			uncertainty text, mean text, spread text, points text, build bigint, training boolean, program text, utc_us bigint, leaves text, total text)
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
