-- Back-ups that were verified, and payloads that are JSON.

-- Copies that were opened and verified after they were made.
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

-- Numbers live in the payload. JSON has neither NaN nor infinity, and so has no fact.
CREATE TRIGGER fact_payload_is_json BEFORE INSERT ON fact WHEN NOT json_valid(NEW.payload)
BEGIN
    SELECT RAISE(ABORT, 'the payload of a fact is JSON, with numbers that are finite');
END;
