-- Kept files, and the kinds of fact of a sweep.

-- Files that facts speak about, byte for byte as they came.
CREATE TABLE kept_file (
    -- SHA-256 of the bytes.
    sha256 BLOB NOT NULL PRIMARY KEY CHECK (length(sha256) = 32),
    -- The bytes, at most 64 MiB.
    bytes BLOB NOT NULL CHECK (length(bytes) BETWEEN 1 AND 67108864)
) STRICT;

CREATE TRIGGER kept_file_is_not_updated BEFORE UPDATE ON kept_file
BEGIN
    SELECT RAISE(ABORT, 'a kept file is never updated');
END;

CREATE TRIGGER kept_file_is_not_deleted BEFORE DELETE ON kept_file
BEGIN
    SELECT RAISE(ABORT, 'a kept file is never deleted');
END;

-- A CHECK cannot be altered, and copying the table would take minutes on ten
-- million facts, so the text of the constraint is widened in place: what is
-- allowed only grows and no stored row changes. See "Making Other Kinds Of
-- Table Schema Changes" in the documentation of SQLite.
PRAGMA writable_schema = ON;

UPDATE sqlite_schema
SET sql = replace(sql, '''result-noted''', '''result-noted'', ''sweep-noted'', ''sweep-judged''')
WHERE type = 'table' AND name = 'fact';

PRAGMA writable_schema = RESET;

-- Sweeps are few among many facts; this also tells other connections that the
-- schema has changed.
CREATE INDEX fact_sweep ON fact (seq) WHERE kind IN ('sweep-noted', 'sweep-judged');
