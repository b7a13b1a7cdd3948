-- +goose Up

-- What several servers of one school must know of each other. Written in the
-- subset that SQLite and PostgreSQL share, as before.

-- The last task of each kind and cohort: a roster, links by mail.
CREATE TABLE tasks (
    kind   TEXT   NOT NULL,
    cohort TEXT   NOT NULL REFERENCES cohorts (id),
    run    TEXT   NOT NULL,                    -- another one each time it is begun
    beat   BIGINT NOT NULL,                    -- when the server that does it last said so
    ended  BIGINT NOT NULL,                    -- 0: it is under way, or its server is gone
    state  BYTEA  NOT NULL,                    -- JSON of the server's; names nobody
    PRIMARY KEY (kind, cohort)
);

-- A roster that somebody has sent and not done yet. It names people, so it is
-- kept for half an hour.
CREATE TABLE rosters (
    person TEXT   NOT NULL PRIMARY KEY REFERENCES people (id) ON DELETE CASCADE,
    cohort TEXT   NOT NULL REFERENCES cohorts (id),
    file   TEXT   NOT NULL,
    bytes  BYTEA  NOT NULL,
    at     BIGINT NOT NULL
);
