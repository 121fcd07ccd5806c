-- The mark that a job was accepted, and on which estimate. `source` says who set it: the mark itself, or a quote.
CREATE TABLE acceptances (
    job_id      TEXT PRIMARY KEY NOT NULL REFERENCES jobs (id),
    estimate_id TEXT NOT NULL REFERENCES estimates (id),
    accepted_on TEXT NOT NULL,             -- civil date
    source      TEXT NOT NULL,
    created_at  INTEGER NOT NULL,
    created_by  TEXT NOT NULL
) STRICT;

-- What happened on accepted jobs, as it was reported. A correction is a later entry that names the earlier one.
CREATE TABLE actuals (
    id          TEXT PRIMARY KEY NOT NULL,
    job_id      TEXT NOT NULL REFERENCES acceptances (job_id),
    number      INTEGER NOT NULL,          -- running number within the job
    kind        TEXT NOT NULL,
    day         TEXT NOT NULL,             -- civil date it is about
    document    TEXT NOT NULL,             -- the entry, JSON
    corrects    TEXT UNIQUE REFERENCES actuals (id),
    recorded_at INTEGER NOT NULL,
    recorded_by TEXT NOT NULL,
    UNIQUE (job_id, number)
) STRICT;
CREATE INDEX actuals_by_kind ON actuals (kind, job_id);
CREATE TRIGGER actuals_never_change BEFORE UPDATE ON actuals
BEGIN
    SELECT RAISE(ABORT, 'a record of what happened cannot change; correct it by a later one');
END;
CREATE TRIGGER actuals_never_go BEFORE DELETE ON actuals
BEGIN
    SELECT RAISE(ABORT, 'a record of what happened cannot be deleted; correct it by a later one');
END;

-- Rates proposed from finished jobs, with their evidence, and the draft they were put into.
CREATE TABLE rate_proposals (
    id          TEXT PRIMARY KEY NOT NULL,
    book_id     TEXT NOT NULL REFERENCES price_books (id),
    document    TEXT NOT NULL,             -- JSON
    created_at  INTEGER NOT NULL,
    created_by  TEXT NOT NULL
) STRICT;
