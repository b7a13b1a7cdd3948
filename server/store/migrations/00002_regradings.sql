-- +goose Up

-- Marking anew: what was proposed, by whom it was accepted and why, and every
-- report as it was before and as it is after, so that all can be put back byte
-- for byte. Written in the subset that SQLite and PostgreSQL share, as before.

-- Which visits were marked by which version, without reading their keys.
CREATE INDEX attempts_rubric ON attempts (rubric_hash, state, transcript);

CREATE TABLE regradings (
    id        TEXT   NOT NULL PRIMARY KEY,
    at        BIGINT NOT NULL,
    "by"      TEXT   NOT NULL,                     -- a person's id
    rubric    TEXT   NOT NULL,                     -- the rubric's id
    from_hash TEXT   NOT NULL REFERENCES content (hash),
    to_hash   TEXT   NOT NULL REFERENCES content (hash),
    case_id   TEXT   NOT NULL,                     -- only visits to this patient; empty: to any
    state     TEXT   NOT NULL                      -- working, proposed, accepted, undone or withdrawn
);
CREATE INDEX regradings_rubric ON regradings (rubric, at);

-- Who did what, when and why. Append-only.
CREATE TABLE regrading_events (
    regrading TEXT    NOT NULL REFERENCES regradings (id),
    n         INTEGER NOT NULL,
    at        BIGINT  NOT NULL,
    "by"      TEXT    NOT NULL,
    deed      TEXT    NOT NULL,                    -- propose, accept, undo or withdraw
    reason    TEXT    NOT NULL,
    PRIMARY KEY (regrading, n)
);

-- One row a visit: narrow, so that a hundred thousand are counted and sorted quickly.
CREATE TABLE regraded (
    regrading  TEXT    NOT NULL REFERENCES regradings (id),
    transcript BIGINT  NOT NULL REFERENCES attempts (transcript),
    refused    TEXT    NOT NULL,                   -- why it could not be marked anew; empty: it could
    marks      INTEGER NOT NULL,                   -- how many marks change
    delta      BIGINT  NOT NULL,                   -- new total less old, thousandths of a point
    turn       INTEGER NOT NULL,                   -- 1: comes to pass, -1: no longer passes, 0: neither
    engines    INTEGER NOT NULL,                   -- 1: another version of the engine marked it before
    place      INTEGER NOT NULL,                   -- 0: never put in force, 1: in force, 2: put back
    PRIMARY KEY (regrading, transcript)
);

-- The report of a visit as it was when the regrading was proposed, and the key
-- that it was marked by.
CREATE TABLE earlier_reports (
    regrading           TEXT    NOT NULL,
    transcript          BIGINT  NOT NULL,
    answer_key          BYTEA   NOT NULL,
    engine              TEXT    NOT NULL,
    graded              BIGINT  NOT NULL,
    total               BIGINT  NOT NULL,
    pass                INTEGER NOT NULL,
    critical            INTEGER NOT NULL,
    held                TEXT    NOT NULL,
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
    packed              BYTEA   NOT NULL,
    PRIMARY KEY (regrading, transcript),
    FOREIGN KEY (regrading, transcript) REFERENCES regraded (regrading, transcript) ON DELETE CASCADE
);

-- The same visit marked anew, with the key compiled for it.
CREATE TABLE later_reports (
    regrading           TEXT    NOT NULL,
    transcript          BIGINT  NOT NULL,
    answer_key          BYTEA   NOT NULL,
    engine              TEXT    NOT NULL,
    graded              BIGINT  NOT NULL,
    total               BIGINT  NOT NULL,
    pass                INTEGER NOT NULL,
    critical            INTEGER NOT NULL,
    held                TEXT    NOT NULL,
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
    packed              BYTEA   NOT NULL,
    PRIMARY KEY (regrading, transcript),
    FOREIGN KEY (regrading, transcript) REFERENCES regraded (regrading, transcript) ON DELETE CASCADE
);
