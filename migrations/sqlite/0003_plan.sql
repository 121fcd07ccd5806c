-- The plan of a job: one per job, so that its id and the ids of its tasks stay for the life of the job.
CREATE TABLE plans (
    id         TEXT PRIMARY KEY NOT NULL,
    job_id     TEXT NOT NULL UNIQUE REFERENCES jobs (id),
    created_at INTEGER NOT NULL
) STRICT;

-- Every state of a plan; never updated, never deleted.
CREATE TABLE plan_versions (
    plan_id     TEXT NOT NULL REFERENCES plans (id),
    number      INTEGER NOT NULL,          -- 1, 2 … : the row version of the plan
    version     INTEGER NOT NULL,          -- as handed out: rises when days or standing changed
    estimate_id TEXT NOT NULL REFERENCES estimates (id),
    inputs      TEXT NOT NULL,             -- what was asked and reported, JSON
    answer      TEXT NOT NULL,             -- the plan, JSON
    issued      TEXT NOT NULL,             -- tasks and hold points with their sequence numbers, JSON
    changes     TEXT NOT NULL,             -- against the version before, JSON list
    created_at  INTEGER NOT NULL,
    created_by  TEXT NOT NULL,
    PRIMARY KEY (plan_id, number)
) STRICT;
CREATE TRIGGER plan_versions_never_change BEFORE UPDATE ON plan_versions
BEGIN
    SELECT RAISE(ABORT, 'a version of a plan cannot change');
END;
CREATE TRIGGER plan_versions_never_go BEFORE DELETE ON plan_versions
BEGIN
    SELECT RAISE(ABORT, 'a version of a plan cannot be deleted');
END;
