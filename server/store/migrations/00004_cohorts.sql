-- +goose Up

-- Cohorts, assignments and sittings, and the log of who did what to whom.
-- Written in the subset that SQLite and PostgreSQL share, as before.

-- What else is known of a person besides the name; personal, so it goes with it.
ALTER TABLE names ADD COLUMN number TEXT NOT NULL DEFAULT '';
ALTER TABLE names ADD COLUMN email TEXT NOT NULL DEFAULT '';
CREATE INDEX names_number ON names (number);

-- When somebody is to be erased, and why that must wait.
ALTER TABLE people ADD COLUMN leaving BIGINT NOT NULL DEFAULT 0;            -- 0: is not to be erased
ALTER TABLE people ADD COLUMN hold TEXT NOT NULL DEFAULT '';               -- why nothing may be erased; empty: it may
ALTER TABLE people ADD COLUMN hold_by TEXT NOT NULL DEFAULT '';
ALTER TABLE people ADD COLUMN hold_at BIGINT NOT NULL DEFAULT 0;

-- Who leaves: all that names them or lets them in, until they are erased or put
-- back. Their rows in people and names hold nothing of it meanwhile.
CREATE TABLE leavers (
    person        TEXT   NOT NULL PRIMARY KEY REFERENCES people (id) ON DELETE CASCADE,
    login         TEXT   NOT NULL,
    login_key     TEXT   NOT NULL,
    password_hash TEXT   NOT NULL,
    name          TEXT   NOT NULL,
    number        TEXT   NOT NULL,
    email         TEXT   NOT NULL,
    since         BIGINT NOT NULL,
    "by"          TEXT   NOT NULL              -- empty: the program, by the school's retention
);

-- Free text that a person wrote, by an id that other rows hold, so that erasure
-- takes the words and keeps the rest.
CREATE TABLE texts (
    id     TEXT NOT NULL PRIMARY KEY,
    person TEXT NOT NULL REFERENCES people (id),
    text   TEXT NOT NULL
);
CREATE INDEX texts_person ON texts (person);

CREATE TABLE cohorts (
    id       TEXT   NOT NULL PRIMARY KEY,
    name     TEXT   NOT NULL,
    created  BIGINT NOT NULL,
    archived BIGINT NOT NULL,
    deleted  BIGINT NOT NULL                   -- may be put back for a while
);

CREATE TABLE members (
    cohort TEXT   NOT NULL REFERENCES cohorts (id),
    person TEXT   NOT NULL REFERENCES people (id),
    role   TEXT   NOT NULL,                    -- student or instructor
    since  BIGINT NOT NULL,
    PRIMARY KEY (cohort, person)
);
CREATE INDEX members_person ON members (person);

-- Whoever was here before cohorts were is in one together, so that nobody loses
-- sight of anybody.
INSERT INTO cohorts (id, name, created, archived, deleted)
    SELECT 'first', 'Everybody', MIN(created), 0, 0 FROM people WHERE role <> 'coordinator' AND erased = 0 HAVING COUNT(*) > 0;
INSERT INTO members (cohort, person, role, since)
    SELECT 'first', id, role, created FROM people WHERE role <> 'coordinator' AND erased = 0;

-- What one student has beyond the others, in every sitting of the cohort.
CREATE TABLE accommodations (
    cohort TEXT    NOT NULL REFERENCES cohorts (id),
    person TEXT    NOT NULL REFERENCES people (id),
    extra  INTEGER NOT NULL,                   -- percent of the time limit more
    later  INTEGER NOT NULL,                   -- minutes that the window is longer
    pauses INTEGER NOT NULL,                   -- minutes of own pauses
    PRIMARY KEY (cohort, person)
);

CREATE TABLE assignments (
    id          TEXT    NOT NULL PRIMARY KEY,
    cohort      TEXT    NOT NULL REFERENCES cohorts (id),
    title       TEXT    NOT NULL,
    kind        TEXT    NOT NULL,              -- practice or sitting
    track       TEXT    NOT NULL,              -- the rubric's id
    rubric_hash TEXT    NOT NULL,              -- its version; empty: the one in force as a visit begins
    opens       BIGINT  NOT NULL,
    closes      BIGINT  NOT NULL,
    minutes     INTEGER NOT NULL,              -- of one student's sitting; 0: until it closes
    tries       INTEGER NOT NULL,              -- how often; 0: any number
    shuffled    INTEGER NOT NULL,              -- 1: each student meets the patients in an order of their own
    cue         TEXT    NOT NULL,              -- full, headings or none
    places      TEXT    NOT NULL,              -- labelled or unlabelled
    state       TEXT    NOT NULL,              -- draft, set or withdrawn
    released    BIGINT  NOT NULL,              -- to everybody; 0: not
    made_by     TEXT    NOT NULL,
    created     BIGINT  NOT NULL,
    deleted     BIGINT  NOT NULL
);
CREATE INDEX assignments_cohort ON assignments (cohort, opens);

-- The patients of an assignment: each slot is met once; a slot of several cases
-- is drawn from, student by student.
CREATE TABLE assignment_cases (
    assignment TEXT    NOT NULL REFERENCES assignments (id) ON DELETE CASCADE,
    slot       INTEGER NOT NULL,
    case_id    TEXT    NOT NULL,
    PRIMARY KEY (assignment, slot, case_id)
);
CREATE INDEX assignment_cases_case ON assignment_cases (case_id);

-- Draws that were measured for equal difficulty.
CREATE TABLE assignment_draws (
    assignment TEXT   NOT NULL REFERENCES assignments (id) ON DELETE CASCADE,
    case_id    TEXT   NOT NULL,
    made_of    TEXT   NOT NULL,                -- names case, rubric and ranges; another: to be measured again
    seeds      BYTEA  NOT NULL,                -- hidden: the table of seeds
    figures    BYTEA  NOT NULL,                -- JSON for the instructor: nothing hidden
    measured   BIGINT NOT NULL,
    PRIMARY KEY (assignment, case_id)
);

-- One student's turn at an assignment: which patients, in which order.
CREATE TABLE turns (
    id         TEXT    NOT NULL PRIMARY KEY,
    assignment TEXT    NOT NULL REFERENCES assignments (id),
    person     TEXT    NOT NULL REFERENCES people (id),
    try        INTEGER NOT NULL,               -- from 1
    plan       BYTEA   NOT NULL,               -- hidden: slots, cases and seeds in their order
    holder     TEXT    NOT NULL,               -- hash of the session that is in the room
    seen       BIGINT  NOT NULL,               -- when it last was
    released   BIGINT  NOT NULL,               -- to this student; 0: not, or with everybody
    excused    TEXT    NOT NULL,               -- why it does not count; empty: it counts
    UNIQUE (assignment, person, try)
);
CREATE INDEX turns_person ON turns (person);

-- What moves the clock of a turn, or of all turns of an assignment. Append-only.
CREATE TABLE clock_deeds (
    assignment TEXT    NOT NULL REFERENCES assignments (id),
    n          INTEGER NOT NULL,
    turn       TEXT    NOT NULL,               -- empty: everybody's
    person     TEXT    NOT NULL,               -- whose, before there is a turn; empty: as turn says
    kind       TEXT    NOT NULL,               -- begin, pause, resume, add, admit, finish or reopen
    at         BIGINT  NOT NULL,
    minutes    INTEGER NOT NULL,
    own        INTEGER NOT NULL,               -- 1: the student's own pause
    "by"       TEXT    NOT NULL,
    reason     TEXT    NOT NULL,
    PRIMARY KEY (assignment, n)
);

ALTER TABLE attempts ADD COLUMN turn TEXT NOT NULL DEFAULT '';
ALTER TABLE attempts ADD COLUMN slot INTEGER NOT NULL DEFAULT 0;
ALTER TABLE attempts ADD COLUMN purpose TEXT NOT NULL DEFAULT '';          -- empty: practice; sitting or orientation
ALTER TABLE attempts ADD COLUMN cue TEXT NOT NULL DEFAULT '';
ALTER TABLE attempts ADD COLUMN places TEXT NOT NULL DEFAULT '';
CREATE INDEX attempts_turn ON attempts (turn, slot);
CREATE UNIQUE INDEX attempts_slot ON attempts (turn, slot) WHERE turn <> ''; -- a patient of a turn is met once

-- A person's mark in place of a computed one. Append-only; the last of a line counts.
CREATE TABLE overrides (
    transcript BIGINT  NOT NULL REFERENCES attempts (transcript),
    n          INTEGER NOT NULL,
    line       TEXT    NOT NULL,
    points     BIGINT  NOT NULL,               -- thousandths
    "by"       TEXT    NOT NULL,
    at         BIGINT  NOT NULL,
    reason     TEXT    NOT NULL,
    PRIMARY KEY (transcript, n)
);

-- A person's word on what a report is held for. Append-only; the last counts.
CREATE TABLE decisions (
    transcript BIGINT  NOT NULL REFERENCES attempts (transcript),
    n          INTEGER NOT NULL,
    what       TEXT    NOT NULL,               -- id of a critical event, or a code
    stands     INTEGER NOT NULL,
    "by"       TEXT    NOT NULL,
    at         BIGINT  NOT NULL,
    reason     TEXT    NOT NULL,
    PRIMARY KEY (transcript, n)
);

-- A student asks, once a line, for a person to look again.
CREATE TABLE reviews_asked (
    transcript BIGINT NOT NULL REFERENCES attempts (transcript),
    line       TEXT   NOT NULL,
    asked      BIGINT NOT NULL,
    words      TEXT   NOT NULL,                -- id of a text
    answered   BIGINT NOT NULL,                -- 0: waits
    "by"       TEXT   NOT NULL,
    upheld     INTEGER NOT NULL,               -- 1: the mark was changed
    answer     TEXT   NOT NULL,
    PRIMARY KEY (transcript, line)
);
CREATE INDEX reviews_asked_open ON reviews_asked (answered, asked);

-- One more try for one student, with other patients and a window of its own.
CREATE TABLE resits (
    assignment TEXT    NOT NULL REFERENCES assignments (id),
    person     TEXT    NOT NULL REFERENCES people (id),
    try        INTEGER NOT NULL,               -- the one that it allows
    opens      BIGINT  NOT NULL,
    closes     BIGINT  NOT NULL,
    "by"       TEXT    NOT NULL,
    at         BIGINT  NOT NULL,
    reason     TEXT    NOT NULL,
    PRIMARY KEY (assignment, person, try)
);

-- Marking anew by a key that was changed for everybody of an assignment who met
-- case_id: to_hash is then the text of the change, and from_hash the same.
ALTER TABLE regradings ADD COLUMN assignment TEXT NOT NULL DEFAULT '';
CREATE INDEX regradings_assignment ON regradings (assignment, at);
CREATE INDEX regraded_transcript ON regraded (transcript);

-- Who did what, to what, when and why. Append-only; triggers that the program
-- makes when it opens the database hold that.
CREATE TABLE audit (
    n      BIGINT NOT NULL PRIMARY KEY,        -- from counters
    at     BIGINT NOT NULL,
    "by"   TEXT   NOT NULL,                    -- a person's id; empty: the program itself
    deed   TEXT   NOT NULL,                    -- a word of the server's table
    about  TEXT   NOT NULL,                    -- kind:id of what it was done to
    cohort TEXT   NOT NULL,                    -- whose instructors may read it; empty: coordinators
    detail TEXT   NOT NULL,                    -- no name and no text of a person's
    reason TEXT   NOT NULL,                    -- where it is about no person
    words  TEXT   NOT NULL                     -- id of the text that is the reason, where it is
);
CREATE INDEX audit_about ON audit (about, n);
CREATE INDEX audit_cohort ON audit (cohort, n);
INSERT INTO counters (name, value) VALUES ('audit', 0);
