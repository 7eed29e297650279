-- Kept files, and the kinds of fact of a sweep.

-- Files that facts speak about, byte for byte as they came.
CREATE TABLE kept_file (
    -- SHA-256 of the bytes.
    sha256 BYTEA NOT NULL PRIMARY KEY CHECK (octet_length(sha256) = 32),
    -- The bytes, at most 64 MiB.
    bytes BYTEA NOT NULL CHECK (octet_length(bytes) BETWEEN 1 AND 67108864)
);

CREATE TRIGGER kept_file_is_not_updated BEFORE UPDATE ON kept_file
    FOR EACH ROW EXECUTE FUNCTION matewell_never('a kept file is never updated');

CREATE TRIGGER kept_file_is_not_deleted BEFORE DELETE ON kept_file
    FOR EACH ROW EXECUTE FUNCTION matewell_never('a kept file is never deleted');

CREATE TRIGGER kept_file_is_not_emptied BEFORE TRUNCATE ON kept_file
    FOR EACH STATEMENT EXECUTE FUNCTION matewell_never('a kept file is never deleted');

-- What is allowed only grows, so no stored row needs to be looked at again.
ALTER TABLE fact
    DROP CONSTRAINT fact_kind_check,
    ADD CONSTRAINT fact_kind_check CHECK (kind IN (
        'registered', 'inspected', 'gauged', 'cleaned', 'mated', 'parted', 'stored', 'tool-checked', 'held',
        'released', 'retired', 'replaced', 'refused', 'overridden', 'followed-up', 'corrected',
        'result-noted', 'case-opened', 'case-changed', 'end-disposed', 'result-disposed', 'case-closed',
        'sweep-noted', 'sweep-judged'
    )) NOT VALID;

-- Sweeps are few among many facts.
CREATE INDEX fact_sweep ON fact (seq) WHERE kind IN ('sweep-noted', 'sweep-judged');
