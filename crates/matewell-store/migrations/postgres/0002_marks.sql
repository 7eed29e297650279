-- What a trace looks for beside the many mates, and the days whose facts have no order.

CREATE TABLE end_mark (
    -- The end.
    end_no BIGINT NOT NULL REFERENCES connector_end (no) ON DELETE RESTRICT ON UPDATE RESTRICT,
    -- 'cares': may say how good the end is; 'finds': may say that it is bad;
    -- 'harms': may say so of its contact, not only of dirt on it or a hold;
    -- 'corrects': a correction of a fact about it; 'results': a result went through it.
    what TEXT COLLATE "C" NOT NULL CHECK (what IN ('cares', 'finds', 'harms', 'corrects', 'results')),
    -- When the fact says it happened, before corrections.
    happened_at BIGINT NOT NULL CHECK (happened_at BETWEEN -62167219200000000 AND 253402300799999999),
    -- The fact.
    seq BIGINT NOT NULL REFERENCES fact (seq) ON DELETE RESTRICT ON UPDATE RESTRICT,
    PRIMARY KEY (end_no, what, happened_at, seq)
);

CREATE INDEX end_mark_harms ON end_mark (happened_at, end_no) WHERE what = 'harms';

CREATE TABLE item_mark (
    -- The item.
    item_no BIGINT NOT NULL REFERENCES item (no) ON DELETE RESTRICT ON UPDATE RESTRICT,
    -- 'checks': a check of the tool; 'corrects': a correction of a fact about it.
    what TEXT COLLATE "C" NOT NULL CHECK (what IN ('checks', 'corrects')),
    -- When the fact says it happened, before corrections.
    happened_at BIGINT NOT NULL CHECK (happened_at BETWEEN -62167219200000000 AND 253402300799999999),
    -- The fact.
    seq BIGINT NOT NULL REFERENCES fact (seq) ON DELETE RESTRICT ON UPDATE RESTRICT,
    PRIMARY KEY (item_no, what, happened_at, seq)
);

CREATE INDEX fact_day ON fact (happened_at)
    WHERE resolution = 'day'
    AND kind IN ('mated', 'gauged', 'inspected', 'cleaned', 'replaced', 'released', 'tool-checked');

INSERT INTO end_mark (end_no, what, happened_at, seq)
    SELECT fe.end_no, 'cares', fe.happened_at, fe.seq FROM fact f JOIN fact_end fe ON fe.seq = f.seq
    WHERE f.kind IN ('gauged', 'inspected', 'cleaned', 'replaced', 'released');

-- More than needed may be marked, never less: who reads a mark reads the fact.
INSERT INTO end_mark (end_no, what, happened_at, seq)
    SELECT fe.end_no, 'finds', fe.happened_at, fe.seq FROM fact f JOIN fact_end fe ON fe.seq = f.seq
    WHERE f.kind = 'gauged' AND f.payload LIKE '%protruding%'
        OR f.kind = 'inspected' AND (f.payload LIKE '%"damaged"%' OR f.payload LIKE '%"dirty"%')
        OR f.kind IN ('held', 'corrected');

INSERT INTO end_mark (end_no, what, happened_at, seq)
    SELECT fe.end_no, 'harms', fe.happened_at, fe.seq FROM fact f JOIN fact_end fe ON fe.seq = f.seq
    WHERE f.kind = 'gauged' AND f.payload LIKE '%protruding%'
        OR f.kind = 'inspected' AND f.payload LIKE '%"damaged"%'
        OR f.kind = 'corrected';

INSERT INTO end_mark (end_no, what, happened_at, seq)
    SELECT fe.end_no, 'corrects', fe.happened_at, fe.seq FROM fact f JOIN fact_end fe ON fe.seq = f.seq
    WHERE f.kind = 'corrected';

INSERT INTO end_mark (end_no, what, happened_at, seq)
    SELECT fe.end_no, 'results', fe.happened_at, fe.seq FROM fact f JOIN fact_end fe ON fe.seq = f.seq
    WHERE f.kind = 'result-noted';

INSERT INTO item_mark (item_no, what, happened_at, seq)
    SELECT fi.item_no, 'checks', fi.happened_at, fi.seq FROM fact f JOIN fact_item fi ON fi.seq = f.seq
    WHERE f.kind = 'tool-checked';

INSERT INTO item_mark (item_no, what, happened_at, seq)
    SELECT fi.item_no, 'corrects', fi.happened_at, fi.seq FROM fact f JOIN fact_item fi ON fi.seq = f.seq
    WHERE f.kind = 'corrected';

-- What a fact speaks about, found from the fact.
CREATE INDEX fact_about_seq ON fact_about (seq);
