-- Every fact about an item that is no use of a tool carries a mark, so that
-- the few facts beside many mates and gaugings are found without reading them.
-- 'other': neither a check nor a correction.
ALTER TABLE item_mark
    DROP CONSTRAINT item_mark_what_check,
    ADD CONSTRAINT item_mark_what_check CHECK (what IN ('checks', 'corrects', 'other')) NOT VALID;

-- The few facts first, by their kinds: a log has many uses.
INSERT INTO item_mark (item_no, what, happened_at, seq)
    SELECT item_no, 'other', happened_at, seq FROM fact_item WHERE seq IN (SELECT seq FROM fact WHERE kind IN (
        'registered', 'inspected', 'cleaned', 'parted', 'stored', 'held', 'released', 'retired', 'replaced', 'refused',
        'overridden', 'followed-up', 'result-noted', 'sweep-noted', 'sweep-judged', 'case-opened', 'case-changed',
        'end-disposed', 'result-disposed', 'case-closed', 'kit-made', 'kit-checked', 'reserved', 'policy-taken-up'
    ));

CREATE INDEX fact_retired ON fact (seq) WHERE kind = 'retired';
