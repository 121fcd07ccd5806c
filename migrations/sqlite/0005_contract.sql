-- Quotes, change orders, invoices, credit notes; what the accounting system reports; the ledger of each job.

-- Last number given out of each kind. Numbers are taken in the transaction that issues the paper, so none is lost.
CREATE TABLE numbers (
    kind TEXT PRIMARY KEY NOT NULL,
    last INTEGER NOT NULL
) STRICT;

CREATE TABLE papers (
    id             TEXT PRIMARY KEY NOT NULL,
    job_id         TEXT NOT NULL REFERENCES jobs (id),
    kind           TEXT NOT NULL CHECK (kind IN ('quote', 'change_order', 'invoice', 'credit_note')),
    place          INTEGER NOT NULL,         -- order within the job
    number         TEXT,                     -- none for a draft
    state          TEXT NOT NULL CHECK (state IN ('draft', 'issued', 'accepted', 'declined', 'expired', 'withdrawn',
                                                  'superseded', 'part_paid', 'paid', 'credited', 'voided')),
    estimate_id    TEXT REFERENCES estimates (id),
    of_paper       TEXT REFERENCES papers (id), -- quote it supersedes or changes, invoice it gives back
    inputs         TEXT NOT NULL,            -- the snapshot it was made from, JSON
    document       TEXT NOT NULL,            -- the paper, byte for byte
    effect         TEXT,                     -- what it does to the account, JSON
    decision       TEXT,                     -- who decided what and when, JSON
    decided_at     INTEGER,
    total_minor    INTEGER NOT NULL,         -- with tax, minor units
    payable_minor  INTEGER NOT NULL,         -- asked for; a credit note has the other sign
    paid_minor     INTEGER NOT NULL,
    credited_minor INTEGER NOT NULL,
    row_version    INTEGER NOT NULL,
    created_at     INTEGER NOT NULL,
    created_by     TEXT NOT NULL,
    updated_at     INTEGER NOT NULL,
    UNIQUE (job_id, place)
) STRICT;
CREATE UNIQUE INDEX papers_by_number ON papers (kind, number) WHERE kind <> 'change_order';
CREATE UNIQUE INDEX papers_changes_by_number ON papers (job_id, number) WHERE kind = 'change_order';
-- A job has one contract; it is changed by change orders.
CREATE UNIQUE INDEX papers_one_contract ON papers (job_id) WHERE kind = 'quote' AND state = 'accepted';
CREATE INDEX papers_of_paper ON papers (of_paper);

-- Issued means frozen.
CREATE TRIGGER papers_frozen BEFORE UPDATE ON papers
WHEN OLD.state <> 'draft' AND (NEW.document <> OLD.document OR NEW.inputs <> OLD.inputs OR NEW.kind <> OLD.kind
    OR NEW.job_id <> OLD.job_id OR NEW.number IS NOT OLD.number OR NEW.total_minor <> OLD.total_minor
    OR NEW.payable_minor <> OLD.payable_minor OR (OLD.effect IS NOT NULL AND NEW.effect IS NOT OLD.effect)
    OR (OLD.decision IS NOT NULL AND OLD.state <> 'declined' AND OLD.state <> 'expired'
        AND NEW.decision IS NOT OLD.decision))
BEGIN
    SELECT RAISE(ABORT, 'an issued paper cannot change');
END;
CREATE TRIGGER papers_closed BEFORE UPDATE OF state ON papers
WHEN OLD.state IN ('accepted', 'withdrawn', 'superseded', 'voided') AND NEW.state <> OLD.state
BEGIN
    SELECT RAISE(ABORT, 'a closed paper stays closed');
END;
CREATE TRIGGER papers_never_drafts_again BEFORE UPDATE OF state ON papers
WHEN OLD.state <> 'draft' AND NEW.state = 'draft'
BEGIN
    SELECT RAISE(ABORT, 'an issued paper is no draft again');
END;
CREATE TRIGGER papers_never_go BEFORE DELETE ON papers
BEGIN
    SELECT RAISE(ABORT, 'a paper cannot be deleted');
END;

-- Payments, voids and costs under the accounting system's own reference.
CREATE TABLE reports (
    id           TEXT PRIMARY KEY NOT NULL,
    job_id       TEXT NOT NULL REFERENCES jobs (id),
    paper_id     TEXT REFERENCES papers (id),
    kind         TEXT NOT NULL CHECK (kind IN ('payment', 'void', 'cost')),
    system       TEXT NOT NULL,
    reference    TEXT NOT NULL,
    on_date      TEXT NOT NULL,
    amount_minor INTEGER NOT NULL,
    category     TEXT,
    committed    INTEGER NOT NULL,
    document     TEXT NOT NULL,              -- as it was reported, JSON
    created_at   INTEGER NOT NULL,
    created_by   TEXT NOT NULL,
    UNIQUE (system, kind, reference)
) STRICT;
CREATE INDEX reports_by_job ON reports (job_id, created_at, id);
CREATE TRIGGER reports_never_change BEFORE UPDATE ON reports
BEGIN
    SELECT RAISE(ABORT, 'a report cannot change');
END;
CREATE TRIGGER reports_never_go BEFORE DELETE ON reports
BEGIN
    SELECT RAISE(ABORT, 'a report cannot be deleted');
END;

-- Row version of each job's ledger; it rises with everything that moves the contract or money.
CREATE TABLE ledgers (
    job_id      TEXT PRIMARY KEY NOT NULL REFERENCES jobs (id),
    row_version INTEGER NOT NULL
) STRICT;
