-- +goose Up

-- Other ways in which sounds are given to somebody: as a trace, in words. What
-- was granted when an attempt began stays with the attempt. Written in the
-- subset that SQLite and PostgreSQL share, as before.

ALTER TABLE people ADD COLUMN alternatives TEXT NOT NULL DEFAULT '';       -- traced, described or both, separated by a space
ALTER TABLE people ADD COLUMN check_answered BIGINT NOT NULL DEFAULT 0;    -- when the newest sound check that was answered had been asked
ALTER TABLE people ADD COLUMN check_passed BIGINT NOT NULL DEFAULT 0;      -- when a sound check was last passed
ALTER TABLE attempts ADD COLUMN alternatives TEXT NOT NULL DEFAULT '';

-- Who granted or took away what, when and why. Append-only; it goes with the
-- person's name when that is erased.
CREATE TABLE grants (
    person TEXT    NOT NULL REFERENCES people (id) ON DELETE CASCADE,
    n      INTEGER NOT NULL,
    at     BIGINT  NOT NULL,
    "by"   TEXT    NOT NULL,                                               -- a person's id
    was    TEXT    NOT NULL,
    became TEXT    NOT NULL,
    reason TEXT    NOT NULL,
    PRIMARY KEY (person, n)
);
