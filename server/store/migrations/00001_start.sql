-- +goose Up

-- Written in the subset that SQLite and PostgreSQL share. Times are microseconds
-- since 1970 in UTC, 0 for "not yet". BYTEA means nothing to SQLite, which keeps
-- bytes as bytes whatever the column is called. Ids are random text.

CREATE TABLE counters (
    name  TEXT   NOT NULL PRIMARY KEY,
    value BIGINT NOT NULL
);
INSERT INTO counters (name, value) VALUES ('transcript', 0);

CREATE TABLE people (
    id            TEXT   NOT NULL PRIMARY KEY,
    login         TEXT   NOT NULL,
    login_key     TEXT   NOT NULL UNIQUE, -- the login folded: Ann and ann are one
    role          TEXT   NOT NULL,
    password_hash TEXT   NOT NULL,        -- empty: none chosen yet, cannot sign in
    created       BIGINT NOT NULL,
    erased        BIGINT NOT NULL
);

-- The only place with names, so that erasure keeps the rest.
CREATE TABLE names (
    person TEXT NOT NULL PRIMARY KEY REFERENCES people (id) ON DELETE CASCADE,
    name   TEXT NOT NULL
);

CREATE TABLE invites (
    token_hash TEXT   NOT NULL PRIMARY KEY,
    person     TEXT   NOT NULL REFERENCES people (id) ON DELETE CASCADE,
    made_by    TEXT   NOT NULL,           -- a person, or empty: the program itself
    created    BIGINT NOT NULL,
    expires    BIGINT NOT NULL,
    used       BIGINT NOT NULL
);
CREATE INDEX invites_person ON invites (person);

CREATE TABLE sessions (
    id_hash   TEXT   NOT NULL PRIMARY KEY,
    person    TEXT   NOT NULL REFERENCES people (id) ON DELETE CASCADE,
    kind      TEXT   NOT NULL,
    created   BIGINT NOT NULL,
    last_seen BIGINT NOT NULL,
    expires   BIGINT NOT NULL,
    ended     BIGINT NOT NULL
);
CREATE INDEX sessions_person ON sessions (person);

CREATE TABLE refresh_tokens (
    token_hash TEXT   NOT NULL PRIMARY KEY,
    session    TEXT   NOT NULL REFERENCES sessions (id_hash) ON DELETE CASCADE,
    created    BIGINT NOT NULL,
    expires    BIGINT NOT NULL,
    used       BIGINT NOT NULL            -- first use; good for a short grace after it
);
CREATE INDEX refresh_tokens_session ON refresh_tokens (session);

CREATE TABLE signing_keys (
    kid     TEXT   NOT NULL PRIMARY KEY,
    secret  BYTEA  NOT NULL,
    created BIGINT NOT NULL,
    retired BIGINT NOT NULL
);

-- Cases, catalogues, rubrics and ranges as they were when an attempt began.
CREATE TABLE content (
    hash  TEXT  NOT NULL PRIMARY KEY,     -- SHA-256 in hex
    bytes BYTEA NOT NULL
);

CREATE TABLE attempts (
    transcript     BIGINT NOT NULL PRIMARY KEY, -- from counters, never used twice
    id             TEXT   NOT NULL UNIQUE,      -- what the outside knows
    person         TEXT   NOT NULL REFERENCES people (id),
    case_id        TEXT   NOT NULL,
    track          TEXT   NOT NULL,
    state          TEXT   NOT NULL,
    case_hash      TEXT   NOT NULL REFERENCES content (hash),
    catalogue_hash TEXT   NOT NULL REFERENCES content (hash),
    rubric_hash    TEXT   NOT NULL REFERENCES content (hash),
    ranges_hash    TEXT   NOT NULL REFERENCES content (hash),
    engine         TEXT   NOT NULL,
    seed           BYTEA  NOT NULL,
    answer_key     BYTEA  NOT NULL,
    started        BIGINT NOT NULL,
    finished       BIGINT NOT NULL,
    ended          TEXT   NOT NULL              -- why: a word of the server's; empty while open
);
CREATE INDEX attempts_person ON attempts (person, transcript);
CREATE INDEX attempts_state ON attempts (state, finished);

-- Append-only. An ordinary rowid table with this one key and no other index:
-- an act is written once and read by transcript.
CREATE TABLE acts (
    transcript BIGINT  NOT NULL REFERENCES attempts (transcript),
    n          INTEGER NOT NULL,
    at         BIGINT  NOT NULL,
    "by"       TEXT    NOT NULL,                -- a person's id
    retry      TEXT    NOT NULL,                -- the client's word for one request
    request    BYTEA   NOT NULL,                -- what tells that request from another with the same word
    act        BYTEA   NOT NULL,
    outcome    BYTEA   NOT NULL,
    PRIMARY KEY (transcript, n)
);

CREATE TABLE reports (
    transcript          BIGINT  NOT NULL PRIMARY KEY REFERENCES attempts (transcript),
    engine              TEXT    NOT NULL,
    graded              BIGINT  NOT NULL,
    total               BIGINT  NOT NULL,       -- thousandths of a point, as all points
    pass                INTEGER NOT NULL,       -- 0 or 1
    critical            INTEGER NOT NULL,       -- number of critical events
    held                TEXT    NOT NULL,       -- codes, separated by spaces: why a person must look first
    order_points        BIGINT  NOT NULL,
    order_max           BIGINT  NOT NULL,
    completeness_points BIGINT  NOT NULL,
    completeness_max    BIGINT  NOT NULL,
    findings_points     BIGINT  NOT NULL,
    findings_max        BIGINT  NOT NULL,
    vitals_points       BIGINT  NOT NULL,
    vitals_max          BIGINT  NOT NULL,
    handling_points     BIGINT  NOT NULL,
    handling_max        BIGINT  NOT NULL,
    conclusions_points  BIGINT  NOT NULL,
    conclusions_max     BIGINT  NOT NULL,
    packed              BYTEA   NOT NULL        -- the whole report, DEFLATE
);

CREATE TABLE settings (
    name    TEXT   NOT NULL PRIMARY KEY,
    value   TEXT   NOT NULL,
    changed BIGINT NOT NULL
);
