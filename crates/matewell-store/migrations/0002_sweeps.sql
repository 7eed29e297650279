-- Kept files, and kinds of fact that later versions can add to.

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

-- The kinds of fact. A list in a CHECK cannot grow without a new table.
CREATE TABLE kind_of_fact (
    -- The word in the column fact.kind.
    word TEXT NOT NULL PRIMARY KEY
) STRICT, WITHOUT ROWID;

INSERT INTO kind_of_fact (word) VALUES
    ('registered'), ('inspected'), ('gauged'), ('cleaned'), ('mated'), ('parted'), ('stored'),
    ('tool-checked'), ('held'), ('released'), ('retired'), ('replaced'), ('refused'), ('overridden'),
    ('followed-up'), ('corrected'), ('result-noted'), ('sweep-noted'), ('sweep-judged');

-- The same table as before but for the kind. Rows are copied as they are.
CREATE TABLE fact_anew (
    -- Order of arrival in this file, counted from 1 without holes.
    seq INTEGER PRIMARY KEY CHECK (seq BETWEEN 1 AND 9223372036854775806),
    -- Sixteen bytes, for ever the same.
    id BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
    -- Who wrote it down.
    machine_no INTEGER NOT NULL REFERENCES machine (no) ON DELETE RESTRICT ON UPDATE RESTRICT,
    -- Counts the facts of that machine from 1 without holes.
    machine_seq INTEGER NOT NULL CHECK (machine_seq BETWEEN 1 AND 9223372036854775806),
    -- What kind of fact; says how to read the payload.
    kind TEXT NOT NULL REFERENCES kind_of_fact (word) ON DELETE RESTRICT ON UPDATE RESTRICT,
    -- When it happened.
    happened_at INTEGER NOT NULL CHECK (happened_at BETWEEN -62167219200000000 AND 253402300799999999),
    -- How exactly that is known.
    resolution TEXT NOT NULL CHECK (resolution IN ('instant', 'day')),
    -- Order among facts of the same moment.
    sequence INTEGER NOT NULL CHECK (sequence BETWEEN 0 AND 4294967295),
    -- When it was entered.
    recorded_at INTEGER NOT NULL CHECK (recorded_at BETWEEN -62167219200000000 AND 253402300799999999),
    -- Who did it: a name or a pseudonym.
    person TEXT NOT NULL,
    -- Where it came in.
    source TEXT NOT NULL CHECK (source IN ('bench', 'import', 'program')),
    -- Free text, if any.
    note TEXT,
    -- JSON of version 1 for the kind. Never rewritten: the hash covers these bytes.
    payload TEXT NOT NULL CHECK (length(payload) BETWEEN 2 AND 16777216),
    -- SHA-256 over the fact and the hash before it in the chain of its machine.
    hash BLOB NOT NULL CHECK (length(hash) = 32),
    UNIQUE (machine_no, machine_seq)
) STRICT;

INSERT INTO fact_anew (seq, id, machine_no, machine_seq, kind, happened_at, resolution, sequence, recorded_at,
                       person, source, note, payload, hash)
SELECT seq, id, machine_no, machine_seq, kind, happened_at, resolution, sequence, recorded_at,
       person, source, note, payload, hash
FROM fact ORDER BY seq;

DROP TABLE fact;

ALTER TABLE fact_anew RENAME TO fact;

CREATE TRIGGER fact_is_not_updated BEFORE UPDATE ON fact
BEGIN
    SELECT RAISE(ABORT, 'a fact is never updated; add a correction');
END;

CREATE TRIGGER fact_is_not_deleted BEFORE DELETE ON fact
BEGIN
    SELECT RAISE(ABORT, 'a fact is never deleted; add a correction');
END;

CREATE INDEX fact_kind ON fact (kind, happened_at);
