-- +goose Up

-- Self-study: drills, how sure somebody was, what was looked at again, plans.
-- None of it is ever marked. Written in the subset that SQLite and PostgreSQL share.

-- A drill: a few short items one after another. Times in micros, 0: not yet.
CREATE TABLE drills (
    id      TEXT   NOT NULL PRIMARY KEY,
    person  TEXT   NOT NULL REFERENCES people (id),
    kind    TEXT   NOT NULL,                   -- a row of the drills' table
    species TEXT   NOT NULL,                   -- empty: any
    started BIGINT NOT NULL,
    ended   BIGINT NOT NULL,
    holder  TEXT   NOT NULL DEFAULT '',        -- the session that has it; another takes it over
    alternatives TEXT NOT NULL DEFAULT ''      -- how sounds are given in it besides
);
CREATE INDEX drills_person ON drills (person, started);

-- One item of it: a patient of its own, a short transcript and its mark.
CREATE TABLE drill_items (
    drill    TEXT    NOT NULL REFERENCES drills (id) ON DELETE CASCADE,
    n        INTEGER NOT NULL,
    item     BYTEA   NOT NULL,                 -- hidden: how the patient is drawn
    kind     TEXT    NOT NULL,
    species  TEXT    NOT NULL,
    skill    TEXT    NOT NULL,
    state    TEXT    NOT NULL,                 -- asked, marked or void
    asked    BIGINT  NOT NULL,
    answered BIGINT  NOT NULL,
    mark     INTEGER NOT NULL,                 -- thousandths
    sure     INTEGER NOT NULL,                 -- 0: not said; else 50, 75 or 95
    acts     BYTEA   NOT NULL,                 -- the short transcript as JSON Lines, without outcomes
    told     BYTEA   NOT NULL,                 -- JSON: what was answered, what it was and why
    why      TEXT    NOT NULL,                 -- of a void one: left, slept or stalled
    PRIMARY KEY (drill, n)
);

-- What a student expects before a debrief opens.
CREATE TABLE forecasts (
    transcript BIGINT NOT NULL PRIMARY KEY REFERENCES attempts (transcript) ON DELETE CASCADE,
    at         BIGINT NOT NULL,
    domains    TEXT   NOT NULL,                -- JSON: share of each domain in thousandths; {} where it was passed over
    least      TEXT   NOT NULL                 -- field@site of the finding least sure of; empty: none
);

-- Of the visits that ended before this, the debriefs have been open: nothing is
-- asked before them. At 0 says so.
INSERT INTO forecasts (transcript, at, domains, least) SELECT transcript, 0, '{}', '' FROM attempts WHERE state <> 'open';

-- Who is not asked how sure they are while they chart.
CREATE TABLE unasked (
    person TEXT   NOT NULL PRIMARY KEY REFERENCES people (id),
    since  BIGINT NOT NULL
);

-- A missed finding that was examined once more before it was told.
CREATE TABLE looks_again (
    transcript BIGINT  NOT NULL REFERENCES attempts (transcript) ON DELETE CASCADE,
    place      TEXT    NOT NULL,               -- field@site; empty: the rest was passed over
    at         BIGINT  NOT NULL,
    value      TEXT    NOT NULL,               -- what was committed
    mark       INTEGER NOT NULL,               -- thousandths; for the log, never for the marks
    PRIMARY KEY (transcript, place)
);

-- A plan is one sentence out of a table, picked after a debrief.
CREATE TABLE plans (
    id      TEXT   NOT NULL PRIMARY KEY,
    person  TEXT   NOT NULL REFERENCES people (id),
    made    BIGINT NOT NULL,
    made_in BIGINT NOT NULL,                   -- transcript of the visit after which it was made
    plan    TEXT   NOT NULL,                   -- a row of the plans' table
    checked BIGINT NOT NULL,                   -- transcript of the visit that showed it; 0: none yet
    kept    TEXT   NOT NULL,                   -- yes, no or empty (that visit could not show it)
    dropped BIGINT NOT NULL                    -- another plan took its place; 0: it stands
);
CREATE INDEX plans_person ON plans (person, made);

-- Whom somebody has watched an expert examine.
CREATE TABLE watched (
    person  TEXT   NOT NULL REFERENCES people (id),
    species TEXT   NOT NULL,
    case_id TEXT   NOT NULL,
    at      BIGINT NOT NULL,
    done    BIGINT NOT NULL,                   -- 0: left before the end
    PRIMARY KEY (person, species)
);
