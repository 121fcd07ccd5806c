-- Which version a draft was copied from; NULL where its document was sent, and for drafts of before.
ALTER TABLE price_book_versions ADD COLUMN made_from TEXT REFERENCES price_book_versions (id);

CREATE TRIGGER price_book_versions_made_from BEFORE UPDATE OF made_from ON price_book_versions
WHEN NEW.made_from IS NOT OLD.made_from
BEGIN
    SELECT RAISE(ABORT, 'a price-book version stays a copy of what it was made from');
END;
