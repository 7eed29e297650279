-- Kinds of fact of a case. A CHECK cannot be altered, and copying the table
-- would take minutes on ten million facts, so the text of the constraint is
-- widened in place: what is allowed only grows and no stored row changes. See
-- "Making Other Kinds Of Table Schema Changes" in the documentation of SQLite.
PRAGMA writable_schema = ON;

UPDATE sqlite_schema
SET sql = replace(
    sql,
    '''result-noted''',
    '''result-noted'', ''case-opened'', ''case-changed'', ''end-disposed'', ''result-disposed'', ''case-closed'''
)
WHERE type = 'table' AND name = 'fact';

PRAGMA writable_schema = RESET;

-- Cases are few among many facts; this also tells other connections that the
-- schema has changed.
CREATE INDEX fact_case ON fact (seq) WHERE kind = 'case-opened';
