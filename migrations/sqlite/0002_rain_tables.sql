-- Rain depth or intensity by duration and return period. A table never changes: another one has another code.
CREATE TABLE rain_tables (
    code        TEXT PRIMARY KEY NOT NULL,
    name        TEXT NOT NULL,
    document    TEXT NOT NULL,              -- JSON
    source_text TEXT,                       -- the file it was read from, as it was sent
    created_at  INTEGER NOT NULL,
    created_by  TEXT NOT NULL
) STRICT;
CREATE INDEX rain_tables_created ON rain_tables (created_at, code);

CREATE TRIGGER rain_tables_fixed BEFORE UPDATE ON rain_tables
BEGIN
    SELECT RAISE(ABORT, 'a rain table cannot change');
END;
CREATE TRIGGER rain_tables_kept BEFORE DELETE ON rain_tables
BEGIN
    SELECT RAISE(ABORT, 'a rain table cannot be deleted');
END;
