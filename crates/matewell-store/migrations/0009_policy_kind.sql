-- The kind of fact of a policy taken up; widened in place, as migration 3 was.
PRAGMA writable_schema = ON;

UPDATE sqlite_schema
SET sql = replace(sql, '''reserved''', '''reserved'', ''policy-taken-up''')
WHERE type = 'table' AND name = 'fact';

PRAGMA writable_schema = RESET;

-- Policies are few among many facts; this also tells other connections that
-- the schema has changed.
CREATE INDEX fact_policy ON fact (seq) WHERE kind = 'policy-taken-up';
