-- Every fact about an end that is not a mate carries a mark, so that the few
-- facts beside the many mates are found without reading the mates. 'other':
-- none of the marks before.
PRAGMA writable_schema = ON;

UPDATE sqlite_schema
SET sql = replace(sql, '''corrects'', ''results''', '''corrects'', ''results'', ''other''')
WHERE type = 'table' AND name = 'end_mark';

PRAGMA writable_schema = RESET;

INSERT INTO end_mark (end_no, what, happened_at, seq)
    SELECT fe.end_no, 'other', fe.happened_at, fe.seq FROM fact f JOIN fact_end fe ON fe.seq = f.seq
    WHERE f.kind NOT IN (
        'mated', 'gauged', 'inspected', 'cleaned', 'replaced', 'released', 'held', 'corrected', 'result-noted'
    );

-- Tells other connections that the schema has changed.
CREATE INDEX fact_held ON fact (seq) WHERE kind = 'held';
