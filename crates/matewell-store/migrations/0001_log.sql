-- The log of facts and the indexes that make questions quick.
-- Times are microseconds since 1970-01-01T00:00:00Z within the years 0000 to 9999.

CREATE TABLE machine (
    -- Short number used inside this file only.
    no INTEGER PRIMARY KEY,
    -- Sixteen bytes, for ever the same.
    id BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
    -- 1 for the machine that writes into this file, else 0.
    own INTEGER NOT NULL CHECK (own BETWEEN 0 AND 1)
) STRICT;

-- One file has one writing machine.
CREATE UNIQUE INDEX machine_own ON machine (own) WHERE own = 1;

-- What happened. Rows are added and never changed: see the triggers below.
CREATE TABLE fact (
    -- Order of arrival in this file, counted from 1 without holes.
    seq INTEGER PRIMARY KEY CHECK (seq BETWEEN 1 AND 9223372036854775806),
    -- Sixteen bytes, for ever the same.
    id BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
    -- Who wrote it down.
    machine_no INTEGER NOT NULL REFERENCES machine (no) ON DELETE RESTRICT ON UPDATE RESTRICT,
    -- Counts the facts of that machine from 1 without holes.
    machine_seq INTEGER NOT NULL CHECK (machine_seq BETWEEN 1 AND 9223372036854775806),
    -- What kind of fact; says how to read the payload.
    kind TEXT NOT NULL CHECK (kind IN (
        'registered', 'inspected', 'gauged', 'cleaned', 'mated', 'parted', 'stored', 'tool-checked', 'held',
        'released', 'retired', 'replaced', 'refused', 'overridden', 'followed-up', 'corrected', 'result-noted'
    )),
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

CREATE TRIGGER fact_is_not_updated BEFORE UPDATE ON fact
BEGIN
    SELECT RAISE(ABORT, 'a fact is never updated; add a correction');
END;

CREATE TRIGGER fact_is_not_deleted BEFORE DELETE ON fact
BEGIN
    SELECT RAISE(ABORT, 'a fact is never deleted; add a correction');
END;

CREATE INDEX fact_kind ON fact (kind, happened_at);

-- Items as they stand, drawn from the registrations and their corrections.
CREATE TABLE item (
    -- Short number used inside this file only.
    no INTEGER PRIMARY KEY,
    -- Sixteen bytes, for ever the same.
    id BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
    -- What people call it.
    tag TEXT NOT NULL,
    -- The tag trimmed and in lower case, for finding.
    tag_folded TEXT NOT NULL,
    -- What it is.
    kind TEXT NOT NULL,
    -- The registration.
    registered_seq INTEGER NOT NULL REFERENCES fact (seq) ON DELETE RESTRICT ON UPDATE RESTRICT,
    -- 1 when a correction says that it was never registered, else 0.
    struck INTEGER NOT NULL DEFAULT 0 CHECK (struck BETWEEN 0 AND 1)
) STRICT;

CREATE INDEX item_tag ON item (tag_folded);
CREATE INDEX item_kind ON item (kind, tag_folded, no);

-- Ends as they stand, drawn from the registrations and their corrections.
CREATE TABLE connector_end (
    -- Short number used inside this file only.
    no INTEGER PRIMARY KEY,
    -- Sixteen bytes, for ever the same.
    id BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
    -- The item it belongs to.
    item_no INTEGER NOT NULL REFERENCES item (no) ON DELETE RESTRICT ON UPDATE RESTRICT,
    -- What its label says.
    tag TEXT NOT NULL,
    -- The tag trimmed and in lower case, for finding.
    tag_folded TEXT NOT NULL,
    -- Sheet key of the interface.
    interface TEXT NOT NULL,
    -- Which half.
    sex TEXT NOT NULL CHECK (sex IN ('pin', 'socket', 'neutral')),
    -- The fact that first named it.
    registered_seq INTEGER NOT NULL REFERENCES fact (seq) ON DELETE RESTRICT ON UPDATE RESTRICT,
    -- 1 when a correction says that it does not exist, else 0.
    struck INTEGER NOT NULL DEFAULT 0 CHECK (struck BETWEEN 0 AND 1)
) STRICT;

CREATE INDEX connector_end_tag ON connector_end (tag_folded);
CREATE INDEX connector_end_item ON connector_end (item_no);

-- Which facts are about an end.
CREATE TABLE fact_end (
    -- The end.
    end_no INTEGER NOT NULL REFERENCES connector_end (no) ON DELETE RESTRICT ON UPDATE RESTRICT,
    -- When the fact says it happened, before corrections.
    happened_at INTEGER NOT NULL CHECK (happened_at BETWEEN -62167219200000000 AND 253402300799999999),
    -- The fact.
    seq INTEGER NOT NULL REFERENCES fact (seq) ON DELETE RESTRICT ON UPDATE RESTRICT,
    PRIMARY KEY (end_no, happened_at, seq)
) STRICT, WITHOUT ROWID;

-- Which facts are about an item or were made with it.
CREATE TABLE fact_item (
    -- The item.
    item_no INTEGER NOT NULL REFERENCES item (no) ON DELETE RESTRICT ON UPDATE RESTRICT,
    -- When the fact says it happened, before corrections.
    happened_at INTEGER NOT NULL CHECK (happened_at BETWEEN -62167219200000000 AND 253402300799999999),
    -- The fact.
    seq INTEGER NOT NULL REFERENCES fact (seq) ON DELETE RESTRICT ON UPDATE RESTRICT,
    PRIMARY KEY (item_no, happened_at, seq)
) STRICT, WITHOUT ROWID;

-- Which later facts speak about an earlier one: corrections, follow-ups, overrides.
CREATE TABLE fact_about (
    -- The earlier fact.
    earlier_seq INTEGER NOT NULL REFERENCES fact (seq) ON DELETE RESTRICT ON UPDATE RESTRICT,
    -- The fact that speaks about it.
    seq INTEGER NOT NULL REFERENCES fact (seq) ON DELETE RESTRICT ON UPDATE RESTRICT,
    PRIMARY KEY (earlier_seq, seq),
    CHECK (earlier_seq < seq)
) STRICT, WITHOUT ROWID;

-- Answers already given, so that a request sent twice is written once.
CREATE TABLE write_key (
    -- Made up by whoever sends the request.
    key TEXT NOT NULL PRIMARY KEY CHECK (length(key) BETWEEN 1 AND 255),
    -- SHA-256 of the request: the same key with another request is refused.
    request_sha256 BLOB NOT NULL CHECK (length(request_sha256) = 32),
    -- The answer, to be given again.
    response TEXT NOT NULL,
    -- When it was first given.
    created_at INTEGER NOT NULL CHECK (created_at BETWEEN -62167219200000000 AND 253402300799999999)
) STRICT, WITHOUT ROWID;

-- How the columns of a lab's own workbook are read, kept for the next time.
CREATE TABLE saved_mapping (
    -- What the lab calls it.
    name TEXT NOT NULL PRIMARY KEY CHECK (length(name) BETWEEN 1 AND 255),
    -- The mapping as TOML.
    toml TEXT NOT NULL
) STRICT, WITHOUT ROWID;
