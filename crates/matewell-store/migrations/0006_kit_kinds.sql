-- Kinds of fact of kits and planned work; widened in place, as migration 3 was.
PRAGMA writable_schema = ON;

UPDATE sqlite_schema
SET sql = replace(sql, '''case-closed''', '''case-closed'', ''kit-made'', ''kit-checked'', ''reserved''')
WHERE type = 'table' AND name = 'fact';

PRAGMA writable_schema = RESET;

-- Planned work is looked for by itself; this also tells other connections that
-- the schema has changed.
CREATE INDEX fact_reserved ON fact (seq) WHERE kind = 'reserved';
