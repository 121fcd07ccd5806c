-- Everything is text, bigint or blob-free so that the same statements run on other databases later.
-- Times are unix milliseconds. Documents are JSON as text, exactly as they were written.

-- Secrets of this database, made at first start: the key that signs paging cursors.
CREATE TABLE meta (
    name  TEXT PRIMARY KEY NOT NULL,
    value TEXT NOT NULL
) STRICT;

-- API keys. The secret itself is never stored.
CREATE TABLE api_keys (
    id          TEXT PRIMARY KEY NOT NULL,  -- the public part of the key
    name        TEXT NOT NULL,
    secret_hash TEXT NOT NULL,              -- SHA-256 of the secret, hex
    scopes      TEXT NOT NULL,              -- words separated by spaces
    created_at  INTEGER NOT NULL,
    revoked_at  INTEGER
) STRICT;

CREATE TABLE price_books (
    id          TEXT PRIMARY KEY NOT NULL,
    name        TEXT NOT NULL,
    created_at  INTEGER NOT NULL,
    updated_at  INTEGER NOT NULL
) STRICT;

CREATE TABLE price_book_versions (
    id           TEXT PRIMARY KEY NOT NULL,
    book_id      TEXT NOT NULL REFERENCES price_books (id),
    number       INTEGER NOT NULL,
    state        TEXT NOT NULL CHECK (state IN ('draft', 'published', 'retired')),
    document     TEXT NOT NULL,
    row_version  INTEGER NOT NULL,
    created_at   INTEGER NOT NULL,
    updated_at   INTEGER NOT NULL,
    published_at INTEGER,
    retired_at   INTEGER,
    UNIQUE (book_id, number)
) STRICT;
CREATE INDEX price_book_versions_current ON price_book_versions (state, published_at);

-- A published document never changes again.
CREATE TRIGGER price_book_versions_frozen
BEFORE UPDATE OF document ON price_book_versions
WHEN OLD.state <> 'draft' AND NEW.document <> OLD.document
BEGIN
    SELECT RAISE(ABORT, 'a published price-book version cannot change');
END;

CREATE TABLE jobs (
    id            TEXT PRIMARY KEY NOT NULL,
    title         TEXT NOT NULL,
    customer_name TEXT NOT NULL,
    customer      TEXT NOT NULL,            -- JSON
    site_address  TEXT NOT NULL,
    site          TEXT NOT NULL,            -- JSON
    notes         TEXT,                     -- site notes, JSON
    external_refs TEXT NOT NULL,            -- JSON list
    search        TEXT NOT NULL,            -- title, customer and site in lower case
    row_version   INTEGER NOT NULL,
    created_at    INTEGER NOT NULL,
    updated_at    INTEGER NOT NULL
) STRICT;
CREATE INDEX jobs_by_update ON jobs (updated_at, id);
CREATE INDEX jobs_by_creation ON jobs (created_at, id);

-- References of other systems to a job, unique per system.
CREATE TABLE job_refs (
    system      TEXT NOT NULL,
    external_id TEXT NOT NULL,
    job_id      TEXT NOT NULL REFERENCES jobs (id),
    PRIMARY KEY (system, external_id)
) STRICT;

-- Numbered revisions; never updated, never deleted.
CREATE TABLE estimates (
    id                    TEXT PRIMARY KEY NOT NULL,
    job_id                TEXT NOT NULL REFERENCES jobs (id),
    revision              INTEGER NOT NULL,
    price_book_version_id TEXT NOT NULL REFERENCES price_book_versions (id),
    engine                TEXT NOT NULL,
    notes                 TEXT NOT NULL,    -- the site notes it was computed from
    answer                TEXT NOT NULL,    -- the estimate, byte for byte
    total_minor           INTEGER NOT NULL, -- price with tax in minor units, for lists
    outcome               TEXT NOT NULL,
    created_at            INTEGER NOT NULL,
    created_by            TEXT NOT NULL,
    UNIQUE (job_id, revision)
) STRICT;
CREATE TRIGGER estimates_never_change BEFORE UPDATE ON estimates
BEGIN
    SELECT RAISE(ABORT, 'an estimate revision cannot change');
END;
CREATE TRIGGER estimates_never_go BEFORE DELETE ON estimates
BEGIN
    SELECT RAISE(ABORT, 'an estimate revision cannot be deleted');
END;

-- Who did what, in the transaction that did it.
CREATE TABLE audit (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    at         INTEGER NOT NULL,
    key_id     TEXT NOT NULL,
    request_id TEXT NOT NULL,
    action     TEXT NOT NULL,
    object     TEXT NOT NULL,
    detail     TEXT NOT NULL                -- JSON
) STRICT;
CREATE INDEX audit_by_object ON audit (object, id);
CREATE TRIGGER audit_never_changes BEFORE UPDATE ON audit
BEGIN
    SELECT RAISE(ABORT, 'the audit trail cannot change');
END;
CREATE TRIGGER audit_never_goes BEFORE DELETE ON audit
BEGIN
    SELECT RAISE(ABORT, 'the audit trail cannot be deleted');
END;

-- Answers kept for repeated requests.
CREATE TABLE idempotency (
    key_id      TEXT NOT NULL,
    idem_key    TEXT NOT NULL,
    fingerprint TEXT NOT NULL,
    status      INTEGER NOT NULL,
    location    TEXT,
    etag        TEXT,
    body        TEXT NOT NULL,
    created_at  INTEGER NOT NULL,
    PRIMARY KEY (key_id, idem_key)
) STRICT;
CREATE INDEX idempotency_by_age ON idempotency (created_at);
