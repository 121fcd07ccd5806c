-- The days for which a published version holds: from the first day on, up to but not including the last. Dates as
-- YYYY-MM-DD, so that text order is their order. Without a first day a version holds wherever no dated one does.
ALTER TABLE price_book_versions ADD COLUMN effective_from TEXT;
ALTER TABLE price_book_versions ADD COLUMN effective_to TEXT;

-- Two published versions of one book never hold on the same day.
CREATE TRIGGER price_book_versions_no_overlap
BEFORE UPDATE OF state, effective_from, effective_to ON price_book_versions
WHEN NEW.state = 'published' AND NEW.effective_from IS NOT NULL AND EXISTS (
    SELECT 1 FROM price_book_versions other
    WHERE other.book_id = NEW.book_id AND other.id <> NEW.id AND other.state = 'published'
      AND other.effective_from IS NOT NULL
      AND (NEW.effective_to IS NULL OR other.effective_from < NEW.effective_to)
      AND (other.effective_to IS NULL OR NEW.effective_from < other.effective_to))
BEGIN
    SELECT RAISE(ABORT, 'two published versions of a price book cannot hold on the same day');
END;

-- A closed job is left alone when open jobs are priced anew.
ALTER TABLE jobs ADD COLUMN closed_at INTEGER;

CREATE INDEX estimates_by_version ON estimates (price_book_version_id, job_id);
