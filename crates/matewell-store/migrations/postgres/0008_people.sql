-- People, what they may do, and what lets them in. Nothing here is a fact
-- about a connector; changes of rights are kept for ever all the same.

CREATE TABLE person (
    -- The name without capitals and spaces around it: one person per name.
    name_key TEXT COLLATE "C" NOT NULL PRIMARY KEY CHECK (length(name_key) BETWEEN 1 AND 100),
    -- The name as it is written beside what the person does.
    name TEXT COLLATE "C" NOT NULL CHECK (length(name) BETWEEN 1 AND 100),
    -- Words of roles with a space between.
    roles TEXT COLLATE "C" NOT NULL,
    -- Argon2id in the PHC string format; none for a rig, which has tokens only.
    password TEXT COLLATE "C" CHECK (length(password) BETWEEN 1 AND 500),
    -- 1 when the person may not come in any more.
    has_left BIGINT NOT NULL CHECK (has_left IN (0, 1)),
    -- Sign-ins that failed since the last that did not.
    failed BIGINT NOT NULL CHECK (failed >= 0),
    -- Until when no sign-in is tried, in microseconds since 1970; none when open.
    locked_until BIGINT
);

-- What a person was authorised to do at ends of an interface.
CREATE TABLE authorisation (
    name_key TEXT COLLATE "C" NOT NULL REFERENCES person (name_key) ON DELETE RESTRICT ON UPDATE RESTRICT,
    -- Word of what is done.
    act TEXT COLLATE "C" NOT NULL CHECK (length(act) BETWEEN 1 AND 50),
    -- The interface; empty for every one.
    interface TEXT COLLATE "C" NOT NULL CHECK (length(interface) <= 100),
    PRIMARY KEY (name_key, act, interface)
);

-- What the lab wants an authorisation for.
CREATE TABLE authorisation_required (
    act TEXT COLLATE "C" NOT NULL CHECK (length(act) BETWEEN 1 AND 50),
    -- The interface; empty for every one.
    interface TEXT COLLATE "C" NOT NULL CHECK (length(interface) <= 100),
    PRIMARY KEY (act, interface)
);

-- What lets somebody in. The secret itself is nowhere: only its hash.
CREATE TABLE credential (
    -- SHA-256 of the secret.
    sha256 BYTEA NOT NULL PRIMARY KEY CHECK (octet_length(sha256) = 32),
    -- Short name to speak about it without the secret.
    id TEXT COLLATE "C" NOT NULL UNIQUE CHECK (length(id) BETWEEN 1 AND 50),
    kind TEXT COLLATE "C" NOT NULL CHECK (kind IN ('session', 'token', 'setup', 'calendar')),
    -- Whose; empty for the code of the first start.
    name_key TEXT COLLATE "C" NOT NULL,
    -- What it is for, in the lab's words.
    label TEXT COLLATE "C" NOT NULL CHECK (length(label) <= 200),
    -- Words of rights it is limited to with a space between; empty for all of the person's.
    scope TEXT COLLATE "C" NOT NULL,
    created_at BIGINT NOT NULL,
    expires_at BIGINT NOT NULL,
    -- When it was ended before its time; none when it was not.
    ended_at BIGINT
);

CREATE INDEX credential_of_person ON credential (name_key, kind);

-- Who changed which right of whom, and when. Never updated, never deleted.
CREATE TABLE right_change (
    seq BIGINT NOT NULL PRIMARY KEY CHECK (seq >= 1),
    changed_at BIGINT NOT NULL,
    changed_by TEXT COLLATE "C" NOT NULL CHECK (length(changed_by) BETWEEN 1 AND 200),
    -- Word of what was done.
    what TEXT COLLATE "C" NOT NULL CHECK (length(what) BETWEEN 1 AND 50),
    -- To whom; empty when to the lab.
    person TEXT COLLATE "C" NOT NULL,
    -- In words, without secrets.
    detail TEXT COLLATE "C" NOT NULL
);

CREATE TRIGGER right_change_is_not_updated BEFORE UPDATE ON right_change
    FOR EACH ROW EXECUTE FUNCTION matewell_never('a change of rights is never updated');

CREATE TRIGGER right_change_is_not_emptied BEFORE TRUNCATE ON right_change
    FOR EACH STATEMENT EXECUTE FUNCTION matewell_never('a change of rights is never deleted');

CREATE TRIGGER right_change_is_not_deleted BEFORE DELETE ON right_change
    FOR EACH ROW EXECUTE FUNCTION matewell_never('a change of rights is never deleted');

-- Addresses that are told of every fact, in the order of entry. What was told
-- is a number, not a list: nothing is lost or left out when the server stops.
CREATE TABLE webhook (
    id TEXT COLLATE "C" NOT NULL PRIMARY KEY CHECK (length(id) BETWEEN 1 AND 50),
    url TEXT COLLATE "C" NOT NULL CHECK (length(url) BETWEEN 1 AND 2000),
    -- Key of the signature; has to be known to sign, so it is kept.
    secret TEXT COLLATE "C" NOT NULL CHECK (length(secret) BETWEEN 16 AND 200),
    created_at BIGINT NOT NULL,
    ended_at BIGINT,
    -- Number of the last fact that the address said it took.
    told_seq BIGINT NOT NULL CHECK (told_seq >= 0),
    told_at BIGINT,
    -- Attempts that failed since.
    failed BIGINT NOT NULL CHECK (failed >= 0),
    next_at BIGINT NOT NULL,
    last_error TEXT COLLATE "C" CHECK (length(last_error) <= 500)
);

-- Key of signed exports: one per log.
CREATE TABLE signing_key (
    one BIGINT NOT NULL PRIMARY KEY CHECK (one = 1),
    -- Seed of an Ed25519 key (RFC 8032).
    seed BYTEA NOT NULL CHECK (octet_length(seed) = 32),
    created_at BIGINT NOT NULL
);
