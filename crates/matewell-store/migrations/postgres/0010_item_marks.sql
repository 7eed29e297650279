-- Every fact about an item that is no use of a tool carries a mark, so that
-- the few facts beside many mates and gaugings are found without reading them.
-- 'other': neither a check nor a correction.
ALTER TABLE item_mark
    DROP CONSTRAINT item_mark_what_check,
    ADD CONSTRAINT item_mark_what_check CHECK (what IN ('checks', 'corrects', 'other')) NOT VALID;

INSERT INTO item_mark (item_no, what, happened_at, seq)
    SELECT fi.item_no, 'other', fi.happened_at, fi.seq FROM fact f JOIN fact_item fi ON fi.seq = f.seq
    WHERE f.kind NOT IN ('mated', 'gauged', 'tool-checked', 'corrected');

CREATE INDEX fact_retired ON fact (seq) WHERE kind = 'retired';
