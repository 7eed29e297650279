-- Back-ups that were verified, and payloads that are JSON.

-- Numbers live in the payload. JSON has neither NaN nor infinity, and so has no fact.
-- Every payload that this program ever wrote is JSON, so the text of the
-- constraint is narrowed in place, as 0003_case_kinds.sql widens another.
PRAGMA writable_schema = ON;

UPDATE sqlite_schema
SET sql = replace(sql, 'length(payload) BETWEEN 2 AND 16777216', 'length(payload) BETWEEN 2 AND 16777216 AND json_valid(payload)')
WHERE type = 'table' AND name = 'fact';

PRAGMA writable_schema = RESET;

-- Copies that were opened and verified after they were made. A new table also
-- tells other connections that the schema has changed.
CREATE TABLE back_up (
    -- Order of making.
    no INTEGER PRIMARY KEY,
    -- When it was made.
    made_at INTEGER NOT NULL CHECK (made_at BETWEEN -62167219200000000 AND 253402300799999999),
    -- Number of the last fact in it; 0 for an empty log.
    last_seq INTEGER NOT NULL CHECK (last_seq BETWEEN 0 AND 9223372036854775806),
    -- SHA-256 of that fact; none in an empty log.
    head BLOB CHECK (length(head) = 32),
    -- What the copy is called, without its folder.
    name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 255)
) STRICT;
