-- Every fact about an item that is no use of a tool carries a mark, so that
-- the few facts beside many mates and gaugings are found without reading them.
-- 'other': neither a check nor a correction.
PRAGMA writable_schema = ON;

UPDATE sqlite_schema
SET sql = replace(sql, '(''checks'', ''corrects'')', '(''checks'', ''corrects'', ''other'')')
WHERE type = 'table' AND name = 'item_mark';

PRAGMA writable_schema = RESET;

INSERT INTO item_mark (item_no, what, happened_at, seq)
    SELECT fi.item_no, 'other', fi.happened_at, fi.seq FROM fact f JOIN fact_item fi ON fi.seq = f.seq
    WHERE f.kind NOT IN ('mated', 'gauged', 'tool-checked', 'corrected');

-- Retired things are few; this also tells other connections that the schema has
-- changed.
CREATE INDEX fact_retired ON fact (seq) WHERE kind = 'retired';
